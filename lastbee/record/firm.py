"""The firm: who it is, who works there, what it owns, and what its jobs start from."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, cast

from lastbee.jobs.jobfile_rules import zone_of
from lastbee.record.chains import told_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from typing import Literal

    from lastbee.record.chains import Told
    from lastbee.record.entry import Entry

DEFAULT_CONFIDENCE = 0.95
DEFAULT_WARRANTY_MONTHS = 12


@dataclass(frozen=True, slots=True)
class Firm:
    """A firm as its entries leave it; an empty one is a firm that has written nothing yet.

    `settings` is the body that counts, `people` and `kit` the things told of them, in the
    order they were first written, those taken back left out; `set_aside` what of all this
    cannot be used.
    """

    told: Told | None = None
    people: tuple[Told, ...] = ()
    kit: tuple[Told, ...] = ()
    set_aside: tuple[Told, ...] = ()
    settings: Mapping[str, Any] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Name on every page; empty while nobody wrote it."""
        return str(self.settings.get("name", ""))

    @property
    def time_zone(self) -> str:
        """IANA name of the zone that days are told in."""
        if zone := self.settings.get("time_zone"):
            return str(zone)
        longitude = self.settings.get("longitude")
        return "Etc/GMT" if longitude is None else zone_of(float(longitude))

    @property
    def units(self) -> Literal["metric", "us"]:
        """Units that the firm reads."""
        return cast("Literal['metric', 'us']", self.preferences.get("units", "metric"))

    @property
    def confidence(self) -> float:
        """How sure it must be that a wall is empty, 0 to 1."""
        return float(self.preferences.get("confidence", DEFAULT_CONFIDENCE))

    @property
    def warranty_months(self) -> int:
        """Months of warranty."""
        return int(self.settings.get("warranty_months", DEFAULT_WARRANTY_MONTHS))

    @property
    def preferences(self) -> Mapping[str, Any]:
        """Preferences as in a job file."""
        found = self.settings.get("preferences", {})
        return found if isinstance(found, dict) else {}


def firm_of(entries: Iterable[Entry]) -> Firm:
    """Read the firm out of its entries, in whatever order they come."""
    told = sorted(told_of(entries), key=lambda one: one.first.id)
    by_kind: dict[str, list[Told]] = {"firm": [], "person": [], "kit": []}
    for one in told:
        if one.counts:
            by_kind[one.kind].append(one)
    # Two phones may each have written settings before they knew of each other's.
    newest = max(by_kind["firm"], key=lambda one: one.entry.written_at, default=None)
    return Firm(
        told=newest,
        people=tuple(by_kind["person"]),
        kit=tuple(by_kind["kit"]),
        set_aside=tuple(one for one in told if one.problems),
        settings={} if newest is None else newest.body,
    )

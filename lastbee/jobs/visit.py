"""A visit to a running trap-out: what was seen at the wall and what was done there.

SI and already checked, like `lastbee.jobs.job`; `None` always means "not looked at". A
zero is a finding: no bee in five minutes, no cluster on the wall, no bees in the box.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import datetime

ConeState = Literal["clear", "partly blocked", "blocked"]
DeadBees = Literal["none", "some", "many"]
DeedKind = Literal[
    "cone cleared", "cone refitted", "gap closed", "cluster brushed in", "brood given",
    "queen given", "box added", "box moved closer", "box shaded", "entrance reduced", "fed",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class ConeCount:
    """Bees at the cone: out of its tip, and back in by it. Either may be None."""

    minutes: float
    bees_out: int | None
    bees_back_in: int | None


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """Bees going in anywhere but the box, within reach of the exit.

    `bees_in` is a count over `minutes`; `is_seen` says only whether any were seen;
    `pollen_carried` whether they carried pollen.
    """

    minutes: float | None
    bees_in: int | None
    is_seen: bool | None
    pollen_carried: bool | None


@dataclass(frozen=True, slots=True)
class BoxSeen:
    """What the box shows.

    `frames_of_bees` counts deep frames covered on both faces; `gain_kg` is its weight less
    that on the day it was set; `is_robbed` means fighting, wax chips, strange bees or wasps
    at its entrance; `hangs_out` that its bees hang outside in the heat.
    """

    frames_of_bees: float | None
    gain_kg: float | None
    eggs_seen: bool | None
    queen_seen: bool | None
    is_robbed: bool | None
    hangs_out: bool | None


@dataclass(frozen=True, slots=True)
class WallSensed:
    """What the wall tells: sound, warmth, a look inside. Areas of 0 are findings."""

    hum_heard: bool | None
    hum_span_m: float | None
    warm_to_hand: bool | None
    warm_area_dm2: float | None
    bees_seen_inside: bool | None


@dataclass(frozen=True, slots=True)
class Deed:
    """Something done that changes the trap-out from that hour on.

    `amount` belongs to the kind: frames of brood, bees of an added box, litres of syrup;
    None where the kind has none or nobody wrote it down.
    """

    kind: DeedKind
    amount: float | None = None


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit; what was seen comes before what was done. `at` is the site's own clock."""

    at: datetime
    temperature_degc: float | None = None
    sky: Literal["sun", "cloud", "rain"] | None = None
    wind: Literal["calm", "breeze", "strong"] | None = None
    cone: ConeCount | None = None
    cone_state: ConeState | None = None
    elsewhere: Elsewhere | None = None
    cluster_dm2: float | None = None
    dead_bees: DeadBees | None = None
    box: BoxSeen | None = None
    wall: WallSensed | None = None
    did: tuple[Deed, ...] = ()
    notes: str = ""

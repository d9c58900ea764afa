"""The facts about wall, people and calendar that decide which ways are open at all."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

YesNo = Literal["yes", "no", "unknown"]

# Coverings that are not taken off and put back in a day's work.
STRUCTURAL_COVERINGS = ("brick", "stone", "concrete")
# Painted work before 1978 may hold lead; siding, plaster and insulation up to about 1980
# may hold asbestos (United States dates; 40 CFR 745, 29 CFR 1926.1101).
OLD_PAINT_BEFORE = 1978
ASBESTOS_BEFORE = 1981
# Above this the usual triggers for fall protection in building work begin: 6 ft
# (29 CFR 1926.501(b)(1), United States).
FALL_HEIGHT_M = 1.8
# How long a spray forbids saving bees and honey: common practice, no source.
SPRAY_DAYS = 60


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What is known around the colony; offsets are days from the cone's first day.

    Of a running trap-out that is decided anew, offsets are days from today (`later`).
    `flight_h` is the fine-weather flight hours of each day from the cone on; `gone_by`
    and `sprayed_ago_days` are None where there is no deadline or spray.
    """

    covering: str
    inside_finish: str
    cavity: str
    may_open_outside: YesNo
    may_open_inside: YesNo
    other_gaps_closable: YesNo
    allergic_person: YesNo
    public_path_near: YesNo
    power_line_near: YesNo
    exposing_comb: Literal["allowed", "barred", "unknown"]
    entrance_height_m: float | None
    year_built: int | None
    gone_by: int | None
    sprayed_ago_days: int | None
    hanging_cluster_only: bool
    flight_h: tuple[float, ...]

    @property
    def is_finished_inside(self) -> bool:
        """Whether honey that runs would spoil a finished surface; unknown counts as finished."""
        return self.inside_finish != "open"

    @property
    def is_overhead(self) -> bool:
        """Whether the nest hangs over people's heads when it is opened from below."""
        return self.cavity in ("joist bay", "roof void", "soffit")

    @property
    def is_high(self) -> bool:
        """Whether the exit is out of reach from the ground; unknown counts as high."""
        return self.entrance_height_m is None or self.entrance_height_m >= FALL_HEIGHT_M

    @property
    def limit_times(self) -> float:
        """How many times the firm's limit of honey may stay: twice where no finish can spoil."""
        return 1.0 if self.is_finished_inside else 2.0

    @property
    def is_treated(self) -> bool:
        """Whether a spray is so recent that bees, comb and honey may be poisoned."""
        return self.sprayed_ago_days is not None and self.sprayed_ago_days <= SPRAY_DAYS

    @property
    def may_have_old_paint(self) -> bool:
        """Whether paint may hold lead; an unknown year counts as old."""
        return self.year_built is None or self.year_built < OLD_PAINT_BEFORE

    @property
    def may_have_asbestos(self) -> bool:
        """Whether boards or insulation may hold asbestos; an unknown year counts as old."""
        return self.year_built is None or self.year_built < ASBESTOS_BEFORE

    def later(self, since_cone: int, since_inspection: int) -> Circumstances:
        """Circumstances of a running trap-out as of today, so many days after cone and inspection.

        Bees behind a cone no longer hang in the open.
        """
        sprayed = self.sprayed_ago_days
        return replace(
            self,
            gone_by=None if self.gone_by is None else self.gone_by - since_cone,
            sprayed_ago_days=None if sprayed is None else sprayed + since_inspection,
            hanging_cluster_only=False,
            flight_h=self.flight_h[since_cone:],
        )

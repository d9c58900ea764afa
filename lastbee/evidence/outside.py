"""What a visit sees outside the cone: bees going in elsewhere, and a cluster on the wall."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.evidence.counts import chance_of_any, clumping, per_minute
from lastbee.evidence.cues import LARVAE_WANT_POLLEN, SEEN
from lastbee.evidence.item import Positive, RisesWith, SizeOrNone, YesNo
from lastbee.evidence.traffic import FlightCount

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.scene import Scene

# Bees a minute that slip into a crack and have no home there (scouts): assumed.
CRACK_STRAYS_PER_MINUTE = 0.01
# One watch in ten is of the wrong place, or takes other bees for those going in: assumed.
MISPLACED = 0.1
# A look without a clock is taken as this long: common practice, no source. [min]
WATCH_MINUTES = 5.0
# Pollen foragers are 1 to 33 % of foragers (Schmickl & Crailsheim 2007): near the top,
# since a nest short of income wants pollen. Assumed within that range.
POLLEN_SHARE = 0.25
# Bees in a litre of hanging cluster: common practice, no source. A cluster on a wall is
# taken for half a ball pressed flat to half its depth: assumed.
CLUSTER_BEES_PER_L = 1500.0
# Bees on the wall at which people are as likely to speak of a cluster as of stragglers:
# common practice, no source.
STRAGGLERS = 100.0


@dataclass(frozen=True, slots=True)
class _InElsewhere:
    """Foragers coming home by a leak, and those of another colony.

    If `with_pollen`, only those that carry some: of the hidden nest by how far its larvae
    want it; the other colony is taken to rear brood.
    """

    with_pollen: bool = False

    def bees_per_minute(
        self, scene: Scene, activity: float, flight_h: float
    ) -> NDArray[np.float64]:
        own = scene.leak * scene.foragers
        if self.with_pollen:
            own = own * LARVAE_WANT_POLLEN.shows(scene)
        rate = per_minute((own + scene.strangers) * scene.trips_per_day, activity, flight_h)
        if self.with_pollen:
            return np.asarray(POLLEN_SHARE * scene.count_bias * rate)
        return np.asarray(scene.count_bias * rate + CRACK_STRAYS_PER_MINUTE)


@dataclass(frozen=True, slots=True)
class _Watched:
    """Whether even one bee of a flow passes while somebody watches."""

    flow: _InElsewhere
    minutes: float
    activity: float
    flight_h: float
    false_yes: float
    missed: float

    def shows(self, scene: Scene) -> NDArray[np.float64]:
        mean = self.minutes * self.flow.bees_per_minute(scene, self.activity, self.flight_h)
        return chance_of_any(mean, clumping(self.activity))


@dataclass(frozen=True, slots=True)
class _Patch:
    """Wall under the hanging bees: a body of depth half its radius r holds (pi / 3) r^3."""

    def expected(self, scene: Scene) -> NDArray[np.float64]:
        volume_l = scene.wall / CLUSTER_BEES_PER_L
        usual = np.pi * (3.0 * volume_l / np.pi) ** (2.0 / 3.0)
        return np.asarray(scene.cluster_bias * usual)


def going_in_elsewhere(
    value: float, minutes: float, activity: float, flight_h: float
) -> FlightCount[Scene]:
    """Bees counted going in anywhere but the box and the cone."""
    label = "Bees going in elsewhere"
    return FlightCount(
        "elsewhere", label, value, minutes, activity, flight_h, _InElsewhere(), MISPLACED
    )


def seen_going_in_elsewhere(
    value: float, activity: float, flight_h: float, minutes: float = WATCH_MINUTES
) -> YesNo[Scene]:
    """Whether any were seen going in elsewhere, where nobody counted."""
    cue = _Watched(_InElsewhere(), minutes, activity, flight_h, false_yes=0.03, missed=MISPLACED)
    return YesNo("elsewhere seen", "Bees going in elsewhere", value, cue, SEEN)


def pollen_carried_in_elsewhere(
    value: float, activity: float, flight_h: float, minutes: float = WATCH_MINUTES
) -> YesNo[Scene]:
    """Pollen on bees going in elsewhere: larvae behind a leak, or another colony."""
    flow = _InElsewhere(with_pollen=True)
    cue = _Watched(flow, minutes, activity, flight_h, false_yes=0.03, missed=0.2)
    return YesNo("elsewhere pollen", "Pollen carried in elsewhere", value, cue, SEEN)


def cluster_on_wall(value_dm2: float) -> SizeOrNone[Scene]:
    """Wall covered by hanging bees, dm2; 0 if there are stragglers at most."""
    cue = RisesWith("wall", STRAGGLERS, 1.5, 0.04, 0.04)
    label = "Cluster on the wall"
    size: Positive[Scene] = Positive("wall cluster", label, value_dm2, "dm2", 0.6, 0.3, _Patch())
    return SizeOrNone(size, cue, stray=1.0)

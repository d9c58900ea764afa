"""What a visit sees at the cone: bees out, bees back in, how free it is, the dead below it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.constants import REFERENCE_FLIGHT_H
from lastbee.evidence.counts import per_minute
from lastbee.evidence.item import Graded
from lastbee.evidence.traffic import FlightCount

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.scene import Scene

CONE_STATES = ("clear", "partly blocked", "blocked")
DEAD_BEES = ("none", "some", "many")
# Bees a minute that take off from the cone without having come out of it: assumed.
CONE_STRAYS_PER_MINUTE = 0.02
# Bees a minute that walk about the tip and look as though they went in: assumed.
TIP_STRAYS_PER_MINUTE = 0.02
# Judging a cone and the dead in steps of their scales, and the share of words that say
# nothing: assumed.
CONE_SPREAD, CONE_LAPSE = 0.5, 0.1
DEAD_SPREAD, DEAD_LAPSE = 0.7, 0.15
# One count in ten at the tip takes bees that walk about it for bees going in: assumed.
TIP_MISREAD = 0.1
# Of the dead of the wall a third fall where they are found, and lie for some two days before
# ants, birds and wind take them; a blocked cone holds this many, and fighting at a robbed
# box leaves as many again: assumed.
DEAD_FOUND, DEAD_LIE_DAYS = 0.33, 2.0
DEAD_IN_CONE, DEAD_BY_FIGHTING = 60.0, 60.0
# Up to the first number people say none, from the second on many: common practice, no source.
FEW_DEAD, MANY_DEAD = 5.0, 100.0


@dataclass(frozen=True, slots=True)
class _Out:
    """Bees leaving by the tip: shut out for good, deserting, or with another way home.

    The rates of those who leave for good are per reference day, as in the engine; a bee
    that has a way home makes its day's trips in whatever flight the day allows.
    """

    def bees_per_minute(
        self, scene: Scene, activity: float, flight_h: float
    ) -> NDArray[np.float64]:
        home = scene.leak + scene.tip
        for_good = (1.0 - home) * scene.foragers * scene.flies_per_day + scene.deserts_per_day
        trips = home * scene.foragers * scene.trips_per_day
        leaving = per_minute(for_good, activity, REFERENCE_FLIGHT_H)
        leaving += per_minute(trips, activity, flight_h)
        return np.asarray(scene.count_bias * scene.passable * leaving + CONE_STRAYS_PER_MINUTE)


@dataclass(frozen=True, slots=True)
class _BackIn:
    """Foragers that go home by the tip, and bees of the wall that find it."""

    def bees_per_minute(
        self, scene: Scene, activity: float, flight_h: float
    ) -> NDArray[np.float64]:
        finding = scene.walks_back_per_day * scene.wall
        trips = scene.tip * scene.foragers * scene.trips_per_day
        seen = per_minute(scene.passable * (finding + trips), activity, flight_h)
        return np.asarray(scene.count_bias * seen + TIP_STRAYS_PER_MINUTE)


@dataclass(frozen=True, slots=True)
class _Blockage:
    """Two steps from a free cone to a blocked one."""

    def place(self, scene: Scene) -> NDArray[np.float64]:
        return np.asarray(2.0 * (1.0 - scene.passable))


@dataclass(frozen=True, slots=True)
class _Dead:
    """Dead of the wall's last days, in a blocked cone, and of fighting, on a log scale."""

    def place(self, scene: Scene) -> NDArray[np.float64]:
        dead = DEAD_FOUND * DEAD_LIE_DAYS * scene.wall_loss_per_day * scene.wall
        dead += DEAD_IN_CONE * (1.0 - scene.passable) + DEAD_BY_FIGHTING * scene.is_robbed
        share = np.log(np.maximum(dead, FEW_DEAD) / FEW_DEAD) / np.log(MANY_DEAD / FEW_DEAD)
        return np.asarray(2.0 * share)


def bees_out(value: float, minutes: float, activity: float, flight_h: float) -> FlightCount[Scene]:
    """Bees leaving by the tip of the cone; 0 is a finding, which bad weather makes worthless."""
    label = "Bees leaving by the cone"
    return FlightCount("cone out", label, value, minutes, activity, flight_h, _Out())


def bees_back_in(
    value: float, minutes: float, activity: float, flight_h: float
) -> FlightCount[Scene]:
    """Bees walking back in at the tip of the cone."""
    label = "Bees walking back in by the cone"
    return FlightCount("cone in", label, value, minutes, activity, flight_h, _BackIn(), TIP_MISREAD)


def cone_state(value: float) -> Graded[Scene]:
    """How free the cone is, as an index into CONE_STATES."""
    return Graded(
        "cone state", "State of the cone", value, CONE_STATES, CONE_SPREAD, CONE_LAPSE, _Blockage()
    )


def dead_bees(value: float) -> Graded[Scene]:
    """Dead bees in and below the cone and at the box, as an index into DEAD_BEES."""
    return Graded(
        "dead bees", "Dead bees at the wall", value, DEAD_BEES, DEAD_SPREAD, DEAD_LAPSE, _Dead()
    )

"""Warmth, sound and things seen at the exit: one small record for each cue.

The half-way points are in things that a colony has (cells, bees, grams); where no
measurement is published they are common practice, no source, and their logistic slopes
are gentle so that no single yes or no can carry an answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology import constants as bio
from lastbee.biology.comb import nest_extent_m, nest_volume_l
from lastbee.evidence.item import Positive, YesNo

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest


@dataclass(frozen=True, slots=True)
class _Logistic:
    """Even chance at `half` of a quantity, with `slope` on its log."""

    quantity: str
    half: float
    slope: float
    false_yes: float
    missed: float

    def strength(self, nest: Nest) -> NDArray[np.float64]:
        amount: NDArray[np.float64] = getattr(nest, self.quantity)
        return np.asarray(self.slope * (np.log(amount + 1.0) - np.log(self.half)))


@dataclass(frozen=True, slots=True)
class _Orienting:
    """Young bees learning the place: at first flights, and all of a swarm on arrival."""

    false_yes: float = 0.05
    missed: float = 0.1

    def strength(self, nest: Nest) -> NDArray[np.float64]:
        # A swarm's own bees all learn the new place in its first days.
        arriving = np.where(nest.age_days < 4.0, 0.2 * nest.foragers, 0.0)
        bees = nest.orienting_per_day + arriving
        return np.asarray(1.5 * (np.log(bees + 1.0) - np.log(120.0)))


@dataclass(frozen=True, slots=True)
class _WarmPatch:
    """Warm comb times its spacing over the depth of the cavity, with a blurred rim.

    Brood is held at 33-36 degC (Kleinhenz et al. 2003) and bees sit warm around it; honey
    comb follows the cavity air, so a thermal picture shows brood and bees, not stores.
    How much of the bees' comb shows is assumed, and so is the rim of a quarter of a
    decimetre at each edge (the blur of a sheathed wall by fin conduction; other walls
    blur differently).
    """

    def expected(self, nest: Nest) -> NDArray[np.float64]:
        covered = np.minimum(nest.comb_dm2, nest.adults / bio.BEES_PER_DM2_SHEET)
        volume_l = nest_volume_l(nest.brood_sheet_dm2 + 0.35 * covered) + 0.3
        face = volume_l / np.minimum(nest.depth_dm, 2.0)
        return np.asarray((np.sqrt(face) + 0.5) ** 2)


@dataclass(frozen=True, slots=True)
class _HumSpan:
    """Length of cavity in which bees sit: comb that the adults can cover."""

    def expected(self, nest: Nest) -> NDArray[np.float64]:
        covered = nest.adults / (0.6 * bio.BEES_PER_DM2_SHEET)
        sheet = np.minimum(np.maximum(nest.comb_dm2, 0.5 * covered), covered)
        return nest_extent_m(sheet, nest.section_dm2)


def warm_area(value_dm2: float) -> Positive:
    """Warm patch on a thermal picture, dm2 of wall."""
    return Positive(
        "warm patch", "Warm patch on the thermal picture", value_dm2, "dm2", 0.5, 1.0, _WarmPatch()
    )


def hum_span(value_m: float) -> Positive:
    """Length along the cavity over which the hum is heard, m."""
    return Positive("hum", "Hum heard along the wall", value_m, "m", 0.5, 0.15, _HumSpan())


def warm_to_hand(value: float) -> YesNo:
    """Warmth felt by hand on the wall."""
    cue = _Logistic("brood_cells", 4000.0, 1.0, 0.05, 0.15)
    return YesNo("warm hand", "Wall warm to the hand", value, cue)


def pollen_carried(value: float, activity: float) -> YesNo:
    """Pollen loads going in; `activity` 0 to 1 is how much flying there was to see."""
    missed = 1.0 - 0.95 * min(1.0, max(activity, 0.0))
    cue = _Logistic("larvae", 300.0, 1.2, 0.04, min(missed, 0.9))
    return YesNo("pollen", "Pollen carried in", value, cue)


def drones_flying(value: float, activity: float) -> YesNo:
    """Drones at the exit on a flying day."""
    missed = 1.0 - 0.9 * min(1.0, max(activity, 0.0))
    return YesNo(
        "drones",
        "Drones at the exit",
        value,
        _Logistic("drones", 80.0, 1.2, 0.03, min(missed, 0.9)),
    )


def young_bees_orienting(value: float) -> YesNo:
    """Young bees hovering in front of the exit, facing it."""
    return YesNo("young bees", "Young bees learning the place", value, _Orienting())


def capped_brood_seen(value: float) -> YesNo:
    """Capped brood seen in the comb in view."""
    cue = _Logistic("capped", 1500.0, 1.0, 0.02, 0.15)
    return YesNo("capped brood", "Capped brood in view", value, cue)


def capped_honey_seen(value: float) -> YesNo:
    """Capped honey seen in the comb in view."""
    cue = _Logistic("honey_g", 3000.0, 1.2, 0.03, 0.2)
    return YesNo("capped honey", "Capped honey in view", value, cue)

"""Warmth, sound and things seen at the exit: one small record for each cue.

The half-way points are in things that a colony has (cells, bees, grams); where no
measurement is published they are common practice, no source, and their logistic slopes
are gentle so that no single yes or no can carry an answer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import expit

from lastbee.biology import constants as bio
from lastbee.biology.comb import nest_extent_m, nest_volume_l
from lastbee.evidence.item import Positive, RisesWith, SizeOrNone, YesNo

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest

# Answers of a look, no and yes.
SEEN = ("none seen", "seen")
# Warm comb at which a spot on a thermal picture is as likely seen as not: common practice,
# no source.
WARM_SPOT_DM2 = 1.5
# Larvae want pollen brought in.
LARVAE_WANT_POLLEN = RisesWith("larvae", 300.0, 1.2, 0.04, 0.05)


@dataclass(frozen=True, slots=True)
class _Orienting:
    """Young bees learning the place: at first flights, and all of a swarm on arrival."""

    false_yes: float = 0.05
    missed: float = 0.1

    def shows(self, nest: Nest) -> NDArray[np.float64]:
        # A swarm's own bees all learn the new place in its first days.
        arriving = np.where(nest.age_days < 4.0, 0.2 * nest.foragers, 0.0)
        bees = nest.orienting_per_day + arriving
        return np.asarray(expit(1.5 * (np.log(bees + 1.0) - np.log(120.0))))


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
        face = (nest_volume_l(_warm_sheet_dm2(nest)) + 0.3) / np.minimum(nest.depth_dm, 2.0)
        return np.asarray((np.sqrt(face) + 0.5) ** 2)


@dataclass(frozen=True, slots=True)
class _WarmSpot:
    """Whether anything warm stands out: even chance at a few dm2 of warm comb.

    Insulation or sun on the wall hides a nest from one picture in eight: assumed.
    """

    false_yes: float = 0.05
    missed: float = 0.12

    def shows(self, nest: Nest) -> NDArray[np.float64]:
        sheet = _warm_sheet_dm2(nest)
        return np.asarray(expit(1.5 * (np.log(sheet + 0.01) - np.log(WARM_SPOT_DM2))))


def _warm_sheet_dm2(nest: Nest) -> NDArray[np.float64]:
    """Comb sheet that brood and bees keep warm."""
    covered = np.minimum(nest.comb_dm2, nest.adults / bio.BEES_PER_DM2_SHEET)
    return np.asarray(nest.brood_sheet_dm2 + 0.35 * covered)


@dataclass(frozen=True, slots=True)
class _HumSpan:
    """Length of cavity in which bees sit: comb that the adults can cover."""

    def expected(self, nest: Nest) -> NDArray[np.float64]:
        covered = nest.adults / (0.6 * bio.BEES_PER_DM2_SHEET)
        sheet = np.minimum(np.maximum(nest.comb_dm2, 0.5 * covered), covered)
        return nest_extent_m(sheet, nest.section_dm2)


def warm_area(value_dm2: float) -> Positive[Nest]:
    """Warm patch on a thermal picture, dm2 of wall."""
    return Positive(
        "warm patch", "Warm patch on the thermal picture", value_dm2, "dm2", 0.5, 1.0, _WarmPatch()
    )


def hum_span(value_m: float) -> Positive[Nest]:
    """Length along the cavity over which the hum is heard, m."""
    return Positive("hum", "Hum heard along the wall", value_m, "m", 0.5, 0.15, _HumSpan())


def warm_area_or_none(value_dm2: float) -> SizeOrNone[Nest]:
    """Warm patch on a thermal picture, dm2 of wall; 0 if nothing stood out."""
    return SizeOrNone(warm_area(value_dm2), _WarmSpot(), stray=3.0)


def hum_heard(value: float) -> YesNo[Nest]:
    """Hum with an ear or a stethoscope to the wall; silence needs listening well."""
    cue = RisesWith("adults", 500.0, 1.2, 0.04, 0.2)
    return YesNo("hum heard", "Hum in the wall", value, cue, ("not heard", "heard"))


def bees_seen_inside(value: float) -> YesNo[Nest]:
    """Living bees seen through a small hole or by an inspection camera."""
    cue = RisesWith("adults", 150.0, 1.2, 0.03, 0.15)
    return YesNo("bees inside", "Living bees inside the wall", value, cue, SEEN)


def warm_to_hand(value: float) -> YesNo[Nest]:
    """Warmth felt by hand on the wall."""
    cue = RisesWith("brood_cells", 4000.0, 1.0, 0.05, 0.15)
    return YesNo("warm hand", "Wall warm to the hand", value, cue)


def pollen_carried(value: float, activity: float) -> YesNo[Nest]:
    """Pollen loads going in; `activity` 0 to 1 is how much flying there was to see."""
    missed = 1.0 - 0.95 * min(1.0, max(activity, 0.0))
    cue = replace(LARVAE_WANT_POLLEN, missed=min(missed, 0.9))
    return YesNo("pollen", "Pollen carried in", value, cue)


def drones_flying(value: float, activity: float) -> YesNo[Nest]:
    """Drones at the exit on a flying day."""
    missed = 1.0 - 0.9 * min(1.0, max(activity, 0.0))
    return YesNo(
        "drones",
        "Drones at the exit",
        value,
        RisesWith("drones", 80.0, 1.2, 0.03, min(missed, 0.9)),
    )


def young_bees_orienting(value: float) -> YesNo[Nest]:
    """Young bees hovering in front of the exit, facing it."""
    return YesNo("young bees", "Young bees learning the place", value, _Orienting())


def capped_brood_seen(value: float) -> YesNo[Nest]:
    """Capped brood seen in the comb in view."""
    cue = RisesWith("capped", 1500.0, 1.0, 0.02, 0.15)
    return YesNo("capped brood", "Capped brood in view", value, cue)


def capped_honey_seen(value: float) -> YesNo[Nest]:
    """Capped honey seen in the comb in view."""
    cue = RisesWith("honey_g", 3000.0, 1.2, 0.03, 0.2)
    return YesNo("capped honey", "Capped honey in view", value, cue)

"""What a visit sees in and at the box: bees, weight, eggs, queen, robbing, bees hanging out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import expit, gammaln

from lastbee.biology.comb import BEES_PER_DEEP_FRAME
from lastbee.colony.trap import BOX_FORAGES, BOX_HONEY_A_BEE_G
from lastbee.evidence.cues import SEEN
from lastbee.evidence.item import Positive, RisesWith, SizeOrNone, YesNo

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.scene import Scene

# At full flight more than 60 % of foragers are out (Riessberger & Crailsheim 1997).
OUT_AT_FULL_FLIGHT = 0.6
# Judging frames of bees by eye, log spread; a box with this many bees is as likely called
# empty as not: assumed.
FRAMES_SPREAD, BARELY_BOXED = 0.3, 100.0
# A worker weighs 88 mg, 130 mg with a full crop (Mitchell 1970); a cell of brood of mixed
# ages: assumed. [g]
BEE_G, BROOD_CELL_G = 0.1, 0.1
# A frame of drawn comb put in after the box was weighed: common practice, no source. [kg]
FRAME_KG = 0.8
# Error of a gain read off a scale: rain in the wood, lifting at one side; and, as a share
# of the gain, what the model of the box leaves out (pollen, wax, forage at hand). Assumed;
# heavy tails, since scales are misread.
GAIN_ERROR_KG, GAIN_ERROR_SHARE, FRAME_ERROR_KG = 0.7, 0.4, 0.4
GAIN_TAILS = 4.0
# Bees at which a box is as likely as not to hang out in the heat, five deep frames full;
# one that its bees are leaving behaves like one so many times as full: assumed.
CROWDED_BOX, LEAVING_LIKE = 9000.0, 5.0
# Share of a box leaving each day that counts as leaving: assumed.
LEAVING_PER_DAY = 0.1
# Hanging out is for heat, seldom at the first temperature and usual at the second: common
# practice, no source. Not measured counts as between the two. [degC]
COOL_DEGC, HOT_DEGC = 20.0, 30.0


@dataclass(frozen=True, slots=True)
class _Frames:
    """Deep frames covered by the bees at home; `activity` says how many foragers are out."""

    activity: float

    def expected(self, scene: Scene) -> NDArray[np.float64]:
        at_home = 1.0 - BOX_FORAGES * OUT_AT_FULL_FLIGHT * self.activity
        return np.asarray(scene.box_bias * scene.box * at_home / BEES_PER_DEEP_FRAME)


@dataclass(frozen=True, slots=True)
class _Holds:
    """Something that is so (1) or is not (0)."""

    quantity: str
    false_yes: float
    missed: float

    def shows(self, scene: Scene) -> NDArray[np.float64]:
        return np.asarray(getattr(scene, self.quantity))


@dataclass(frozen=True, slots=True)
class _HangingOut:
    """A crowded box in the heat, or one that its bees are giving up."""

    missed: float
    false_yes: float = 0.05

    def shows(self, scene: Scene) -> NDArray[np.float64]:
        leaving = np.minimum(scene.box_leaves_per_day / LEAVING_PER_DAY, 1.0)
        bees = scene.box * (1.0 + (LEAVING_LIKE - 1.0) * leaving)
        return np.asarray(expit(1.5 * (np.log(bees + 1.0) - np.log(CROWDED_BOX))))


@dataclass(frozen=True, slots=True)
class BoxGain:
    """Weight of the box less that on the day it was set, in kg; may be negative.

    `frames_added` are frames of comb put in since, which weigh besides what is in them.
    """

    value: float
    frames_added: float = 0.0
    key: str = "box gain"
    label: str = "Weight of the box"
    unit: str = "kg"

    @property
    def reading(self) -> str:
        """The reading in words."""
        size = f"{abs(self.value):.2g} kg"
        return f"up {size}" if self.value > 0.0 else f"down {size}" if self.value else "unchanged"

    def expected(self, scene: Scene) -> NDArray[np.float64]:
        """Gain of bees, honey, brood and frames in kg, shape (n,)."""
        bees_g = BEE_G * (scene.box - scene.box_start)
        honey_g = scene.box_honey_g - BOX_HONEY_A_BEE_G * scene.box_start
        contents_g = bees_g + honey_g + BROOD_CELL_G * scene.box_brood
        return np.asarray(contents_g / 1000.0 + FRAME_KG * self.frames_added)

    def log_density(self, value: float, scene: Scene) -> NDArray[np.float64]:
        """Student's t about the gain, over kg."""
        gain = self.expected(scene)
        error = self._error_kg(gain)
        constant = gammaln(0.5 * (GAIN_TAILS + 1.0)) - gammaln(0.5 * GAIN_TAILS)
        constant -= 0.5 * np.log(np.pi * GAIN_TAILS)
        off = ((value - gain) / error) ** 2
        tails = 0.5 * (GAIN_TAILS + 1.0) * np.log1p(off / GAIN_TAILS)
        return np.asarray(constant - np.log(error) - tails)

    def draw(self, scene: Scene, rng: np.random.Generator) -> NDArray[np.float64]:
        """Weigh each box."""
        gain = self.expected(scene)
        return np.asarray(gain + self._error_kg(gain) * rng.standard_t(GAIN_TAILS, scene.size))

    def _error_kg(self, gain_kg: NDArray[np.float64]) -> NDArray[np.float64]:
        fixed = GAIN_ERROR_KG**2 + (FRAME_ERROR_KG * self.frames_added) ** 2
        return np.asarray(np.sqrt(fixed + (GAIN_ERROR_SHARE * gain_kg) ** 2))


def frames_of_bees(value: float, activity: float) -> SizeOrNone[Scene]:
    """Deep frames covered with bees on both faces; 0 if the box is empty."""
    cue = RisesWith("box", BARELY_BOXED, 1.5, 0.04, 0.04)
    unit = "deep frame" if value == 1.0 else "deep frames"
    size: Positive[Scene] = Positive(
        "box frames", "Bees in the box", value, unit, FRAMES_SPREAD, 0.1, _Frames(activity)
    )
    return SizeOrNone(size, cue, stray=1.0)


def eggs_in_box(value: float) -> YesNo[Scene]:
    """Eggs in the box: a queen lays there. They are easily missed."""
    cue = _Holds("box_lays", false_yes=0.04, missed=0.2)
    return YesNo("box eggs", "Eggs in the box", value, cue, SEEN)


def queen_in_box(value: float) -> YesNo[Scene]:
    """A laying queen seen in the box; not to find her says little."""
    cue = _Holds("box_lays", false_yes=0.03, missed=0.45)
    return YesNo("box queen", "Queen in the box", value, cue, ("not seen", "seen"))


def robbing_at_box(value: float, activity: float) -> YesNo[Scene]:
    """Fighting, wax chips, strange bees or wasps at the box's entrance."""
    missed = 1.0 - 0.8 * min(1.0, max(activity, 0.0))
    cue = _Holds("is_robbed", false_yes=0.04, missed=min(missed, 0.9))
    return YesNo("box robbed", "Robbing at the box", value, cue, SEEN)


def hanging_out_of_box(value: float, temperature_degc: float | None) -> YesNo[Scene]:
    """Bees of the box hanging outside it in the heat."""
    middle = 0.5 * (COOL_DEGC + HOT_DEGC)
    warm = middle if temperature_degc is None else temperature_degc
    heat = min(1.0, max(0.0, (warm - COOL_DEGC) / (HOT_DEGC - COOL_DEGC)))
    cue = _HangingOut(missed=0.9 - 0.65 * heat)
    return YesNo("box hangs out", "Bees hanging out of the box", value, cue, SEEN)

"""Comb that could be seen: how much, how many, how dark.

A part of the comb is only a lower bound, a soft one because areas are judged by eye.
Colour is a soft clue: comb darkens with the brood reared in it, honey comb stays light,
and a swarm that moved into old comb shows old comb. No published calibration of colour
against age exists; the scale here is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.founding import NEST_COMB_DM2, Hypothesis
from lastbee.evidence.item import draw_grades, grade_chances, normal_log_density

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest

COLOURS = ("white", "yellow", "tan", "brown", "black")
# Judging comb by eye, assumed: relative error of an area, and of a number of combs.
AREA_SPREAD = 0.25
COUNT_SPREAD = 0.35
# A mean natural nest has 8 combs on 117 dm2 of sheet (Seeley & Morse 1976 via Winston
# 1987, from memory); smaller nests have fewer but also shorter combs: power assumed.
NEST_COMBS, COMBS_POWER = 8.0, 0.45
# White for about two weeks, black from about fifteen months: common practice, no source.
WHITE_DAYS, BLACK_DAYS = 15.0, 450.0
OLD_COMB_AGE_DAYS = 500.0
COLOUR_SPREAD = 0.8
# Chance that the darkest comb in view says nothing (only honey comb, bad light).
COLOUR_LAPSE = 0.1
# A cluster without comb: "no comb" is believed while there is less than this, in dm2.
NO_COMB_DM2 = 1.5


@dataclass(frozen=True, slots=True)
class CombSize:
    """Area of comb sheet in dm2, or number of combs, of which all or part was in view."""

    value: float
    is_area: bool
    is_whole: bool
    key: str = "comb"
    label: str = "Comb in view"

    @property
    def reading(self) -> str:
        """The reading in words."""
        size = f"{self.value:.0f} dm2 of comb" if self.is_area else f"{self.value:.0f} combs"
        return f"{size}, {'all of it' if self.is_whole else 'part of it'}"

    @property
    def spread(self) -> float:
        """Relative error of the eye."""
        return AREA_SPREAD if self.is_area else COUNT_SPREAD

    def expected(self, nest: Nest) -> NDArray[np.float64]:
        """All there is, in the unit of the reading."""
        comb = np.maximum(nest.comb_dm2, 0.3)
        if self.is_area:
            return comb
        return np.asarray(NEST_COMBS * (comb / NEST_COMB_DM2) ** COMBS_POWER)

    def log_density(self, value: float, nest: Nest) -> NDArray[np.float64]:
        """Lognormal if all was in view; else any share of it up to the whole is as likely."""
        ratio = np.log(max(value, 1e-3)) - np.log(self.expected(nest))
        if self.is_whole:
            return normal_log_density(ratio, self.spread)
        beyond = np.maximum(ratio, 0.0)
        # Density over the log of the reading: share x below the whole has density x.
        mass = 1.0 + self.spread * np.sqrt(np.pi / 2.0)
        return np.asarray(np.minimum(ratio, 0.0) - 0.5 * (beyond / self.spread) ** 2 - np.log(mass))

    def draw(self, nest: Nest, rng: np.random.Generator) -> NDArray[np.float64]:
        """What would be read off each colony."""
        error = self.spread * rng.standard_normal(nest.size)
        if self.is_whole:
            return np.asarray(self.expected(nest) * np.exp(error))
        share = rng.random(nest.size)
        mass_beyond = self.spread * np.sqrt(np.pi / 2.0)
        is_beyond = rng.random(nest.size) < mass_beyond / (1.0 + mass_beyond)
        return np.asarray(self.expected(nest) * np.where(is_beyond, np.exp(np.abs(error)), share))


@dataclass(frozen=True, slots=True)
class CombColour:
    """The darkest comb in view, as an index into COLOURS."""

    value: float
    key: str = "comb colour"
    label: str = "Colour of the comb"

    @property
    def reading(self) -> str:
        """The reading in words."""
        return COLOURS[int(self.value)]

    def probabilities(self, nest: Nest) -> NDArray[np.float64]:
        """Probability of each colour, shape (n, 5)."""
        is_young = nest.hypothesis == Hypothesis.NEW_SWARM
        age = np.where(is_young, nest.age_days, OLD_COMB_AGE_DAYS)
        scale = (len(COLOURS) - 1) / np.log(BLACK_DAYS / WHITE_DAYS)
        darkness = scale * np.log(np.maximum(age, WHITE_DAYS) / WHITE_DAYS)
        return grade_chances(darkness, len(COLOURS), COLOUR_SPREAD, COLOUR_LAPSE)

    def log_density(self, value: float, nest: Nest) -> NDArray[np.float64]:
        """Log probability of the colour."""
        return np.asarray(np.log(self.probabilities(nest)[:, int(value)]))

    def draw(self, nest: Nest, rng: np.random.Generator) -> NDArray[np.float64]:
        """A colour from each colony."""
        return draw_grades(self.probabilities(nest), rng)


@dataclass(frozen=True, slots=True)
class ClusterOnly:
    """Only a hanging cluster and no comb in view (1), or comb behind the bees (0)."""

    value: float
    key: str = "cluster"
    label: str = "Only a hanging cluster, no comb"

    @property
    def reading(self) -> str:
        """The reading in words."""
        return "yes" if self.value == 1.0 else "no"

    def probability(self, nest: Nest) -> NDArray[np.float64]:
        """Probability that a person would say so."""
        return np.asarray(0.003 + 0.95 * np.exp(-((nest.comb_dm2 / NO_COMB_DM2) ** 2)))

    def log_density(self, value: float, nest: Nest) -> NDArray[np.float64]:
        """Log probability of yes (1) or no (0)."""
        p = self.probability(nest)
        return np.asarray(np.log(p if value == 1.0 else 1.0 - p))

    def draw(self, nest: Nest, rng: np.random.Generator) -> NDArray[np.float64]:
        """Yes or no from each colony."""
        return (rng.random(nest.size) < self.probability(nest)).astype(np.float64)

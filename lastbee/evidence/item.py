"""What an item of evidence is: a reading, how probable it is, and how to imagine another.

Every sighting is one number (a count, an area, days, or 0/1 for no/yes), so that an item
is three things: the log density of a reading given each colony, a draw of the reading
that each colony might give, and words. The log density includes the item's own error;
"not looked at" is the absence of the item, never a reading of zero.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
from scipy.special import expit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest

_LOG_SQRT_2PI = 0.9189385332046727


class Item(Protocol):
    """One sighting, or one that could be made."""

    @property
    def key(self) -> str:
        """Short stable name."""

    @property
    def label(self) -> str:
        """Name for a person."""

    @property
    def value(self) -> float:
        """The reading; NaN for a look not yet taken."""

    @property
    def reading(self) -> str:
        """The reading in words."""

    def log_density(self, value: float, nest: Nest) -> NDArray[np.float64]:
        """Log density of `value` for each colony, shape (n,)."""

    def draw(self, nest: Nest, rng: np.random.Generator) -> NDArray[np.float64]:
        """One reading that each colony might give, shape (n,); NaN where nothing is told."""


def log_likelihood(items: tuple[Item, ...], nest: Nest) -> NDArray[np.float64]:
    """Sum of the items' log densities at their own readings, shape (n,)."""
    total = np.zeros(nest.size)
    for item in items:
        total += item.log_density(item.value, nest)
    return total


def normal_log_density(x: NDArray[np.float64], sd: float) -> NDArray[np.float64]:
    """Log density of a centred normal at `x`."""
    return np.asarray(-0.5 * (x / sd) ** 2 - np.log(sd) - _LOG_SQRT_2PI)


@dataclass(frozen=True, slots=True)
class YesNo:
    """A thing that was looked for and seen (1) or not (0).

    `rises_with` gives each colony's strength of the cue (log scale, 0 where seeing it is
    an even chance); `false_yes` and `missed` bound the probability away from 0 and 1.
    """

    key: str
    label: str
    value: float
    cue: Cue

    @property
    def reading(self) -> str:
        """The reading in words."""
        return "yes" if self.value == 1.0 else "no"

    def log_density(self, value: float, nest: Nest) -> NDArray[np.float64]:
        """Log probability of yes (1) or no (0)."""
        p = self.probability(nest)
        return np.asarray(np.log(p if value == 1.0 else 1.0 - p))

    def draw(self, nest: Nest, rng: np.random.Generator) -> NDArray[np.float64]:
        """Yes or no from each colony."""
        return (rng.random(nest.size) < self.probability(nest)).astype(np.float64)

    def probability(self, nest: Nest) -> NDArray[np.float64]:
        """Probability that a look would answer yes."""
        even = expit(self.cue.strength(nest))
        return np.asarray(self.cue.false_yes + (1.0 - self.cue.false_yes - self.cue.missed) * even)


class Cue(Protocol):
    """What makes a yes likely."""

    @property
    def false_yes(self) -> float:
        """Probability of a yes where there is nothing to see."""

    @property
    def missed(self) -> float:
        """Probability of a no where there is plenty to see."""

    def strength(self, nest: Nest) -> NDArray[np.float64]:
        """Logit of the chance to see it, shape (n,)."""


@dataclass(frozen=True, slots=True)
class Positive:
    """A measured size with a relative error: lognormal around what each colony shows.

    `spread` is the standard deviation of the log; `floor` keeps the expected size above
    what a person can tell from nothing.
    """

    key: str
    label: str
    value: float
    unit: str
    spread: float
    floor: float
    size: Size

    @property
    def reading(self) -> str:
        """The reading in words."""
        return f"{self.value:.3g} {self.unit}"

    def log_density(self, value: float, nest: Nest) -> NDArray[np.float64]:
        """Log density over the log of the size."""
        expected = np.log(np.maximum(self.size.expected(nest), self.floor))
        return normal_log_density(np.log(max(value, 1e-9)) - expected, self.spread)

    def draw(self, nest: Nest, rng: np.random.Generator) -> NDArray[np.float64]:
        """A size read off each colony."""
        expected = np.maximum(self.size.expected(nest), self.floor)
        return np.asarray(expected * np.exp(self.spread * rng.standard_normal(nest.size)))


class Size(Protocol):
    """What a measured size stands for."""

    def expected(self, nest: Nest) -> NDArray[np.float64]:
        """Size that an exact look would find, in the item's unit, shape (n,)."""

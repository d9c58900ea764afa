"""What an item of evidence is: a reading, how probable it is, and how to imagine another.

Every sighting is one number (a count, an area, days, 0/1 for no/yes, or the place of a word
in a scale), so that an item is three things: the log density of a reading given each
colony, a draw of the reading that each colony might give, and words. The log density
includes the item's own error; "not looked at" is the absence of the item, never a reading
of zero.

An item of an inspection reads a `Nest`, one of a visit a `Scene`. A scene is a nest, so
that items of nests serve at visits too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

import numpy as np
from scipy.special import expit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest

NestT = TypeVar("NestT", bound="Nest")
NestT_contra = TypeVar("NestT_contra", bound="Nest", contravariant=True)

# Half the log of two pi.
_LOG_SQRT_2PI = 0.9189385332046727
# Log spread of sizes that are of something else than was looked for: assumed.
STRAY_SPREAD = 1.5


class Item(Protocol[NestT_contra]):
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

    def log_density(self, value: float, nest: NestT_contra) -> NDArray[np.float64]:
        """Log density of `value` for each colony, shape (n,)."""

    def draw(self, nest: NestT_contra, rng: np.random.Generator) -> NDArray[np.float64]:
        """One reading that each colony might give, shape (n,); NaN where nothing is told."""


def log_likelihood(items: tuple[Item[NestT], ...], nest: NestT) -> NDArray[np.float64]:
    """Sum of the items' log densities at their own readings, shape (n,)."""
    total = np.zeros(nest.size)
    for item in items:
        total += item.log_density(item.value, nest)
    return total


def normal_log_density(x: NDArray[np.float64], sd: float) -> NDArray[np.float64]:
    """Log density of a centred normal at `x`."""
    return np.asarray(-0.5 * (x / sd) ** 2 - np.log(sd) - _LOG_SQRT_2PI)


def grade_chances(
    place: NDArray[np.float64], grades: int, spread: float, lapse: float
) -> NDArray[np.float64]:
    """Chance of each word of a scale where the truth lies at `place`, shape (n, grades).

    `place` runs from 0 for the first word to grades - 1 for the last; words are taken with
    a spread in steps of the scale, and any word by `lapse` of chance.
    """
    steps = np.arange(grades) - np.clip(place, 0.0, grades - 1.0)[:, None]
    weight = np.exp(-0.5 * (steps / spread) ** 2)
    sharp = weight / weight.sum(axis=1, keepdims=True)
    return np.asarray((1.0 - lapse) * sharp + lapse / grades)


def draw_grades(chances: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """Draw one word for each row of chances, as its place in the scale, shape (n,)."""
    drawn = (rng.random(len(chances))[:, None] > np.cumsum(chances, axis=1)).sum(axis=1)
    return np.asarray(np.minimum(drawn, chances.shape[1] - 1), dtype=np.float64)


class Cue(Protocol[NestT_contra]):
    """What makes a yes likely."""

    @property
    def false_yes(self) -> float:
        """Probability of a yes where there is nothing to see."""

    @property
    def missed(self) -> float:
        """Probability of a no where there is plenty to see."""

    def shows(self, nest: NestT_contra) -> NDArray[np.float64]:
        """Chance that there is something to see, 0 to 1, shape (n,)."""


@dataclass(frozen=True, slots=True)
class RisesWith:
    """Even chance at `half` of a quantity of the nest or scene, with `slope` on its log."""

    quantity: str
    half: float
    slope: float
    false_yes: float
    missed: float

    def shows(self, nest: Nest) -> NDArray[np.float64]:
        """Chance that there is something to see."""
        amount: NDArray[np.float64] = getattr(nest, self.quantity)
        return np.asarray(expit(self.slope * (np.log(amount + 1.0) - np.log(self.half))))


@dataclass(frozen=True, slots=True)
class YesNo(Generic[NestT]):
    """A thing that was looked for and seen (1) or not (0).

    The cue's `false_yes` and `missed` bound the probability away from 0 and 1; `answers`
    are the words for no and yes.
    """

    key: str
    label: str
    value: float
    cue: Cue[NestT]
    answers: tuple[str, str] = ("no", "yes")

    @property
    def reading(self) -> str:
        """The reading in words."""
        return self.answers[int(self.value)]

    def log_density(self, value: float, nest: NestT) -> NDArray[np.float64]:
        """Log probability of yes (1) or no (0)."""
        p = self.probability(nest)
        return np.asarray(np.log(p if value == 1.0 else 1.0 - p))

    def draw(self, nest: NestT, rng: np.random.Generator) -> NDArray[np.float64]:
        """Yes or no from each colony."""
        return (rng.random(nest.size) < self.probability(nest)).astype(np.float64)

    def probability(self, nest: NestT) -> NDArray[np.float64]:
        """Probability that a look would answer yes."""
        return np.asarray(self.cue.false_yes + found_truly(self.cue, nest))


def found_truly(cue: Cue[NestT], nest: NestT) -> NDArray[np.float64]:
    """Probability of a yes beyond the false ones, shape (n,)."""
    return np.asarray((1.0 - cue.false_yes - cue.missed) * cue.shows(nest))


class Size(Protocol[NestT_contra]):
    """What a measured size stands for."""

    def expected(self, nest: NestT_contra) -> NDArray[np.float64]:
        """Size that an exact look would find, in the item's unit, shape (n,)."""


class Flow(Protocol[NestT_contra]):
    """Bees that pass a place on their way."""

    def bees_per_minute(
        self, nest: NestT_contra, activity: float, flight_h: float
    ) -> NDArray[np.float64]:
        """Mean number a minute that a person would count, shape (n,)."""


@dataclass(frozen=True, slots=True)
class Positive(Generic[NestT]):
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
    size: Size[NestT]

    @property
    def reading(self) -> str:
        """The reading in words."""
        return f"{self.value:.3g} {self.unit}"

    def log_density(self, value: float, nest: NestT) -> NDArray[np.float64]:
        """Log density over the log of the size."""
        expected = np.log(np.maximum(self.size.expected(nest), self.floor))
        return normal_log_density(np.log(max(value, 1e-9)) - expected, self.spread)

    def draw(self, nest: NestT, rng: np.random.Generator) -> NDArray[np.float64]:
        """A size read off each colony."""
        expected = np.maximum(self.size.expected(nest), self.floor)
        return np.asarray(expected * np.exp(self.spread * rng.standard_normal(nest.size)))


@dataclass(frozen=True, slots=True)
class SizeOrNone(Generic[NestT]):
    """A size of which 0, "none", is a finding.

    Whether there is any is answered like a `YesNo`, by `cue`; where there is, the size is
    that of `measured`. A false yes is of something else, widely about `stray`, so that no
    size rules a colony out.
    """

    measured: Positive[NestT]
    cue: Cue[NestT]
    stray: float

    @property
    def key(self) -> str:
        """Short stable name."""
        return self.measured.key

    @property
    def label(self) -> str:
        """Name for a person."""
        return self.measured.label

    @property
    def value(self) -> float:
        """The reading."""
        return self.measured.value

    @property
    def unit(self) -> str:
        """Unit of the size."""
        return self.measured.unit

    @property
    def reading(self) -> str:
        """The reading in words."""
        return self.measured.reading if self.value > 0.0 else "none"

    def log_density(self, value: float, nest: NestT) -> NDArray[np.float64]:
        """Log probability of none; else log density over the log of the size."""
        found = found_truly(self.cue, nest)
        if value <= 0.0:
            return np.asarray(np.log(1.0 - self.cue.false_yes - found))
        off = np.asarray(np.log(value / self.stray))
        stray = np.log(self.cue.false_yes) + normal_log_density(off, STRAY_SPREAD)
        true = np.log(found) + self.measured.log_density(value, nest)
        return np.asarray(np.logaddexp(stray, true))

    def draw(self, nest: NestT, rng: np.random.Generator) -> NDArray[np.float64]:
        """A size read off each colony, or 0."""
        which = rng.random(nest.size)
        size = self.measured.draw(nest, rng)
        stray = self.stray * np.exp(STRAY_SPREAD * rng.standard_normal(nest.size))
        is_any = which < self.cue.false_yes + found_truly(self.cue, nest)
        return np.where(which < self.cue.false_yes, stray, np.where(is_any, size, 0.0))


class Scale(Protocol[NestT_contra]):
    """What a word of a scale stands for."""

    def place(self, nest: NestT_contra) -> NDArray[np.float64]:
        """Where the truth lies, 0 at the first word and one more at each next, shape (n,)."""


@dataclass(frozen=True, slots=True)
class Graded(Generic[NestT]):
    """One of a few words in order; the reading is its place in `grades`.

    See `grade_chances` for `spread` and `lapse`.
    """

    key: str
    label: str
    value: float
    grades: tuple[str, ...]
    spread: float
    lapse: float
    scale: Scale[NestT]

    @property
    def reading(self) -> str:
        """The reading in words."""
        return self.grades[int(self.value)]

    def probabilities(self, nest: NestT) -> NDArray[np.float64]:
        """Probability of each word, shape (n, len(grades))."""
        return grade_chances(self.scale.place(nest), len(self.grades), self.spread, self.lapse)

    def log_density(self, value: float, nest: NestT) -> NDArray[np.float64]:
        """Log probability of the word."""
        return np.asarray(np.log(self.probabilities(nest)[:, int(value)]))

    def draw(self, nest: NestT, rng: np.random.Generator) -> NDArray[np.float64]:
        """A word from each colony."""
        return draw_grades(self.probabilities(nest), rng)

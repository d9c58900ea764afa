"""Counting bees: at the exit of a nest, and of one flow at a visit.

Exits a minute are foragers x trips a day x how busy this hour is (a share of full flight)
over the day's hours of full flight (the identity behind every classroom formula for
traffic). How counts scatter is told in `lastbee.evidence.counts`. At a visit some counts
are taken to be of something else (`FlightCount`), so that none settles by itself how a
trap-out stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic

import numpy as np

from lastbee.evidence.counts import clumping, count_log_density, draw_count, per_minute
from lastbee.evidence.item import NestT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.item import Flow
    from lastbee.evidence.nest import Nest

# Stray bees a minute that belong to nobody inside (scouts, robbers): assumed.
STRAYS_PER_MINUTE = 0.2
# Share of a visit's counts at the cone that are of something else (bees of the box playing
# or robbing, wasps), how many a minute those are, and how widely they vary (negative
# binomial size): assumed.
MISTAKEN, MISTAKEN_PER_MINUTE, MISTAKEN_SIZE = 0.03, 3.0, 0.3


@dataclass(frozen=True, slots=True)
class TrafficCount:
    """Bees leaving (or entering, or both) in a few minutes.

    `directions` is 1 if one direction was counted, 2 if both were added; `activity` the
    flight activity at that hour as a share of full flight (0 when it is too cold, wet or
    dark to fly); `flight_h` that day's flight hours.
    """

    value: float
    minutes: float
    directions: int
    activity: float
    flight_h: float
    key: str = "traffic"
    label: str = "Bees counted at the exit"

    @property
    def reading(self) -> str:
        """The reading in words."""
        way = "in and out" if self.directions == 2 else "one way"
        return f"{self.value:.0f} bees {way} in {self.minutes:g} min"

    def expected(self, nest: Nest) -> NDArray[np.float64]:
        """Mean count of each colony."""
        flights = per_minute(nest.foragers * nest.trips_per_day, self.activity, self.flight_h)
        return np.asarray(self.minutes * self.directions * (flights + STRAYS_PER_MINUTE))

    @property
    def clumping(self) -> float:
        """Negative binomial size of the count."""
        return clumping(self.activity)

    def log_density(self, value: float, nest: Nest) -> NDArray[np.float64]:
        """Negative binomial log probability of the count."""
        return count_log_density(value, self.expected(nest), self.clumping)

    def draw(self, nest: Nest, rng: np.random.Generator) -> NDArray[np.float64]:
        """Imagine a count at each colony."""
        return draw_count(self.expected(nest), self.clumping, rng)


@dataclass(frozen=True, slots=True)
class FlightCount(Generic[NestT]):
    """Bees of one flow counted for some minutes of a visit.

    `activity` and `flight_h` as in `TrafficCount`; `mistaken` is the share of such counts
    that are of something else.
    """

    key: str
    label: str
    value: float
    minutes: float
    activity: float
    flight_h: float
    flow: Flow[NestT]
    mistaken: float = MISTAKEN

    @property
    def reading(self) -> str:
        """The reading in words."""
        count = f"{self.value:.0f}" if self.value > 0.0 else "none"
        return f"{count} in {self.minutes:g} min"

    def expected(self, nest: NestT) -> NDArray[np.float64]:
        """Mean count of each colony, where it is of what it should be."""
        rate = self.flow.bees_per_minute(nest, self.activity, self.flight_h)
        return np.asarray(self.minutes * rate)

    def log_density(self, value: float, nest: NestT) -> NDArray[np.float64]:
        """Log probability: negative binomial, mixed with a few counts of something else."""
        right = count_log_density(value, self.expected(nest), clumping(self.activity))
        wrong = count_log_density(value, self._of_else, MISTAKEN_SIZE)
        share = self.mistaken
        return np.asarray(np.logaddexp(np.log1p(-share) + right, np.log(share) + wrong))

    def draw(self, nest: NestT, rng: np.random.Generator) -> NDArray[np.float64]:
        """Imagine a count at each colony."""
        right = draw_count(self.expected(nest), clumping(self.activity), rng)
        wrong = draw_count(np.broadcast_to(self._of_else, nest.size), MISTAKEN_SIZE, rng)
        return np.where(rng.random(nest.size) < self.mistaken, wrong, right)

    @property
    def _of_else(self) -> NDArray[np.float64]:
        return np.asarray(self.minutes * MISTAKEN_PER_MINUTE)

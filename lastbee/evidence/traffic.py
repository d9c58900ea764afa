"""Counting bees at the exit.

Exits a minute are foragers x trips a day x how busy this hour is (a share of full flight)
over the day's hours of full flight (the identity behind every classroom formula for
traffic). Counts are over-dispersed: a negative binomial whose relative spread never
falls below `1/sqrt(CLUMPING)`, because gusts, clouds and play flights come in clumps,
and grows without end as flight nears its cold limit, where the share of bees flying is
itself hardly known.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import gammaln

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest

# Negative binomial size: 45 % relative spread of a good count; common practice, no source.
CLUMPING = 5.0
# Error of the flight activity that weather words and a thermometer give: assumed.
ACTIVITY_ERROR = 0.1
# Stray bees a minute that belong to nobody inside (scouts, robbers): assumed.
STRAYS_PER_MINUTE = 0.2


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
        flight_min = 60.0 * max(self.flight_h, 0.5)
        per_minute = nest.foragers * nest.trips_per_day * self.activity / flight_min
        return np.asarray(self.minutes * self.directions * (per_minute + STRAYS_PER_MINUTE))

    @property
    def clumping(self) -> float:
        """Negative binomial size: relative variances of clumps and of activity, added."""
        unsure = ACTIVITY_ERROR / max(self.activity, 1e-3)
        return 1.0 / (1.0 / CLUMPING + unsure * unsure)

    def log_density(self, value: float, nest: Nest) -> NDArray[np.float64]:
        """Negative binomial log probability of the count."""
        mean, size = self.expected(nest), self.clumping
        log_mean = np.log(mean / (mean + size))
        log_rest = np.log(size / (mean + size))
        constant = gammaln(value + size) - gammaln(size) - gammaln(value + 1.0)
        return np.asarray(constant + size * log_rest + value * log_mean)

    def draw(self, nest: Nest, rng: np.random.Generator) -> NDArray[np.float64]:
        """Imagine a count at each colony."""
        size = self.clumping
        rate = self.expected(nest) * rng.gamma(size, 1.0 / size, nest.size)
        return rng.poisson(rate).astype(np.float64)

"""How counts of flying bees scatter.

Counts are over-dispersed: a negative binomial whose relative spread never falls below
`1/sqrt(CLUMPING)`, because gusts, clouds and play flights come in clumps, and grows
without end as flight nears its cold limit, where the share of bees flying is itself hardly
known.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import gammaln

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Negative binomial size: 45 % relative spread of a good count; common practice, no source.
CLUMPING = 5.0
# Error of the flight activity that weather words and a thermometer give: assumed.
ACTIVITY_ERROR = 0.1
# A day with less flight counts as this long: assumed. [h]
SHORTEST_DAY_H = 0.5


def per_minute(
    per_day: NDArray[np.float64], activity: float, flight_h: float
) -> NDArray[np.float64]:
    """Spread a day's flights over its hours of full flight, as busy as this hour is."""
    return np.asarray(per_day * activity / (60.0 * max(flight_h, SHORTEST_DAY_H)))


def clumping(activity: float) -> float:
    """Negative binomial size: relative variances of clumps and of activity, added."""
    unsure = ACTIVITY_ERROR / max(activity, 1e-3)
    return 1.0 / (1.0 / CLUMPING + unsure * unsure)


def count_log_density(value: float, mean: NDArray[np.float64], size: float) -> NDArray[np.float64]:
    """Negative binomial log probability of a count, shape of `mean` (> 0)."""
    log_mean = np.log(mean / (mean + size))
    log_rest = np.log(size / (mean + size))
    constant = gammaln(value + size) - gammaln(size) - gammaln(value + 1.0)
    return np.asarray(constant + size * log_rest + value * log_mean)


def chance_of_any(mean: NDArray[np.float64], size: float) -> NDArray[np.float64]:
    """Negative binomial probability of one or more, shape of `mean`."""
    return np.asarray(1.0 - (size / (mean + size)) ** size)


def draw_count(
    mean: NDArray[np.float64], size: float, rng: np.random.Generator
) -> NDArray[np.float64]:
    """Negative binomial counts, shape of `mean`."""
    return rng.poisson(mean * rng.gamma(size, 1.0 / size, mean.shape)).astype(np.float64)

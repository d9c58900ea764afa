"""From evidence to posterior: which hidden colonies agree with what was seen.

Each proposal of the sampler re-lives its colony from founding to the morning of the
inspection, weather included, and scores it by every item of evidence.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from threadpoolctl import threadpool_limits

from lastbee.colony.founding import DIMENSIONS, Colonies, Founding, draw_colonies
from lastbee.colony.kernel import live
from lastbee.evidence.item import log_likelihood
from lastbee.evidence.nest import Nest, nest_from
from lastbee.forecast.sampler import Cloud, temper

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from lastbee.evidence.item import Item


# A colony much smaller than this is hardly noticed, let alone inspected: assumed.
CALLED_BEES = 800.0


@dataclass(frozen=True, slots=True)
class Posterior:
    """Equally weighted colonies that agree with the evidence, as they are at inspection."""

    cloud: Cloud
    colonies: Colonies
    nest: Nest


def simulate_nests(
    z: NDArray[np.float64],
    noise: NDArray[np.uint64],
    founding: Founding,
    sky: NDArray[np.float64],
) -> tuple[Colonies, Nest]:
    """Live the colonies at prior points `z` to the inspection.

    Parameters
    ----------
    z
        Points of the prior, shape (n, DIMENSIONS).
    noise
        Weather seeds, shape (n,).
    founding, sky
        Calendar and daily drivers of the site.

    Returns
    -------
    The colonies and what they look like on the morning of the inspection.
    """
    colonies = draw_colonies(z, founding)
    day = founding.inspection_day
    snaps, _, _ = live(colonies.params, noise, sky, snap_days=(day,))
    return colonies, nest_from(snaps[:, 0], colonies, day)


def log_alive(nest: Nest) -> NDArray[np.float64]:
    """Log probability that anybody would have called about each colony, shape (n,).

    Every job starts with bees seen; colonies that dwindled away are never inspected.
    """
    return np.asarray(np.log1p(-np.exp(-((nest.adults / CALLED_BEES) ** 2)) + 1e-12))


def condition(
    items: tuple[Item[Nest], ...],
    founding: Founding,
    sky: NDArray[np.float64],
    count: int,
    rng: np.random.Generator,
    progress: Callable[[float], None] | None = None,
) -> Posterior:
    """Sample colonies given the evidence; with no items this is the prior.

    Parameters
    ----------
    items
        The sightings, each with its reading.
    founding, sky
        Calendar and daily drivers of the site.
    count
        Number of colonies.
    rng
        Source of all randomness.
    progress
        Called with a fraction done, 0 to 1.

    Returns
    -------
    The posterior.

    Raises
    ------
    DegenerateWeights, NotConverged
        See `temper`.
    """

    def score(z: NDArray[np.float64], noise: NDArray[np.uint64]) -> NDArray[np.float64]:
        _, nest = simulate_nests(z, noise, founding, sky)
        return log_likelihood(items, nest) + log_alive(nest)

    # The fits of the sampler are small: more threads only wait for each other, and sums
    # split over them would depend on their number.
    with threadpool_limits(limits=1, user_api="blas"):
        cloud = temper(score, DIMENSIONS, count, rng, progress)
    colonies, nest = simulate_nests(cloud.z, cloud.noise, founding, sky)
    return Posterior(cloud, colonies, nest)

"""Which sightings carried the answer, and which disagree with the rest.

For each item the posterior is sampled again without it, on fewer colonies. How far the
answer moved is the relative entropy, in bits, between Gaussian fits to what people read
(age, adults and honey, as normal scores of their ranks).

Conflict is how many times less likely the other sightings make the reading than it would
be with nothing else known: p(reading) / p(reading | others). It needs no choice of scale,
and a reading that is rare anywhere is no quarrel with the others. Surprise is the
probability, given all others, of a reading no more likely than the one reported: a
posterior predictive p-value with the item left out, so that it cannot vouch for itself.
It finds what conflict cannot: a reading that fits no colony at all.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import logsumexp, ndtri

from lastbee.forecast.posterior import condition

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from lastbee.colony.founding import Founding
    from lastbee.evidence.item import Item, NestT
    from lastbee.evidence.nest import Nest

IMAGINED_READINGS = 400
COLONIES_PER_ITEM = 3000
# Keeps a fit from vanishing where all colonies share a value (all of one age).
LEAST_VARIANCE = 1e-3


@dataclass(frozen=True, slots=True)
class Influence:
    """What one item did to the answer.

    `without` is the nest had it not been reported; `conflict` and `surprise` are as told
    at the head of this module.
    """

    item: Item[Nest]
    without: Nest
    information_bits: float
    conflict: float
    surprise: float


def influences(
    items: tuple[Item[Nest], ...],
    nest: Nest,
    founding: Founding,
    sky: NDArray[np.float64],
    rng: np.random.Generator,
    progress: Callable[[float], None] | None = None,
) -> tuple[Influence, ...]:
    """Weigh every item against the answer without it.

    Parameters
    ----------
    items
        The sightings.
    nest
        The posterior with all of them.
    founding, sky
        Calendar and daily drivers of the site.
    rng
        Source of all randomness.
    progress
        Called with a fraction done, 0 to 1.

    Returns
    -------
    One influence an item, in the order given.
    """
    found = []
    unseen = condition((), founding, sky, COLONIES_PER_ITEM, rng).nest
    for i, item in enumerate(items):
        others = items[:i] + items[i + 1 :]
        without = condition(others, founding, sky, COLONIES_PER_ITEM, rng).nest
        predicted = _predictive(item, item.value, without)
        found.append(
            Influence(
                item,
                without,
                information_bits(nest, without),
                float(np.exp(_predictive(item, item.value, unseen) - predicted)),
                surprise(item, without, rng),
            )
        )
        if progress is not None:
            progress((i + 1) / len(items))
    return tuple(found)


def surprise(item: Item[NestT], without: NestT, rng: np.random.Generator) -> float:
    """Probability of a reading no more likely than the item's, by imagined readings.

    NaN among the imagined is "nothing to report", which counts as the likelier outcome.
    """
    chosen = rng.integers(0, without.size, IMAGINED_READINGS)
    imagined = item.draw(without.take(chosen), rng)
    observed = _predictive(item, item.value, without)
    at_most = sum(
        _predictive(item, float(value), without) <= observed + 1e-9
        for value in imagined[~np.isnan(imagined)]
    )
    return (at_most + 1.0) / (IMAGINED_READINGS + 1.0)


def _predictive(item: Item[NestT], value: float, nest: NestT) -> float:
    return float(logsumexp(item.log_density(value, nest)) - np.log(nest.size))


def information_bits(with_it: Nest, without: Nest) -> float:
    """Relative entropy of Gaussian fits to age, adults and honey, in bits, >= 0.

    Each quantity is first turned into the normal score of its rank among the colonies
    without the item, so that a rare far mode cannot sway the fits.
    """
    names = ("age_days", "adults", "honey_g")
    p, q = (
        np.column_stack([_scores(getattr(n, x), getattr(without, x)) for x in names])
        for n in (with_it, without)
    )
    mean_gap = q.mean(axis=0) - p.mean(axis=0)
    floor = LEAST_VARIANCE * np.eye(len(names))
    cov_p, cov_q = (np.cov(x, rowvar=False) + floor for x in (p, q))
    inverse_q = np.linalg.inv(cov_q)
    log_ratio = np.linalg.slogdet(cov_q)[1] - np.linalg.slogdet(cov_p)[1]
    nats = 0.5 * (
        np.trace(inverse_q @ cov_p) + mean_gap @ inverse_q @ mean_gap - p.shape[1] + log_ratio
    )
    return float(max(0.0, nats) / np.log(2.0))


def _scores(values: NDArray[np.float64], among: NDArray[np.float64]) -> NDArray[np.float64]:
    """Normal scores of the ranks of `values` among others, ties in the middle."""
    ordered = np.sort(among)
    below = np.searchsorted(ordered, values, side="left")
    at_most = np.searchsorted(ordered, values, side="right")
    return np.asarray(ndtri((0.5 * (below + at_most) + 0.5) / (len(ordered) + 1.0)))

"""The sampler against another sequential Monte Carlo sampler, smcpy, on the same likelihood.

smcpy, a library of its own, tempers the likelihood of everything at once and
moves by random walks of the whole vector, after Del Moral, Doucet & Jasra (2006). Ours
takes visits in one after another and moves parts of the vector. What they agree on, where
nobody can integrate, is no mistake of one of them.

Both are run several times; means, spreads and log evidence are compared by Welch's t. All
seeds are fixed; two correct samplers had a chance of FALSE_ALARM to fail any one of some 50
comparisons when they were chosen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import smcpy
from scipy import stats
from scipy.special import gammaln

from lastbee.evidence.item import log_likelihood
from lastbee.forecast.sampler import absorb, prior_cloud
from tests.statistical import test_reference_samplers as real

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    # From points (n, d): log likelihood of every visit (n, visits), what is compared (n, k).
    OfPoints = Callable[[Array], Array]

FALSE_ALARM = 1e-5
problem = real.problem

# Invented counts of bees at a cone, and days since it went on.
SEEN = np.array([54.0, 53.0, 17.0, 8.0, 9.0, 7.0])
DAYS = np.array([0.0, 4.0, 8.0, 13.0, 19.0, 26.0])
DEVIATES = 2 + len(DAYS)


def expected_counts(z: Array) -> Array:
    """Counts that fall off at a rate of their own and wander about it, shape (n, visits)."""
    start = np.log(40.0) + 0.7 * z[:, :1]
    loss_per_day = 0.08 * np.exp(0.5 * z[:, 1:2])
    return np.exp(start - loss_per_day * DAYS + np.cumsum(0.35 * z[:, 2:], axis=1))


def of_counts(z: Array) -> Array:
    """Poisson's law."""
    mean = expected_counts(z)
    return np.asarray(SEEN * np.log(mean) - mean - gammaln(SEEN + 1.0))


def count_quantities(z: Array) -> Array:
    """All deviates, and the logs of the expected counts."""
    return np.column_stack([z, np.log(expected_counts(z))])


def summary(quantities: Array, log_evidence: float) -> Array:
    """Means, standard deviations, log evidence."""
    return np.concatenate([quantities.mean(axis=0), quantities.std(axis=0), [log_evidence]])


def by_lastbee(
    of_visits: OfPoints, quantities: OfPoints, dimensions: int, visits: int, count: int, runs: int
) -> Array:
    """Summaries of independent runs that absorb visit by visit, shape (runs, ...)."""
    found = []
    for seed in np.random.SeedSequence(61).spawn(runs):
        rng = np.random.default_rng(seed)
        cloud = prior_cloud(dimensions, count, rng)
        for visit in range(visits):

            def scores(z: Array, _: object, visit: int = visit) -> tuple[Array, Array]:
                table = of_visits(z)
                return table[:, :visit].sum(axis=1), table[:, visit]

            cloud = absorb(cloud, scores, rng)
        found.append(summary(quantities(cloud.z), cloud.log_evidence))
    return np.array(found)


def by_smcpy(
    of_visits: OfPoints, quantities: OfPoints, dimensions: int, count: int, steps: int, runs: int
) -> Array:
    """The same by smcpy, all visits at once."""

    def likelihood(*_: object) -> OfPoints:
        return lambda points: of_visits(points).sum(axis=1)

    found = []
    for seed in np.random.SeedSequence(62).spawn(runs):
        priors = [stats.norm(0.0, 1.0)] * dimensions
        chains = smcpy.VectorMCMC(None, None, priors, log_like_func=likelihood)
        names = [f"z{i}" for i in range(dimensions)]
        kernel = smcpy.VectorMCMCKernel(chains, names, rng=np.random.default_rng(seed))
        sampler = smcpy.AdaptiveSampler(kernel, show_progress_bar=False)
        stages, log_evidences = sampler.sample(count, steps, target_ess=0.7)
        last = stages[-1]
        np.testing.assert_allclose(last.weights, 1.0 / count)
        found.append(summary(quantities(last.params), float(log_evidences[-1])))
    return np.array(found)


def p_values(ours: Array, theirs: Array) -> Array:
    """Welch's t of every column; the log of an evidence lies low by half its variance."""
    level = [x + np.append(np.zeros(x.shape[1] - 1), 0.5 * x[:, -1].var()) for x in (ours, theirs)]
    return np.asarray(stats.ttest_ind(*level, equal_var=False).pvalue)


@pytest.fixture(scope="module")
def counts_by_smcpy() -> Array:
    """Give the other sampler's answer on the counts."""
    return by_smcpy(of_counts, count_quantities, DEVIATES, count=1500, steps=15, runs=12)


def test_counts_at_a_cone_agree_with_another_smc_sampler(counts_by_smcpy: Array) -> None:
    """Tests posterior means and spreads of 14 quantities and the log evidence, of six counts.

    A comparison that could not fail is none: both know the means to 3 % of the spread, and
    the log evidence to 0.05.
    """
    ours = by_lastbee(of_counts, count_quantities, DEVIATES, len(DAYS), count=1500, runs=12)
    assert p_values(ours, counts_by_smcpy).min() > FALSE_ALARM
    for found in (ours, counts_by_smcpy):
        error = found.std(axis=0, ddof=1) / np.sqrt(len(found))
        assert (error[:14] < 0.03 * found[:, 14:28].mean(axis=0)).all()
        assert error[28] < 0.05


def test_a_count_left_out_is_found_out(counts_by_smcpy: Array) -> None:
    """Tests the check itself: without the last visit, its count, spreads and evidence differ."""
    ours = by_lastbee(of_counts, count_quantities, DEVIATES, len(DAYS) - 1, count=1500, runs=12)
    p = p_values(ours, counts_by_smcpy)
    assert (p[[13, 27, 28]] < FALSE_ALARM).all()


@pytest.mark.long
@pytest.mark.timeout(900)
def test_the_real_engine_agrees_with_another_smc_sampler(problem: real.Slice) -> None:
    """Tests age, adults and honey on a slice of the real problem, its items one after another."""

    def of_items(free: Array) -> Array:
        nests = problem.nests(free)
        return np.column_stack([log_likelihood((item,), nests) for item in real.ITEMS])

    free, items = len(real.FREE), len(real.ITEMS)
    ours = by_lastbee(of_items, problem.quantities, free, items, count=4000, runs=12)
    theirs = by_smcpy(of_items, problem.quantities, free, count=4000, steps=15, runs=12)
    assert p_values(ours, theirs).min() > FALSE_ALARM

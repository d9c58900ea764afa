"""The sampler against two independent libraries on a slice of the real problem.

The likelihood is the product's own (real items of evidence on the real engine) with six
uncertain numbers free, the rest at their medians and one fixed stream of weather, so that
it is a plain function that any library can sample. emcee (affine-invariant ensemble,
Goodman & Weare 2010) gives means and spreads; dynesty (nested sampling, Skilling 2006)
gives those and the evidence.

Every comparison allows SIGMAS standard errors of the difference, Monte Carlo errors of both
sides added in squares: a chance of 1e-5 of a false alarm for each of the 13 comparisons when
the seeds were chosen; they are fixed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import dynesty
import emcee
import numpy as np
import pytest
from dynesty.utils import resample_run
from scipy.special import ndtri

from lastbee.biology.constants import PARAMETERS, Column
from lastbee.colony.founding import DIMENSIONS, Box, Cavity, Deviate, Founding
from lastbee.evidence import cues
from lastbee.evidence.comb import CombSize
from lastbee.evidence.item import log_likelihood
from lastbee.evidence.told import FirstSeen
from lastbee.evidence.traffic import TrafficCount
from lastbee.forecast.posterior import simulate_nests
from lastbee.forecast.sampler import temper
from lastbee.planning.climate import ClimateNormals
from lastbee.planning.sky import year_at

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest

    Array = NDArray[np.float64]

SIGMAS = 4.5
QUANTITIES = ("age", "adults", "honey")
_VARYING = [i for i, p in enumerate(PARAMETERS) if p.kind in {"lognormal", "logit"}]
FREE = (
    Deviate.ARRIVAL,
    Deviate.BEES,
    Deviate.TRIPS,
    len(Deviate) + _VARYING.index(Column.INCOME),
    len(Deviate) + _VARYING.index(Column.LAY_MAX),
    len(Deviate) + _VARYING.index(Column.BUILD),
)
# Invented normals of a temperate inland place.
NORMALS = ClimateNormals(
    (0.0, 2.0, 7.0, 14.0, 20.0, 25.0, 27.5, 26.5, 22.0, 15.0, 8.0, 2.0),
    (-8.0, -7.0, -3.0, 3.0, 8.5, 13.5, 16.0, 15.0, 11.0, 5.0, 0.5, -5.0),
    (0.4, 0.35, 0.35, 0.3, 0.25, 0.22, 0.2, 0.2, 0.22, 0.28, 0.35, 0.4),
)
ITEMS = (
    TrafficCount(150.0, 5.0, 1, 0.9, 9.5),
    CombSize(18.0, is_area=True, is_whole=False),
    FirstSeen(24.0),
    cues.warm_area(9.0),
    cues.capped_brood_seen(1.0),
)


@dataclass(frozen=True, slots=True)
class Slice:
    """The likelihood over the free deviates, new swarms on bare comb."""

    founding: Founding
    sky: Array

    def nests(self, free: Array) -> Nest:
        """Colonies at points of shape (n, len(FREE))."""
        z = np.zeros((len(free), DIMENSIONS))
        z[:, Deviate.HYPOTHESIS] = -3.0
        z[:, FREE] = free
        weather = np.full(len(free), 20260720, dtype=np.uint64)
        return simulate_nests(z, weather, self.founding, self.sky)[1]

    def log_likelihood(self, free: Array) -> Array:
        """Score of each point, shape (n,)."""
        return log_likelihood(ITEMS, self.nests(free))

    def quantities(self, free: Array) -> Array:
        """Age [d], adults and honey [g], shape (n, 3)."""
        nest = self.nests(free)
        return np.column_stack([nest.age_days, nest.adults, nest.honey_g])


@dataclass(frozen=True, slots=True)
class Found:
    """Means and spreads of QUANTITIES, then perhaps the log evidence, with standard errors."""

    values: Array
    errors: Array


@pytest.fixture(scope="module")
def problem() -> Slice:
    """Give an inspection in July."""
    year = year_at(43.0, -75.0, date(2026, 7, 20), NORMALS, 3)
    cavity = Cavity(0.37, 0.09, 2.4)
    founding = Founding(year.arrivals, year.swarm_share_so_far, cavity, Box(0.0, 0.0, 1.0))
    return Slice(founding, year.sky)


def moments(quantities: Array, weights: Array | None = None) -> Array:
    """Means, then standard deviations."""
    mean = np.average(quantities, axis=0, weights=weights)
    variance = np.average((quantities - mean) ** 2, axis=0, weights=weights)
    return np.concatenate([mean, np.sqrt(variance)])


def by_lastbee(problem: Slice, runs: int, count: int, seed: int) -> Found:
    """Mean of independent runs; errors from their scatter."""
    each = []
    for s in np.random.SeedSequence(seed).spawn(runs):
        cloud = temper(
            lambda z, _: problem.log_likelihood(z), len(FREE), count, np.random.default_rng(s)
        )
        each.append([*moments(problem.quantities(cloud.z)), cloud.log_evidence])
    table = np.array(each)
    return Found(table.mean(axis=0), table.std(axis=0, ddof=1) / np.sqrt(runs))


def by_emcee(problem: Slice, steps: int, seed: int) -> Found:
    """Long chains of 48 walkers; errors from the autocorrelation of what is averaged."""

    def log_posterior(points: Array) -> Array:
        return problem.log_likelihood(points) - 0.5 * (points**2).sum(axis=1)

    walkers = 48
    chains = emcee.EnsembleSampler(walkers, len(FREE), log_posterior, vectorize=True)
    chains.random_state = np.random.RandomState(seed).get_state()
    start = 0.3 * np.random.default_rng(seed).standard_normal((walkers, len(FREE)))
    chains.run_mcmc(start, steps, skip_initial_state_check=True)
    points = chains.get_chain(discard=steps // 5, thin=4)
    kept = len(points)
    quantities = problem.quantities(points.reshape(-1, len(FREE)))
    series = quantities.reshape(kept, walkers, len(QUANTITIES))
    found = moments(quantities)
    # A spread's error is that of the mean squared distance, over twice the spread.
    squares = (series - found[: len(QUANTITIES)]) ** 2
    tau = [emcee.autocorr.integrated_time(x, tol=20) for x in (series, squares)]
    independent = kept * walkers / np.array(tau)
    spread = found[len(QUANTITIES) :]
    mean_error = spread / np.sqrt(independent[0])
    spread_error = squares.std(axis=(0, 1)) / (2.0 * spread * np.sqrt(independent[1]))
    return Found(found, np.concatenate([mean_error, spread_error]))


def by_dynesty(problem: Slice, live: int, seed: int) -> Found:
    """Nested sampling; errors by resampling its own threads."""
    rng = np.random.default_rng(seed)
    run = dynesty.NestedSampler(
        lambda point: float(problem.log_likelihood(point[None, :])[0]),
        lambda cube: ndtri(cube),
        len(FREE),
        nlive=live,
        sample="rwalk",
        rstate=rng,
    )
    run.run_nested(dlogz=0.01, print_progress=False)
    results = run.results
    quantities = problem.quantities(results.samples)
    point = np.append(moments(quantities, results.importance_weights()), results.logz[-1])
    again = []
    for _ in range(40):
        other, index = resample_run(results, rstate=rng, return_idx=True)
        weights = other.importance_weights()
        again.append(np.append(moments(quantities[index], weights), other.logz[-1]))
    return Found(point, np.std(again, axis=0, ddof=1))


def differences(ours: Found, theirs: Found) -> Array:
    """Differences in standard errors, for as many values as they give."""
    n = len(theirs.values)
    gap = ours.values[:n] - theirs.values
    return np.asarray(gap / np.hypot(ours.errors[:n], theirs.errors))


def check(name: str, run: Callable[[], Found], ours: Found) -> None:
    """Compare and show all differences if one is too large."""
    theirs = run()
    apart = differences(ours, theirs)
    assert (np.abs(apart) < SIGMAS).all(), f"{name}: {apart.round(1)} standard errors"
    # A comparison that could not fail is none: both know the means to 8 % of the spread.
    k = len(QUANTITIES)
    for found in (ours, theirs):
        assert (found.errors[:k] < 0.08 * ours.values[k : 2 * k]).all(), f"{name} is too short"


def test_slice_is_informative(problem: Slice) -> None:
    """Tests that the data narrow the slice, so that agreement is not that of two priors."""
    prior = problem.quantities(np.random.default_rng(1).standard_normal((4000, len(FREE))))
    posterior = by_lastbee(problem, 4, 500, seed=2).values
    assert (posterior[3:6] < 0.75 * prior.std(axis=0)).all()


@pytest.fixture(scope="module")
def ours(problem: Slice) -> Found:
    """Give our own answer, 16 runs of 1000."""
    return by_lastbee(problem, 16, 1000, seed=31)


def test_agrees_with_an_ensemble_sampler(problem: Slice, ours: Found) -> None:
    """Tests means and spreads of age, adults and honey against emcee."""
    check("emcee", lambda: by_emcee(problem, 4000, seed=32), ours)


def test_agrees_with_nested_sampling(problem: Slice, ours: Found) -> None:
    """Tests means, spreads and log evidence against dynesty."""
    check("dynesty", lambda: by_dynesty(problem, 200, seed=33), ours)


@pytest.mark.long
@pytest.mark.timeout(900)
def test_agrees_closely_with_both_at_length(problem: Slice) -> None:
    """Tests the same with some ten times the effort on each side."""
    long = by_lastbee(problem, 32, 8000, seed=41)
    check("emcee", lambda: by_emcee(problem, 30_000, seed=42), long)
    check("dynesty", lambda: by_dynesty(problem, 2500, seed=43), long)

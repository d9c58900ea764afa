"""What an effective draw of a visited trap-out costs here and with smcpy, on one likelihood.

smcpy is the fairest of the libraries that the tests compare with: like ours it tempers a
cloud of particles and scores all of them in one call, and it gives the evidence that
troubles are weighed by. (dynesty asks for one point at a time, for which no kernel is made;
emcee gives no evidence.)

Both sample the same plain function of the same deviates: inspection and eight visits, no
trouble, one weather for all. smcpy tempers everything at once, ours takes visit after visit.
An effective draw is counted alike for both: the variance of the posterior over that of the
means that independent runs give of what people read. It sees every weakness of a cloud,
moves too few included. Eight runs know the ratio to about a third.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import smcpy
from scipy import stats
from threadpoolctl import threadpool_limits

from bench.eight_visits import job_with_eight_visits
from lastbee.colony.course import Trouble
from lastbee.evidence.item import log_likelihood
from lastbee.forecast.posterior import log_alive
from lastbee.forecast.sampler import absorb, prior_cloud
from lastbee.forecast.tracking import LAST, PASSING
from lastbee.jobs.assemble import assemble
from lastbee.jobs.assemble_visits import watch_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from lastbee.forecast.runs import Runs, Watch

    Array = NDArray[np.float64]
    Sampler = Callable[[int, np.random.Generator], Array]

WEATHER = 20260701
# Of 5, 15 and 45 moves a stage, none gave smcpy cheaper draws than 15 beyond chance.
MOVES = 15
TARGET_ESS = 0.5


@dataclass(slots=True)
class Likelihood:
    """The plain function, and how many points it has scored."""

    watch: Watch
    scored: int = 0

    def batches(self, z: Array, visits: int) -> Array:
        """Log likelihoods of the inspection and the first so many visits, (n, 1 + visits)."""
        self.scored += len(z)
        watch, seen = self.watch, self.watch.visits[:visits]
        nest, scenes = self._runs(z).views(
            watch.sky, watch.founding.inspection_day, watch.cone_day, seen
        )
        inspected = log_likelihood(watch.inspected, nest) + log_alive(nest)
        of_visits = (log_likelihood(v.items, s) for v, s in zip(seen, scenes, strict=True))
        return np.column_stack([inspected, *of_visits])

    def read(self, z: Array) -> Array:
        """Age, honey, bees in the box, and the day from which it is empty, (n, 4)."""
        watch, runs, last = self.watch, self._runs(z), self.watch.visits[-1]
        _, (scene,) = runs.views(watch.sky, watch.founding.inspection_day, watch.cone_day, (last,))
        empty_day = runs.followed(watch.sky, watch.cone_day).empty_day
        return np.column_stack([scene.age_days, scene.honey_g, scene.box, empty_day])

    def _runs(self, z: Array) -> Runs:
        weather = np.full(len(z), WEATHER, dtype=np.uint64)
        return self.watch.runs(z, weather, Trouble.NONE)


@dataclass(frozen=True, slots=True)
class Draws:
    """What an effective draw costs, and where the posterior lies (means and spreads, (4,))."""

    seconds: float
    scored: float
    mean: Array
    spread: Array


def by_lastbee(likelihood: Likelihood) -> Sampler:
    """Our sampler, visit after visit, with the moves of a running job."""
    visits = len(likelihood.watch.visits)

    def sample(count: int, rng: np.random.Generator) -> Array:
        cloud = prior_cloud(likelihood.watch.dimensions, count, rng)
        for visit in range(visits + 1):

            def scores(z: Array, _: object, visit: int = visit) -> tuple[Array, Array]:
                batches = likelihood.batches(z, visit)
                return batches[:, :visit].sum(axis=1), batches[:, visit]

            cloud = absorb(cloud, scores, rng, moves=LAST if visit in {0, visits} else PASSING)
        return cloud.z

    return sample


def by_smcpy(likelihood: Likelihood) -> Sampler:
    """The adaptive sampler of smcpy, everything at once."""
    dimensions, visits = likelihood.watch.dimensions, len(likelihood.watch.visits)
    prior = stats.multivariate_normal(np.zeros(dimensions), np.eye(dimensions))

    def log_like(*_: object) -> Callable[[Array], Array]:
        return lambda z: likelihood.batches(z, visits).sum(axis=1)

    def sample(count: int, rng: np.random.Generator) -> Array:
        chains = smcpy.VectorMCMC(None, None, [prior], log_like_func=log_like)
        names = [f"z{i}" for i in range(dimensions)]
        kernel = smcpy.VectorMCMCKernel(chains, names, rng=rng)
        sampler = smcpy.AdaptiveSampler(kernel, show_progress_bar=False)
        stages, _ = sampler.sample(count, MOVES, target_ess=TARGET_ESS)
        return np.asarray(stages[-1].params)

    return sample


def compare(particles: int, runs: int) -> tuple[Draws, Draws]:
    """Let both sample in turn, `runs` times each, and say what their draws cost."""
    job = job_with_eight_visits()
    likelihood = Likelihood(watch_of(job, assemble(job)))
    samplers = (by_lastbee(likelihood), by_smcpy(likelihood))
    taken = np.zeros((2, runs, 2))
    readings = np.zeros((2, runs, particles, 4))
    with threadpool_limits(limits=1, user_api="blas"):
        for run, seeds in enumerate(np.random.SeedSequence(20260702).spawn(runs)):
            for k, (sample, seed) in enumerate(zip(samplers, seeds.spawn(2), strict=True)):
                before, start = likelihood.scored, time.perf_counter()
                z = sample(particles, np.random.default_rng(seed))
                taken[k, run] = time.perf_counter() - start, likelihood.scored - before
                readings[k, run] = likelihood.read(z)
    return _cost(taken[0], readings[0]), _cost(taken[1], readings[1])


def _cost(taken: Array, readings: Array) -> Draws:
    """Of one sampler: what its runs took (runs, 2) and read (runs, particles, 4)."""
    spread = np.sqrt(readings.var(axis=1).mean(axis=0))
    means = readings.mean(axis=1)
    effective = 1.0 / (means.var(axis=0, ddof=1) / spread**2).mean()
    # The middle run's time: others on the machine slow some down.
    seconds, scored = np.median(taken, axis=0) / effective
    return Draws(float(seconds), float(scored), means.mean(axis=0), spread)

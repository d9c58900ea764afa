"""Following a running trap-out: the posterior of colony and course after every visit.

Every trouble is a hypothesis of its own with a strand of particles. All strands start
from the colonies that agree with the inspection, each with courses of its own trouble
drawn from the prior, and absorb visit after visit. The evidence that a strand has gathered,
times the prior share of its trouble, is the weight of that trouble (Bayes factors by
sequential Monte Carlo; Del Moral, Doucet & Jasra 2006, section 3.2.1). A trouble whose onset
lies ahead looks like none, so that what is going on now is read off the particles' own
onsets, not off the strands. A few colonies go ahead evenly; the others are then dealt out
by what those found, so that most of them follow what is likely.

Visits are absorbed in order of time whatever order they were written in, and a correction
means that all is absorbed anew: the answer is that of the batch.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import logsumexp, softmax
from threadpoolctl import threadpool_limits

from lastbee.colony.course import PRIOR, Trouble
from lastbee.evidence.item import log_likelihood
from lastbee.forecast.posterior import log_alive
from lastbee.forecast.runs import Watch, joined
from lastbee.forecast.sampler import (
    LEAST_PARTICLES,
    Cloud,
    Moves,
    absorb,
    systematic_ancestors,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from lastbee.forecast.runs import Runs

    Array = NDArray[np.float64]

# Moves between two visits need only keep particles apart; the last visit's are read.
PASSING, LAST = Moves(2, 2), Moves(2, 5)
# Of the colonies, a share go ahead to find out which troubles are likely; of the others, a
# share are dealt to all troubles evenly and the rest by what those found.
PILOT_SHARE, EVEN_SHARE = 0.2, 0.3


@dataclass(frozen=True, slots=True)
class Strand:
    """Particles of one trouble after each visit.

    `clouds` has one cloud before the first visit and one after each;
    `item_log_predictive[k][i]` is the log of how probable reading i of visit k was before it
    with the trouble going on; NaN where that cannot be told.
    """

    trouble: Trouble
    clouds: tuple[Cloud, ...]
    item_log_predictive: tuple[Array, ...]

    def log_evidence(self, visits: int) -> float:
        """Log evidence of the first so many visits."""
        return self.clouds[visits].log_evidence - self.clouds[0].log_evidence


@dataclass(frozen=True, slots=True)
class Tracked:
    """The strands of every trouble, and what they say together after each visit."""

    watch: Watch
    strands: tuple[Strand, ...]

    def weights(self, visits: int) -> Array:
        """Probability of each trouble's strand after so many visits, in order of `Trouble`."""
        log_w = [np.log(PRIOR[s.trouble]) + s.log_evidence(visits) for s in self.strands]
        return np.asarray(softmax(log_w))

    def effective(self) -> float:
        """Independent draws that the strands together are worth, after the last visit."""
        weights = self.weights(len(self.watch.visits))
        worth = np.array([s.clouds[-1].effective for s in self.strands])
        return float(1.0 / (weights**2 / worth).sum())

    def runs(
        self,
        visits: int,
        most: int,
        rng: np.random.Generator,
        *,
        begun_by: int | None = None,
    ) -> Runs:
        """Trap-outs drawn from the posterior after so many visits.

        Parameters
        ----------
        visits
            How many visits are known.
        most
            Number of trap-outs wanted.
        rng
            Source of randomness.
        begun_by
            Troubles that have not begun by this day index never do; None lets them come.

        Returns
        -------
        The trap-outs, equally weighted.
        """
        sizes = [len(s.clouds[visits].z) for s in self.strands]
        weights = np.repeat(self.weights(visits) / sizes, sizes)
        chosen = systematic_ancestors(weights / weights.sum(), most, rng)
        starts = np.cumsum([0, *sizes])
        parts = []
        for k, strand in enumerate(self.strands):
            mine = chosen[(chosen >= starts[k]) & (chosen < starts[k + 1])] - starts[k]
            if len(mine):
                cloud = strand.clouds[visits]
                z = cloud.z[mine].astype(np.float64)
                parts += _begun(self.watch, z, cloud.noise[mine], strand.trouble, begun_by)
        return joined(parts)


def _begun(
    watch: Watch, z: Array, noise: NDArray[np.uint64], trouble: Trouble, by: int | None
) -> list[Runs]:
    """Trap-outs of one trouble, those that it has not befallen by a day being sound."""
    runs = watch.runs(z, noise, trouble)
    if by is None:
        return [runs]
    late = runs.courses.onset > by
    begun = [runs.take(np.flatnonzero(~late))] if not late.all() else []
    return [*begun, watch.runs(z[late], noise[late], Trouble.NONE)] if late.any() else begun


def track(
    inspected: Cloud,
    watch: Watch,
    rng: np.random.Generator,
    progress: Callable[[float], None] | None = None,
) -> Tracked:
    """Absorb every visit of a running trap-out.

    Parameters
    ----------
    inspected
        The posterior of the inspection, equally weighted.
    watch
        What is known of the trap-out.
    rng
        Source of all randomness.
    progress
        Called with a fraction done, 0 to 1.

    Returns
    -------
    The posterior after each visit.

    Raises
    ------
    DegenerateWeights, NotConverged
        See `absorb`.
    """
    count, tell = len(inspected.z), progress or (lambda _share: None)
    even = np.full(len(Trouble), 1.0 / len(Trouble))
    pilots = round(PILOT_SHARE * count)
    with threadpool_limits(limits=1, user_api="blas"):
        pilot = _strands(
            inspected, watch, even * pilots, rng, lambda share: tell(PILOT_SHARE * share)
        )
        told = pilot.weights(len(watch.visits))
        shares = EVEN_SHARE * even + (1.0 - EVEN_SHARE) * told
        return _strands(
            inspected, watch, shares * (count - pilots), rng,
            lambda share: tell(PILOT_SHARE + (1.0 - PILOT_SHARE) * share),
        )  # fmt: skip


def _strands(
    inspected: Cloud,
    watch: Watch,
    sizes: Array,
    rng: np.random.Generator,
    tell: Callable[[float], None],
) -> Tracked:
    """Follow every trouble with so many colonies each, shape (len(Trouble),)."""
    ends = np.cumsum(np.maximum(sizes, LEAST_PARTICLES)).astype(np.int64)
    if ends[-1] > len(inspected.z):
        raise ValueError(f"{len(inspected.z)} colonies are too few for {len(Trouble)} troubles")
    dealt = rng.permutation(len(inspected.z))
    streams = rng.spawn(len(Trouble))
    strands = []
    for trouble, start, end in zip(Trouble, (0, *ends), ends, strict=False):
        mine = np.sort(dealt[start:end])
        strands.append(_strand(inspected, mine, watch, trouble, streams[trouble]))
        tell(float(end / ends[-1]))
    return Tracked(watch, tuple(strands))


def _strand(
    inspected: Cloud,
    mine: NDArray[np.intp],
    watch: Watch,
    trouble: Trouble,
    rng: np.random.Generator,
) -> Strand:
    """Follow one trouble from visit to visit."""
    known = inspected.taken(mine)
    fresh = rng.standard_normal((len(mine), watch.dimensions - known.z.shape[1]))
    cloud = replace(known, z=np.hstack([known.z, fresh]))
    clouds, predictive = [cloud], []
    for k in range(len(watch.visits)):
        predictive.append(_log_predictive(cloud, watch, trouble, k))
        is_last = k == len(watch.visits) - 1
        cloud = absorb(
            cloud, _scorer(watch, trouble, k), rng,
            moves=LAST if is_last else PASSING,
        )  # fmt: skip
        clouds.append(cloud if is_last else _in_passing(cloud))
    return Strand(trouble, tuple(clouds), tuple(predictive))


def _in_passing(cloud: Cloud) -> Cloud:
    """A cloud to look back on, in half the memory: nothing is absorbed into it any more."""
    z = cloud.z.astype(np.float32)
    return replace(cloud, z=z, lineage=())  # type: ignore[arg-type]


def _scorer(
    watch: Watch, trouble: Trouble, k: int
) -> Callable[[Array, NDArray[np.uint64]], tuple[Array, Array]]:
    """Log likelihoods of all before visit k, and of visit k."""
    visits = watch.visits[: k + 1]

    def score(z: Array, noise: NDArray[np.uint64]) -> tuple[Array, Array]:
        nest, scenes = watch.runs(z, noise, trouble).views(
            watch.sky, watch.founding.inspection_day, watch.cone_day, visits
        )
        settled = log_likelihood(watch.inspected, nest) + log_alive(nest)
        for visit, scene in zip(visits[:-1], scenes[:-1], strict=True):
            settled += log_likelihood(visit.items, scene)
        return settled, log_likelihood(visits[-1].items, scenes[-1])

    return score


def _log_predictive(cloud: Cloud, watch: Watch, trouble: Trouble, k: int) -> Array:
    """Log probability of each reading of visit k before it is absorbed.

    Of a trouble, by the particles that it is befalling at that visit; NaN if hardly any are.
    """
    visit = watch.visits[k]
    runs = watch.runs(cloud.z, cloud.noise, trouble)
    if trouble != Trouble.NONE:
        runs = runs.take(np.flatnonzero(runs.courses.is_seen(visit.day, visit.rates_day)))
    if runs.size < LEAST_PARTICLES:
        return np.full(len(visit.items), np.nan)
    _, (scene,) = runs.views(watch.sky, watch.founding.inspection_day, watch.cone_day, (visit,))
    return np.array([log_mean_exp(item.log_density(item.value, scene)) for item in visit.items])


def log_mean_exp(values: Array) -> float:
    """Log of the mean of exponentials."""
    return float(logsumexp(values) - np.log(len(values)))

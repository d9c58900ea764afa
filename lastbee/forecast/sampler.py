"""Sequential Monte Carlo by tempering, over a standard normal prior.

Idea. Particles start as draws of the prior N(0, I). The likelihood is raised to a power
that climbs from 0 to 1 in steps chosen so that the effective sample size of the
incremental weights never falls below a stated share [1]_. After each step the particles
are resampled and moved by Metropolis kernels that leave the tempered posterior
invariant: a random part of a particle is drawn afresh from a Gaussian fitted to the cloud,
and accepted with the ratio of tempered posterior to fitted Gaussian at its two ends. A
part is some of the coordinates, or, in every other move, of the principal axes: the first
needs few particles to fit, the second follows correlations. Changing a part at a time
keeps particles moving where posteriors of unlike width lie side by side (a swarm whose
date is known, or an old nest). Each proposal re-runs whatever `log_likelihood` simulates,
with seeds of its own one time in four.

The Gaussians for one half of the cloud are fitted to the other half. A particle sits
better in a fit that it is part of than a fresh one does, and in many dimensions that
alone lets it leave a narrow mode far too easily.

The product of mean incremental weights estimates the evidence, without bias but for the
steps being chosen from the same particles. How much the cloud is worth is read off its
family tree: the variance of a mean is the sum of squares of what each family adds to it
[2]_, families being counted back a few stages only [3]_.

Smallest use::

    cloud = temper(lambda z, noise: -0.5 * (z[:, 0] - 1.0) ** 2, 1, 1000, default_rng(1))
    cloud.z.mean()  # near 0.5

References
----------
.. [1] Del Moral, P., Doucet, A. & Jasra, A., "Sequential Monte Carlo samplers", J. R.
   Statist. Soc. B 68(3), 411-436, 2006.
.. [2] Chan, H. P. & Lai, T. L., "A general theory of particle filters in hidden Markov
   models and some applications", Annals of Statistics 41(6), 2877-2904, 2013.
.. [3] Olsson, J. & Douc, R., "Numerically stable online estimation of variance in particle
   filters", Bernoulli 25(2), 1504-1535, 2019.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import logsumexp

from lastbee.errors import DegenerateWeights, NotConverged
from lastbee.forecast.proposals import Reference

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Noise = NDArray[np.uint64]
    LogLikelihood = Callable[[Array, Noise], Array]
    LogLikelihoods = Callable[[Array, Noise], tuple[Array, Array]]

LEAST_ESS_SHARE = 0.5
LEAST_PARTICLES = 8
MOST_STAGES = 60
# Share of proposals whose simulation gets new seeds; the others keep theirs.
NOISE_RENEWED = 0.25
# Stages back to which families are counted.
FAMILY_STAGES = 12


@dataclass(frozen=True, slots=True)
class Moves:
    """Metropolis moves after each stage and after the last; they take turns (see `Reference`)."""

    a_stage: int = 3
    at_the_end: int = 6


@dataclass(frozen=True, slots=True)
class Cloud:
    """A posterior as equally weighted particles.

    `z` has shape (n, d), `noise` (n,) the seeds of the simulation's own randomness,
    `log_likelihood` (n,). `effective` estimates how many independent draws the cloud is
    worth for the mean of the dimension that is known worst; see `family_effective_size`.
    `lineage` holds the ancestors chosen at its last resamplings, oldest first.
    """

    z: Array
    noise: Noise
    log_likelihood: Array
    log_evidence: float
    effective: float
    acceptance: float
    stages: int
    lineage: tuple[NDArray[np.intp], ...] = ()

    def taken(self, index: NDArray[np.intp]) -> Cloud:
        """The particles at `index`, no repeats; those of one family still are."""
        family = _families(deque(self.lineage))[index] if self.lineage else index
        named = np.unique(family, return_inverse=True)[1].astype(np.intp)
        return replace(
            self, z=self.z[index], noise=self.noise[index],
            log_likelihood=self.log_likelihood[index], lineage=(named,),
        )  # fmt: skip


def systematic_ancestors(weights: Array, count: int, rng: np.random.Generator) -> NDArray[np.intp]:
    """Draw ancestor indices by systematic resampling.

    Parameters
    ----------
    weights
        Normalised weights, shape (n,), each >= 0, sum 1 within 1e-6. [unitless]
    count
        Number of ancestors to draw, > 0.
    rng
        Source of the one uniform number used.

    Returns
    -------
    Indices into `weights`, shape (count,), ascending.

    Raises
    ------
    DegenerateWeights
        If a weight is NaN or negative, or the sum is not 1.

    Notes
    -----
    E[copies of i] = count * weights[i], and copies differ from it by less than one.

    Examples
    --------
    >>> systematic_ancestors(np.array([0.5, 0.5]), 4, np.random.default_rng(1)).tolist()
    [0, 0, 1, 1]
    """
    total = float(weights.sum())
    if not abs(total - 1.0) < 1e-6 or weights.min() < 0.0:
        raise DegenerateWeights(f"weights must be >= 0 and sum to 1, the sum is {total:g}")
    # Rounding may bring the last point to 1, or leave the last edge below it.
    points = np.minimum((rng.random() + np.arange(count)) / count, np.nextafter(1.0, 0.0))
    edges = np.cumsum(weights)
    edges /= edges[-1]
    return np.searchsorted(edges, points, side="right").astype(np.intp)


def effective_size(log_weights: Array) -> float:
    """Kish's effective sample size of unnormalised log weights, in (0, n]."""
    weights = np.exp(log_weights - log_weights.max())
    return float(weights.sum() ** 2 / (weights * weights).sum())


def prior_cloud(dimensions: int, count: int, rng: np.random.Generator) -> Cloud:
    """Draw a cloud of the prior, for evidence to be absorbed into.

    Parameters
    ----------
    dimensions
        Number of dimensions d.
    count
        Number of particles n, >= LEAST_PARTICLES.
    rng
        Source of all randomness.

    Returns
    -------
    The cloud, with nothing known.

    Raises
    ------
    ValueError
        If there are too few particles.
    """
    if count < LEAST_PARTICLES:
        raise ValueError(f"count must be >= {LEAST_PARTICLES}, got {count}")
    z, noise = rng.standard_normal((count, dimensions)), _noise(rng, count)
    return Cloud(z, noise, np.zeros(count), 0.0, float(count), 1.0, 0)


def temper(
    log_likelihood: LogLikelihood,
    dimensions: int,
    count: int,
    rng: np.random.Generator,
    progress: Callable[[float], None] | None = None,
) -> Cloud:
    """Sample the posterior of a likelihood under the prior N(0, I).

    Parameters
    ----------
    log_likelihood
        Maps points (n, d) and noise seeds (n,) to log likelihoods (n,); -inf allowed,
        NaN and +inf are not. Must be a deterministic function of its arguments.
    dimensions, count
        Number of dimensions d, and of particles n, >= LEAST_PARTICLES.
    rng
        Source of all randomness.
    progress
        Called with the power of the likelihood reached, 0 to 1, after each stage.

    Returns
    -------
    The posterior cloud.

    Raises
    ------
    DegenerateWeights, NotConverged, ValueError
        See `absorb` and `prior_cloud`.
    """

    def of_all(z: Array, noise: Noise) -> tuple[Array, Array]:
        return np.zeros(len(z)), log_likelihood(z, noise)

    return absorb(prior_cloud(dimensions, count, rng), of_all, rng, progress)


def absorb(
    cloud: Cloud,
    log_likelihoods: LogLikelihoods,
    rng: np.random.Generator,
    progress: Callable[[float], None] | None = None,
    moves: Moves = Moves(),
) -> Cloud:
    """Take one more batch of evidence into a cloud.

    Batches absorbed one after another end in the posterior of all of them, whatever the
    cloud was after each, and the clouds between are the posteriors of the batches so far.

    Parameters
    ----------
    cloud
        The posterior of all earlier batches, equally weighted.
    log_likelihoods
        Maps points (n, d) and noise seeds (n,) to two log likelihoods, each (n,): of all
        earlier batches together, and of this one. -inf allowed, NaN and +inf are not.
        Must be a deterministic function of its arguments.
    rng
        Source of all randomness.
    progress
        Called with the power of the new batch reached, 0 to 1, after each stage.
    moves
        How many Metropolis moves are made.

    Returns
    -------
    The posterior cloud; its evidence is that of the batches so far.

    Raises
    ------
    DegenerateWeights
        If no particle has a finite likelihood, or one is NaN or +inf.
    NotConverged
        If the power has not reached 1 after MOST_STAGES stages.
    """
    count = len(cloud.z)
    settled, fresh = _checked(*log_likelihoods(cloud.z, cloud.noise))
    particles = _Particles(cloud.z, cloud.noise, settled, fresh)
    lineage = deque(cloud.lineage, maxlen=FAMILY_STAGES)
    power, log_evidence = 0.0, cloud.log_evidence
    for stage in range(1, MOST_STAGES + 1):
        rise = _next_rise(particles.fresh, 1.0 - power, LEAST_ESS_SHARE * count)
        power = 1.0 if rise >= 1.0 - power else power + rise
        log_w = rise * particles.fresh
        log_evidence += float(logsumexp(log_w)) - np.log(count)
        chosen = systematic_ancestors(np.exp(log_w - logsumexp(log_w)), count, rng)
        # A resampling that changes nothing makes no family older.
        if not lineage or (chosen != np.arange(count)).any():
            lineage.append(chosen)
        particles = particles.take(chosen)
        particles, acceptance = particles.moved(log_likelihoods, power, moves, rng)
        if progress is not None:
            progress(power)
        if power == 1.0:
            worth = family_effective_size(particles.z, _families(lineage))
            log_l = particles.settled + particles.fresh
            return Cloud(
                particles.z, particles.noise, log_l, log_evidence, worth, acceptance,
                cloud.stages + stage, tuple(lineage),
            )  # fmt: skip
    raise NotConverged(
        f"the sampler reached only power {power:.3f} of the evidence in {MOST_STAGES} stages"
    )


@dataclass(frozen=True, slots=True)
class _Particles:
    """The cloud on its way: points, seeds, log likelihoods of old evidence and of new."""

    z: Array
    noise: Noise
    settled: Array
    fresh: Array

    def take(self, chosen: NDArray[np.intp]) -> _Particles:
        return _Particles(
            self.z[chosen], self.noise[chosen], self.settled[chosen], self.fresh[chosen]
        )

    def log_target(self, power: float) -> Array:
        """Log likelihood at a power of the new evidence, 0 * -inf being 0."""
        return self.settled + (power * self.fresh if power > 0.0 else 0.0)

    def moved(
        self, log_likelihoods: LogLikelihoods, power: float, moves: Moves, rng: np.random.Generator
    ) -> tuple[_Particles, float]:
        """Metropolis moves at a power of the new evidence, and the share accepted."""
        here = self
        references = [Reference.of(here.z, along_axes=along) for along in (False, True)]
        shares: list[float] = []
        for move in range(moves.at_the_end if power == 1.0 else moves.a_stage):
            reference = references[move % 2]
            there = here.proposed(reference, log_likelihoods, rng)
            gain = there.log_target(power) - here.log_target(power)
            gain += reference.log_ratio(there.z) - reference.log_ratio(here.z)
            accepted = np.log(rng.random(len(here.z))) < gain
            here = here.replaced(accepted, there)
            shares.append(float(accepted.mean()))
        return here, float(np.mean(shares))

    def proposed(
        self, reference: Reference, log_likelihoods: LogLikelihoods, rng: np.random.Generator
    ) -> _Particles:
        """Propose a point for every particle, some with weather of its own."""
        z = reference.change(self.z, rng)
        renewed = rng.random(len(z)) < NOISE_RENEWED
        noise = np.where(renewed, _noise(rng, len(z)), self.noise)
        return _Particles(z, noise, *_checked(*log_likelihoods(z, noise)))

    def replaced(self, accepted: NDArray[np.bool_], other: _Particles) -> _Particles:
        """Take the other's particles where they are accepted."""
        return _Particles(
            np.where(accepted[:, None], other.z, self.z),
            np.where(accepted, other.noise, self.noise),
            np.where(accepted, other.settled, self.settled),
            np.where(accepted, other.fresh, self.fresh),
        )


def family_effective_size(z: Array, family: NDArray[np.intp]) -> float:
    """Independent draws that a cloud of related particles is worth.

    Parameters
    ----------
    z
        Particles, shape (n, d).
    family
        Index of each particle's ancestor, shape (n,), 0 <= family < n.

    Returns
    -------
    Variance over the estimated variance of the mean, in the worst dimension; in (0, n],
    and 1 if all are of one family.

    Examples
    --------
    >>> z = np.array([[-1.0], [-1.0], [1.0], [1.0]])
    >>> family_effective_size(z, np.array([0, 0, 3, 3]))
    1.0
    """
    count = len(z)
    centred = z - z.mean(axis=0)
    sizes = np.bincount(family, minlength=count) / count
    # Sums of a centred cloud cancel a little: where there are few families, more.
    kept = 1.0 - float((sizes**2).sum())
    if kept <= 0.0:
        return 1.0
    most = float(count)
    for column in centred.T:
        together = np.bincount(family, weights=column, minlength=count)
        between = float((together**2).sum()) / kept
        if between > 0.0:
            most = min(most, count * float((column**2).sum()) / between)
    return most


def _families(lineage: deque[NDArray[np.intp]]) -> NDArray[np.intp]:
    """Ancestor of each particle at the oldest resampling in `lineage`."""
    family = lineage[-1]
    for chosen in reversed(list(lineage)[:-1]):
        family = chosen[family]
    return family


def _noise(rng: np.random.Generator, count: int) -> Noise:
    return rng.integers(0, 2**63, count, dtype=np.uint64)


def _checked(settled: Array, fresh: Array) -> tuple[Array, Array]:
    together = settled + fresh
    if np.isnan(together).any() or np.isposinf(together).any():
        raise DegenerateWeights("a log likelihood is NaN or infinite")
    if not np.isfinite(together).any():
        raise DegenerateWeights("no simulated colony agrees with the evidence")
    return settled, fresh


def _next_rise(log_l: Array, most: float, least_ess: float) -> float:
    """Largest rise of the power that keeps the effective size, by bisection."""
    finite = np.where(np.isfinite(log_l), log_l, -1e300)
    if effective_size(most * finite) >= least_ess:
        return most
    low, high = 0.0, most
    for _ in range(20):
        middle = 0.5 * (low + high)
        if effective_size(middle * finite) >= least_ess:
            low = middle
        else:
            high = middle
    return max(low, 1e-6 * most)

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
with seeds of its own.

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
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import logsumexp

from lastbee.errors import DegenerateWeights, NotConverged

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Noise = NDArray[np.uint64]
    LogLikelihood = Callable[[Array, Noise], Array]

LEAST_ESS_SHARE = 0.5
LEAST_PARTICLES = 8
# Moves take turns: coordinates, principal axes.
MOVES_A_STAGE = 3
LAST_MOVES = 6
MOST_STAGES = 60
# Each particle draws the share of coordinates to change from this range.
LEAST_CHANGED, MOST_CHANGED = 0.1, 0.9
# Correlations below this over the root of the particles may be chance.
CHANCE_CORRELATION = 4.0
# Least variance along an axis, as a share of the coordinates' own.
LEAST_AXIS = 1e-3
# Stages back to which families are counted.
FAMILY_STAGES = 6


@dataclass(frozen=True, slots=True)
class Cloud:
    """A posterior as equally weighted particles.

    `z` has shape (n, d), `noise` (n,) the seeds of the simulation's own randomness,
    `log_likelihood` (n,). `effective` estimates how many independent draws the cloud is
    worth for the mean of the dimension that is known worst; see `family_effective_size`.
    """

    z: Array
    noise: Noise
    log_likelihood: Array
    log_evidence: float
    effective: float
    acceptance: float
    stages: int


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
    return float(np.exp(2.0 * logsumexp(log_weights) - logsumexp(2.0 * log_weights)))


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
    dimensions
        Number of dimensions d.
    count
        Number of particles n, >= LEAST_PARTICLES.
    rng
        Source of all randomness.
    progress
        Called with the power of the likelihood reached, 0 to 1, after each stage.

    Returns
    -------
    The posterior cloud.

    Raises
    ------
    DegenerateWeights
        If no particle has a finite likelihood, or one is NaN or +inf.
    NotConverged
        If the power has not reached 1 after MOST_STAGES stages.
    ValueError
        If there are too few particles.
    """
    if count < LEAST_PARTICLES:
        raise ValueError(f"count must be >= {LEAST_PARTICLES}, got {count}")
    z, noise = rng.standard_normal((count, dimensions)), _noise(rng, count)
    particles = _Particles(z, noise, _checked(log_likelihood(z, noise)))
    lineage: deque[NDArray[np.intp]] = deque(maxlen=FAMILY_STAGES)
    power, log_evidence = 0.0, 0.0
    for stage in range(1, MOST_STAGES + 1):
        rise = _next_rise(particles.log_l, 1.0 - power, LEAST_ESS_SHARE * count)
        power = 1.0 if rise >= 1.0 - power else power + rise
        log_w = rise * particles.log_l
        log_evidence += float(logsumexp(log_w)) - np.log(count)
        chosen = systematic_ancestors(np.exp(log_w - logsumexp(log_w)), count, rng)
        lineage.append(chosen)
        particles = particles.take(chosen)
        moves = LAST_MOVES if power == 1.0 else MOVES_A_STAGE
        particles, acceptance = particles.moved(log_likelihood, power, moves, rng)
        if progress is not None:
            progress(power)
        if power == 1.0:
            z, noise, log_l = particles.z, particles.noise, particles.log_l
            worth = family_effective_size(z, _families(lineage))
            return Cloud(z, noise, log_l, log_evidence, worth, acceptance, stage)
    raise NotConverged(
        f"the sampler reached only power {power:.3f} of the evidence in {MOST_STAGES} stages"
    )


@dataclass(frozen=True, slots=True)
class _Particles:
    """The cloud on its way from prior to posterior."""

    z: Array
    noise: Noise
    log_l: Array

    def take(self, chosen: NDArray[np.intp]) -> _Particles:
        return _Particles(self.z[chosen], self.noise[chosen], self.log_l[chosen])

    def moved(
        self, log_likelihood: LogLikelihood, power: float, moves: int, rng: np.random.Generator
    ) -> tuple[_Particles, float]:
        """Metropolis moves at a power of the likelihood, and the share accepted."""
        z, noise, log_l = self.z, self.noise, self.log_l
        references = [_Reference.of(z, along_axes=along) for along in (False, True)]
        shares = []
        for move in range(moves):
            reference = references[move % 2]
            proposal = reference.change(z, rng)
            new_noise = _noise(rng, len(z))
            new_log_l = _checked(log_likelihood(proposal, new_noise))
            gain = power * (new_log_l - log_l)
            gain += reference.log_ratio(proposal) - reference.log_ratio(z)
            accepted = np.log(rng.random(len(z))) < gain
            z = np.where(accepted[:, None], proposal, z)
            noise = np.where(accepted, new_noise, noise)
            log_l = np.where(accepted, new_log_l, log_l)
            shares.append(float(accepted.mean()))
        return _Particles(z, noise, log_l), float(np.mean(shares))


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


def _checked(log_l: Array) -> Array:
    if np.isnan(log_l).any() or np.isposinf(log_l).any():
        raise DegenerateWeights("a log likelihood is NaN or infinite")
    if not np.isfinite(log_l).any():
        raise DegenerateWeights("no simulated colony agrees with the evidence")
    return log_l


def _next_rise(log_l: Array, most: float, least_ess: float) -> float:
    """Largest rise of the power that keeps the effective size, by bisection."""
    finite = np.where(np.isfinite(log_l), log_l, -1e300)
    if effective_size(most * finite) >= least_ess:
        return most
    low, high = 0.0, most
    for _ in range(40):
        middle = 0.5 * (low + high)
        if effective_size(middle * finite) >= least_ess:
            low = middle
        else:
            high = middle
    return max(low, 1e-12)


@dataclass(frozen=True, slots=True)
class _Gaussian:
    """A Gaussian as z = mean + axes u, u ~ N(0, I); `inverse` undoes `axes`."""

    mean: Array
    axes: Array
    inverse: Array

    def change(self, z: Array, rng: np.random.Generator) -> Array:
        """Draw a random part of each particle's u, at least one, afresh."""
        count, dimensions = z.shape
        share = rng.uniform(LEAST_CHANGED, MOST_CHANGED, (count, 1))
        is_changed = rng.random(z.shape) < share
        is_changed[np.arange(count), rng.integers(0, dimensions, count)] = True
        fresh = rng.standard_normal(z.shape)
        step = np.where(is_changed, fresh - (z - self.mean) @ self.inverse.T, 0.0)
        return np.asarray(z + step @ self.axes.T)

    def log_ratio(self, z: Array) -> Array:
        """Log of prior over this Gaussian, up to a constant."""
        scaled = (z - self.mean) @ self.inverse.T
        return 0.5 * np.asarray((scaled**2).sum(axis=1) - (z**2).sum(axis=1))


@dataclass(frozen=True, slots=True)
class _Reference:
    """What proposals are drawn from: for each half of the cloud a fit to the other half.

    Resampling keeps families together and in order, so that the halves are unrelated but
    for the one family that straddles the middle.
    """

    first: _Gaussian
    second: _Gaussian

    @classmethod
    def of(cls, z: Array, *, along_axes: bool) -> _Reference:
        """Fit each half of the cloud to the other half."""
        half = len(z) // 2
        return cls(_fit(z[half:], along_axes=along_axes), _fit(z[:half], along_axes=along_axes))

    def change(self, z: Array, rng: np.random.Generator) -> Array:
        """Propose for every particle."""
        half = len(z) // 2
        return np.concatenate([self.first.change(z[:half], rng), self.second.change(z[half:], rng)])

    def log_ratio(self, z: Array) -> Array:
        """Log of prior over reference, each half up to its own constant."""
        half = len(z) // 2
        return np.concatenate([self.first.log_ratio(z[:half]), self.second.log_ratio(z[half:])])


def _fit(z: Array, *, along_axes: bool) -> _Gaussian:
    """Fit coordinates apart, or along principal axes where correlations are beyond chance.

    The prior counts as one particle, so that no fit collapses.
    """
    distinct = len(np.unique(z[:, 0]))
    mean = z.mean(axis=0)
    sd = np.sqrt((distinct * z.var(axis=0) + 1.0) / (distinct + 1.0))
    if not along_axes:
        return _Gaussian(mean, np.diag(sd), np.diag(1.0 / sd))
    scaled = (z - mean) / sd
    correlation = scaled.T @ scaled / len(z)
    correlation[np.abs(correlation) < CHANCE_CORRELATION / np.sqrt(distinct)] = 0.0
    np.fill_diagonal(correlation, 1.0)
    spread, turn = np.linalg.eigh(correlation)
    root = np.sqrt(np.maximum(spread, LEAST_AXIS))
    return _Gaussian(mean, sd[:, None] * turn * root, (turn / root).T / sd)

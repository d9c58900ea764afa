"""Sequential Monte Carlo by tempering, over a standard normal prior.

Idea. Particles start as draws of the prior N(0, I). The likelihood is raised to a power
that climbs from 0 to 1 in steps chosen so that the effective sample size of the
incremental weights never falls below a stated share [1]_. After each step the particles
are resampled and moved by Metropolis kernels that leave the tempered posterior
invariant: autoregressive proposals around the Gaussian fitted to the cloud,

    z' = mean + sqrt(1 - rho^2) (z - mean) + rho L xi,   xi ~ N(0, I),  L L' = covariance,

which are reversible with respect to N(mean, covariance), so that a move is accepted with
the ratio of tempered posterior to fitted Gaussian at its two ends (the preconditioned
Crank-Nicolson proposal [2]_ with a fitted reference). Each proposal re-runs whatever
`log_likelihood` simulates. The product of mean incremental weights estimates the
evidence, without bias but for the steps being chosen from the same particles.

How much the cloud is worth is read off its family tree: particles with a common ancestor
are as alike as they look, and the variance of a mean is the sum of squares of what each
family adds to it [3]_, families being counted back a few stages only [4]_.

Smallest use::

    cloud = temper(lambda z, noise: -0.5 * (z[:, 0] - 1.0) ** 2, 1, 1000, default_rng(1))
    cloud.z.mean()  # near 0.5

References
----------
.. [1] Del Moral, P., Doucet, A. & Jasra, A., "Sequential Monte Carlo samplers", J. R.
   Statist. Soc. B 68(3), 411-436, 2006.
.. [2] Cotter, S. L. et al., "MCMC methods for functions: modifying old algorithms to make
   them faster", Statistical Science 28(3), 424-446, 2013.
.. [3] Chan, H. P. & Lai, T. L., "A general theory of particle filters in hidden Markov
   models and some applications", Annals of Statistics 41(6), 2877-2904, 2013.
.. [4] Olsson, J. & Douc, R., "Numerically stable online estimation of variance in particle
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
MOVES_A_STAGE = 1
LAST_MOVES = 3
MOST_STAGES = 60
# Stages back to which families are counted.
FAMILY_STAGES = 6
# Moves aim for this acceptance; the step of the proposal follows it.
AIM_ACCEPTANCE = 0.3


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
    points = (rng.random() + np.arange(count)) / count
    edges = np.cumsum(weights)
    # Rounding may leave the last edge just below the last point.
    edges[-1] = max(edges[-1], 1.0)
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
        NaN is not. Must be a deterministic function of its arguments.
    dimensions
        Number of dimensions d.
    count
        Number of particles n.
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
        If no particle of the prior has a finite likelihood, or one is NaN.
    NotConverged
        If the power has not reached 1 after MOST_STAGES stages.
    """
    z = rng.standard_normal((count, dimensions))
    noise = _noise(rng, count)
    log_l = _checked(log_likelihood(z, noise))
    lineage: deque[NDArray[np.intp]] = deque(maxlen=FAMILY_STAGES)
    power, log_evidence, step = 0.0, 0.0, 0.7
    for stage in range(1, MOST_STAGES + 1):
        rise = _next_rise(log_l, 1.0 - power, LEAST_ESS_SHARE * count)
        power = 1.0 if rise >= 1.0 - power else power + rise
        log_w = rise * log_l
        log_evidence += float(logsumexp(log_w)) - np.log(count)
        chosen = systematic_ancestors(np.exp(log_w - logsumexp(log_w)), count, rng)
        z, noise, log_l = z[chosen], noise[chosen], log_l[chosen]
        lineage.append(chosen)
        fit = _fit(z)
        moves = LAST_MOVES if power == 1.0 else MOVES_A_STAGE
        rates = []
        for _ in range(moves):
            proposal = fit.step(z, step, rng)
            new_noise = _noise(rng, count)
            new_log_l = _checked(log_likelihood(proposal, new_noise))
            with np.errstate(invalid="ignore"):
                gain = power * (new_log_l - log_l) + fit.log_ratio(proposal) - fit.log_ratio(z)
            accepted = np.log(rng.random(count)) < gain
            z = np.where(accepted[:, None], proposal, z)
            noise = np.where(accepted, new_noise, noise)
            log_l = np.where(accepted, new_log_l, log_l)
            rates.append(float(accepted.mean()))
            step = float(np.clip(step * np.exp(rates[-1] - AIM_ACCEPTANCE), 0.1, 1.0))
        if progress is not None:
            progress(power)
        if power == 1.0:
            worth = family_effective_size(z, _families(lineage))
            return Cloud(z, noise, log_l, log_evidence, worth, float(np.mean(rates)), stage)
    raise NotConverged(
        f"the sampler reached only power {power:.3f} of the evidence in {MOST_STAGES} stages"
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
    Variance over the estimated variance of the mean, in the worst dimension, and not more
    than there are families; in (0, n].

    Examples
    --------
    >>> z = np.array([[-1.0], [-1.0], [1.0], [1.0]])
    >>> family_effective_size(z, np.array([0, 1, 2, 3])), family_effective_size(
    ...     z, np.array([0, 0, 3, 3])
    ... )
    (4.0, 2.0)
    """
    count = len(z)
    centred = z - z.mean(axis=0)
    most = float(len(np.unique(family)))
    for column in centred.T:
        together = np.bincount(family, weights=column, minlength=count)
        between = float((together**2).sum())
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
    if np.isnan(log_l).any():
        raise DegenerateWeights("a log likelihood is NaN")
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
class _Fit:
    """The Gaussian that stands in for the cloud when proposing."""

    mean: Array
    lower: Array
    inverse: Array

    def step(self, z: Array, rho: float, rng: np.random.Generator) -> Array:
        """Autoregressive proposal around the fit."""
        fresh = rng.standard_normal(z.shape) @ self.lower.T
        kept = np.sqrt(1.0 - rho * rho)
        return np.asarray(self.mean + kept * (z - self.mean) + rho * fresh)

    def log_ratio(self, z: Array) -> Array:
        """Log of prior over fit, up to a constant."""
        scaled = (z - self.mean) @ self.inverse.T
        return 0.5 * np.asarray((scaled**2).sum(axis=1) - (z**2).sum(axis=1))


def _fit(z: Array) -> _Fit:
    """Fit mean and covariance; a little of the prior keeps the fit from collapsing."""
    mean = z.mean(axis=0)
    covariance = np.atleast_2d(np.cov(z, rowvar=False))
    covariance = 0.95 * covariance + 0.05 * np.eye(z.shape[1])
    lower = np.asarray(np.linalg.cholesky(covariance), dtype=np.float64)
    inverse = np.asarray(np.linalg.inv(lower), dtype=np.float64)
    return _Fit(mean, lower, inverse)

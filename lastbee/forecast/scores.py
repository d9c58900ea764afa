"""How good forecasts were, once the outcomes are known.

A score is proper if nobody can better it, on average, by forecasting anything but what
they believe [1]_. Three are here, and for all of them less is better: `crps` for a number,
in the number's own unit; `log_score` for a day in bins, in nats; `brier` for a yes or no.

A score says which of two forecasts was better. Whether one is honest is told by the place
of the outcome among its draws: every place is as likely as any other, so that `ranks` are
flat (`uniformity`) and an interval holds the outcome as often as it says (`coverage`).

An ensemble is an array of draws along the last axis; its other axes are cases, and must
fit those of the outcomes. Draws may have weights, >= 0, of any sum.

Smallest use::

    crps([21.0, 28.0, 35.0], 30.0)  # 2.2 days
    crps([21.0, 28.0, inf], inf, horizon=120.0)  # not by day 120, as one draw said

References
----------
.. [1] Gneiting, T. & Raftery, A. E., "Strictly proper scoring rules, prediction, and
   estimation", J. Am. Stat. Assoc. 102(477), 359-378, 2007. doi:10.1198/016214506000001437
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import betaincinv, chdtrc

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

# Krichevsky & Trofimov 1981: half a draw in every bin, the mean under Jeffreys' prior.
PRIOR_DRAWS_A_BIN = 0.5
# Fewer cases a bin and the chi-square law no longer holds: Cochran 1954, from memory.
LEAST_CASES_A_BIN = 5.0


def crps(
    ensemble: ArrayLike,
    outcome: ArrayLike,
    weights: ArrayLike | None = None,
    *,
    fair: bool = False,
    horizon: ArrayLike = np.inf,
) -> Array:
    """Continuous ranked probability score of ensembles.

    Parameters
    ----------
    ensemble
        Draws, shape (..., m). May be infinite where there is a horizon.
    outcome
        What came, shape (...); anything at or past the horizon, infinity too, says "not by
        then".
    weights
        Weights of the draws, shape (..., m) or (m,). Equal if None.
    fair
        Score the law that the draws came from rather than the draws: without it, few draws
        of a right forecast score worse than many [2]_.
    horizon
        The last moment that is scored, shape (...) or one for all: set before the outcome
        is known, as the day on which watching ends, and never by it. Days after it count
        neither for nor against a forecast [3]_.

    Returns
    -------
    Scores, shape (...), in the unit of the draws; >= 0 unless `fair`.

    Raises
    ------
    ValueError
        If shapes do not fit, a weight is negative, a sum of weights is 0, a draw or
        outcome is NaN or, short of a horizon, infinite, or a fair score is asked of draws
        of which one has all the weight.

    Notes
    -----
    E|X - y| - E|X - X'|/2 over the draws [1]_; [4]_ has it as the integral of
    the squared distance of distribution functions. `fair` divides the second term by one
    less the sum of squared weights, m/(m - 1) of the plain one where weights are equal. A
    horizon is the threshold weight 1 below it and 0 above: the same score after draws and
    outcome are cut off there.

    References
    ----------
    .. [2] Ferro, C. A. T., "Fair scores for ensemble forecasts", Q. J. R. Meteorol. Soc.
       140(683), 1917-1923, 2014. doi:10.1002/qj.2270
    .. [3] Gneiting, T. & Ranjan, R., "Comparing density forecasts using threshold- and
       quantile-weighted scoring rules", J. Bus. Econ. Stat. 29(3), 411-422, 2011.
       doi:10.1198/jbes.2010.08110
    .. [4] Hersbach, H., "Decomposition of the continuous ranked probability score for
       ensemble prediction systems", Weather and Forecasting 15(5), 559-570, 2000.

    Examples
    --------
    >>> float(crps([1.0, 3.0], 2.0)), float(crps([1.0, 3.0], 2.0, fair=True))
    (0.5, 0.0)
    """
    draws, came, share = _cases(ensemble, outcome, weights)
    limit = np.asarray(horizon, dtype=np.float64)
    draws, came = np.minimum(draws, limit[..., None]), np.minimum(came, limit)
    if not (np.isfinite(draws).all() and np.isfinite(came).all()):
        raise ValueError("draws and outcomes must be finite below the horizon")
    apart = draws - came[..., None]
    order = np.argsort(apart, axis=-1)
    apart, share = (np.take_along_axis(x, order, axis=-1) for x in (apart, share))
    # Each draw is above those before it and below those after it.
    lead = 2.0 * np.cumsum(share, axis=-1) - share - 1.0
    spread = (share * apart * lead).sum(axis=-1)
    if fair:
        distinct = 1.0 - (share**2).sum(axis=-1)
        if not (distinct > 1e-12).all():
            raise ValueError("a fair score needs two draws with weight")
        spread = spread / distinct
    return np.asarray((share * np.abs(apart)).sum(axis=-1) - spread)


def log_score(
    ensemble: ArrayLike, outcome: ArrayLike, edges: ArrayLike, weights: ArrayLike | None = None
) -> Array:
    """Logarithmic score of ensembles in bins.

    Parameters
    ----------
    ensemble
        Draws, shape (..., m); infinity is "never".
    outcome
        What came, shape (...); infinity is "not in all the time watched".
    edges
        Where one bin ends and the next begins, ascending, shape (k,): k + 1 bins, each
        with its lower edge, of which the first and the last have no end.
    weights
        Weights of the draws, shape (..., m) or (m,). Equal if None.

    Returns
    -------
    -log of the probability given to the bin of the outcome, shape (...). [nats]

    Raises
    ------
    ValueError
        If edges do not ascend, shapes do not fit, a weight is negative, a sum of weights
        is 0, or a draw or outcome is NaN.

    Notes
    -----
    No bin has probability zero: to the draws, counted as the effective number that their
    weights leave, comes half a draw in every bin. The forecast so smoothed is what is
    scored, properly [1]_; with many draws it is the shares themselves.

    Examples
    --------
    >>> float(np.exp(-log_score([20.0, 30.0, np.inf], np.inf, [28.0, 120.0])))
    0.3333333333333333
    """
    draws, came, share = _cases(ensemble, outcome, weights)
    limits = np.asarray(edges, dtype=np.float64)
    if limits.ndim != 1 or not (np.diff(limits) > 0.0).all():
        raise ValueError("edges must be a row of ascending numbers")
    of_draws, of_outcome = (np.searchsorted(limits, x, side="right") for x in (draws, came))
    together = (share * (of_draws == of_outcome[..., None])).sum(axis=-1)
    count = 1.0 / (share**2).sum(axis=-1)
    bins = len(limits) + 1
    smoothed = (count * together + PRIOR_DRAWS_A_BIN) / (count + PRIOR_DRAWS_A_BIN * bins)
    return np.asarray(-np.log(smoothed))


def brier(probability: ArrayLike, happened: ArrayLike) -> Array:
    """Brier's score of a probability: its squared distance from 1 if it happened, else 0.

    Parameters
    ----------
    probability
        Forecast, shape (...), 0 to 1.
    happened
        What came, shape (...), true or false.

    Returns
    -------
    Scores, shape (...), 0 (sure and right) to 1 (sure and wrong). [unitless]

    Raises
    ------
    ValueError
        If a probability is not between 0 and 1, or an outcome neither 0 nor 1.

    References
    ----------
    Brier, G. W., "Verification of forecasts expressed in terms of probability", Monthly
    Weather Review 78(1), 1-3, 1950. Half of its sum over yes and no.

    Examples
    --------
    >>> float(brier(0.75, True))
    0.0625
    """
    forecast, came = (np.asarray(x, dtype=np.float64) for x in (probability, happened))
    if not ((forecast >= 0.0) & (forecast <= 1.0)).all():
        raise ValueError("a probability must be between 0 and 1")
    if not ((came == 0.0) | (came == 1.0)).all():
        raise ValueError("an outcome must be true or false")
    return np.asarray((forecast - came) ** 2)


def ranks(ensembles: ArrayLike, outcomes: ArrayLike, rng: np.random.Generator) -> NDArray[np.int64]:
    """How many draws lie below each outcome, ties split at random.

    Parameters
    ----------
    ensembles
        Draws, shape (..., m). They must be independent of each other: thin a cloud first.
    outcomes
        What came, shape (...).
    rng
        Says how many of the draws that equal an outcome count as below it.

    Returns
    -------
    Ranks, shape (...), 0 to m; if outcomes come from the laws that the draws come from,
    all equally likely [5]_.

    Raises
    ------
    ValueError
        If shapes do not fit, or a draw or outcome is NaN.

    References
    ----------
    .. [5] Talts, S., Betancourt, M., Simpson, D., Vehtari, A. & Gelman, A., "Validating
       Bayesian inference algorithms with simulation-based calibration", arXiv:1804.06788,
       2018.
    """
    draws, came, _ = _cases(ensembles, outcomes)
    below = (draws < came[..., None]).sum(axis=-1)
    ties = (draws == came[..., None]).sum(axis=-1)
    return np.asarray(below + rng.integers(0, ties + 1))


def uniformity(found: ArrayLike, bins: int, draws: int) -> float:
    """p-value of ranks being uniform, by chi-square.

    Parameters
    ----------
    found
        Ranks, 0 to `draws`, any shape.
    bins
        Groups of neighbouring ranks that are counted together; divides draws + 1.
    draws
        Draws in each ensemble.

    Returns
    -------
    Probability of counts at least so uneven if ranks are uniform. To raise a false alarm
    in a share a of all right forecasts, call those wrong with less than a, and settle a
    beforehand.

    Raises
    ------
    ValueError
        If a rank is out of range, `bins` does not divide draws + 1, or there are fewer
        than LEAST_CASES_A_BIN cases a bin.
    """
    rank = np.asarray(found, dtype=np.int64).ravel()
    if bins < 2 or (draws + 1) % bins:
        raise ValueError(f"bins must divide draws + 1 = {draws + 1}, got {bins}")
    if len(rank) < LEAST_CASES_A_BIN * bins:
        raise ValueError(f"{len(rank)} cases are too few for {bins} bins")
    if rank.min() < 0 or rank.max() > draws:
        raise ValueError(f"ranks must be 0 to {draws}, got {rank.min()} to {rank.max()}")
    expected = len(rank) / bins
    counts = np.bincount(rank * bins // (draws + 1), minlength=bins)
    return float(chdtrc(bins - 1.0, ((counts - expected) ** 2).sum() / expected))


def places(
    ensembles: ArrayLike,
    outcomes: ArrayLike,
    rng: np.random.Generator | None = None,
    weights: ArrayLike | None = None,
) -> Array:
    """Share of the draws below each outcome: the probability integral transform.

    Parameters
    ----------
    ensembles
        Draws, shape (..., m).
    outcomes
        What came, shape (...).
    rng
        Puts an outcome at a random place among draws that equal it, which keeps whole days
        uniform [6]_; in their middle if None.
    weights
        Weights of the draws, shape (..., m) or (m,). Equal if None.

    Returns
    -------
    Places, shape (...), 0 to 1.

    Raises
    ------
    ValueError
        If shapes do not fit, a weight is negative, a sum of weights is 0, or a draw or
        outcome is NaN.

    References
    ----------
    .. [6] Czado, C., Gneiting, T. & Held, L., "Predictive model assessment for count data",
       Biometrics 65(4), 1254-1261, 2009. doi:10.1111/j.1541-0420.2009.01191.x
    """
    draws, came, share = _cases(ensembles, outcomes, weights)
    below = (share * (draws < came[..., None])).sum(axis=-1)
    ties = (share * (draws == came[..., None])).sum(axis=-1)
    return np.asarray(below + (0.5 if rng is None else rng.random(came.shape)) * ties)


def is_covered(place: ArrayLike, level: ArrayLike) -> NDArray[np.bool_]:
    """Whether outcomes at a place, 0 to 1, lie in the central interval of a level."""
    return np.abs(np.asarray(place) - 0.5) <= 0.5 * np.asarray(level)


@dataclass(frozen=True, slots=True)
class Coverage:
    """How often a central interval held the outcome: `low` to `high` says how sure that is."""

    hits: int
    cases: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """Share of the cases inside."""
        return self.hits / self.cases


def coverage(
    ensembles: ArrayLike,
    outcomes: ArrayLike,
    level: float,
    rng: np.random.Generator | None = None,
    confidence: float = 0.95,
) -> Coverage:
    """Count how often the central interval of a level held the outcome.

    Parameters
    ----------
    ensembles
        Draws, shape (cases, m).
    outcomes
        What came, shape (cases,).
    level
        Probability that the interval claims, 0 to 1.
    rng
        Splits ties; see `places`.
    confidence
        Chance, at least, that the binomial interval holds the share of endless cases.

    Returns
    -------
    The coverage. An honest forecast has `level` between `low` and `high` in a share
    `confidence` of all trials, or more.

    Raises
    ------
    ValueError
        As `places` and `binomial_interval`.
    """
    inside = is_covered(places(ensembles, outcomes, rng), level)
    hits, cases = int(inside.sum()), int(inside.size)
    return Coverage(hits, cases, *binomial_interval(hits, cases, confidence))


def binomial_interval(hits: int, cases: int, confidence: float = 0.95) -> tuple[float, float]:
    """Exact interval of a share, by Clopper and Pearson.

    Parameters
    ----------
    hits, cases
        How many of how many.
    confidence
        Chance, at least, that such an interval holds the share, 0 to 1.

    Returns
    -------
    Least and greatest share for which neither tail of the binomial law is rarer than half
    of what confidence leaves.

    Raises
    ------
    ValueError
        If there are no cases, or more hits than cases.

    References
    ----------
    Clopper, C. J. & Pearson, E. S., "The use of confidence or fiducial limits illustrated
    in the case of the binomial", Biometrika 26(4), 404-413, 1934.

    Examples
    --------
    >>> low, high = binomial_interval(0, 10)
    >>> round(low, 4), round(high, 4)
    (0.0, 0.3085)
    """
    if not 0 <= hits <= cases or cases < 1:
        raise ValueError(f"hits must be 0 to cases, and cases >= 1, got {hits} of {cases}")
    tail = 0.5 * (1.0 - confidence)
    low = betaincinv(hits, cases - hits + 1, tail) if hits else 0.0
    high = betaincinv(hits + 1, cases - hits, 1.0 - tail) if hits < cases else 1.0
    return float(low), float(high)


def _cases(
    ensemble: ArrayLike, outcome: ArrayLike, weights: ArrayLike | None = None
) -> tuple[Array, Array, Array]:
    """Draws (..., m), outcomes (...) and weights (..., m) that sum to one."""
    draws, came = (np.asarray(x, dtype=np.float64) for x in (ensemble, outcome))
    if draws.ndim != came.ndim + 1 or draws.shape[-1] == 0 or draws.shape[:-1] != came.shape:
        raise ValueError(
            f"draws must have the outcomes' shape and one axis more, "
            f"got {draws.shape} and {came.shape}"
        )
    if np.isnan(draws).any() or np.isnan(came).any():
        raise ValueError("a draw or an outcome is NaN")
    given = np.asarray(1.0 if weights is None else weights, dtype=np.float64)
    share = np.broadcast_to(given, draws.shape)
    total = share.sum(axis=-1, keepdims=True)
    if not ((share >= 0.0).all() and (total > 0.0).all() and np.isfinite(total).all()):
        raise ValueError("weights must be >= 0, finite, and not all 0")
    return draws, came, np.asarray(share / total)

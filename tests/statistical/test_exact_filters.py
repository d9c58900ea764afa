"""Evidence absorbed visit by visit, against filters that are exact.

Two models whose states are plain functions of the prior's normal deviates, so that the
sampler can be asked what a filter knows:

* a level that drifts and is jolted from day to day, read by two instruments of which one
  has an unknown offset: linear and Gaussian, against the Kalman filter and smoother of
  statsmodels (Durbin & Koopman 2012);
* a chain of three states whose next is picked by a uniform number, made from a deviate or
  from bits of the seed: against the filter of Hamilton (1989) and the smoother of Kim
  (1994) in statsmodels.

Means over independent runs are compared by Student's t. All seeds are fixed; a correct
sampler had a chance of at most FALSE_ALARM to fail any one of some 400 comparisons when
they were chosen.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr
from statsmodels.tsa.regime_switching.markov_regression import MarkovRegression
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother

from lastbee.forecast.sampler import Cloud, absorb, prior_cloud

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray
    from statsmodels.tsa.regime_switching.markov_regression import MarkovRegressionResults

    Array = NDArray[np.float64]
    Noise = NDArray[np.uint64]
    # Log likelihood of every visit, shape (n, visits).
    OfVisits = Callable[[Array, Noise], Array]

FALSE_ALARM = 1e-5
RUNS = 16
# Of a single run, in the error that its cloud claims: 7e-6 by the normal law.
SIGMAS = 4.5


def absorbed(
    of_visits: OfVisits, order: Sequence[int], dimensions: int, count: int, seed: int
) -> list[list[Cloud]]:
    """RUNS clouds after each visit, the visits taken in an order."""
    courses = []
    for each in np.random.SeedSequence(seed).spawn(RUNS):
        rng = np.random.default_rng(each)
        clouds = [prior_cloud(dimensions, count, rng)]
        for done, visit in enumerate(order):

            def scores(
                z: Array, noise: Noise, before: Sequence[int] = order[:done], now: int = visit
            ) -> tuple[Array, Array]:
                table = of_visits(z, noise)
                return table[:, list(before)].sum(axis=1), table[:, now]

            clouds.append(absorb(clouds[-1], scores, rng))
        courses.append(clouds[1:])
    return [list(clouds) for clouds in zip(*courses, strict=True)]


def agree(values: Array, exact: Array | float, bias: Array | float = 0.0) -> None:
    """Student's t of means over the first axis, after an allowed bias of the method."""
    error = np.abs(values.mean(axis=0) - exact) - bias
    spread = values.std(axis=0, ddof=1) / np.sqrt(len(values))
    limit = stats.t.isf(FALSE_ALARM / 2.0, len(values) - 1)
    assert (error <= limit * spread + 1e-12).all(), (error / np.maximum(spread, 1e-12)).max()


def evidence_agrees(clouds: list[Cloud], exact: float) -> None:
    """The log of an unbiased estimate lies low by half its variance, which is allowed for."""
    found = np.array([cloud.log_evidence for cloud in clouds])
    assert found.std() < 0.2
    agree(found, exact, bias=float(found.var()))


# The drifting level. Deviates: where it starts, drift, offset, and a jolt for every night.
READ = np.array(
    [[0.6, 1.9], [1.1, 0.8], [0.2, 1.7], [1.8, 2.9], [2.6, 2.1], [1.4, 3.2], [2.9, 2.7], [3.8, 4.6]]
)
KEEPS, DRIFT, OFFSET, JOLT, ERRORS = 0.9, 0.5, 0.8, 0.6, (0.5, 0.7)


def deviates(read: Array) -> int:
    """Dimensions of the level's prior."""
    return 3 + len(read) - 1


def levels(z: Array) -> Array:
    """Level on each day, shape (n, days)."""
    course = [z[:, 0]]
    for jolt in z[:, 3:].T:
        course.append(KEEPS * course[-1] + DRIFT * z[:, 1] + JOLT * jolt)
    return np.column_stack(course)


def of_readings(read: Array) -> OfVisits:
    """Both instruments, independent of each other."""

    def log_likelihood(z: Array, _: Noise) -> Array:
        level = levels(z)
        plain = stats.norm.logpdf(read[:, 0], level, ERRORS[0])
        return plain + stats.norm.logpdf(read[:, 1], level + OFFSET * z[:, 2:3], ERRORS[1])

    return log_likelihood


def known(cloud: Cloud) -> Array:
    """What is compared: level on each day, past and to come, drift and offset."""
    return np.column_stack([levels(cloud.z), cloud.z[:, 1:3]])


def kalman(read: Array, days: int) -> tuple[Array, Array, float]:
    """Exact means and variances of `known` after some days, and the log evidence."""
    seen = np.where(np.arange(len(read))[:, None] < days, read, np.nan)
    model = KalmanSmoother(k_endog=2, k_states=3, k_posdef=1)
    model.bind(np.ascontiguousarray(seen))
    model["design"] = np.array([[1.0, 0.0, 0.0], [1.0, 0.0, OFFSET]])
    model["obs_cov"] = np.diag(np.square(ERRORS))
    model["transition"] = np.array([[KEEPS, DRIFT, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    model["selection"] = np.array([[1.0], [0.0], [0.0]])
    model["state_cov"] = np.array([[JOLT**2]])
    model.initialize_known(np.zeros(3), np.eye(3))
    found = model.smooth()
    variance = np.diagonal(found.smoothed_state_cov).T
    mean, spread = (np.append(x[0], x[1:, 0]) for x in (found.smoothed_state, variance))
    return mean, spread, float(found.llf_obs.sum())


def level_agrees(clouds: list[Cloud], read: Array, days: int) -> None:
    """A variance of n equally weighted draws has a bias of the order of 1/n: 0.5 % allowed."""
    mean, variance, log_evidence = kalman(read, days)
    agree(np.array([known(c).mean(axis=0) for c in clouds]), mean)
    agree(np.array([known(c).var(axis=0) for c in clouds]), variance, bias=0.005 * variance)
    evidence_agrees(clouds, log_evidence)


@cache
def level_clouds() -> list[list[Cloud]]:
    """Clouds after each day, day by day."""
    return absorbed(of_readings(READ), range(len(READ)), deviates(READ), 1000, seed=51)


@pytest.mark.parametrize("days", range(1, len(READ) + 1))
def test_level_agrees_with_a_kalman_smoother(days: int) -> None:
    """Tests means and variances of levels past and to come, drift and offset; the evidence."""
    level_agrees(level_clouds()[days - 1], READ, days)


def worth_agrees(clouds: list[Cloud], read: Array, days: int) -> None:
    """Errors of single runs, in those that follow from the worth that each cloud claims.

    By root mean square they should be 1; from 16 runs of quantities that hang together,
    0.5 to 1.5 was allowed.
    """
    mean, variance, _ = kalman(read, days)
    error = np.sqrt(variance / np.array([[c.effective] for c in clouds]))
    z = (np.array([known(c).mean(axis=0) for c in clouds]) - mean) / error
    assert np.abs(z).max() < SIGMAS
    assert 0.5 < np.sqrt((z**2).mean()) < 1.5


@pytest.mark.parametrize("days", range(1, len(READ) + 1))
def test_a_cloud_is_worth_what_it_claims(days: int) -> None:
    """Tests the claimed number of independent draws after each day."""
    worth_agrees(level_clouds()[days - 1], READ, days)


def test_the_order_of_the_days_does_not_matter() -> None:
    """Tests the days absorbed backwards: the same posterior, the same evidence in the end."""
    backwards = range(len(READ))[::-1]
    clouds = absorbed(of_readings(READ), backwards, deviates(READ), 1000, seed=52)
    level_agrees(clouds[-1], READ, len(READ))


def test_a_day_counted_twice_is_found_out() -> None:
    """Tests the check itself: the third day absorbed twice must not pass."""
    mean, _, log_evidence = kalman(READ, 3)
    twice = absorbed(of_readings(READ), (0, 1, 2, 2), deviates(READ), 1000, seed=53)[-1]
    with pytest.raises(AssertionError):
        agree(np.array([known(c).mean(axis=0) for c in twice]), mean)
    with pytest.raises(AssertionError):
        evidence_agrees(twice, log_evidence)


@pytest.mark.long
@pytest.mark.timeout(900)
def test_level_agrees_with_a_kalman_smoother_at_length() -> None:
    """Tests sixteen days, 18 deviates, more than a trap-out is visited."""
    days = 16
    rng = np.random.default_rng(56)
    z = rng.standard_normal((1, days + 2))
    truth = np.column_stack([levels(z)[0], levels(z)[0] + OFFSET * z[0, 2]])
    read = truth + np.array(ERRORS) * rng.standard_normal(truth.shape)
    clouds = absorbed(of_readings(read), range(days), deviates(read), 4000, seed=57)[-1]
    level_agrees(clouds, read, days)
    worth_agrees(clouds, read, days)


# The chain. Rows of MOVES say where it goes from each state; SHARES is its state of rest,
# by detailed balance. All are whole sixteenths, so that four bits pick the next exactly.
MOVES = np.array([[11.0, 4.0, 1.0], [2.0, 12.0, 2.0], [1.0, 4.0, 11.0]]) / 16.0
SHARES = np.array([0.25, 0.5, 0.25])
CENTRES, ERROR = np.array([-1.0, 0.5, 1.5]), 0.8
HEARD = np.array([0.7, 0.9, -0.4, -0.9, 0.8, 1.8, 1.0, 2.5, 2.2, 0.4])
STEPS = len(HEARD)


def states(uniform: Array) -> Array:
    """State at each step, shape (n, STEPS)."""
    picked = np.empty(uniform.shape, dtype=np.intp)
    edges = np.broadcast_to(np.cumsum(SHARES), (len(uniform), 3))
    for step in range(STEPS):
        picked[:, step] = (uniform[:, step, None] > edges[:, :-1]).sum(axis=1)
        edges = np.cumsum(MOVES, axis=1)[picked[:, step]]
    return picked


def from_deviates(z: Array, _: Noise) -> Array:
    """States picked by the prior's normal deviates."""
    return states(ndtr(z))


def from_seeds(_: Array, noise: Noise) -> Array:
    """States picked by four bits each of the seed."""
    bits = noise[:, None] >> (4 * np.arange(STEPS)).astype(np.uint64) & np.uint64(15)
    return states((bits + 0.5) / 16.0)


@pytest.fixture(scope="module")
def chain() -> MarkovRegressionResults:
    """Give the exact answer."""
    model = MarkovRegression(HEARD, k_regimes=3, trend="c")
    return model.smooth(np.concatenate([MOVES[:, :-1].T.ravel(), CENTRES, [ERROR**2]]))


@pytest.mark.parametrize(("picked_by", "dimensions"), [(from_deviates, STEPS), (from_seeds, 1)])
def test_chain_agrees_with_a_hidden_markov_filter(
    chain: MarkovRegressionResults, picked_by: OfVisits, dimensions: int
) -> None:
    """Tests probabilities of the state now, after each step, and the evidence so far.

    Seeds are all or nothing: a state that hangs on them can be renewed only with the rest.
    States so rare that no cloud may hold one are let off with one particle, 1/1000.
    """

    def heard(z: Array, noise: Noise) -> Array:
        return stats.norm.logpdf(HEARD, CENTRES[picked_by(z, noise)], ERROR)

    after = absorbed(heard, range(STEPS), dimensions, 1000, seed=54)
    log_evidence = np.cumsum(chain.llf_obs)
    shares = [
        np.array(
            [(picked_by(c.z, c.noise)[..., None] == np.arange(3)).mean(axis=0) for c in clouds]
        )
        for clouds in after
    ]
    for step, clouds in enumerate(after):
        agree(shares[step][:, step], chain.filtered_marginal_probabilities[step], bias=1e-3)
        evidence_agrees(clouds, float(log_evidence[step]))
    # Looking back from the end.
    agree(shares[-1], chain.smoothed_marginal_probabilities, bias=1e-3)


def test_a_quiet_visit_makes_no_cloud_worth_more_than_it_is() -> None:
    """Tests the claimed worth against the scatter of runs, after a hard batch and two empty.

    Four thin ridges, on which one proposal in twenty is accepted, leave few families. The
    empty batches say nothing and their moves renew little, so that the cloud is worth no
    more than before. Factor 2.5, as for a single batch: variances from 16 runs.
    """

    def ridges(z: Array, _: Noise) -> Array:
        off_ridge = np.abs(z[:, 0]) + np.abs(z[:, 1]) - 2.0
        off_wave = ((z[:, 2:] - np.sin(3.0 * z[:, :1])) ** 2).sum(axis=1)
        hard = -0.5 * (off_ridge**2 + off_wave) / 0.01
        return np.column_stack([hard, np.zeros((len(z), 2))])

    for clouds in absorbed(ridges, (0, 1, 2), 4, 1000, seed=55):
        means = np.array([c.z.mean(axis=0) for c in clouds])
        spread = np.mean([c.z.var(axis=0) for c in clouds], axis=0)
        true = float((spread / means.var(axis=0, ddof=1)).min())
        assert np.mean([c.effective for c in clouds]) < 2.5 * true

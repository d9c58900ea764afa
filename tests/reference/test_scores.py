"""Scores of forecasts against other libraries, closed forms, and their own promises.

scoringrules (Zanetta & Allen) writes the same scores another way; SciPy and statsmodels
have the binomial and chi-square laws; Gneiting & Raftery 2007 the score of a Gaussian. All
seeds are fixed: a right score had a chance of FALSE_ALARM to fail each check by chance.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import scoringrules
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from lastbee.forecast.scores import (
    binomial_interval,
    brier,
    coverage,
    crps,
    log_score,
    places,
    ranks,
    uniformity,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

FALSE_ALARM = 1e-4
HORIZON = 120.0


@pytest.fixture(scope="module")
def days() -> tuple[Array, Array, Array]:
    """Give 40 cases of 25 drawn days, whole so that many tie, their outcomes, and weights."""
    rng = np.random.default_rng(71)
    draws = np.floor(rng.gamma(4.0, 20.0, (40, 25)))
    return draws, np.floor(rng.gamma(4.0, 20.0, 40)), rng.gamma(0.5, 1.0, (40, 25))


@pytest.mark.parametrize(("fair", "estimator"), [(False, "nrg"), (True, "fair")])
@pytest.mark.parametrize("is_weighted", [False, True])
@pytest.mark.parametrize("horizon", [np.inf, HORIZON, 50.0])
def test_crps_agrees_with_another_library(
    days: tuple[Array, Array, Array], fair: bool, estimator: str, is_weighted: bool, horizon: float
) -> None:
    """Tests plain and fair, weighted and cut off, against scoringrules' sums over all pairs."""
    draws, came, weights = days
    theirs = scoringrules.twcrps_ensemble(
        came, draws, b=horizon, estimator=estimator, backend="numpy",
        ens_w=weights if is_weighted else None,
    )  # fmt: skip
    ours = crps(draws, came, weights if is_weighted else None, fair=fair, horizon=horizon)
    np.testing.assert_allclose(ours, theirs, atol=1e-9)


def test_crps_of_whole_days_is_the_ranked_probability_score(
    days: tuple[Array, Array, Array],
) -> None:
    """Tests days as categories, "not by day 120" the last, against scoringrules (Epstein 1969)."""
    draws, came, _ = days
    last = int(HORIZON)
    shares = np.array(
        [np.bincount(x, minlength=last + 1) for x in np.minimum(draws, last).astype(int)]
    )
    category = np.minimum(came, last).astype(int) + 1
    theirs = scoringrules.rps_score(category, shares / draws.shape[1], backend="numpy")
    np.testing.assert_allclose(crps(draws, came, horizon=HORIZON), theirs, atol=1e-9)


@pytest.mark.parametrize("outcome", [-30.0, 12.0, 31.0, 80.0])
def test_crps_of_a_gaussian(outcome: float) -> None:
    """Tests 20,000 quantiles of N(30, 9) against sd (x (2 P(x) - 1) + 2 p(x) - 1/sqrt(pi)).

    Gneiting & Raftery 2007, section 4.2. Quantiles for an integral: 1e-3 of the sd.
    """
    mean, sd = 30.0, 9.0
    draws = stats.norm.ppf((np.arange(20_000) + 0.5) / 20_000, mean, sd)
    x = (outcome - mean) / sd
    exact = sd * (x * (2.0 * stats.norm.cdf(x) - 1.0) + 2.0 * stats.norm.pdf(x) - np.pi**-0.5)
    assert float(crps(draws, outcome)) == pytest.approx(exact, abs=1e-3 * sd)
    # Cut off at 35 it is the score of a censored Gaussian, by scoringrules' closed form.
    censored = scoringrules.crps_cnormal(min(outcome, 35.0), mean, sd, -np.inf, 35.0)
    assert float(crps(draws, outcome, horizon=35.0)) == pytest.approx(censored, abs=1e-3 * sd)


@pytest.mark.parametrize("members", [2, 5, 20])
def test_fair_score_is_that_of_the_law_whatever_the_number_of_draws(members: int) -> None:
    """Tests the mean over 20,000 small ensembles of N(0, s), outcomes N(0, 1).

    Expected: sqrt(2/pi) sqrt(1 + s^2) - s/sqrt(pi), plain s/sqrt(pi)/m more (Ferro 2014).
    With few draws the plain score prefers too narrow a forecast; the fair one never.
    """
    rng = np.random.default_rng(72)
    fair_means, plain_means = [], []
    for sd in (0.7, 1.0, 1.4):
        draws, came = sd * rng.standard_normal((20_000, members)), rng.standard_normal(20_000)
        exact = np.sqrt(2.0 / np.pi) * np.hypot(1.0, sd) - sd / np.sqrt(np.pi)
        fair, plain = crps(draws, came, fair=True), crps(draws, came)
        assert stats.ttest_1samp(fair, exact).pvalue > FALSE_ALARM
        more = sd / np.sqrt(np.pi) / members
        assert stats.ttest_1samp(plain, exact + more).pvalue > FALSE_ALARM
        fair_means.append(fair.mean())
        plain_means.append(plain.mean())
    assert np.argmin(fair_means) == 1
    assert np.argmin(plain_means) == (0 if members <= 5 else 1)


def test_nobody_gains_by_saying_what_they_do_not_believe() -> None:
    """Tests that all scores prefer the law that outcomes follow, gamma of mean 80 days.

    3000 outcomes, 400 draws. Against later, earlier, wider and narrower forecasts the right
    one is better by a paired t-test at FALSE_ALARM; past day 120 nobody looks.
    """
    rng = np.random.default_rng(73)
    outcome = rng.gamma(4.0, 20.0, 3000)
    came = np.where(outcome < HORIZON, outcome, np.inf)
    edges = np.arange(7.0, HORIZON + 1.0, 7.0)

    def scored(shape: float, scale: float) -> Array:
        draws = rng.gamma(shape, scale, (3000, 400))
        late = (draws >= HORIZON).mean(axis=1)
        return np.stack(
            [
                crps(draws, outcome, fair=True),
                crps(draws, came, fair=True, horizon=HORIZON),
                log_score(draws, came, edges),
                brier(late, np.isinf(came)),
            ]
        )

    honest = scored(4.0, 20.0)
    for shape, scale in [(4.0, 26.0), (4.0, 15.0), (1.5, 53.0), (16.0, 5.0)]:
        worse = scored(shape, scale) - honest
        assert (
            stats.ttest_1samp(worse, 0.0, axis=1, alternative="greater").pvalue < FALSE_ALARM
        ).all()


def test_log_score_is_that_of_dirichlets_mean(days: tuple[Array, Array, Array]) -> None:
    """Tests SciPy's mean of a Dirichlet law with half a draw in each bin before the draws."""
    draws, came, _ = days
    edges = [30.0, 60.0, 90.0, HORIZON]
    for forecast, outcome in zip(draws, came, strict=True):
        counts, _ = np.histogram(forecast, [-np.inf, *edges, np.inf])
        share = stats.dirichlet(counts + 0.5).mean()[np.digitize(outcome, edges)]
        assert float(log_score(forecast, outcome, edges)) == pytest.approx(-np.log(share))


def test_log_score_of_many_draws_is_that_of_the_law() -> None:
    """Tests 100,000 quantiles of N(30, 9) in weeks against its own probability of each week."""
    edges = np.arange(7.0, 64.0, 7.0)
    draws = stats.norm.ppf((np.arange(100_000) + 0.5) / 100_000, 30.0, 9.0)
    exact = -np.log(np.diff(stats.norm.cdf([-np.inf, *edges, np.inf], 30.0, 9.0)))
    middles = [0.0, *(edges + 3.0)]
    found = [float(log_score(draws, day, edges)) for day in middles]
    np.testing.assert_allclose(found, exact, atol=0.02)


def test_brier_agrees_with_another_library() -> None:
    """Tests against scoringrules."""
    rng = np.random.default_rng(74)
    p, happened = rng.random(50), rng.integers(0, 2, 50)
    theirs = scoringrules.brier_score(happened, p, backend="numpy")
    np.testing.assert_allclose(brier(p, happened), theirs)


@pytest.mark.parametrize("confidence", [0.5, 0.95, 0.999])
@pytest.mark.parametrize(("hits", "cases"), [(0, 1), (0, 30), (7, 30), (30, 30), (451, 500)])
def test_binomial_interval_agrees_with_other_libraries(
    hits: int, cases: int, confidence: float
) -> None:
    """Tests Clopper and Pearson's interval against SciPy and statsmodels."""
    ours = binomial_interval(hits, cases, confidence)
    scipys = stats.binomtest(hits, cases).proportion_ci(confidence, method="exact")
    np.testing.assert_allclose(ours, (scipys.low, scipys.high), rtol=1e-9)
    theirs = proportion_confint(hits, cases, 1.0 - confidence, method="beta")
    np.testing.assert_allclose(ours, theirs, rtol=1e-9)


@pytest.mark.parametrize("share", [0.02, 0.5, 0.9])
def test_binomial_interval_holds_the_share_as_often_as_it_says(share: float) -> None:
    """Tests 95 % intervals of 60 cases by the binomial law itself: at least 95, at most 99.9 %."""
    holds = [low <= share <= high for low, high in (binomial_interval(k, 60) for k in range(61))]
    assert 0.95 <= stats.binom.pmf(np.arange(61), 60, share)[holds].sum() <= 0.999


def test_uniformity_is_chi_square() -> None:
    """Tests the p-value against SciPy's chisquare of counts in ten bins of two ranks."""
    found = np.random.default_rng(75).integers(0, 20, 400)
    counts = np.bincount(found, minlength=20).reshape(10, 2).sum(axis=1)
    ours = uniformity(found, bins=10, draws=19)
    assert ours == pytest.approx(float(stats.chisquare(counts).pvalue), rel=1e-9)


def test_uniformity_gives_the_false_alarms_it_says() -> None:
    """Tests 1000 right forecasts, each of 200 whole days: 5 % have p < 0.05, by binomial law."""
    rng = np.random.default_rng(76)
    draws, came = rng.poisson(4.0, (1000, 200, 19)), rng.poisson(4.0, (1000, 200))
    found = ranks(draws, came, rng)
    alarms = sum(uniformity(each, bins=10, draws=19) < 0.05 for each in found)
    assert stats.binomtest(alarms, 1000, 0.05).pvalue > FALSE_ALARM


def test_coverage_of_an_honest_forecast_and_of_one_too_sure() -> None:
    """Tests 2000 forecasts of whole days: honest intervals agree with their level, narrow do not.

    The honest place among 400 draws is uniform, by Kolmogorov and Smirnov.
    """
    rng = np.random.default_rng(77)
    came = rng.poisson(30.0, 2000)
    honest, narrow = rng.poisson(30.0, (2000, 400)), 15 + rng.poisson(15.0, (2000, 400))
    for level in (0.5, 0.8, 0.9):
        right = coverage(honest, came, level, rng, confidence=1.0 - FALSE_ALARM)
        wrong = coverage(narrow, came, level, rng, confidence=1.0 - FALSE_ALARM)
        assert right.low < level < right.high
        assert wrong.high < level
    assert stats.kstest(places(honest, came, rng), "uniform").pvalue > FALSE_ALARM

"""Scores of forecasts by hand, at their edges, and against what misuse must raise."""

from __future__ import annotations

import doctest

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from lastbee.forecast import scores
from lastbee.forecast.scores import (
    binomial_interval,
    brier,
    coverage,
    crps,
    is_covered,
    log_score,
    places,
    ranks,
    uniformity,
)

DAYS = st.integers(0, 200).map(float)
DRAWS = arrays(np.float64, st.integers(2, 12), elements=DAYS)


def test_examples_in_the_docstrings_hold() -> None:
    found = doctest.testmod(scores)
    assert found.failed == 0
    assert found.attempted >= 5


def test_one_draw_scores_its_distance() -> None:
    """Tests the score of a forecast that is one number: the absolute error, by definition."""
    assert float(crps([30.0], 34.5)) == 4.5


def test_three_draws_by_hand() -> None:
    """Tests 21, 28, 35 against 30.

    Distances 9, 2, 5 have mean 16/3; the nine pairs differ by 0 (3), 7 (4), 14 (2): mean
    56/9, half of it 28/9: 20/9. Fair: six pairs of two draws, mean 28/3: 16/3 - 14/3.
    """
    draws = [21.0, 28.0, 35.0]
    assert float(crps(draws, 30.0)) == pytest.approx(20.0 / 9.0)
    assert float(crps(draws, 30.0, fair=True)) == pytest.approx(2.0 / 3.0)


def test_not_by_the_horizon_by_hand() -> None:
    """Tests 21, 28, never against "not by day 120": distribution 1/3 for 7 days, then 2/3 for 92.

    The squared distance from 0 over the days to 120 is 7/9 + 4 * 92/9 = 125/3.
    """
    assert float(crps([21.0, 28.0, np.inf], np.inf, horizon=120.0)) == pytest.approx(125.0 / 3.0)


@given(DRAWS, DAYS, DAYS)
def test_what_comes_after_the_horizon_changes_nothing(
    draws: np.ndarray, outcome: float, horizon: float
) -> None:
    late = np.where(draws >= horizon, np.inf, draws)
    came = np.inf if outcome >= horizon else outcome
    found = crps(late, came, horizon=horizon)
    assert found == pytest.approx(crps(draws, outcome, horizon=horizon), abs=1e-9)
    assert found <= crps(draws, outcome) + 1e-9


@given(DRAWS, DAYS, st.integers(1, 4))
def test_weights_count_as_copies(draws: np.ndarray, outcome: float, copies: int) -> None:
    weights = np.ones(len(draws))
    weights[0] = copies
    copied = np.repeat(draws, weights.astype(int))
    assert crps(draws, outcome, weights) == pytest.approx(crps(copied, outcome), abs=1e-9)
    assert places(draws, outcome, weights=weights) == pytest.approx(places(copied, outcome))


@given(DRAWS, DAYS)
def test_a_score_is_no_less_than_nothing_and_knows_no_order(
    draws: np.ndarray, outcome: float
) -> None:
    plain = crps(draws, outcome)
    assert plain >= -1e-9
    assert crps(draws[::-1], outcome) == pytest.approx(plain, abs=1e-9)
    assert crps(draws, outcome, fair=True) <= plain + 1e-9


def test_many_cases_are_scored_as_each_alone() -> None:
    """Tests shapes, with weights and a horizon for every case."""
    rng = np.random.default_rng(1)
    draws, came = rng.gamma(4.0, 9.0, (3, 2, 7)), rng.gamma(4.0, 9.0, (3, 2))
    weights, horizon = rng.random((3, 2, 7)), rng.uniform(30.0, 60.0, (3, 2))
    together = crps(draws, came, weights, fair=True, horizon=horizon)
    for at in np.ndindex(3, 2):
        alone = crps(draws[at], came[at], weights[at], fair=True, horizon=horizon[at])
        assert together[at] == pytest.approx(float(alone))
    assert log_score(draws, came, [20.0, 40.0], weights).shape == (3, 2)
    assert places(draws, came, rng, weights).shape == ranks(draws, came, rng).shape == (3, 2)


def test_log_score_by_hand() -> None:
    """Tests three of four draws in the bin of the outcome: (3 + 1/2) / (4 + 3/2)."""
    found = log_score([1.0, 14.0, 15.0, 20.0], 16.0, [14.0, 21.0])
    assert float(found) == pytest.approx(-np.log(3.5 / 5.5))


def test_a_bin_has_its_lower_edge() -> None:
    assert log_score([7.0], 7.0, [7.0]) < log_score([7.0], 6.999, [7.0])


def test_log_score_of_a_surprise_is_finite_and_grows_with_the_draws() -> None:
    """Tests that the more draws say never, the worse it is when it happens."""
    few, many = (float(log_score(np.full(n, 10.0), np.inf, [120.0])) for n in (10, 1000))
    assert few < many < np.inf


def test_brier_of_an_even_chance_is_a_quarter() -> None:
    np.testing.assert_allclose(brier([0.5, 0.5, 1.0, 0.0], [True, False, True, True]), [
        0.25, 0.25, 0.0, 1.0,
    ])  # fmt: skip


def test_ranks_split_ties_evenly() -> None:
    """Tests an outcome above one draw and equal to two: ranks 1, 2, 3, a third each.

    3000 trials; a share of 1/3 scatters by 0.0086, of which five are allowed.
    """
    rng = np.random.default_rng(2)
    found = ranks(np.tile([4.0, 5.0, 5.0, 6.0], (3000, 1)), np.full(3000, 5.0), rng)
    shares = np.bincount(found, minlength=5) / 3000.0
    np.testing.assert_allclose(shares, [0.0, 1 / 3, 1 / 3, 1 / 3, 0.0], atol=0.043)


def test_a_place_among_equals_is_their_middle_or_random() -> None:
    draws = [4.0, 5.0, 5.0, 6.0]
    assert float(places(draws, 5.0)) == 0.5
    spread = places(np.tile(draws, (500, 1)), np.full(500, 5.0), np.random.default_rng(3))
    assert 0.25 <= spread.min() < 0.3
    assert 0.7 < spread.max() <= 0.75


def test_coverage_counts_the_central_interval() -> None:
    """Tests places 0.1 to 0.9 by tenths: the middle 50 % is 0.25 to 0.75, five of nine."""
    draws = np.tile(np.arange(10.0), (9, 1))
    found = coverage(draws, np.arange(9.0) + 0.5, 0.5)
    assert (found.hits, found.cases) == (5, 9)
    assert found.share == pytest.approx(5.0 / 9.0)
    assert found.low < found.share < found.high
    np.testing.assert_array_equal(is_covered([0.25, 0.2, 0.75], 0.5), [True, False, True])


def test_uneven_ranks_have_a_small_p() -> None:
    """Tests all ranks in one of ten bins, and all bins alike."""
    assert uniformity(np.zeros(100), bins=10, draws=19) < 1e-12
    assert uniformity(np.tile(np.arange(20), 5), bins=10, draws=19) == 1.0


@pytest.mark.parametrize("weights", [[1.0, -1.0], [0.0, 0.0], [1.0, np.nan], [1.0, np.inf]])
def test_bad_weights_are_refused(weights: list[float]) -> None:
    with pytest.raises(ValueError, match="weights must be"):
        crps([1.0, 2.0], 1.0, weights)


@pytest.mark.parametrize(("draws", "outcome"), [([1.0, np.nan], 1.0), ([1.0, 2.0], np.nan)])
def test_nan_is_refused(draws: list[float], outcome: float) -> None:
    with pytest.raises(ValueError, match="NaN"):
        crps(draws, outcome)


@pytest.mark.parametrize(("draws", "outcome"), [([1.0, np.inf], 1.0), ([1.0, 2.0], np.inf)])
def test_never_needs_a_horizon(draws: list[float], outcome: float) -> None:
    with pytest.raises(ValueError, match="finite below the horizon"):
        crps(draws, outcome)


@pytest.mark.parametrize("draws", [3.0, [], [[1.0, 2.0]]])
def test_shapes_that_do_not_fit_are_refused(draws: object) -> None:
    with pytest.raises(ValueError, match="outcomes' shape and one axis more"):
        crps(draws, 1.0)  # type: ignore[arg-type]


@pytest.mark.parametrize(("draws", "weights"), [([5.0], None), ([5.0, 6.0], [1.0, 0.0])])
def test_a_fair_score_needs_two_draws(draws: list[float], weights: list[float] | None) -> None:
    with pytest.raises(ValueError, match="two draws"):
        crps(draws, 5.0, weights, fair=True)


@pytest.mark.parametrize("edges", [[2.0, 1.0], [1.0, 1.0], 3.0])
def test_edges_must_ascend(edges: object) -> None:
    with pytest.raises(ValueError, match="ascending"):
        log_score([1.0], 1.0, edges)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("probability", "happened", "named"),
    [(1.1, 1, "between"), (np.nan, 1, "between"), (0.5, 2, "true or")],
)
def test_brier_refuses_what_is_no_probability_or_answer(
    probability: float, happened: float, named: str
) -> None:
    with pytest.raises(ValueError, match=named):
        brier(probability, happened)


@pytest.mark.parametrize(
    ("found", "bins", "named"),
    [([0] * 100, 3, "divide"), ([0] * 49, 10, "too few"), ([20] * 100, 10, "0 to 19")],
)
def test_uniformity_refuses_what_it_cannot_judge(found: list[int], bins: int, named: str) -> None:
    with pytest.raises(ValueError, match=named):
        uniformity(found, bins, draws=19)


@pytest.mark.parametrize(("hits", "cases"), [(-1, 5), (6, 5), (0, 0)])
def test_hits_must_be_of_the_cases(hits: int, cases: int) -> None:
    with pytest.raises(ValueError, match="hits must be"):
        binomial_interval(hits, cases)

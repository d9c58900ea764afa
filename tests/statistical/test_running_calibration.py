"""A sample of the simulation-based calibration of running trap-outs (`verify.running`).

Seeds are fixed; a right posterior had a chance of FALSE_ALARM to fail each comparison when
they were chosen. `make verify` runs the same on many more cases.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from lastbee.colony.course import Trouble
from lastbee.forecast.scores import uniformity
from verify.running import COVERED, DRAWS, QUANTITIES, Running, calibrate

FALSE_ALARM = 1e-4
CASES, COLONIES, BINS = 36, 330, 5


@pytest.fixture(scope="module")
def running() -> Running:
    """Give a sample of imagined trap-outs with visits, deeds and troubles."""
    return calibrate(CASES, COLONIES, seed=20260801)


@pytest.fixture(scope="module")
def mixed_up(running: Running) -> Running:
    """Give each forecast with the truth of another trap-out."""
    others = running.cases[2:] + running.cases[:2]
    return Running(
        tuple(
            replace(case, truth=other.truth, is_so=other.is_so)
            for case, other in zip(running.cases, others, strict=True)
        )
    )


def ranks(found: Running, quantity: int) -> np.ndarray:
    return found.ranks(quantity, np.random.default_rng(1))


@pytest.mark.parametrize("quantity", range(len(QUANTITIES)), ids=QUANTITIES)
def test_ranks_are_uniform(running: Running, quantity: int) -> None:
    """Tests ranks of the truth (Talts et al. 2018) by chi-square in five bins."""
    assert uniformity(ranks(running, quantity), BINS, DRAWS) > FALSE_ALARM


@pytest.mark.parametrize("level", range(len(COVERED)), ids=[f"{100 * c:.0f}%" for c in COVERED])
@pytest.mark.parametrize("quantity", range(len(QUANTITIES)), ids=QUANTITIES)
def test_intervals_cover_as_often_as_they_say(running: Running, quantity: int, level: int) -> None:
    """Tests each interval's hits by a two-sided binomial."""
    hits = round(running.coverage()[quantity, level] * CASES)
    assert stats.binomtest(hits, CASES, COVERED[level]).pvalue > FALSE_ALARM


def excess(found: Running) -> np.ndarray:
    """Brier's score of each case over what it would be on average if troubles are told rightly."""
    said = np.array([case.said for case in found.cases])
    was = np.eye(len(Trouble))[[case.is_so for case in found.cases]]
    return ((said - was) ** 2).sum(axis=1) - (said * (1.0 - said)).sum(axis=1)


def test_troubles_are_as_likely_as_they_are_said_to_be(running: Running) -> None:
    """Tests Brier's score (1950) against its expectation under the forecast, by Student's t."""
    assert stats.ttest_1samp(excess(running), 0.0).pvalue > FALSE_ALARM
    score, expected = running.brier()
    assert score - expected == pytest.approx(excess(running).mean())
    # Told rightly and telling something: the prior alone would score 0.7 and more.
    assert expected < 0.55


def outer(found: Running) -> int:
    """Ranks in the lowest and the highest fifth, of all quantities together."""
    fifths = [ranks(found, q) * BINS // (DRAWS + 1) for q in range(len(QUANTITIES))]
    return int(np.isin(fifths, (0, BINS - 1)).sum())


def test_the_forecast_of_another_trap_out_is_found_out(running: Running, mixed_up: Running) -> None:
    """Tests the check itself: with truths exchanged ranks pile up at the ends.

    (An answer that knows nothing would pass for uniform: that visits are used shows here.)
    """
    many = CASES * len(QUANTITIES)
    assert stats.binomtest(outer(mixed_up), many, 0.4).pvalue < FALSE_ALARM
    assert stats.binomtest(outer(running), many, 0.4).pvalue > FALSE_ALARM
    assert mixed_up.brier()[0] > running.brier()[0] + 0.15


def test_every_way_of_going_takes_part(running: Running) -> None:
    """Tests that the sample has sound trap-outs and troubles of several kinds."""
    kinds = {case.is_so for case in running.cases}
    assert int(Trouble.NONE) in kinds
    assert len(kinds) >= 4


def test_the_answer_does_not_depend_on_how_the_work_is_shared() -> None:
    """Tests that each case has its own seed."""
    few, more = (calibrate(cases, 220, seed=5) for cases in (2, 3))
    for one, other in zip(few.cases, more.cases, strict=False):
        np.testing.assert_array_equal(one.draws, other.draws)
        np.testing.assert_array_equal(one.said, other.said)

"""A sample of the simulation-based calibration of `verify.calibration`.

Seeds are fixed; a right posterior had a chance of FALSE_ALARM to fail each of the sixteen
comparisons when they were chosen. `make verify` runs the same on many more cases.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from lastbee.forecast import posterior
from verify.calibration import COVERED, DRAWS, QUANTITIES, Calibration, calibrate

FALSE_ALARM = 1e-4
CASES, COLONIES = 300, 400


@pytest.fixture(scope="module")
def calibration() -> Calibration:
    """Give a sample of imagined inspections."""
    return calibrate(CASES, COLONIES, seed=20260601)


@pytest.mark.parametrize("quantity", range(len(QUANTITIES)), ids=QUANTITIES)
def test_ranks_are_uniform(calibration: Calibration, quantity: int) -> None:
    """Tests ranks of the truth (Talts et al. 2018) by chi-square in ten bins."""
    assert calibration.p_value(quantity, bins=10) > FALSE_ALARM


@pytest.mark.parametrize("level", range(len(COVERED)), ids=[f"{100 * c:.0f}%" for c in COVERED])
@pytest.mark.parametrize("quantity", range(len(QUANTITIES)), ids=QUANTITIES)
def test_intervals_cover_as_often_as_they_say(
    calibration: Calibration, quantity: int, level: int
) -> None:
    """Tests each interval's hits by a two-sided binomial."""
    hits = int(calibration.inside[:, quantity, level].sum())
    assert stats.binomtest(hits, CASES, COVERED[level]).pvalue > FALSE_ALARM


def test_every_kind_of_sighting_takes_part(calibration: Calibration) -> None:
    """Tests that the sample speaks for all fourteen kinds of items."""
    keys = {key for items in calibration.keys for key in items}
    assert len(keys) == 14
    assert calibration.ranks.min() >= 0
    assert calibration.ranks.max() <= DRAWS


def test_a_likelihood_too_sure_of_itself_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests the check itself: every sighting counted three times must not pass.

    (Sightings that are ignored would pass, for the prior is calibrated too; that they are
    used as they should be is seen against other samplers.)
    """
    once = posterior.log_likelihood
    monkeypatch.setattr(posterior, "log_likelihood", lambda items, nest: 3.0 * once(items, nest))
    wrong = calibrate(CASES, COLONIES, seed=7)
    assert min(wrong.p_value(i) for i in range(len(QUANTITIES))) < FALSE_ALARM
    assert wrong.coverage()[:, COVERED.index(0.9)].max() < 0.86


def test_the_answer_does_not_depend_on_how_the_work_is_shared() -> None:
    """Tests that each case has its own seed."""
    few, more = calibrate(3, 100, seed=5), calibrate(5, 100, seed=5)
    np.testing.assert_array_equal(few.ranks, more.ranks[:3])

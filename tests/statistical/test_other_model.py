"""A sample of the coverage on colonies of another model (`verify.other_model`).

The bounds are lenient on purpose: they say that the ranges hold outside our own model more
often than not, on 60 jobs. `make verify` measures the coverage itself, in four worlds.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from verify.ages import LATITUDE_DEG, NORMALS
from verify.other_colony import Weather, found_swarm, trap, weather_of, winter_over
from verify.other_model import COVERED, QUANTITIES, Coverage, World, cover, real_job

JOBS, COLONIES = 60, 600
# A range is allowed to be this much too sure of itself, at one false alarm in a thousand.
ALLOWED_SHORTFALL = 0.15
FALSE_ALARM = 1e-3


@pytest.fixture(scope="module")
def coverage() -> Coverage:
    """Give a sample of jobs from the middling world."""
    return cover(JOBS, COLONIES, seed=20260701)


@pytest.mark.parametrize("quantity", range(len(QUANTITIES)), ids=QUANTITIES)
def test_ranges_hold_on_colonies_of_another_model(coverage: Coverage, quantity: int) -> None:
    """Tests the hits of each interval against a coverage 15 points short of nominal."""
    hits = coverage.inside()[quantity] * JOBS
    for level, found in zip(COVERED, hits, strict=True):
        assert found >= stats.binom.ppf(FALSE_ALARM, JOBS, level - ALLOWED_SHORTFALL)


def test_the_truth_is_not_always_on_one_side(coverage: Coverage) -> None:
    """Tests the mean place of the truth, 0.5 if there were no bias, sd 0.29/sqrt(60) = 0.04."""
    assert ((coverage.places.mean(axis=0) > 0.25) & (coverage.places.mean(axis=0) < 0.75)).all()


def weather(seed: int) -> tuple[Weather, np.random.Generator]:
    """Give a year at the place of the other checks."""
    rng = np.random.default_rng(seed)
    return weather_of(NORMALS.high_degc, NORMALS.wet_day_share, LATITUDE_DEG, rng), rng


@pytest.mark.parametrize("weeks", [3, 4])
def test_the_other_model_meets_the_trade_check_too(weeks: int) -> None:
    """Tests swarms of late May: trapped at three and four weeks, cleared in four to six weeks.

    Common practice, no source. Medians of 40 colonies that anybody would have called about.
    """
    emptied = []
    for seed in range(40):
        year, rng = weather(seed)
        colony = found_swarm(140, year, rng, 200.0, old_comb=False)
        for _ in range(7 * weeks):
            colony.live_a_day()
        if colony.adults > 800.0:
            emptied.append(trap(colony, 120).empty_day)
    assert len(emptied) > 30
    assert 24.0 < np.median(emptied) < 46.0


def test_a_swarm_shrinks_before_its_first_young_emerge() -> None:
    """Tests three weeks of loss and then growth: a worker takes 21 days from the egg."""
    course = []
    for seed in range(20):
        year, rng = weather(seed)
        colony = found_swarm(135, year, rng, 200.0, old_comb=False)
        counts = [colony.adults]
        for day in range(63):
            colony.live_a_day()
            # Eggs are laid from the second day at the earliest: nobody is born before.
            if day < 21:
                assert colony.adults <= counts[-1]
            counts.append(colony.adults)
        course.append(counts)
    middle = np.median(course, axis=0)
    assert 15 <= int(np.argmin(middle)) <= 35
    assert middle[-1] > 1.2 * middle.min()


def test_the_other_colony_keeps_its_books() -> None:
    """Tests that nothing becomes negative or overfull, summer and trap-out through."""
    year, rng = weather(3)
    colony = winter_over(year, rng, 150.0)
    for day in range(250):
        colony.trapped = day > 180
        colony.live_a_day()
        assert colony.honey_g >= 0.0
        assert colony.pollen_g >= 0.0
        assert 0.0 <= colony.comb_dm2 <= 150.0
        assert (colony.brood >= 0.0).all()
        # Honey may also sit in crops: 30 mg a bee.
        assert colony.honey_g <= 0.4 * 790.0 * colony.comb_dm2 + 0.03 * colony.adults + 2000.0
    assert colony.adults < 200.0


def test_jobs_are_such_as_people_call_about() -> None:
    """Tests that each job has bees, an inspection in the season, and an end."""
    for seed in range(8):
        job = real_job(np.random.default_rng(seed), World())
        assert job.truth[1] >= 800.0
        assert 5 <= job.inspected.month <= 8
        assert 0.0 <= job.truth[3] <= 120.0
        assert all(np.isfinite(item.value) and item.value >= 0.0 for item in job.items)

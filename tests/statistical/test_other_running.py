"""A sample of the forecasts and diagnoses on jobs of the other model (`verify.other_running`).

The bounds are lenient on purpose: they say that ranges hold outside our own model more often
than not, and that plain trouble is named. `make verify` measures how often.
"""

from __future__ import annotations

import functools

import numpy as np
import pytest
from scipy import stats

from lastbee.colony.course import Trouble
from lastbee.forecast.diagnosis import active_troubles
from lastbee.forecast.posterior import condition
from lastbee.forecast.tracking import track
from lastbee.jobs.assemble import assemble
from lastbee.jobs.assemble_visits import watch_of
from verify.other_jobs import start
from verify.other_running import COVERED, QUANTITIES, Forecast, forecasts
from verify.other_troubles import Fault

JOBS, COLONIES = 12, 500
# A range is allowed to be this much too sure of itself, at one false alarm in a thousand.
ALLOWED_SHORTFALL, FALSE_ALARM = 0.15, 1e-3


@pytest.fixture(scope="module")
def forecast() -> tuple[Forecast, ...]:
    """Give a sample of jobs visited twice in the first two weeks."""
    return forecasts(JOBS, COLONIES, seed=20260901)


@pytest.mark.parametrize("quantity", range(len(QUANTITIES)), ids=QUANTITIES)
def test_ranges_hold_on_trap_outs_of_another_model(
    forecast: tuple[Forecast, ...], quantity: int
) -> None:
    """Tests the hits of each interval against a coverage 15 points short of nominal."""
    place = np.array([f.place[quantity] for f in forecast])
    for level in COVERED:
        hits = int((np.abs(place - 0.5) <= 0.5 * level).sum())
        assert hits >= stats.binom.ppf(FALSE_ALARM, JOBS, level - ALLOWED_SHORTFALL)


def test_the_truth_is_not_always_on_one_side(forecast: tuple[Forecast, ...]) -> None:
    """Tests the mean place of the truth, 0.5 if there were no bias, sd 0.29/sqrt(12) = 0.08."""
    middle = np.mean([f.place for f in forecast], axis=0)
    assert (np.abs(middle - 0.5) < 0.3).all()


def test_the_clear_day_is_forecast_better_than_by_the_rule_of_thumb(
    forecast: tuple[Forecast, ...],
) -> None:
    """Tests the score against the trade's four to six weeks, each day alike: common practice."""
    ours, rule = (
        np.array([getattr(f, name) for f in forecast]) for name in ("score", "rule_score")
    )
    assert ours.mean() < rule.mean()
    assert all(0.0 <= f.clear_day <= 120.0 for f in forecast)


# ---- glaring trouble ----

VISIT_DAYS = (5, 12)
# Jobs whose colonies are of middling size and still inside on the second visit.
SEEDS = (0, 1)


@functools.cache
def chances(key: str, seed: int) -> np.ndarray:
    """Chance of each trouble after two visits of a job with a trouble as bad as it comes."""
    running = start(seed, "none", "queenright nucleus")
    running.trapout.fault = Fault(key, None if key == "none" else 0, 1.0)
    for day in VISIT_DAYS:
        running.visit(day)
    job = running.job()
    question, rng = assemble(job), np.random.default_rng([96, seed])
    posterior = condition(question.items, question.founding, question.year.sky, COLONIES, rng)
    tracked = track(posterior.cloud, watch_of(job, question), rng)
    runs = tracked.runs(len(VISIT_DAYS), 400, rng)
    now = active_troubles(runs, tracked.watch.visits[-1].rates_day)
    return np.bincount(now, minlength=len(Trouble)) / len(now)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(
    ("key", "trouble"), [("leak", Trouble.LEAK), ("walked_back", Trouble.WALKED_BACK)]
)
def test_glaring_trouble_is_named_first(key: str, trouble: Trouble, seed: int) -> None:
    """Tests a wide gap and a tip that bees have learnt, on two jobs each."""
    assert int(chances(key, seed).argmax()) == trouble
    assert chances(key, seed)[trouble] > 0.5


@pytest.mark.parametrize("seed", SEEDS)
def test_the_same_jobs_without_trouble_are_not_called_that(seed: int) -> None:
    """Tests their twins: the same bees, weather and technician."""
    sound = chances("none", seed)
    assert sound[Trouble.LEAK] + sound[Trouble.WALKED_BACK] < 0.3

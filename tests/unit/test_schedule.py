"""When to come back: against the inspection problem of the textbooks, and by brute force."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pytest
from colony_factory import BOX, season
from scipy.optimize import brentq

from lastbee.colony.course import (
    MENDS,
    Courses,
    Deed,
    DeedKind,
    Trouble,
    course_dimensions,
    put_right_chance,
)
from lastbee.colony.founding import DIMENSIONS, Cavity, Founding
from lastbee.colony.kernel import live
from lastbee.colony.layout import NO_CONE, Sky
from lastbee.forecast.prospects import Prospects, foresee
from lastbee.forecast.runs import Runs, Watch, joined
from lastbee.methods.loss import Weights
from lastbee.methods.schedule import (
    LATEST_DAYS,
    Cause,
    NextVisit,
    expected_cost,
    next_visit,
    suited_days,
)
from lastbee.methods.visits import Schedule

# Only visits and undetected trouble cost anything: the inspection problem.
BARE = Weights(bees_lost=1.0, honey_left_per_kg=0.0, week=0.0, opening=0.0)
UNTIL = 1000
ALWAYS = np.ones(UNTIL + 1, dtype=bool)


def inspection_problem(
    hazard: float,
    rate: float,
    *,
    present: float = 0.0,
    chance: float = 1.0,
    n: int = 200,
    until: int = UNTIL,
) -> Prospects:
    """A system that fails unseen at a hazard, costs `rate` a day until a visit finds it.

    The job is over with the visit that finds the failure. Failure times are the quantiles
    of their law, so that nothing is left to chance; the share `present` has failed already.
    """
    u = (np.arange(n) + 0.5) / n
    onset = np.ceil(-np.log1p(-np.maximum(u - present, 0.0) / (1.0 - present)) / hazard)
    onset = onset.astype(np.int64)
    ends = np.arange(1, until + 2)
    is_found = onset[:, None] <= ends
    empty = np.where(is_found & (ends <= until), ends, until + 1).astype(np.float64)
    lost = rate * np.maximum(ends - onset[:, None], 0)
    trouble = np.full(n, int(Trouble.LEAK))
    return Prospects(0, until, ends, trouble, onset, np.full(n, chance), empty, empty, lost)


def short_problem(present: float = 0.0, rate: float = 0.5) -> Prospects:
    """Few systems followed for long enough to choose the first check."""
    return inspection_problem(0.01, rate, present=present, n=150, until=250)


def every(days: int) -> Schedule:
    return Schedule((days,), days)


@pytest.mark.parametrize(("hazard", "rate"), [(0.01, 0.5), (0.01, 0.2), (0.02, 0.4)])
def test_the_best_interval_is_that_of_the_inspection_problem(hazard: float, rate: float) -> None:
    """Tests the root of exp(hx) - hx - 1 = hc/k, and sqrt(2c / hk) for small hazards.

    Barlow, Hunter & Proschan 1963, "Optimum checking procedures", J. SIAM 11(4): with a
    constant hazard h, cost c a check and k a day undetected, checks are best made at even
    intervals x (from memory; both formulas follow from the expected cost in closed form,
    held below).
    """
    prospects = inspection_problem(hazard, rate)
    intervals = np.arange(4, 60)
    costs = [
        expected_cost(every(int(x)), prospects, ALWAYS, BARE, 0.95).cost.total for x in intervals
    ]
    best = intervals[int(np.argmin(costs))]
    exact = brentq(lambda x: np.exp(hazard * x) - hazard * x - 1.0 - hazard / rate, 1.0, 200.0)
    assert best == pytest.approx(exact, abs=1.0)
    assert best == pytest.approx(np.sqrt(2.0 / (hazard * rate)), rel=0.1)


@pytest.mark.parametrize("interval", [5, 20, 45])
def test_the_cost_of_even_intervals_is_that_of_the_closed_form(interval: int) -> None:
    """Tests a geometric number of checks, and the days from failure to the check that finds it.

    (c + kx) / (1 - exp(-hx)) less k times the mean day of failure, 1 / (1 - exp(-h)) where
    failures come by whole days.
    """
    hazard, rate = 0.01, 0.5
    found = expected_cost(
        every(interval), inspection_problem(hazard, rate, n=2000), ALWAYS, BARE, 0.95
    )
    per_check = 1.0 + rate * interval
    checks = 1.0 / (1.0 - np.exp(-hazard * interval))
    wanted = per_check * checks - rate / (1.0 - np.exp(-hazard))
    assert found.cost.visits + found.cost.trouble_bees == pytest.approx(wanted, rel=0.005)


def test_a_check_that_may_miss_is_made_oftener_and_costs_more() -> None:
    sharp, dull = (inspection_problem(0.01, 0.5, chance=chance) for chance in (1.0, 0.5))
    costs = {
        p.chance[0]: [
            expected_cost(every(x), p, ALWAYS, BARE, 0.95).cost.total for x in range(4, 60)
        ]
        for p in (sharp, dull)
    }
    assert np.argmin(costs[0.5]) < np.argmin(costs[1.0])
    assert min(costs[0.5]) > min(costs[1.0])


def chosen(prospects: Prospects, weights: Weights = BARE, suited: np.ndarray = ALWAYS) -> NextVisit:
    found = next_visit(prospects, suited, weights, 0.9)
    assert found is not None
    return found


def test_dearer_visits_come_later() -> None:
    """Tests worths of trouble that fall against the visit's own, which is the coin."""
    prospects = short_problem(rate=1.0)
    days = [chosen(prospects, replace(BARE, bees_lost=worth)).day for worth in (8, 2, 0.5)]
    assert days == sorted(days)
    assert days[0] < days[-1]


def test_trouble_that_is_likely_there_already_is_visited_sooner() -> None:
    days = [chosen(short_problem(share)).day for share in (0.0, 0.3, 0.95)]
    assert days == sorted(days, reverse=True)
    assert days[-1] < days[0] / 2


def test_the_reasons_are_those_of_the_inspection_problem() -> None:
    """Tests that sooner costs visits, and that later leaves trouble open."""
    found = chosen(short_problem())
    assert found.why.sooner == Cause.VISITS
    assert found.why.later == Cause.TROUBLE
    assert found.why.trouble == Trouble.LEAK
    assert found.best.schedule.days[0] == found.day


def test_a_day_without_flight_is_never_chosen() -> None:
    prospects = short_problem()
    best = chosen(prospects).day
    suited = ALWAYS.copy()
    suited[best - 2 : best + 3] = False
    found = chosen(prospects, suited=suited)
    assert all(suited[o.schedule.days[0]] for o in found.outlooks)
    assert suited[found.day]


def test_a_winter_is_waited_out() -> None:
    suited = ALWAYS.copy()
    suited[: LATEST_DAYS + 40] = False
    found = chosen(short_problem(), suited=suited)
    assert [o.schedule.days[0] for o in found.outlooks] == [LATEST_DAYS + 40]
    assert next_visit(short_problem(), ~ALWAYS, BARE, 0.9) is None


def test_later_visits_wait_for_flight_too() -> None:
    suited = np.ones(40, dtype=bool)
    suited[12:19] = False
    assert Schedule((5,), 7).visits(suited, 30).tolist() == [5, 19, 26, 33]
    assert Schedule((3, 14), 10).visits(suited, 45).tolist() == [3, 19, 29, 39, 49]


def test_a_visit_needs_two_hours_of_flight_after_rain_is_taken_off() -> None:
    """Tests 2.3 h on a day that is lost one time in five: 2.3 (1 - 0.2 x 0.85) = 1.91 h."""
    sky = np.zeros((3, len(Sky)))
    sky[:, Sky.FLIGHT_H] = 2.3, 2.3, 1.9
    sky[:, Sky.WET] = 0.2, 0.0, 0.0
    assert suited_days(sky).tolist() == [False, True, False]


def made_up_prospects(rng: np.random.Generator, n: int = 5) -> Prospects:
    """Trap-outs whose emptying waits the longer, the longer their trouble lasts.

    For up to nine days before they only look empty.
    """
    until = 60
    ends = np.arange(1, until + 2)
    onset = rng.integers(0, 40, n)
    onset[0] = NO_CONE
    sound, slower = rng.integers(10, 50, (n, 1)), rng.uniform(0.0, 1.5, (n, 1))
    delay = slower * np.clip(np.minimum(ends, sound) - onset[:, None], 0, None)
    empty = np.minimum(np.ceil(sound + delay), until + 1.0)
    lost = 0.1 + 0.01 * np.clip(ends - onset[:, None], 0, None)
    trouble = rng.integers(1, len(Trouble), n)
    return Prospects(
        0, until, ends, trouble, onset, rng.uniform(0.0, 1.0, n), empty,
        empty - rng.integers(0, 10, (n, 1)), lost,
    )  # fmt: skip


def walked(
    schedule: Schedule, p: Prospects, weights: Weights, rng: np.random.Generator
) -> np.ndarray:
    """Cost of one walk through each trap-out, visit by visit, each visit a throw of the dice.

    Nobody trusts the forecast: a trap-out must have looked empty at a visit a week before.
    """
    visits = schedule.visits(np.ones(p.until + 1, dtype=bool), p.until)
    return np.array([walk(i, visits, p, weights, rng) for i in range(len(p.onset))])


def walk(
    i: int, visits: np.ndarray, p: Prospects, weights: Weights, rng: np.random.Generator
) -> float:
    mended, made, closed, before, looked = p.until + 1, 0, None, p.since, []
    for day in (int(d) for d in visits):
        made += 1
        if mended > p.until and p.onset[i] <= day <= p.until:
            again = 1.0 if p.onset[i] > before else 1.0 - np.exp(-(day - before) / 3.0)
            if rng.random() < p.chance[i] * again:
                mended = day
        column = min(mended, p.until + 1) - 1
        is_empty = p.empty[i, column] <= min(day, p.until)
        if is_empty and any(day - d >= 7 for d in looked if d >= p.nearly[i, column]):
            closed = day
            break
        looked.append(day)
        before = day
    over = min(mended, p.until + 1 if closed is None else closed, p.until + 1)
    made -= closed is None and visits[-1] > p.until
    return float(
        made
        + weights.week * ((p.until if closed is None else closed) - p.since) / 7.0
        + weights.bees_lost * p.lost[i, over - 1]
        + weights.opening * (closed is None)
    )


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_expected_cost_is_the_mean_of_walks(seed: int) -> None:
    """Tests within four standard errors, against visits played out one by one."""
    rng = np.random.default_rng(seed)
    prospects = made_up_prospects(rng)
    weights = Weights(bees_lost=20.0, week=0.5, opening=12.0)
    for schedule in (Schedule((4,), 9), Schedule((6, 30), 14)):
        suited = np.ones(prospects.until + 1, dtype=bool)
        found = expected_cost(schedule, prospects, suited, weights, 1.1).cost.total
        walks = np.array([walked(schedule, prospects, weights, rng).mean() for _ in range(1500)])
        error = walks.std() / np.sqrt(len(walks))
        assert abs(found - walks.mean()) < 4.0 * error + 1e-9


# Real trap-outs: the invented place of the other tests, established and new colonies.
@cache
def watch() -> Watch:
    year = season(date(2026, 6, 20))
    founding = Founding(year.arrivals, year.swarm_share_so_far, Cavity(), BOX)
    return Watch(founding, year.sky, year.inspection_day + 2, (), (), ())


def prior_runs(n: int, trouble: Trouble, seed: int = 5, deeds: tuple[Deed, ...] = ()) -> Runs:
    """Trap-outs of the prior; deeds mend what they can, so that they leave no dice to throw."""
    rng = np.random.default_rng(seed)
    z = rng.standard_normal((n, DIMENSIONS + course_dimensions(())))
    noise = rng.integers(0, 2**63, n, dtype=np.uint64)
    sure = np.hstack([z, np.full((n, len(deeds)), -6.0)])
    return replace(watch(), deeds=deeds).runs(sure, noise, trouble)


def lived(runs: Runs, courses: Courses) -> np.ndarray:
    return live(
        runs.colonies.params, runs.noise, watch().sky, snap_days=(watch().cone_day,),
        cone_day=watch().cone_day, trap_days=60, turns=courses.turns,
    )[2]  # fmt: skip


def test_trouble_put_right_is_trouble_mended_by_a_deed() -> None:
    """Tests clearing a clogged cone, which does nothing else, against the engine's own deed."""
    day = watch().cone_day + 12
    deed = Deed(day, DeedKind.CONE_CLEARED)
    drawn = prior_runs(60, Trouble.CLOGGED)
    ended = drawn.courses.ended(day)
    mended = prior_runs(60, Trouble.CLOGGED, deeds=(deed,))
    assert ended.is_active(day - 1).any()
    assert not ended.is_active(day).any()
    # A trouble that comes after the deed comes all the same; one that is ended never does.
    before = drawn.courses.onset < day
    np.testing.assert_allclose(
        lived(drawn, ended)[before], lived(mended, mended.courses)[before], rtol=1e-12
    )
    sound = prior_runs(60, Trouble.NONE)
    np.testing.assert_allclose(
        lived(drawn, ended)[~before], lived(sound, sound.courses)[~before], rtol=1e-12
    )


def test_what_is_not_simulated_changes_no_cost() -> None:
    """Tests straight lines between few days of ending against every day simulated."""
    runs = joined([prior_runs(40, trouble) for trouble in Trouble])
    w = watch()
    suited, weights = suited_days(w.sky), Weights()
    rough, fine = (
        foresee(runs, w.sky, w.cone_day, w.cone_day + 8, **days)
        for days in ({}, {"ending_days": tuple(range(1, 112))})
    )
    first = w.cone_day + 9
    for schedule in (
        Schedule((first,), 7),
        Schedule((first + 5,), 14),
        Schedule((first + 20,), 21),
    ):
        a, b = (expected_cost(schedule, p, suited, weights, 0.95).cost.total for p in (rough, fine))
        assert a == pytest.approx(b, abs=0.05)


def test_a_leak_left_open_delays_and_a_sound_trap_out_has_nothing_to_put_right() -> None:
    w = watch()
    leaking = foresee(prior_runs(80, Trouble.LEAK), w.sky, w.cone_day, w.cone_day + 5)
    assert (np.diff(leaking.empty.mean(axis=0)) >= -0.05).all()
    assert leaking.empty[:, -1].mean() > leaking.empty[:, 0].mean() + 2.0
    sound = foresee(prior_runs(80, Trouble.NONE), w.sky, w.cone_day, w.cone_day + 5)
    assert (sound.empty == sound.empty[:, :1]).all()
    outlook = expected_cost(
        Schedule((w.cone_day + 12,), 7), sound, suited_days(w.sky), Weights(), 0.95
    )
    assert outlook.cost.of(Cause.TROUBLE) == pytest.approx(0.0, abs=1e-9)
    assert outlook.days_troubled == 0.0


def test_the_first_visit_is_chosen_as_the_cone_goes_on() -> None:
    w = watch()
    runs = joined([prior_runs(40, trouble) for trouble in (Trouble.NONE, Trouble.LEAK)])
    found = next_visit(
        foresee(runs, w.sky, w.cone_day, w.cone_day), suited_days(w.sky), Weights(), 0.95
    )
    assert found is not None
    assert w.cone_day < found.day <= w.cone_day + LATEST_DAYS
    days = [o.schedule.days[0] for o in found.outlooks]
    assert days == list(range(w.cone_day + 1, w.cone_day + LATEST_DAYS + 1))


def test_a_trap_out_that_is_empty_is_closed_by_the_first_visit() -> None:
    prospects = made_up_prospects(np.random.default_rng(4))
    none = np.zeros_like(prospects.empty)
    empty = replace(prospects, onset=np.full(5, NO_CONE), empty=none, nearly=none)
    found = expected_cost(every(10), empty, np.ones(61, dtype=bool), Weights(), 0.95)
    assert found.cost.visits == pytest.approx(1.0)
    assert found.days_idle == pytest.approx(10.0)


def look_alikes(quick: int) -> Prospects:
    """Ten that look empty from day 18: `quick` of them are, the others are on day 28."""
    p = made_up_prospects(np.random.default_rng(4), n=10)
    empty = np.where(np.arange(10) < quick, 18.0, 28.0)[:, None] + 0.0 * p.empty
    return replace(p, onset=np.full(10, NO_CONE), empty=empty, nearly=np.full_like(empty, 18.0))


def test_what_looks_empty_is_closed_where_the_forecast_is_sure_of_it() -> None:
    """Tests visits on days 10, 20, 30, nine in ten being empty on day 20.

    That is halfway from 80 % to all, but not from 85 %.
    """
    suited = np.ones(61, dtype=bool)
    bold = expected_cost(every(10), look_alikes(9), suited, Weights(), 0.8)
    assert bold.cost.visits == pytest.approx(0.9 * 2 + 0.1 * 3)
    careful = expected_cost(every(10), look_alikes(9), suited, Weights(), 0.85)
    assert careful.cost.visits == pytest.approx(3.0)
    assert careful.days_idle == pytest.approx(0.9 * 12 + 0.1 * 2)


def test_days_out_of_reach_are_refused() -> None:
    w = watch()
    with pytest.raises(ValueError, match="the last visit, day"):
        foresee(prior_runs(3, Trouble.NONE), w.sky, w.cone_day, w.cone_day - 1)


def test_chances_to_put_right_are_chances() -> None:
    """Tests that only what some deed mends can be put right, never surely."""
    for trouble in Trouble:
        chance = put_right_chance(trouble)
        assert (0.0 < chance < 1.0) == (trouble in MENDS)
        assert chance <= max(MENDS.get(trouble, {}).values(), default=0.0)

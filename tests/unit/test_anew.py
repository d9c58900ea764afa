"""A running trap-out seen from today, and the ways compared anew as of the last visit."""

from __future__ import annotations

import functools
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from colony_factory import BOX, ESTABLISHED, NEW_SWARM, season
from test_methods import ALL_KEYS, OPEN_WALL, WEIGHTS

from lastbee.biology.constants import Column
from lastbee.colony.course import Trouble
from lastbee.colony.founding import Cavity, Deviate, Founding
from lastbee.colony.kernel import live
from lastbee.colony.layout import Sky, State
from lastbee.forecast.anew import from_today
from lastbee.forecast.runs import Watch
from lastbee.forecast.trapout import TRAP_DAYS
from lastbee.methods.anew import Anew, Firm, decided_anew
from lastbee.methods.rules import GO_ON_WEEKS, LONGEST_WEEKS

if TYPE_CHECKING:
    from lastbee.forecast.runs import Runs
    from lastbee.methods.compare import Way

YEAR = season(date(2026, 6, 25), days_ahead=200)
CONE = YEAR.inspection_day + 2
FIRM = Firm(WEIGHTS, confidence=0.95, robs_out=True, system="metric")


@functools.cache
def runs(trouble: Trouble, hypothesis: float = NEW_SWARM) -> Runs:
    """Draw trap-outs of one trouble, nothing seen or done."""
    founding = Founding(YEAR.arrivals, YEAR.swarm_share_so_far, Cavity(), BOX)
    watch = Watch(founding, YEAR.sky, CONE, (), (), ())
    rng = np.random.default_rng(5)
    z = rng.standard_normal((150, watch.dimensions))
    z[:, Deviate.HYPOTHESIS] = hypothesis
    return watch.runs(z, rng.integers(0, 2**63, 150, dtype=np.uint64), trouble)


def test_seen_from_the_cones_own_day_nothing_is_cut_off() -> None:
    """Tests today's view on day 0 against the forecast from the start, box losses aside."""
    trap = runs(Trouble.NONE).followed(YEAR.sky, CONE)
    ahead = from_today(runs(Trouble.NONE), YEAR.sky, CONE, CONE).going_on
    for name in ("records", "expected_left", "joined_share", "empty_day", "empty_by"):
        assert getattr(ahead, name) == pytest.approx(getattr(trap, name))


def test_seen_from_later_what_is_past_is_past() -> None:
    """Tests days counted from today, and that bees boxed before are no credit of going on."""
    some = runs(Trouble.QUEEN_STAYS)
    trap, gone = some.followed(YEAR.sky, CONE), 30
    ahead = from_today(some, YEAR.sky, CONE, CONE + gone).going_on
    assert ahead.records.shape[1] == TRAP_DAYS - gone
    assert (ahead.empty_day == np.clip(trap.empty_day - gone, 0, TRAP_DAYS - gone)).all()
    assert (ahead.honey_left_g == trap.honey_left_g).all()
    # Most of the bees were out by then; those who are left do worse.
    assert ahead.joined_share.mean() < trap.joined_share.mean()
    with pytest.raises(ValueError, match="within 120 days"):
        from_today(some, YEAR.sky, CONE, CONE + TRAP_DAYS)


@pytest.mark.parametrize("trouble", [Trouble.NONE, Trouble.LEAK, Trouble.STALLED])
def test_a_colony_whose_cone_comes_off_lives_as_one_that_never_had_it(trouble: Trouble) -> None:
    """Tests the honey of colonies in a full cavity, where no comb is built with or without."""
    some = runs(trouble, ESTABLISHED)
    params = some.colonies.params.copy()
    params[:, Column.CAVITY_COMB] = params[:, Column.START_COMB]
    full = replace(some, colonies=replace(some.colonies, params=params))
    snapshots, _, _ = live(params, some.noise, YEAR.sky, snap_days=(CONE + TRAP_DAYS,))
    free = snapshots[:, 0, State.HONEY]
    ahead = from_today(full, YEAR.sky, CONE, CONE)
    assert free.mean() > 1000.0
    assert ahead.honey_if_left_g == pytest.approx(free, rel=0.02, abs=50.0)


def anew(trouble: Trouble, gone: int, firm: Firm = FIRM, **facts: object) -> Anew:
    flight = tuple(float(h) for h in YEAR.sky[CONE:, Sky.FLIGHT_H])
    c = replace(OPEN_WALL, flight_h=flight, **facts).later(gone, gone + 2)  # type: ignore[arg-type]
    rng = np.random.default_rng(6)
    return decided_anew(runs(trouble), YEAR.sky, CONE, CONE + gone, c, firm, rng)


def test_a_sound_trap_out_is_gone_on_with() -> None:
    """Tests the labels of a running trap-out, and that half done it is the way to take."""
    lenient = replace(FIRM, weights=replace(WEIGHTS, honey_limit_kg=20.0))
    ways = {w.key: w for w in anew(Trouble.NONE, 28, lenient).ways}
    assert list(ways) == ALL_KEYS
    assert ways["trap-out"].label.startswith("Go on")
    assert ways["trap-out then open"].label.startswith("Go on")
    assert ways["leave"].label.startswith("Take the cone off")
    assert ways["trap-out"].status == "recommended"


def test_a_queen_who_stays_makes_going_on_no_way() -> None:
    """Tests that a trap-out which will not end is refused and another way recommended."""
    ways = {w.key: w for w in anew(Trouble.QUEEN_STAYS, 42).ways}
    assert ways["trap-out"].status == "refused"
    best = next(w for w in ways.values() if w.status == "recommended")
    assert best.key == "cut-out outside"


def test_bees_are_left_after_all_only_where_nothing_else_is_open() -> None:
    """Tests a wall that may not be opened, behind which a queen stays; unlike before the cone."""
    assert "has begun" in ways_anew()["leave"].refusals[0].reason
    closed = ways_anew(may_open_inside="no", may_open_outside="no")
    assert closed["leave"].status == "recommended"


def ways_anew(**facts: object) -> dict[str, Way]:
    return {w.key: w for w in anew(Trouble.QUEEN_STAYS, 42, **facts).ways}


def test_what_was_spent_counts_no_more() -> None:
    """Tests a visit a week and two at the end for going on: no setting up, no first visit."""
    gone = 28
    found = anew(Trouble.NONE, gone)
    outcome = next(w for w in found.ways if w.key == "trap-out").outcome
    weeks = found.simulated.trap.empty_day / 7.0
    assert outcome.visits == pytest.approx(weeks + 2.0)
    assert outcome.work_visits == pytest.approx(weeks + 2.0)
    assert (found.simulated.nest.adults < 12_000.0).mean() > 0.9


@pytest.mark.parametrize(
    ("gone", "weeks"), [(0, LONGEST_WEEKS), (28, 6), (35, 5), (80, GO_ON_WEEKS)]
)
def test_the_time_allowed_runs_from_the_cone_or_is_five_weeks_more(gone: int, weeks: int) -> None:
    assert anew(Trouble.LEAK, gone).findings.weeks_allowed == weeks


def test_a_rob_out_follows_only_where_it_may() -> None:
    """Tests honey of going on: less after a rob-out, all where the law or the firm bars it."""
    allowed = anew(Trouble.NONE, 28).simulated
    honey = allowed.trap.honey_left_g
    assert allowed.honey_after_rob_g.mean() < 0.8 * honey.mean()
    for barred in (
        anew(Trouble.NONE, 28, exposing_comb="barred"),
        anew(Trouble.NONE, 28, firm=replace(FIRM, robs_out=False)),
    ):
        assert (barred.simulated.honey_after_rob_g == honey).all()


def test_circumstances_are_carried_on_to_today() -> None:
    """Tests the deadline, the spray and the flying season 30 days after the cone, 32 after the
    inspection; bees behind a cone do not hang in the open."""
    c = replace(
        OPEN_WALL, gone_by=50, sprayed_ago_days=20, hanging_cluster_only=True,
        flight_h=tuple(float(i) for i in range(140)),
    )  # fmt: skip
    today = c.later(30, 32)
    assert (today.gone_by, today.sprayed_ago_days, today.flight_h[0]) == (20, 52, 30.0)
    assert not today.hanging_cluster_only
    assert OPEN_WALL.later(30, 32).gone_by is None

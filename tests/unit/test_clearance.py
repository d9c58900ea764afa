"""When a trap-out is empty, and from when finding nothing is enough to say so."""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest
from colony_factory import BOX, NEW_SWARM, season, steady_sky
from hypothesis import given
from hypothesis import strategies as st
from scene_factory import scenes
from scipy import stats

from lastbee.colony.course import Trouble
from lastbee.colony.founding import Cavity, Deviate, Founding
from lastbee.colony.layout import Sky
from lastbee.evidence.item import YesNo, log_likelihood
from lastbee.forecast import clearance
from lastbee.forecast.clearance import (
    CHECKS,
    GOOD_ACTIVITY,
    LISTEN,
    LOOK_INSIDE,
    WATCH,
    WATCH_TWICE,
    Check,
    Outlook,
    best_hour_activity,
    emptiness,
    empty_chances,
    outlook,
)
from lastbee.forecast.runs import Watch, joined
from lastbee.planning.climate import zonal_normals
from lastbee.planning.flying import flight_activity_at

if TYPE_CHECKING:
    from lastbee.evidence.item import Item
    from lastbee.evidence.scene import Scene
    from lastbee.forecast.runs import Runs, Seen

NOBODY = {
    "adults": 0.0, "foragers": 0.0, "drones": 0.0, "eggs": 0.0, "larvae": 0.0, "capped": 0.0,
    "drone_brood": 0.0, "deserts_per_day": 0.0,
}  # fmt: skip


def inhabited(bees: list[float], **given: object) -> Scene:
    """Scenes with so many adults, a third of them foragers, and no brood."""
    adults = np.array(bees)
    values = NOBODY | {"adults": adults, "foragers": adults / 3.0} | given
    return scenes(**values)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class Days:
    """Trap-outs told day by day, in place of simulated ones: one scene for each day index."""

    told: dict[int, Scene]

    @property
    def size(self) -> int:
        return next(iter(self.told.values())).size

    def views(
        self, sky: object, inspection_day: int, cone_day: int, seen: tuple[Seen, ...]
    ) -> tuple[None, tuple[Scene, ...]]:
        return None, tuple(self.told[visit.day] for visit in seen)


class Somebody:
    """A cue that shows any bee: one false yes in ten, one in five missed."""

    false_yes, missed = 0.1, 0.2

    def shows(self, scene: Scene) -> np.ndarray:
        return (scene.adults > 0.0).astype(np.float64)


@dataclass(frozen=True, slots=True)
class Knock:
    """A check by that cue, at any hour."""

    before_days: int = 0
    key: str = "knock"
    needs_flight: bool = False

    def nothing(self, activity: float, flight_h: float) -> tuple[Item[Scene], ...]:
        return (YesNo("knock", "Somebody in", 0.0, Somebody()),)


def told_outlook(told: list[Scene], confidence: float, *checks: Check | Knock) -> Outlook:
    """Look ahead at trap-outs told day by day from day 0 on, in full summer."""
    days = Days(dict(enumerate(told)))
    return outlook(days, steady_sky(len(told)), 0, range(len(told)), confidence, checks)  # type: ignore[arg-type]


def test_empty_is_at_most_fifty_bees_by_poisson() -> None:
    """Tests against the Poisson distribution function of another library, adults and brood."""
    scene = inhabited([0.0, 20.0, 50.0, 120.0], capped=np.array([0.0, 6.0, 5.0, 0.0]), drones=1.0)
    wanted = stats.poisson.cdf(50, [1.0, 27.0, 56.0, 121.0])
    assert empty_chances(scene) == pytest.approx(wanted, rel=1e-9)
    days = Days({3: scene})
    assert emptiness(days, steady_sky(5), 0, 3) == pytest.approx(wanted.mean())  # type: ignore[arg-type]


def test_bayes_by_hand() -> None:
    """Tests two empty trap-outs and a full one: no is said by 0.9 of empty ones, by 0.2 else.

    P(nothing) = (0.9 + 0.9 + 0.2) / 3; P(empty | nothing) = 1.8 / 2.0. Twice, on days that do
    not differ: (0.81 + 0.81 + 0.04) / 3 and 1.62 / 1.66.
    """
    alike = [inhabited([0.0, 0.0, 5000.0])] * 10
    once, twice = Knock(), Knock(before_days=7, key="twice")
    found = {a.check.key: a for a in told_outlook(alike, 0.9 - 1e-9, once, twice).checks}
    assert found["knock"].day == 0
    assert found["knock"].chance == pytest.approx(2.0 / 3.0)
    assert found["knock"].confidence == pytest.approx(0.9)
    # The second of two times comes a week after the first at the soonest.
    assert found["twice"].day == 7
    assert found["twice"].chance == pytest.approx(1.66 / 3.0)
    assert found["twice"].confidence == pytest.approx(1.62 / 1.66)


def test_the_day_is_the_first_on_which_nothing_is_enough() -> None:
    """Tests a nest that dies out on day 4 beside an empty one: before, 0.9 / 1.1 at the most."""
    told = [inhabited([0.0, 5000.0 if day < 4 else 0.0]) for day in range(8)]
    (ahead,) = told_outlook(told, 0.95, Knock()).checks
    assert ahead.day == 4
    assert ahead.confidence == pytest.approx(1.0, abs=1e-6)
    (short,) = told_outlook(told[:4], 0.95, Knock()).checks
    assert short.day is None
    assert short.confidence == pytest.approx(0.9 / 1.1)


def test_the_fastest_comes_first_then_the_likeliest_and_last_what_never_does() -> None:
    """Tests the order of three checks of which one is as sure sooner and one never is."""

    class Deaf(Somebody):
        missed = 0.9

    @dataclass(frozen=True, slots=True)
    class Doze(Knock):
        key: str = "doze"

        def nothing(self, activity: float, flight_h: float) -> tuple[Item[Scene], ...]:
            return (YesNo("doze", "Somebody in", 0.0, Deaf()),)

    alike = [inhabited([0.0, 0.0, 5000.0])] * 10
    found = told_outlook(alike, 0.85, Doze(), Knock(7, "twice"), Knock()).checks
    assert [a.check.key for a in found] == ["knock", "twice", "doze"]
    assert found[-1].day is None


def test_days_before_the_cone_are_refused() -> None:
    scene = inhabited([0.0])
    for days in (range(2, 5), range(5, 5)):
        with pytest.raises(ValueError, match="must begin on the cone's day 4"):
            outlook(Days({2: scene}), steady_sky(9), 4, days, 0.95)  # type: ignore[arg-type]


def test_a_watch_in_the_cold_is_worth_nothing() -> None:
    """Tests that where nothing flies, a full nest and an empty one look the same, to one part
    in a million: bees stay at home below about 12 degC (Burrill & Dietz 1981)."""
    scene = inhabited([0.0, 500.0, 20_000.0], strangers=np.array([0.0, 900.0, 0.0]))
    silent = log_likelihood(WATCH.nothing(0.0, 0.0), scene)
    assert silent == pytest.approx(np.full(3, silent[0]), rel=1e-6)
    busy = log_likelihood(WATCH.nothing(1.0, 10.0), scene)
    assert busy[0] > busy[1] + 1.0


def test_no_watch_is_offered_before_the_next_flying_weather() -> None:
    """Tests a cold spell of five days, in which a look inside still can be made."""
    sky = steady_sky(12)
    sky[:5, Sky.FLIGHT_H] = 0.5
    assert best_hour_activity(0.5) < GOOD_ACTIVITY
    days = Days(dict.fromkeys(range(12), inhabited([0.0] * 9 + [500.0])))
    found = outlook(days, sky, 0, range(12), 0.9, (WATCH, LISTEN, LOOK_INSIDE))  # type: ignore[arg-type]
    assert {a.check.key: a.day for a in found.checks} == {"look inside": 0, "watch": 5, "listen": 5}
    sky[:, Sky.FLIGHT_H] = 0.5
    none = outlook(days, sky, 0, range(12), 0.9, (WATCH,)).checks[0]  # type: ignore[arg-type]
    assert (none.day, none.chance) == (None, 0.0)


@pytest.mark.parametrize("latitude", [25.0, 35.0, 45.0, 52.0, -38.0])
def test_the_best_hour_is_that_of_temperature_and_light(latitude: float) -> None:
    """Tests the rule of thumb, within a fifth of full flight, against every hour of fine days."""
    normals = zonal_normals(latitude)
    for month in range(1, 13):
        hours = [
            flight_activity_at(
                datetime(2026, month, 15, hour, tzinfo=UTC), "UTC", None, "sun", "calm",
                latitude, 0.0, normals,
            )
            for hour in range(8, 18)
        ]  # fmt: skip
        best = max(hour.activity for hour in hours)
        assert best_hour_activity(hours[0].flight_hours) == pytest.approx(best, abs=0.2)


def test_a_cone_that_nobody_can_pass_is_silent_whatever_is_behind_it() -> None:
    """Tests that silence at a blocked cone tells nothing, and the wall beside it all the more."""
    blocked = inhabited([0.0, 6000.0], passable=np.array([1.0, 0.0]), leak=np.array([0.0, 0.9]))
    cone, wall = Check("cone", cone_minutes=15.0), Check("wall", wall_minutes=10.0)
    at_cone = log_likelihood(cone.nothing(1.0, 10.0), blocked)
    assert at_cone[1] == pytest.approx(at_cone[0])
    at_wall = log_likelihood(wall.nothing(1.0, 10.0), blocked)
    assert at_wall[1] < at_wall[0] - 1.0


@given(
    st.lists(st.floats(0.0, 30_000.0), min_size=2, max_size=12),
    st.sampled_from([WATCH, LISTEN, LOOK_INSIDE, WATCH_TWICE]),
    st.floats(0.0, 0.9),
    st.floats(3.0, 12.0),
)
def test_finding_nothing_never_speaks_for_bees(
    bees: list[float], check: Check, leak: float, flight_h: float
) -> None:
    """Tests P(empty | nothing) >= P(empty) where fuller nests have more of everything."""
    adults = np.array(bees)
    scene = inhabited(bees, capped=adults, larvae=0.3 * adults, leak=leak)
    days = range(8)
    sky = steady_sky(8, flight_h)
    found = outlook(Days(dict.fromkeys(days, scene)), sky, 0, days, 1.1, (check,))  # type: ignore[arg-type]
    assert found.checks[0].confidence >= found.empty[0] - 1e-9


# Runs of the engine. The cone goes on two days after an inspection on 25 June.
YEAR = season(date(2026, 6, 25))
CONE = YEAR.inspection_day + 2
FOUNDING = Founding(YEAR.arrivals, YEAR.swarm_share_so_far, Cavity(), BOX)
AHEAD = range(CONE + 21, CONE + 85)


@functools.cache
def runs(trouble: Trouble, count: int) -> Runs:
    """Draw trap-outs of one trouble, nothing seen or done."""
    watch = Watch(FOUNDING, YEAR.sky, CONE, (), (), ())
    rng = np.random.default_rng(count)
    z = rng.standard_normal((count, watch.dimensions))
    z[:, Deviate.HYPOTHESIS] = NEW_SWARM
    return watch.runs(z, rng.integers(0, 2**63, count, dtype=np.uint64), trouble)


@functools.cache
def mixed() -> Runs:
    """Draw sound trap-outs, leaking ones, and some with a queen who stays."""
    return joined([runs(Trouble.NONE, 160), runs(Trouble.LEAK, 50), runs(Trouble.QUEEN_STAYS, 30)])


@functools.cache
def looking(confidence: float = 0.95, *checks: Check) -> Outlook:
    return outlook(mixed(), YEAR.sky, CONE, AHEAD, confidence, checks or CHECKS)


def test_emptiness_agrees_with_the_forecast_of_the_same_trap_outs() -> None:
    """Tests the mornings against the evenings before, which are told by another road."""
    by_evening = mixed().followed(YEAR.sky, CONE).empty_by
    ahead = looking()
    assert ahead.empty == pytest.approx(by_evening[AHEAD[0] - CONE - 1 :][: len(AHEAD)], abs=1e-4)
    assert emptiness(mixed(), YEAR.sky, CONE, AHEAD[5]) == pytest.approx(ahead.empty[5])


def test_every_check_that_finds_nothing_makes_surer() -> None:
    """Tests each check on real trap-outs, against the emptiness of that same day."""
    ahead = looking()
    for check in ahead.checks:
        if check.day is not None:
            assert check.confidence >= 0.95
            assert check.confidence >= ahead.empty[check.day - AHEAD[0]]
            assert 0.0 < check.chance < 1.0


def first_days(found: list[Outlook]) -> list[float]:
    """Days of the only check of each outlook; never is after all."""
    return [float(AHEAD[-1] + 1 if (d := o.checks[0].day) is None else d) for o in found]


def test_a_longer_watch_is_enough_no_later() -> None:
    """Tests watches of a minute and of five; longer ones see more strays."""
    lengths = [1.0, 5.0]
    days = first_days(
        [looking(0.9, replace(WATCH, cone_minutes=m, wall_minutes=m)) for m in lengths]
    )
    assert days == sorted(days, reverse=True)
    assert days[0] > days[-1]


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: c.key)
def test_more_confidence_is_reached_no_sooner(check: Check) -> None:
    """Tests confidences of 0.6 to 0.99, and that they do differ."""
    days = first_days([looking(level, check) for level in (0.6, 0.8, 0.9, 0.95, 0.99)])
    assert days == sorted(days)
    # Checks wait for a day on which they are likely to find nothing, and may be sure by then.
    assert days[0] < days[-1] or check.key in ("listen", "watch twice")


def test_a_leak_makes_silence_at_the_cone_worth_less() -> None:
    """Tests that leaking trap-outs among sound ones put off the day: a missed gap is normal."""
    cone = replace(WATCH, wall_minutes=0.0)
    sound = runs(Trouble.NONE, 160)
    leaky = joined([sound, runs(Trouble.LEAK, 160)])
    found = {
        name: first_days([outlook(r, YEAR.sky, CONE, AHEAD, 0.9, (c,)) for c in (cone, WATCH)])
        for name, r in (("sound", sound), ("leaky", leaky))
    }
    assert found["leaky"][0] > found["sound"][0] + 3.0


def test_views_are_taken_few_at_a_time_and_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that the days held in memory at once change nothing."""
    few = runs(Trouble.LEAK, 12)
    whole = outlook(few, YEAR.sky, CONE, AHEAD, 0.8)
    monkeypatch.setattr(clearance, "_DAYS_AT_ONCE", 5)
    parts = outlook(few, YEAR.sky, CONE, AHEAD, 0.8)
    assert parts.empty == pytest.approx(whole.empty)
    assert parts.checks == whole.checks

"""Sanity of the trap-outs with single bees (`verify.other_jobs`) that stand in for reality.

What a stand-in must do is said by common practice, no source, where nothing else is named:
no measured trap-out exists. Nothing of the engine may be in it, or it would prove nothing.
"""

from __future__ import annotations

import functools
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from lastbee.jobs.visit import Deed
from verify import ages, other_weather
from verify.other_bees import Dice, Place, Throw
from verify.other_jobs import FOLLOWED_DAYS, Running, Truth, draw_job, start
from verify.other_trapout import EMPTY_BEES
from verify.other_troubles import SHARES, Fault
from verify.other_visits import usual_deeds
from verify.other_weather import hourly_weather

# The first two jobs whose colonies are of middling size, 4,000 to 12,000 bees with stores.
SEEDS = (0, 1)
SOUND_JOBS = 18


def with_trouble(seed: int, key: str, severity: float = 0.7) -> Running:
    """Start a job whose trouble is there with the cone."""
    running = start(seed, "none", "queenright nucleus")
    running.trapout.fault = Fault(key, None if key == "none" else 0, severity)
    return running


def books(running: Running) -> tuple[int, int]:
    """Bees that ever were, and bees accounted for."""
    t = running.trapout
    here = int(np.count_nonzero(t.bees.place < int(Place.GONE)))
    return t.entered, here + t.died + t.gone


@pytest.fixture(scope="module")
def sound() -> list[Truth]:
    """Give the truth of jobs without trouble, boxes as they come."""
    return [start(seed, "none").truth() for seed in range(SOUND_JOBS)]


def test_nothing_of_the_engine_is_in_it() -> None:
    """Tests what is imported, in a process of its own."""
    code = (
        "import sys, verify.other_jobs;"
        "engine = ('lastbee.colony', 'lastbee.biology', 'lastbee.evidence', 'lastbee.forecast');"
        "print([m for m in sys.modules if m.startswith(engine)])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_weather_keeps_to_the_normals() -> None:
    """Tests monthly means of high and low and the share of lost days against the normals.

    A day is lost when it has less than a third of a fine day's flight. Forty years; with
    persistence the mean of a month's anomaly has a spread of 0.3 degC.
    """
    assert ages.NORMALS.high_degc == other_weather.HIGH_DEGC
    assert ages.NORMALS.low_degc == other_weather.LOW_DEGC
    assert ages.NORMALS.wet_day_share == other_weather.LOST_SHARE
    years = [hourly_weather(np.random.default_rng(seed), days=365) for seed in range(40)]
    highs = np.mean([y.temperature_degc.max(axis=1) for y in years], axis=0)
    lows = np.mean([y.temperature_degc.min(axis=1) for y in years], axis=0)
    flights = np.array([y.by_day().flight_h for y in years])
    for month in range(12):
        # Ten days in mid-month, where the normal is not yet smoothed by its neighbours.
        days = slice(int(30.4 * (month + 0.5)) - 5, int(30.4 * (month + 0.5)) + 5)
        assert abs(highs[days].mean() - other_weather.HIGH_DEGC[month]) < 1.5
        assert abs(lows[days].mean() - other_weather.LOW_DEGC[month]) < 1.5
    for month in (5, 6, 7):
        summer = flights[:, int(30.4 * month) : int(30.4 * (month + 1))]
        lost = (summer < np.quantile(summer, 0.9) / 3.0).mean()
        assert abs(lost - other_weather.LOST_SHARE[month]) < 0.07


def test_bees_fly_neither_at_night_nor_in_rain_nor_in_the_cold() -> None:
    """Tests the hours: little search below 12 degC, none in rain, half at least when it is good.

    Burrill & Dietz 1981; Lundie 1925; fully active at 12-14 degC and 300 W/m2 in Vicens &
    Bosch 2000.
    """
    year = hourly_weather(np.random.default_rng(3))
    assert year.flight[year.is_raining].max() == 0.0
    assert year.flight[year.light_w_m2 <= 0.0].max() == 0.0
    assert year.flight[year.temperature_degc < 11.0].max() == 0.0
    good = (year.temperature_degc > 14.0) & (year.temperature_degc < 30.0)
    good &= (year.light_w_m2 > 300.0) & ~year.is_raining & (year.wind_m_s < 4.0)
    assert year.flight[good].min() >= 0.5
    assert 0.0 <= year.flight.min() <= year.flight.max() <= 1.0


def test_dice_are_fair_and_each_throw_is_its_own() -> None:
    """Tests uniformity (false alarm 1e-3) and that hours and purposes do not go together."""
    names = np.arange(20_000, dtype=np.uint64)
    dice = Dice(11)
    one, next_hour = dice.each(names, 5, Throw.FLY), dice.each(names, 6, Throw.FLY)
    other = dice.each(names, 5, Throw.STAY)
    for throws in (one, next_hour, other):
        assert stats.kstest(throws, "uniform").pvalue > 1e-3
    bound = 3.3 / np.sqrt(len(names))
    assert abs(np.corrcoef(one, next_hour)[0, 1]) < bound
    assert abs(np.corrcoef(one, other)[0, 1]) < bound
    assert abs(np.corrcoef(one[1:], one[:-1])[0, 1]) < bound


@pytest.mark.parametrize("key", SHARES)
def test_every_bee_is_somewhere(key: str) -> None:
    """Tests that bees are neither made nor lost but by birth, gift, death and drift."""
    running = with_trouble(SEEDS[0], key)
    for day in (3, 10, 17):
        seen = running.visit(day)
        running.do((*usual_deeds(seen, day), Deed("box added", 500.0), Deed("brood given", 1.0)))
        entered, accounted = books(running)
        assert entered == accounted
        bees = running.trapout.bees
        assert len(np.unique(bees.name)) == len(bees)
        assert (bees.crop_mg[bees.place == int(Place.WALL)] >= 0.0).all()
        assert running.trapout.inside.honey_g >= 0.0
        assert running.trapout.box.honey_g >= 0.0
        assert (running.trapout.inside.brood >= 0).all()


def test_sound_trap_outs_take_four_to_seven_weeks_and_some_are_slow(sound: list[Truth]) -> None:
    """Tests the trade's figure, common practice, no source: half are out in four to seven weeks."""
    days = np.array([FOLLOWED_DAYS if t.clear_day is None else t.clear_day for t in sound])
    assert 28 <= np.median(days) <= 49
    assert (days > 49).mean() >= 0.05
    assert (days <= 70).mean() >= 0.8


def test_the_box_gains_most_of_the_bees_of_a_sound_trap_out(sound: list[Truth]) -> None:
    """Tests that boxes grow by joining: common practice, no source."""
    grew = [t.box_bees[14] - t.box_bees[0] > 0.15 * t.bees_at_cone for t in sound]
    assert np.mean(grew) > 0.7


def test_clear_means_for_good(sound: list[Truth]) -> None:
    """Tests the clear day against the evenings themselves."""
    for truth in sound:
        left = truth.nest_bees + truth.brood
        if truth.clear_day is not None:
            assert (left[truth.clear_day :] <= EMPTY_BEES).all()
        if truth.clear_day:
            assert left[truth.clear_day - 1] > EMPTY_BEES


def test_looking_changes_nothing_and_luck_belongs_to_the_job() -> None:
    """Tests that visits leave the bees alone, and that a deed changes nothing before it."""
    unseen, seen, acted = (with_trouble(SEEDS[1], "leak") for _ in range(3))
    unseen.live_until(15)
    for day in (2, 5, 9):
        first = seen.visit(day)
        assert replace(acted.visit(day), did=()) == first
    acted.do((Deed("gap closed"),))
    seen.live_until(15)
    acted.live_until(15)
    assert seen.trapout.evenings == unseen.trapout.evenings
    assert acted.trapout.evenings[:9] == unseen.trapout.evenings[:9]
    assert acted.trapout.evenings[9:] != unseen.trapout.evenings[9:]
    assert acted.visits[-1].did == (Deed("gap closed"),)


def test_the_past_cannot_be_visited() -> None:
    """Tests the refusal of an hour that is over."""
    running = with_trouble(SEEDS[0], "none")
    running.visit(2, 14)
    with pytest.raises(ValueError, match="is over"):
        running.visit(2, 10)


# Day on which each trouble that began with the cone is looked for. Robbers come in dearth:
# two jobs of that size whose cone is followed by one within three weeks.
SHOWN_ON = {"cluster": 6, "queen_stays": 42}
IN_DEARTH = (6, 7)


@functools.cache
def shown(seed: int, key: str, day: int) -> dict[str, float]:
    """What there is on the afternoon of a day."""
    running = with_trouble(seed, key)
    running.live_until(day, 14)
    t = running.trapout
    evening = t.evenings[-1]
    return {
        "nest": float(evening.nest + evening.brood),
        "wall": float(evening.wall),
        "box": float(evening.box),
        "box honey": t.box.honey_g,
        "know a gap": float(t.bees.gap.sum()),
        "know the tip": float(t.bees.tip.sum()),
        "plug": t.gear.plug,
        "strangers": t.gear.strangers,
    }


@pytest.mark.parametrize(
    ("key", "more", "less"),
    [
        ("leak", ("nest", "know a gap"), ("box",)),
        ("walked_back", ("nest", "know the tip"), ("box",)),
        ("clogged", ("nest", "plug"), ()),
        ("cluster", ("wall",), ("box",)),
        ("robbed", (), ("box", "box honey")),
        ("box_left", (), ("box",)),
        ("queen_stays", ("nest",), ()),
        ("second_colony", ("strangers",), ()),
        ("stalled", ("nest",), ()),
    ],
)
def test_each_trouble_shows_where_it_should(
    key: str, more: tuple[str, ...], less: tuple[str, ...]
) -> None:
    """Tests each job beside its own twin without trouble: the same bees, weather and luck."""
    day = SHOWN_ON.get(key, 24)
    for seed in IN_DEARTH if key == "robbed" else SEEDS:
        ill, well = shown(seed, key, day), shown(seed, "none", day)
        for name in more:
            assert ill[name] > 1.25 * well[name]
        for name in less:
            assert ill[name] < 0.85 * well[name]


def test_a_leak_keeps_the_wall_full_until_it_is_closed() -> None:
    """Tests three attempts at closing it, from day 8 on, against leaving it open."""
    mended = with_trouble(SEEDS[1], "leak")
    for day in (8, 10, 12):
        mended.visit(day)
        mended.do((Deed("gap closed"),))
    closed, open_still = mended.truth(), with_trouble(SEEDS[1], "leak").truth()
    assert closed.ended is not None
    assert not closed.is_on(closed.ended)
    assert closed.clear_day is not None
    assert open_still.is_on(60)
    assert open_still.clear_day is None or open_still.clear_day > closed.clear_day + 14


def test_a_gap_is_not_always_found() -> None:
    """Tests first attempts over many jobs: three in four end the leak, as the rule says."""
    ended = 0
    for seed in range(24):
        running = with_trouble(seed, "leak")
        running.live_until(0, 1)
        running.trapout.do((Deed("gap closed"),))
        ended += running.trapout.fault.ended is not None
    assert stats.binomtest(ended, 24, 0.75).pvalue > 1e-3
    assert ended < 24


def test_shut_out_bees_starve_within_days() -> None:
    """Tests a crowd on the wall with full crops, no box, no gap, no nectar.

    A crop holds 20 mg of sugar; 4 to 11 mg a day at rest (Barker & Lehner 1974; Huang et al.
    1998) last two to five days, and flying shortens that a lot: few outlive four days of
    search, and most outlive the first night.
    """
    running = with_trouble(SEEDS[0], "none")
    t = running.trapout
    t.weather = replace(t.weather, nectar=np.zeros_like(t.weather.nectar))
    t.gear.box_near = t.gear.tip_ease = t.gear.gap_ease = 0.0
    nest = t.bees.at(Place.NEST)
    crowd = t.bees.name[nest]
    t.bees.place[nest], t.bees.crop_mg[nest] = int(Place.WALL), 20.0
    t.bees.drone[nest] = False

    def outside() -> float:
        left = np.isin(t.bees.name, crowd) & (t.bees.place < int(Place.GONE))
        return float(left.sum()) / len(crowd)

    running.live_until(1)
    assert outside() > 0.6
    running.live_until(5)
    assert outside() < 0.05


def test_boxed_bees_learn_their_new_place() -> None:
    """Tests that most bees of the box have learnt it after some days of flight.

    Bees keep the old site in mind and still learn the new one (Robinson & Dyer 1993).
    """
    running = with_trouble(SEEDS[1], "none")
    running.live_until(20)
    box = running.trapout.bees.place == int(Place.BOX)
    assert (running.trapout.bees.box_flights[box] >= 3).mean() > 0.7


def test_a_technician_looks_round_in_most_visits_and_never_in_all() -> None:
    """Tests how often parts of a visit are missing, and that what is there makes sense."""
    visits = []
    for seed in range(8):
        running = start(seed, "none")
        visits += [running.visit(day) for day in (1, 4, 8, 12, 16)]
    looked = np.mean([v.elsewhere is not None for v in visits])
    assert 0.65 <= looked < 1.0
    boxes = [v.box for v in visits if v.box is not None]
    assert sum(box.frames_of_bees is not None for box in boxes) > 0.2 * len(visits)
    for visit in visits:
        assert 10 <= visit.at.hour <= 16
        assert visit.sky in ("sun", "cloud", "rain")
        if visit.cone is not None:
            assert (visit.cone.bees_out or 0) >= 0
        if visit.elsewhere is not None and visit.elsewhere.bees_in is not None:
            assert visit.elsewhere.is_seen == (visit.elsewhere.bees_in > 0)


def test_a_drawn_job_is_repeatable_and_in_order() -> None:
    """Tests one generator twice, and the visits against the cone's date."""
    one, again = (
        draw_job(np.random.default_rng(8), "cluster", (3, 10, 17), usual_deeds) for _ in range(2)
    )
    assert one[0] == again[0]
    assert one[1].clear_day == again[1].clear_day
    job = one[0]
    assert job.setup.cone_on is not None
    assert [(v.at.date() - job.setup.cone_on).days for v in job.visits] == [3, 10, 17]
    assert job.inspection.at.date() < job.setup.cone_on
    assert one[1].trouble == "cluster"


def test_an_unknown_trouble_is_refused() -> None:
    """Tests the sentence that names what may be asked for."""
    with pytest.raises(ValueError, match="trouble must be one of none, leak"):
        start(1, "gremlins")

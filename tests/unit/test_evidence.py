"""Every item of evidence: its density, its draws, and which way it speaks.

Draws and densities are written apart in the code, so each is held against the other. Seeds
are fixed; a right item had a chance of 1e-4 to fail a comparison when they were chosen.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest
from nest_factory import nests
from scipy import stats
from scipy.integrate import trapezoid

from lastbee.evidence import cues
from lastbee.evidence.comb import COLOURS, ClusterOnly, CombColour, CombSize
from lastbee.evidence.item import log_likelihood
from lastbee.evidence.told import LONGEST_TALE_DAYS, OTHER_SWARM, FirstSeen, SwarmSeen
from lastbee.evidence.traffic import TrafficCount
from lastbee.jobs.assemble import items_of
from lastbee.jobs.job import CombSeen, Inspection, Traffic
from lastbee.planning.flying import FlightNow

if TYPE_CHECKING:
    from lastbee.evidence.item import Item
    from lastbee.evidence.nest import Nest

FALSE_ALARM = 1e-4
UNREAD = float("nan")
DRAWN = 20_000

COUNTS = [
    TrafficCount(UNREAD, 5.0, directions, activity, 10.0)
    for directions in (1, 2)
    for activity in (0.0, 0.1, 0.5, 1.0)
]
SIZES: list[Item] = [
    CombSize(UNREAD, is_area=area, is_whole=whole)
    for area in (True, False)
    for whole in (True, False)
]
SIZES += [cues.warm_area(UNREAD), cues.hum_span(UNREAD)]
YES_OR_NO: list[Item] = [
    cues.warm_to_hand(UNREAD),
    cues.pollen_carried(UNREAD, 0.0),
    cues.pollen_carried(UNREAD, 1.0),
    cues.drones_flying(UNREAD, 0.0),
    cues.drones_flying(UNREAD, 1.0),
    cues.young_bees_orienting(UNREAD),
    cues.capped_brood_seen(UNREAD),
    cues.capped_honey_seen(UNREAD),
    ClusterOnly(UNREAD),
]
TOLD: list[Item] = [FirstSeen(UNREAD), SwarmSeen(UNREAD)]
ALL: list[Item] = [*COUNTS, *SIZES, *YES_OR_NO, *TOLD, CombColour(UNREAD)]

SMALL = {
    "age_days": 3.0, "adults": 1500.0, "foragers": 200.0, "drones": 0.0, "eggs": 50.0,
    "larvae": 0.0, "capped": 0.0, "drone_brood": 0.0, "honey_g": 100.0, "comb_dm2": 1.5,
    "orienting_per_day": 0.0,
}  # fmt: skip
BIG = {
    "age_days": 150.0, "adults": 35_000.0, "foragers": 9000.0, "drones": 700.0, "eggs": 4500.0,
    "larvae": 8000.0, "capped": 15_000.0, "honey_g": 25_000.0, "comb_dm2": 150.0,
    "orienting_per_day": 1200.0, "hypothesis": 2,
}  # fmt: skip
KINDS = [
    pytest.param(nests(**SMALL), id="small"),
    pytest.param(nests(), id="usual"),
    pytest.param(nests(**BIG), id="big and old"),
    pytest.param(nests(hypothesis=1, age_days=12.0), id="swarm in old comb"),
]


def name(item: Item) -> str:
    """Give a readable test id."""
    return item.key.replace(" ", "-")


def copies(nest: Nest, size: int) -> Nest:
    """Repeat one colony."""
    return nest.take(np.zeros(size, dtype=np.intp))


def density(item: Item, values: np.ndarray, nest: Nest) -> np.ndarray:
    """Density of each value for one colony."""
    return np.exp([float(item.log_density(float(v), nest)[0]) for v in values])


@pytest.mark.parametrize("nest", KINDS)
@pytest.mark.parametrize("item", COUNTS, ids=name)
def test_counts_are_negative_binomial(item: TrafficCount, nest: Nest) -> None:
    """Tests the count's law against the statistics library's, and its sum to one."""
    mean, size = float(item.expected(nest)[0]), item.clumping
    law = stats.nbinom(size, size / (size + mean))
    counts = np.array([0, 1, 2, 7, 40, 300, 3000])
    found = [float(item.log_density(float(k), nest)[0]) for k in counts]
    np.testing.assert_allclose(found, law.logpmf(counts), rtol=1e-9, atol=1e-9)
    whole = np.arange(int(law.isf(1e-3)) + 1)
    assert density(item, whole[:3000], nest).sum() == pytest.approx(
        law.cdf(whole[:3000][-1]), abs=1e-9
    )


@pytest.mark.parametrize("nest", KINDS)
@pytest.mark.parametrize("item", COUNTS, ids=name)
def test_counts_drawn_follow_the_law(item: TrafficCount, nest: Nest) -> None:
    """Tests draws by chi-square over ten or fewer classes of about equal probability."""
    drawn = item.draw(copies(nest, DRAWN), np.random.default_rng(1))
    mean, size = float(item.expected(nest)[0]), item.clumping
    law = stats.nbinom(size, size / (size + mean))
    edges = np.unique(law.ppf(np.linspace(0.1, 0.9, 9)))
    chance = np.diff(np.concatenate([[0.0], law.cdf(edges), [1.0]]))
    seen = np.bincount(np.searchsorted(edges, drawn, side="left"), minlength=len(edges) + 1)
    kept = chance * DRAWN > 5.0
    if kept.sum() > 1:
        expected = chance[kept] / chance[kept].sum() * seen[kept].sum()
        assert stats.chisquare(seen[kept], expected).pvalue > FALSE_ALARM
    assert seen[~kept].sum() < 60


@pytest.mark.parametrize("nest", KINDS)
@pytest.mark.parametrize("item", SIZES, ids=name)
def test_sizes_have_a_density_over_the_log(item: Item, nest: Nest) -> None:
    """Tests that sizes integrate to one over the log, and draws by Kolmogorov and Smirnov."""
    log_values = np.linspace(-9.0, 12.0, 8_001)
    dense = density(item, np.exp(log_values), nest)
    # A part of the comb may be a speck: the grid stops at exp(-9) of a unit.
    assert trapezoid(dense, log_values) == pytest.approx(1.0, abs=2e-3)
    below = np.concatenate([[0.0], np.cumsum(0.5 * (dense[1:] + dense[:-1]))])
    drawn = np.log(item.draw(copies(nest, DRAWN), np.random.default_rng(2)))
    at = np.interp(drawn, log_values, below / below[-1])
    assert stats.kstest(at, "uniform").pvalue > FALSE_ALARM


@pytest.mark.parametrize("nest", KINDS)
@pytest.mark.parametrize("item", TOLD, ids=name)
def test_tales_have_a_density_over_the_log_of_days(item: Item, nest: Nest) -> None:
    """Tests tales: the density falls short of one by the draws that tell nothing."""
    log_days = np.linspace(0.0, np.log1p(3_000.0), 16_001)
    dense = density(item, np.expm1(log_days), nest)
    told = trapezoid(dense, log_days)
    drawn = item.draw(copies(nest, DRAWN), np.random.default_rng(3))
    heard = drawn[~np.isnan(drawn)]
    assert (heard >= 0.0).all()
    share_error = np.sqrt(max(told * (1.0 - told), 1e-4) / DRAWN)
    assert abs(len(heard) / DRAWN - told) < 4.0 * share_error
    below = np.concatenate([[0.0], np.cumsum(0.5 * (dense[1:] + dense[:-1]))])
    at = np.interp(np.log1p(heard), log_days, below / below[-1])
    assert stats.kstest(at, "uniform").pvalue > FALSE_ALARM


@pytest.mark.parametrize("nest", KINDS)
@pytest.mark.parametrize("item", [*YES_OR_NO, CombColour(UNREAD)], ids=name)
def test_classes_sum_to_one_and_draws_follow(item: Item, nest: Nest) -> None:
    """Tests yes or no, and colours: exact sum, and draws by a binomial of each class."""
    classes = np.arange(len(COLOURS) if isinstance(item, CombColour) else 2)
    chance = density(item, classes, nest)
    assert chance.sum() == pytest.approx(1.0, abs=1e-12)
    drawn = item.draw(copies(nest, DRAWN), np.random.default_rng(4))
    for each, p in zip(classes, chance, strict=True):
        seen = int((drawn == each).sum())
        assert stats.binomtest(seen, DRAWN, float(p)).pvalue > FALSE_ALARM


WAYS: list[tuple[Item, float, float]] = [
    (TrafficCount(UNREAD, 5.0, 1, 1.0, 10.0), 10.0, 400.0),
    (CombSize(UNREAD, is_area=True, is_whole=True), 2.0, 90.0),
    (CombSize(UNREAD, is_area=True, is_whole=False), 1.0, 60.0),
    (CombSize(UNREAD, is_area=False, is_whole=True), 1.0, 9.0),
    (CombSize(UNREAD, is_area=False, is_whole=False), 1.0, 8.0),
    (cues.warm_area(UNREAD), 2.0, 40.0),
    (cues.hum_span(UNREAD), 0.15, 1.2),
    (CombColour(UNREAD), 0.0, 4.0),
    (FirstSeen(UNREAD), 2.0, 120.0),
    (SwarmSeen(UNREAD), 3.0, 120.0),
    *((item, 0.0, 1.0) for item in YES_OR_NO if item.key != "cluster"),
    (ClusterOnly(UNREAD), 1.0, 0.0),
]


@pytest.mark.parametrize(("item", "less", "more"), WAYS, ids=[name(w[0]) for w in WAYS])
def test_the_larger_reading_speaks_for_the_larger_nest(
    item: Item, less: float, more: float
) -> None:
    """Tests which way every item leans between a cluster of three days and an old nest."""
    both = nests(**{k: np.array([SMALL.get(k, BIG[k]), BIG[k]]) for k in BIG if k in SMALL},
                 hypothesis=np.array([0, 2]))  # fmt: skip
    lean_less, lean_more = (np.diff(item.log_density(v, both))[0] for v in (less, more))
    assert lean_more > lean_less
    assert lean_more >= 0.0


def test_more_foragers_more_count() -> None:
    """Tests that the most likely number of foragers rises with the count."""
    row = nests(foragers=np.geomspace(50.0, 20_000.0, 400))
    item = TrafficCount(UNREAD, 5.0, 1, 1.0, 10.0)
    best = [int(np.argmax(item.log_density(float(k), row))) for k in (5, 20, 80, 320, 900)]
    assert best == sorted(set(best))


def test_ten_trips_in_twelve_hours() -> None:
    """Tests 10 trips over 12 h = 0.01389 exits per forager and minute.

    The identity behind the classroom formula N = 3 f / 0.0138, f exits a minute and a third
    of the bees foraging (not peer-reviewed): 35 a minute are 2,536 foragers, 7,609 bees.
    Ten trips: Winston 1987 and Ribbands 1953, from memory.
    """
    item = TrafficCount(UNREAD, 1.0, 1, 1.0, 12.0)
    none, one, many = (
        float(item.expected(nests(foragers=f, trips_per_day=10.0))[0]) for f in (0.0, 1.0, 2536.0)
    )
    assert one - none == pytest.approx(0.01389, abs=5e-6)
    # The formula rounds 0.01389 to 0.0138.
    assert many - none == pytest.approx(35.0, rel=0.01)
    row = nests(foragers=np.arange(100.0, 8000.0), trips_per_day=10.0)
    peak = row.foragers[np.argmax(item.log_density(35.0, row))]
    assert 3.0 * peak == pytest.approx(7609.0, rel=0.02)


def test_fewer_trips_more_foragers() -> None:
    """Tests 3.5 trips a day (peak of N(a), Perry et al. 2015): 2.9 times the foragers of 10."""
    item = TrafficCount(UNREAD, 5.0, 1, 1.0, 12.0)
    peaks = []
    for trips in (3.5, 10.0):
        row = nests(foragers=np.arange(100.0, 12_000.0), trips_per_day=trips)
        peaks.append(row.foragers[np.argmax(item.log_density(100.0, row))])
    assert peaks[0] / peaks[1] == pytest.approx(10.0 / 3.5, rel=0.01)


def test_in_and_out_together_are_twice_one_way() -> None:
    """Tests directions and minutes as plain factors."""
    one = TrafficCount(UNREAD, 5.0, 1, 0.7, 9.0).expected(nests())
    np.testing.assert_allclose(TrafficCount(UNREAD, 5.0, 2, 0.7, 9.0).expected(nests()), 2.0 * one)
    np.testing.assert_allclose(TrafficCount(UNREAD, 10.0, 1, 0.7, 9.0).expected(nests()), 2.0 * one)


def test_nothing_flying_in_the_cold_says_almost_nothing() -> None:
    """Tests no bees on a cold day: under a tenth of a nat between weak and strong colonies."""
    row = nests(foragers=np.array([300.0, 2000.0, 9000.0]))
    assert np.ptp(TrafficCount(UNREAD, 5.0, 1, 0.0, 0.0).log_density(0.0, row)) < 0.01
    assert np.ptp(TrafficCount(UNREAD, 5.0, 1, 0.02, 5.0).log_density(0.0, row)) < 0.15
    assert np.ptp(TrafficCount(UNREAD, 5.0, 1, 1.0, 10.0).log_density(0.0, row)) > 10.0


def test_a_few_bees_in_the_cold_do_not_make_a_giant() -> None:
    """Tests 20 bees where hardly any should fly: weaker than the same colonies in warm sun."""
    row = nests(foragers=np.array([2000.0, 9000.0]))
    cold = TrafficCount(UNREAD, 5.0, 1, 0.02, 5.0).log_density(20.0, row)
    assert abs(np.diff(cold)[0]) < 0.3
    rain = TrafficCount(UNREAD, 5.0, 1, 0.0, 0.0).log_density(20.0, row)
    assert abs(np.diff(rain)[0]) < 0.01


@pytest.mark.parametrize(
    ("day", "mode"), [(5, "white"), (12, "white"), (40, "yellow"), (90, "tan"), (250, "brown")]
)
def test_comb_darkens_with_age(day: float, mode: str) -> None:
    """Tests the most likely colour on bare comb begun so long ago (common practice, no source)."""
    chance = CombColour(UNREAD).probabilities(nests(age_days=float(day)))[0]
    assert COLOURS[int(np.argmax(chance))] == mode


def test_colours_darken_in_order() -> None:
    """Tests the mean shade rising with age, and black at once in comb left by others."""
    ages = np.array([1.0, 20.0, 45.0, 100.0, 200.0, 400.0])
    shades = CombColour(UNREAD).probabilities(nests(age_days=ages)) @ np.arange(len(COLOURS))
    assert (np.diff(shades) > 0.0).all()
    moved_in = CombColour(UNREAD).probabilities(nests(age_days=3.0, hypothesis=1))[0]
    assert COLOURS[int(np.argmax(moved_in))] == "black"


def test_mean_natural_nest_has_eight_combs() -> None:
    """Tests 8 combs on 117 dm2 of sheet (Seeley & Morse 1976 via Winston 1987, from memory)."""
    combs = CombSize(UNREAD, is_area=False, is_whole=True)
    np.testing.assert_allclose(combs.expected(nests(comb_dm2=117.0)), 8.0)


def test_a_swarm_told_of_is_rarely_told_of_an_old_nest() -> None:
    """Tests that the bare fact of the tale speaks: few old nests have one (assumed share)."""
    both = nests(age_days=np.array([60.0, 140.0]), hypothesis=np.array([0, 2]))
    far_off = SwarmSeen(UNREAD).log_density(20.0, both)
    assert far_off[0] == pytest.approx(far_off[1], abs=1e-6)
    right = SwarmSeen(UNREAD).log_density(60.0, both)
    # 0.92 N(0; 0, 1 day) against 0.08 over 400 days.
    odds = (1.0 - OTHER_SWARM) * float(stats.norm.pdf(0.0)) / (OTHER_SWARM / LONGEST_TALE_DAYS)
    assert right[0] - right[1] == pytest.approx(np.log(odds), abs=0.01)


EXTREME = nests(
    age_days=np.array([0.0, 1e4, 0.0, 400.0, 30.0]),
    hypothesis=np.array([0, 2, 1, 2, 0]),
    adults=np.array([0.0, 1e6, 0.0, 1.0, 1e-9]),
    foragers=np.array([0.0, 1e6, 0.0, 1.0, 1e-9]),
    drones=np.array([0.0, 1e5, 0.0, 0.0, 0.0]),
    eggs=np.array([0.0, 1e6, 0.0, 0.0, 0.0]),
    larvae=np.array([0.0, 1e6, 0.0, 0.0, 0.0]),
    capped=np.array([0.0, 1e6, 0.0, 0.0, 0.0]),
    drone_brood=np.array([0.0, 1e6, 0.0, 0.0, 0.0]),
    honey_g=np.array([0.0, 1e6, 0.0, 0.0, 0.0]),
    comb_dm2=np.array([0.0, 1e5, 0.0, 1e-9, 1.0]),
    orienting_per_day=np.array([0.0, 1e5, 0.0, 0.0, 0.0]),
    trips_per_day=np.array([0.5, 30.0, 6.0, 6.0, 6.0]),
)


@pytest.mark.parametrize("item", ALL, ids=name)
def test_extremes_stay_finite(item: Item) -> None:
    """Tests empty, tiny and monstrous nests with the smallest and largest readings."""
    if isinstance(item, CombColour):
        readings = [0.0, 4.0]
    elif item in YES_OR_NO or item.key in {"cluster", "pollen", "drones"}:
        readings = [0.0, 1.0]
    else:
        readings = [0.0, 1.0, 1e3, 1e5]
    for value in readings:
        assert np.isfinite(item.log_density(value, EXTREME)).all()
    drawn = item.draw(EXTREME, np.random.default_rng(5))
    assert (drawn[~np.isnan(drawn)] >= 0.0).all()
    assert item.key in {"first seen", "swarm seen"} or not np.isnan(drawn).any()


def test_likelihood_adds_items_up() -> None:
    """Tests independent items: log densities add; no items say nothing."""
    row = nests(foragers=np.array([500.0, 3000.0]))
    count = TrafficCount(120.0, 5.0, 1, 1.0, 10.0)
    comb = CombSize(20.0, is_area=True, is_whole=False)
    np.testing.assert_allclose(
        log_likelihood((count, comb), row),
        count.log_density(120.0, row) + comb.log_density(20.0, row),
    )
    np.testing.assert_array_equal(log_likelihood((), row), np.zeros(2))


AT = datetime(2026, 6, 20, 14, 0, tzinfo=UTC)
FLYING = FlightNow(0.9, 9.0)


def test_what_was_not_looked_at_is_absent() -> None:
    """Tests that an empty inspection gives no items, whatever its weather."""
    bare = Inspection(at=AT, temperature_degc=24.0, sky="sun", wind="calm", notes="A ladder.")
    assert items_of(bare, FLYING) == ()


@pytest.mark.parametrize(
    ("field", "value", "key", "reading"),
    [
        ("traffic", Traffic(5.0, 80, None), "traffic", 80.0),
        ("traffic", Traffic(5.0, 80, 70), "traffic", 150.0),
        ("comb", CombSeen("part", combs=3), "comb", 3.0),
        ("comb", CombSeen("whole", area_dm2=12.0), "comb", 12.0),
        ("comb", CombSeen("part", colour="brown"), "comb colour", 3.0),
        ("first_seen", date(2026, 6, 10), "first seen", 10.0),
        ("swarm_seen", date(2026, 5, 31), "swarm seen", 20.0),
        ("warm_area_dm2", 12.0, "warm patch", 12.0),
        ("warm_to_hand", False, "warm hand", 0.0),
        ("hum_span_m", 0.6, "hum", 0.6),
        ("pollen_carried", True, "pollen", 1.0),
        ("drones_flying", False, "drones", 0.0),
        ("young_bees_orienting", True, "young bees", 1.0),
        ("capped_brood_seen", False, "capped brood", 0.0),
        ("capped_honey_seen", True, "capped honey", 1.0),
        ("hanging_cluster_only", False, "cluster", 0.0),
    ],
)
def test_each_sighting_gives_its_item_alone(
    field: str, value: object, key: str, reading: float
) -> None:
    """Tests that "no" is a reading and silence is none."""
    (item,) = items_of(Inspection(at=AT, **{field: value}), FLYING)  # type: ignore[arg-type]
    assert (item.key, item.value) == (key, reading)
    assert item.label
    assert item.reading


def test_a_count_nobody_made_is_no_count() -> None:
    """Tests minutes at the wall with neither direction counted."""
    assert items_of(Inspection(at=AT, traffic=Traffic(5.0, None, None)), FLYING) == ()


def test_nest_geometry() -> None:
    """Tests brood over 801 cells a dm2 seven tenths full."""
    one = nests(eggs=0.0, larvae=0.0, capped=5607.0, drone_brood=0.0)
    assert float(one.brood_sheet_dm2[0]) == pytest.approx(10.0, rel=1e-4)


def test_taking_colonies_keeps_rows_together() -> None:
    """Tests that every quantity of a colony moves with it, repeats allowed."""
    row = nests(age_days=np.arange(5.0), adults=100.0 * np.arange(5.0), hypothesis=[0, 1, 2, 1, 0])
    taken = row.take(np.array([4, 1, 1]))
    np.testing.assert_array_equal(taken.age_days, [4.0, 1.0, 1.0])
    np.testing.assert_array_equal(taken.adults, 100.0 * taken.age_days)
    assert taken.size == 3
    assert taken.depth_dm == row.depth_dm
    np.testing.assert_array_equal(taken.hypothesis, [0, 1, 1])

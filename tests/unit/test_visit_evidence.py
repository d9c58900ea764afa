"""Every sighting of a visit: its density, its draws, which way it speaks, how far it may go.

Draws and densities are written apart in the code, so each is held against the other. Seeds
are fixed; a right item had a chance of 1e-4 to fail a comparison when they were chosen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from scene_factory import scenes
from scipy import stats
from scipy.integrate import trapezoid

from lastbee.evidence import at_cone, cues, in_box, outside
from lastbee.evidence.counts import clumping
from lastbee.evidence.item import Graded, SizeOrNone, YesNo, log_likelihood
from lastbee.evidence.traffic import MISTAKEN_PER_MINUTE, MISTAKEN_SIZE, FlightCount

if TYPE_CHECKING:
    from collections.abc import Callable

    from lastbee.evidence.item import Item
    from lastbee.evidence.scene import Scene

FALSE_ALARM = 1e-4
DRAWN = 20_000
UNREAD = float("nan")
# A direct sighting may move the odds thirtyfold at most, a soft clue less.
MOST_TIMES, MOST_TIMES_SOFT = 30.0, 20.0

COUNTERS: list[Callable[..., FlightCount[Scene]]] = [
    at_cone.bees_out, at_cone.bees_back_in, outside.going_in_elsewhere,
]  # fmt: skip
COUNTS = [count(UNREAD, 5.0, a, 10.0) for count in COUNTERS for a in (0.0, 0.05, 0.5, 0.9)]
GRADED: list[Graded[Scene]] = [at_cone.cone_state(UNREAD), at_cone.dead_bees(UNREAD)]
DIRECT: list[Item[Scene]] = [
    *(outside.seen_going_in_elsewhere(UNREAD, a, 10.0) for a in (0.0, 0.5, 1.0)),
    *(outside.pollen_carried_in_elsewhere(UNREAD, a, 10.0) for a in (0.0, 0.5, 1.0)),
    in_box.eggs_in_box(UNREAD),
    in_box.queen_in_box(UNREAD),
    cues.bees_seen_inside(UNREAD),
]
SOFT: list[Item[Scene]] = [
    in_box.robbing_at_box(UNREAD, 0.0),
    in_box.robbing_at_box(UNREAD, 1.0),
    *(in_box.hanging_out_of_box(UNREAD, t) for t in (None, 12.0, 34.0)),
    cues.hum_heard(UNREAD),
    cues.warm_to_hand(UNREAD),
]
YES_OR_NO = [*DIRECT, *SOFT]
SIZES: list[SizeOrNone[Scene]] = [
    outside.cluster_on_wall(UNREAD),
    in_box.frames_of_bees(UNREAD, 0.8),
    cues.warm_area_or_none(UNREAD),
]
GAINS = [in_box.BoxGain(UNREAD), in_box.BoxGain(UNREAD, frames_added=2.0)]
ALL: list[Item[Scene]] = [*COUNTS, *GRADED, *YES_OR_NO, *SIZES, *GAINS]

EMPTY_NEST: dict[str, float] = {
    "adults": 0.0, "foragers": 0.0, "drones": 0.0, "eggs": 0.0, "larvae": 0.0, "capped": 0.0,
    "drone_brood": 0.0, "deserts_per_day": 0.0,
}  # fmt: skip
EMPTY_BOX: dict[str, float] = {"box": 0.0, "box_brood": 0.0, "box_honey_g": 0.0, "box_lays": 0.0}
KINDS = [
    pytest.param(scenes(), id="usual"),
    pytest.param(scenes(wall=0.0, **EMPTY_NEST), id="empty"),
    pytest.param(scenes(leak=0.5, larvae=4000.0, wall=1500.0, passable=0.4), id="leak"),
    pytest.param(scenes(strangers=2000.0, walks_back_per_day=0.6, wall=4000.0), id="back in"),
    pytest.param(
        scenes(passable=0.05, is_robbed=1.0, box_leaves_per_day=0.3, count_bias=0.7, box_bias=1.3),
        id="blocked and robbed",
    ),
    pytest.param(scenes(wall=3000.0, **EMPTY_BOX), id="box left"),
]


def name(item: Item[Scene]) -> str:
    """Give a readable test id."""
    return item.key.replace(" ", "-")


def copies(scene: Scene, size: int) -> Scene:
    """Repeat one trap-out."""
    return scene.take(np.zeros(size, dtype=np.intp))


def log_densities(item: Item[Scene], values: np.ndarray, scene: Scene) -> np.ndarray:
    """Log density of each value for one trap-out."""
    return np.array([float(item.log_density(float(v), scene)[0]) for v in values])


def count_laws(item: FlightCount[Scene], scene: Scene) -> tuple[stats.nbinom, stats.nbinom]:
    """The statistics library's laws of a count, and of a count of something else."""

    def law(mean: float, size: float) -> stats.nbinom:
        return stats.nbinom(size, size / (size + mean))

    wrong = law(item.minutes * MISTAKEN_PER_MINUTE, MISTAKEN_SIZE)
    return law(float(item.expected(scene)[0]), clumping(item.activity)), wrong


@pytest.mark.parametrize("scene", KINDS)
@pytest.mark.parametrize("item", COUNTS, ids=name)
def test_counts_are_a_mixture_of_negative_binomials(item: FlightCount[Scene], scene: Scene) -> None:
    """Tests the law against the statistics library's, and its sum to one."""
    right, wrong = count_laws(item, scene)
    counts = np.array([0, 1, 2, 7, 40, 300, 3000])
    parts = [np.log1p(-item.mistaken) + right.logpmf(counts)]
    parts.append(np.log(item.mistaken) + wrong.logpmf(counts))
    found = log_densities(item, counts, scene)
    np.testing.assert_allclose(found, np.logaddexp(*parts), rtol=1e-9, atol=1e-9)
    most = int(max(right.isf(1e-9), wrong.isf(1e-9)))
    step = np.arange(min(most, 2000) + 1)
    total = np.exp(log_densities(item, step, scene)).sum()
    whole = (1.0 - item.mistaken) * right.cdf(step[-1]) + item.mistaken * wrong.cdf(step[-1])
    assert total == pytest.approx(whole, abs=1e-9)
    assert whole > 0.85


@pytest.mark.parametrize("scene", KINDS)
@pytest.mark.parametrize("item", COUNTS, ids=name)
def test_counts_drawn_follow_the_law(item: FlightCount[Scene], scene: Scene) -> None:
    """Tests draws by chi-square over classes that hold enough."""
    right, wrong = count_laws(item, scene)
    drawn = item.draw(copies(scene, DRAWN), np.random.default_rng(11))
    edges = np.unique(np.concatenate([[0, 1, 3, 10], right.ppf([0.2, 0.4, 0.6, 0.8, 0.95])]))
    below = (1.0 - item.mistaken) * right.cdf(edges) + item.mistaken * wrong.cdf(edges)
    chance = np.diff(np.concatenate([[0.0], below, [1.0]]))
    seen = np.bincount(np.searchsorted(edges, drawn, side="left"), minlength=len(edges) + 1)
    kept = chance * DRAWN > 5.0
    assert kept.sum() > 1
    expected = chance[kept] / chance[kept].sum() * seen[kept].sum()
    assert stats.chisquare(seen[kept], expected).pvalue > FALSE_ALARM
    assert seen[~kept].sum() < 60


@pytest.mark.parametrize("scene", KINDS)
@pytest.mark.parametrize("item", [*YES_OR_NO, *GRADED], ids=name)
def test_words_sum_to_one_and_draws_follow(item: Item[Scene], scene: Scene) -> None:
    """Tests yes or no, and scales: exact sum, and draws by a binomial of each word."""
    words = np.arange(len(item.grades) if isinstance(item, Graded) else 2)
    chance = np.exp(log_densities(item, words, scene))
    assert chance.sum() == pytest.approx(1.0, abs=1e-12)
    drawn = item.draw(copies(scene, DRAWN), np.random.default_rng(12))
    for word, p in zip(words, chance, strict=True):
        seen = int((drawn == word).sum())
        assert stats.binomtest(seen, DRAWN, float(p)).pvalue > FALSE_ALARM


@pytest.mark.parametrize("scene", KINDS)
@pytest.mark.parametrize("item", SIZES, ids=name)
def test_sizes_have_a_chance_of_none_and_a_density_over_the_log(
    item: SizeOrNone[Scene], scene: Scene
) -> None:
    """Tests that none and the rest make one; draws of none by a binomial, the rest by K-S."""
    none = float(np.exp(item.log_density(0.0, scene)[0]))
    log_values = np.linspace(-12.0, 12.0, 8_001)
    dense = np.exp(log_densities(item, np.exp(log_values), scene))
    assert none + trapezoid(dense, log_values) == pytest.approx(1.0, abs=1e-6)
    drawn = item.draw(copies(scene, DRAWN), np.random.default_rng(13))
    assert stats.binomtest(int((drawn == 0.0).sum()), DRAWN, none).pvalue > FALSE_ALARM
    below = np.concatenate([[0.0], np.cumsum(0.5 * (dense[1:] + dense[:-1]))])
    at = np.interp(np.log(drawn[drawn > 0.0]), log_values, below / below[-1])
    assert stats.kstest(at, "uniform").pvalue > FALSE_ALARM


@pytest.mark.parametrize("scene", KINDS)
@pytest.mark.parametrize("item", GAINS, ids=name)
def test_gains_are_students_t(item: in_box.BoxGain, scene: Scene) -> None:
    """Tests the gain in weight against the statistics library's law, and draws by K-S."""
    gain = float(item.expected(scene)[0])
    fixed = in_box.GAIN_ERROR_KG**2 + (in_box.FRAME_ERROR_KG * item.frames_added) ** 2
    error = float(np.sqrt(fixed + (in_box.GAIN_ERROR_SHARE * gain) ** 2))
    law = stats.t(in_box.GAIN_TAILS, gain, error)
    values = np.array([-5.0, -0.3, 0.0, 1.2, 4.0, 20.0])
    np.testing.assert_allclose(log_densities(item, values, scene), law.logpdf(values), rtol=1e-9)
    drawn = item.draw(copies(scene, DRAWN), np.random.default_rng(14))
    assert stats.kstest(drawn, law.cdf).pvalue > FALSE_ALARM


def rising(**ends: tuple[float, float]) -> Scene:
    """Give scenes in which quantities rise in step, from nothing or little to much."""
    return scenes(**{k: np.linspace(low, high, 12) for k, (low, high) in ends.items()})


def chance_of_at_most(item: Item[Scene], value: float, row: Scene) -> np.ndarray:
    """Chance of a reading no larger, for each trap-out."""
    if isinstance(item, in_box.BoxGain):
        grid = np.linspace(-60.0, value, 4_001)
        return trapezoid([np.exp(item.log_density(float(v), row)) for v in grid], grid, axis=0)
    if isinstance(item, SizeOrNone) and value > 0.0:
        grid = np.linspace(-12.0, np.log(value), 2_001)
        sizes = [np.exp(item.log_density(float(v), row)) for v in np.exp(grid)]
        return np.exp(item.log_density(0.0, row)) + trapezoid(sizes, grid, axis=0)
    return sum(np.exp(item.log_density(float(v), row)) for v in range(int(value) + 1))


SUNNY = (0.9, 10.0)
OUT, BACK_IN, ELSEWHERE = (count(UNREAD, 5.0, *SUNNY) for count in COUNTERS)
SEEN_IN = outside.seen_going_in_elsewhere(UNREAD, *SUNNY)
POLLEN_IN = outside.pollen_carried_in_elsewhere(UNREAD, *SUNNY)
HANGING = in_box.hanging_out_of_box(UNREAD, 33.0)
WARM = cues.warm_area_or_none(UNREAD)
# Item, a reading, and what rises from its first value to its last and makes more likely.
WAYS: list[tuple[Item[Scene], float, dict[str, tuple[float, float]]]] = [
    (OUT, 5.0, {"foragers": (0.0, 8000.0)}),
    (OUT, 5.0, {"passable": (0.0, 1.0)}),
    (OUT, 1.0, {"deserts_per_day": (0.0, 1000.0), "foragers": (0.0, 0.0)}),
    (BACK_IN, 0.0, {"wall": (0.0, 6000.0), "walks_back_per_day": (0.3, 0.3)}),
    (BACK_IN, 0.0, {"walks_back_per_day": (0.0, 2.0)}),
    (BACK_IN, 0.0, {"passable": (0.0, 1.0), "walks_back_per_day": (2.0, 2.0)}),
    (ELSEWHERE, 5.0, {"leak": (0.0, 0.6)}),
    (ELSEWHERE, 5.0, {"strangers": (0.0, 2000.0)}),
    (SEEN_IN, 0.0, {"leak": (0.0, 0.6)}),
    (SEEN_IN, 0.0, {"strangers": (0.0, 2000.0), "leak": (0.0, 0.0)}),
    (POLLEN_IN, 0.0, {"leak": (0.0, 0.6)}),
    (POLLEN_IN, 0.0, {"larvae": (0.0, 4000.0), "leak": (0.5, 0.5)}),
    (POLLEN_IN, 0.0, {"strangers": (0.0, 2000.0), "larvae": (0.0, 0.0)}),
    (at_cone.cone_state(UNREAD), 0.0, {"passable": (1.0, 0.0)}),
    (at_cone.cone_state(UNREAD), 1.0, {"passable": (1.0, 0.0)}),
    (at_cone.dead_bees(UNREAD), 0.0, {"wall": (0.0, 4000.0)}),
    (at_cone.dead_bees(UNREAD), 1.0, {"wall_loss_per_day": (0.0, 0.5)}),
    (at_cone.dead_bees(UNREAD), 1.0, {"passable": (1.0, 0.0)}),
    (at_cone.dead_bees(UNREAD), 1.0, {"is_robbed": (0.0, 1.0)}),
    (outside.cluster_on_wall(UNREAD), 0.0, {"wall": (0.0, 6000.0)}),
    (outside.cluster_on_wall(UNREAD), 2.0, {"wall": (0.0, 6000.0)}),
    (in_box.frames_of_bees(UNREAD, 0.8), 0.0, {"box": (0.0, 9000.0)}),
    (in_box.frames_of_bees(UNREAD, 0.8), 3.0, {"box": (0.0, 9000.0)}),
    (in_box.BoxGain(UNREAD), 0.5, {"box": (0.0, 9000.0)}),
    (in_box.BoxGain(UNREAD), 0.5, {"box_honey_g": (0.0, 6000.0)}),
    (in_box.eggs_in_box(UNREAD), 0.0, {"box_lays": (0.0, 1.0)}),
    (in_box.queen_in_box(UNREAD), 0.0, {"box_lays": (0.0, 1.0)}),
    (in_box.robbing_at_box(UNREAD, 0.9), 0.0, {"is_robbed": (0.0, 1.0)}),
    (HANGING, 0.0, {"box": (0.0, 20_000.0)}),
    (HANGING, 0.0, {"box_leaves_per_day": (0.0, 0.1)}),
    (cues.hum_heard(UNREAD), 0.0, {"adults": (0.0, 20_000.0)}),
    (cues.bees_seen_inside(UNREAD), 0.0, {"adults": (0.0, 20_000.0)}),
    (WARM, 0.0, {"capped": (0.0, 9000.0), "adults": (0.0, 0.0), "larvae": (0.0, 0.0)}),
    (WARM, 8.0, {"capped": (0.0, 9000.0), "adults": (0.0, 9000.0)}),
]


@pytest.mark.parametrize(
    ("item", "value", "rising"), WAYS, ids=[f"{name(w[0])}-{'-'.join(w[2])}" for w in WAYS]
)
def test_more_of_it_makes_more_seen_likelier(
    item: Item[Scene], value: float, rising: dict[str, tuple[float, float]]
) -> None:
    """Tests that the chance of a reading no larger falls all the way, by a third or more."""
    row = scenes(**{k: np.linspace(first, last, 12) for k, (first, last) in rising.items()})
    at_most = chance_of_at_most(item, value, row)
    assert (np.diff(at_most) < 1e-9).all()
    assert at_most[-1] < at_most[0] / 1.5


def test_what_the_technician_misses_is_missed_in_bees_and_frames_alike() -> None:
    """Tests that half seen of twice as many is the same count, and the same frames."""
    half = scenes(count_bias=0.5, box_bias=0.5, strangers=200.0)
    twice = {"foragers": 5000.0, "deserts_per_day": 120.0, "wall": 600.0, "strangers": 400.0}
    double = scenes(count_bias=0.5, box_bias=0.5, box=12_000.0, **twice)
    for item in (*COUNTS, in_box.frames_of_bees(UNREAD, 0.8)):
        true = scenes(strangers=200.0)
        size = item.measured.size if isinstance(item, SizeOrNone) else item
        assert float(size.expected(double)[0]) == pytest.approx(float(size.expected(true)[0]))
        assert float(size.expected(half)[0]) < float(size.expected(true)[0]) or (
            isinstance(item, FlightCount) and item.activity == 0.0
        )


def odds_of_none(activity: float, flight_h: float = 10.0) -> float:
    """Log odds of an empty nest to a full one of 6,000 foragers, by a count of none."""
    both = scenes(
        foragers=np.array([0.0, 6000.0]), adults=np.array([0.0, 22_000.0]), deserts_per_day=0.0
    )
    found = at_cone.bees_out(0.0, 5.0, activity, flight_h).log_density(0.0, both)
    return float(found[0] - found[1])


def test_no_traffic_in_bad_weather_says_almost_nothing() -> None:
    """Tests none out in rain or cold, and in the sun (common practice, no source).

    Bees do not fly in steady rain (Lundie 1925) and hardly below 12 degC (Burrill & Dietz
    1981): 0.05 of full flight is 12.4 degC.
    """
    assert odds_of_none(0.0) == pytest.approx(0.0, abs=1e-9)
    assert 0.0 < odds_of_none(0.02) < 0.1
    assert 0.0 < odds_of_none(0.05) < 0.5
    assert odds_of_none(0.9) > 3.0
    assert np.exp(odds_of_none(1.0)) < 100.0


@pytest.mark.parametrize("flight_h", [0.0, 0.2, 3.0, 14.0])
def test_short_days_shut_out_fewer(flight_h: float) -> None:
    """Tests the engine's rates: on a day of h flight hours h/10 of the reference day leave."""
    item = at_cone.bees_out(UNREAD, 60.0, 1.0, flight_h)
    full = scenes(leak=0.0, foragers=2000.0, deserts_per_day=0.0)
    bare = float(item.expected(scenes(leak=0.0, foragers=0.0, deserts_per_day=0.0))[0])
    assert float(item.expected(full)[0]) - bare == pytest.approx(2000.0 * 0.75 / 10.0)


def test_none_out_of_a_blocked_cone_is_none_out_of_an_empty_wall() -> None:
    """Tests that the count alone cannot tell them apart, and that the hum can."""
    both = scenes(
        passable=np.array([0.0, 1.0]),
        foragers=np.array([6000.0, 0.0]),
        adults=np.array([22_000.0, 0.0]),
        deserts_per_day=0.0,
    )
    out = at_cone.bees_out(0.0, 5.0, 0.9, 10.0).log_density(0.0, both)
    assert out[0] == pytest.approx(out[1])
    hum = cues.hum_heard(1.0).log_density(1.0, both)
    assert hum[0] - hum[1] > 2.0


EXTREMES = scenes(
    **{
        key: np.array([0.0, many, 0.0, many, 1.0])
        for key, many in {
            "adults": 1e6, "foragers": 1e6, "drones": 1e5, "eggs": 1e6, "larvae": 1e6,
            "capped": 1e6, "drone_brood": 1e6, "honey_g": 1e6, "comb_dm2": 1e5, "wall": 1e6,
            "box": 1e6, "box_brood": 1e6, "box_honey_g": 1e6, "box_start": 1e5, "box_lays": 1.0,
            "box_leaves_per_day": 1.0, "deserts_per_day": 1e5, "walks_back_per_day": 2.0,
            "wall_loss_per_day": 1.0, "is_robbed": 1.0, "strangers": 1e5,
        }.items()
    },
    leak=np.array([0.0, 1.0, 1.0, 0.0, 0.5]),
    passable=np.array([0.0, 1.0, 1.0, 0.0, 0.5]),
    count_bias=np.array([0.2, 3.0, 1.0, 1.0, 1.0]),
    box_bias=np.array([0.2, 3.0, 1.0, 1.0, 1.0]),
)  # fmt: skip


@pytest.mark.parametrize(
    ("item", "most"),
    [
        *((item, MOST_TIMES) for item in (*DIRECT, *GRADED)),
        *((item, MOST_TIMES_SOFT) for item in SOFT),
    ],
    ids=lambda x: name(x) if not isinstance(x, float) else f"{x:g}",
)
def test_no_word_carries_an_answer_alone(item: Item[Scene], most: float) -> None:
    """Tests the odds that one word may move, between the least and the most there can be."""
    for word in range(len(item.grades) if isinstance(item, Graded) else 2):
        assert np.ptp(item.log_density(float(word), EXTREMES)) <= np.log(most)


@pytest.mark.parametrize("item", [*SIZES, *COUNTS], ids=name)
def test_nothing_found_carries_no_answer_alone(item: Item[Scene]) -> None:
    """Tests a zero like a no; a count at the cone, which is a measurement, a little farther."""
    most = 100.0 if item.key == "cone out" else MOST_TIMES + 5.0
    assert np.ptp(item.log_density(0.0, EXTREMES)) <= np.log(most)


@pytest.mark.parametrize("item", ALL, ids=name)
def test_extremes_stay_finite(item: Item[Scene]) -> None:
    """Tests nothing at all and monstrous amounts, smallest and largest readings."""
    is_word = isinstance(item, YesNo | Graded)
    for value in (0.0, 1.0) if is_word else (0.0, 1.0, 1e3, 1e5):
        assert np.isfinite(item.log_density(value, EXTREMES)).all()
    drawn = item.draw(EXTREMES, np.random.default_rng(15))
    assert drawn.shape == (5,)
    assert np.isfinite(drawn).all()
    assert item.key == "box gain" or (drawn >= 0.0).all()


def test_what_was_not_looked_at_is_absent() -> None:
    """Tests that no items say nothing, and that items add up."""
    row = scenes(wall=np.array([0.0, 3000.0]))
    np.testing.assert_array_equal(log_likelihood((), row), np.zeros(2))
    cluster, dead = outside.cluster_on_wall(4.0), at_cone.dead_bees(1.0)
    np.testing.assert_allclose(
        log_likelihood((cluster, dead), row),
        cluster.log_density(4.0, row) + dead.log_density(1.0, row),
    )


def test_sightings_of_a_nest_serve_at_a_visit() -> None:
    """Tests that warmth and sound read a scene as the nest that it is."""
    scene = scenes(adults=np.array([3000.0, 15_000.0]))
    items = (cues.warm_to_hand(1.0), cues.hum_span(0.6), cues.warm_area(9.0))
    assert (np.diff(log_likelihood(items, scene)) != 0.0).all()


def test_a_patch_that_must_show_is_read_as_at_the_inspection() -> None:
    """Tests that only the chance to be missed or mistaken sets the two readings apart."""
    row = scenes(adults=15_000.0, capped=12_000.0)
    area = float(cues.warm_area(UNREAD).size.expected(row)[0])
    seen = cues.warm_area_or_none(area).log_density(area, row)
    plain = cues.warm_area(area).log_density(area, row)
    np.testing.assert_allclose(seen, plain + np.log(1.0 - 0.05 - 0.12), atol=0.05)


@pytest.mark.parametrize(
    ("item", "said"),
    [
        (at_cone.bees_out(42.0, 5.0, 0.9, 9.0), "bees leaving by the cone, 42 in 5 min"),
        (at_cone.bees_out(0.0, 5.0, 0.9, 9.0), "bees leaving by the cone, none in 5 min"),
        (
            at_cone.bees_back_in(3.0, 2.5, 0.9, 9.0),
            "bees walking back in by the cone, 3 in 2.5 min",
        ),
        (at_cone.cone_state(1.0), "state of the cone, partly blocked"),
        (at_cone.dead_bees(2.0), "dead bees at the wall, many"),
        (outside.going_in_elsewhere(9.0, 5.0, 0.9, 9.0), "bees going in elsewhere, 9 in 5 min"),
        (outside.seen_going_in_elsewhere(0.0, 0.9, 9.0), "bees going in elsewhere, none seen"),
        (outside.pollen_carried_in_elsewhere(1.0, 0.9, 9.0), "pollen carried in elsewhere, seen"),
        (outside.cluster_on_wall(0.0), "cluster on the wall, none"),
        (outside.cluster_on_wall(6.5), "cluster on the wall, 6.5 dm2"),
        (in_box.frames_of_bees(3.5, 0.9), "bees in the box, 3.5 deep frames"),
        (in_box.frames_of_bees(1.0, 0.9), "bees in the box, 1 deep frame"),
        (in_box.BoxGain(2.3), "weight of the box, up 2.3 kg"),
        (in_box.BoxGain(-0.4), "weight of the box, down 0.4 kg"),
        (in_box.BoxGain(0.0), "weight of the box, unchanged"),
        (in_box.eggs_in_box(1.0), "eggs in the box, seen"),
        (in_box.queen_in_box(0.0), "queen in the box, not seen"),
        (in_box.robbing_at_box(1.0, 0.9), "robbing at the box, seen"),
        (in_box.hanging_out_of_box(1.0, 31.0), "bees hanging out of the box, seen"),
        (cues.hum_heard(0.0), "hum in the wall, not heard"),
        (cues.bees_seen_inside(0.0), "living bees inside the wall, none seen"),
        (cues.warm_area_or_none(0.0), "warm patch on the thermal picture, none"),
    ],
    ids=lambda x: x.replace(" ", "-") if isinstance(x, str) else name(x),
)
def test_label_and_reading_make_a_phrase(item: Item[Scene], said: str) -> None:
    """Tests what stands after "speaks for a leak:"."""
    assert f"{item.label[0].lower()}{item.label[1:]}, {item.reading}" == said


def test_keys_are_those_of_one_look_each() -> None:
    """Tests that no two looks share a key, so that a story can name them."""
    looks = {type(item).__name__ + item.label + str(item.key) for item in ALL}
    assert len({item.key for item in ALL}) == len(looks)

"""What is wrong: probabilities, signs, surprise and what a look would tell, in closed form."""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numba
import numpy as np
import pytest
from colony_factory import BOX, season
from scene_factory import scenes
from scipy import stats

from lastbee.colony.course import PRIOR, CourseDeviate, Deed, DeedKind, Trouble
from lastbee.colony.founding import DIMENSIONS, Cavity, Founding
from lastbee.evidence import at_cone, cues, in_box, outside
from lastbee.evidence.item import SizeOrNone, YesNo
from lastbee.forecast.diagnosis import (
    active_troubles,
    explanations,
    information_bits,
    signs_of,
    surprise_of,
)
from lastbee.forecast.posterior import condition
from lastbee.forecast.runs import Runs, Seen, Watch
from lastbee.forecast.tracking import Strand, Tracked, track

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from lastbee.evidence.item import Item
    from lastbee.evidence.scene import Scene
    from lastbee.forecast.sampler import Cloud

    Array = NDArray[np.float64]

YEAR = season(date(2026, 6, 22), days_ahead=140)
FOUNDING = Founding(YEAR.arrivals, YEAR.swarm_share_so_far, Cavity(0.37, 0.09, 2.4), BOX)
CONE = YEAR.inspection_day + 2
COLONIES = 1100
GOOD = (0.9, 9.0)
UNREAD = float("nan")
TROUBLES = [t for t in Trouble if t != Trouble.NONE]


@pytest.fixture(scope="module", autouse=True)
def one_thread() -> Iterator[None]:
    """Simulate small clouds without waking other cores for each."""
    threads = numba.get_num_threads()
    numba.set_num_threads(1)
    yield
    numba.set_num_threads(threads)


@functools.cache
def called(colonies: int = COLONIES) -> Cloud:
    """Colonies of which nothing is known but that somebody called."""
    return condition((), FOUNDING, YEAR.sky, colonies, np.random.default_rng(80)).cloud


def watch(*visits: Seen, deeds: tuple[Deed, ...] = ()) -> Watch:
    return Watch(FOUNDING, YEAR.sky, CONE, (), visits, deeds)


def seen(offset: int, *items: Item[Scene]) -> Seen:
    return Seen(CONE + offset, items, CONE + offset)


def everything() -> tuple[Item[Scene], ...]:
    """All that a visit can look at, unread."""
    return (
        at_cone.bees_out(UNREAD, 5.0, *GOOD),
        at_cone.bees_back_in(UNREAD, 5.0, *GOOD),
        at_cone.cone_state(UNREAD),
        at_cone.dead_bees(UNREAD),
        outside.going_in_elsewhere(UNREAD, 10.0, *GOOD),
        outside.cluster_on_wall(UNREAD),
        in_box.frames_of_bees(UNREAD, 0.9),
        in_box.robbing_at_box(UNREAD, 0.9),
        cues.hum_heard(UNREAD),
        cues.warm_to_hand(UNREAD),
    )


def read(
    items: tuple[Item[Scene], ...], scene: Scene, rng: np.random.Generator
) -> tuple[Item[Scene], ...]:
    """Items with a reading each of the first trap-out of a scene."""
    found = []
    for item in items:
        value = float(item.draw(scene, rng)[0])
        if isinstance(item, SizeOrNone):
            found.append(replace(item, measured=replace(item.measured, value=value)))
        else:
            found.append(replace(item, value=value))  # type: ignore[type-var]
    return tuple(found)


def drawn_runs(trouble: Trouble, count: int, seed: int, **fixed: float) -> Runs:
    """Trap-outs of colonies that somebody called about, some deviates of their course fixed."""
    rng = np.random.default_rng([seed, trouble])
    chosen = rng.integers(0, COLONIES, count)
    z = np.hstack([called().z[chosen], rng.standard_normal((count, len(CourseDeviate)))])
    for name, value in fixed.items():
        z[:, DIMENSIONS + CourseDeviate[name]] = value
    return watch().runs(z, called().noise[chosen], trouble)


# ---- what is going on ----


def test_a_trouble_to_come_or_over_is_none() -> None:
    """Tests each trap-out before its onset, during and after its mending."""
    deed = Deed(CONE + 9, DeedKind.GAP_CLOSED)
    rng = np.random.default_rng(81)
    z = rng.standard_normal((200, watch(deeds=(deed,)).dimensions))
    runs = watch(deeds=(deed,)).runs(z, called().noise[:200], Trouble.LEAK)
    onset, mended = runs.courses.onset, runs.courses.mended
    for day in range(CONE, CONE + 30):
        now = active_troubles(runs, day)
        is_on = (onset <= day) & (day < mended)
        assert ((now == Trouble.LEAK) == is_on).all()
        assert ((now == Trouble.NONE) == ~is_on).all()
    assert (onset > CONE).any()
    assert (mended == deed.day).any()


def test_explanations_share_one_and_the_likeliest_is_first() -> None:
    """Tests a closed leak: what is going on, what is over, and their order."""
    deed = (Deed(CONE + 7, DeedKind.GAP_CLOSED),)
    of = watch(seen(6, outside.going_in_elsewhere(9.0, 5.0, *GOOD)), deeds=deed)
    found = track(called(), of, np.random.default_rng(82))
    runs = found.runs(1, 1000, np.random.default_rng(83))
    before, after = (explanations(found, runs, CONE + day) for day in (6, 7))
    for told in (before, after):
        assert {e.trouble for e in told} == set(Trouble)
        assert sum(e.probability for e in told) == pytest.approx(1.0)
        chances = [e.probability for e in told]
        assert chances == sorted(chances, reverse=True)
    leak, mended = (next(e for e in told if e.trouble == Trouble.LEAK) for told in (before, after))
    assert leak.probability > 0.2
    over = leak.probability - mended.probability
    assert over == pytest.approx(0.8 * leak.probability, abs=0.15)
    # A deed at a gap ends no other trouble.
    chances = [{e.trouble: e.probability for e in told} for told in (before, after)]
    ended = {t for t in set(Trouble) - {Trouble.NONE} if chances[1][t] < chances[0][t]}
    assert ended == {Trouble.LEAK}


# ---- signs ----

SHOWN: dict[Trouble, Item[Scene]] = {
    Trouble.LEAK: outside.going_in_elsewhere(12.0, 5.0, *GOOD),
    Trouble.CLOGGED: at_cone.cone_state(2.0),
    Trouble.WALKED_BACK: at_cone.bees_back_in(12.0, 5.0, *GOOD),
    Trouble.CLUSTER: outside.cluster_on_wall(25.0),
    Trouble.ROBBED: in_box.robbing_at_box(1.0, 0.9),
    Trouble.BOX_LEFT: in_box.frames_of_bees(0.0, 0.9),
    Trouble.SECOND_COLONY: outside.seen_going_in_elsewhere(1.0, *GOOD),
}
NOT_SHOWN: dict[Trouble, Item[Scene]] = {
    Trouble.LEAK: outside.going_in_elsewhere(0.0, 10.0, *GOOD),
    Trouble.CLOGGED: at_cone.cone_state(0.0),
    Trouble.WALKED_BACK: at_cone.bees_back_in(0.0, 10.0, *GOOD),
    Trouble.CLUSTER: outside.cluster_on_wall(0.0),
    Trouble.ROBBED: in_box.robbing_at_box(0.0, 0.9),
    Trouble.BOX_LEFT: in_box.frames_of_bees(5.0, 0.9),
    Trouble.SECOND_COLONY: outside.seen_going_in_elsewhere(0.0, *GOOD),
}


@functools.cache
def signs(trouble: Trouble) -> dict[Item[Scene], float]:
    """Log odds of every direct sighting of one visit, by the item."""
    return {sign.item: sign.log_odds for sign in signs_of(shown(), trouble)}


@functools.cache
def shown() -> Tracked:
    # They deny each other; each is foretold by what is known before the visit.
    items = (*SHOWN.values(), *NOT_SHOWN.values())
    return track(called(), watch(seen(12, *items)), np.random.default_rng(84))


@pytest.mark.parametrize("trouble", SHOWN, ids=lambda t: t.name)
def test_a_direct_sighting_speaks_for_its_trouble_and_its_absence_against(
    trouble: Trouble,
) -> None:
    """Tests what the trade looks for, seen and not seen on a good day: common practice."""
    found = signs(trouble)
    assert found[SHOWN[trouble]] > np.log(2.0)
    assert found[NOT_SHOWN[trouble]] < -np.log(1.3)
    # A trap-out that runs well is held against the trouble that fits best.
    assert signs(Trouble.NONE)[SHOWN[trouble]] < 0.0


def test_a_sighting_speaks_most_for_its_own_trouble() -> None:
    """Tests three sightings that nothing else explains."""
    for trouble in (Trouble.CLOGGED, Trouble.WALKED_BACK, Trouble.ROBBED):
        odds = {t: signs(t).get(SHOWN[trouble], -np.inf) for t in TROUBLES}
        assert max(odds, key=odds.__getitem__) == trouble


def test_signs_are_ratios_of_what_was_foretold() -> None:
    """Tests two visits by hand, one of them with a trouble that nobody could have had yet."""

    def strand(trouble: Trouble, *foretold: list[float]) -> Strand:
        return Strand(trouble, (), tuple(np.array(row) for row in foretold))

    items = (at_cone.cone_state(2.0), at_cone.dead_bees(1.0))
    of = watch(seen(3, *items), seen(9, items[0]))
    never = [[UNREAD, UNREAD], [UNREAD]]
    strands = (
        strand(Trouble.NONE, [-3.0, -1.0], [-2.0]),
        strand(Trouble.LEAK, [-3.5, -0.5], [-2.0]),
        strand(Trouble.CLOGGED, [-0.5, UNREAD], [UNREAD]),
        *(strand(t, *never) for t in TROUBLES[2:]),
    )
    found = Tracked(of, strands)
    assert [(s.visit, s.item, s.log_odds) for s in signs_of(found, Trouble.LEAK)] == [
        (0, items[0], -0.5), (0, items[1], 0.5), (1, items[0], 0.0),
    ]  # fmt: skip
    assert [s.log_odds for s in signs_of(found, Trouble.CLOGGED)] == [2.5]
    assert [s.log_odds for s in signs_of(found, Trouble.NONE)] == [-2.5, -0.5, 0.0]
    assert signs_of(found, Trouble.ROBBED) == ()


# ---- what a look would tell ----


@dataclass(frozen=True, slots=True)
class Known:
    """A state that is so or not, which the scene carries as robbing."""

    error: float

    @property
    def false_yes(self) -> float:
        return self.error

    @property
    def missed(self) -> float:
        return self.error

    def shows(self, scene: Scene) -> Array:
        return scene.is_robbed


def binary_entropy(p: float) -> float:
    return float(stats.bernoulli(p).entropy()) / np.log(2.0)


HALF = scenes(is_robbed=np.repeat([0.0, 1.0], 100))
IS_ROBBED = HALF.is_robbed[None, :] == 1.0


def bits(item: Item[Scene], is_so: NDArray[np.bool_] = IS_ROBBED) -> Array:
    return information_bits((item,), HALF, is_so, np.random.default_rng(85))


@pytest.mark.parametrize("error", [0.01, 0.1, 0.25, 0.4, 0.5])
def test_a_look_at_two_states_tells_what_a_noisy_channel_carries(error: float) -> None:
    """Tests 1 - h(e) bits of a binary symmetric channel, even odds (Shannon 1948)."""
    look: YesNo[Scene] = YesNo("known", "Known", UNREAD, Known(error))
    assert bits(look) == pytest.approx([1.0 - binary_entropy(error)], abs=1e-9)


def test_two_looks_tell_what_two_readings_tell() -> None:
    """Tests the pair against a sum over its four readings, within the noise of drawing them."""
    error = 0.2
    look: YesNo[Scene] = YesNo("known", "Known", UNREAD, Known(error))
    found = information_bits((look, look), HALF, IS_ROBBED, np.random.default_rng(86))
    yes = np.array([[error**2, error * (1 - error)], [error * (1 - error), (1 - error) ** 2]])
    no = yes[::-1, ::-1]
    both = 0.5 * (yes + no)
    wanted = 1.0 - sum(
        both[i, j] * binary_entropy(0.5 * yes[i, j] / both[i, j]) for i in (0, 1) for j in (0, 1)
    )
    assert found == pytest.approx([wanted], abs=0.1)
    assert found > bits(look)


def test_nothing_is_told_of_what_is_certain_or_has_nothing_to_do_with_it() -> None:
    """Tests what is so for all, for none, and for every other whatever is read."""
    look: YesNo[Scene] = YesNo("known", "Known", UNREAD, Known(0.1))
    others = np.arange(200) % 2 == 0
    is_so = np.stack([np.ones(200, dtype=bool), np.zeros(200, dtype=bool), others])
    assert bits(look, is_so) == pytest.approx([0.0, 0.0, 0.0], abs=1e-9)


def test_readings_that_an_item_holds_are_ignored() -> None:
    taken: YesNo[Scene] = YesNo("known", "Known", 1.0, Known(0.1))
    assert bits(taken) == pytest.approx(bits(replace(taken, value=UNREAD)))


def test_the_look_of_the_trade_tells_most_of_its_trouble() -> None:
    """Tests sound trap-outs beside troubled ones: common practice, no source."""
    for trouble, own in (
        (Trouble.CLOGGED, at_cone.cone_state(UNREAD)),
        (Trouble.WALKED_BACK, at_cone.bees_back_in(UNREAD, 5.0, *GOOD)),
        (Trouble.ROBBED, in_box.robbing_at_box(UNREAD, 0.9)),
        (Trouble.CLUSTER, outside.cluster_on_wall(UNREAD)),
    ):
        some = [
            drawn_runs(t, 150, 87, ONSET=-4.0).views(
                YEAR.sky, FOUNDING.inspection_day, CONE, (seen(10),)
            )[1][0]
            for t in (Trouble.NONE, trouble)
        ]
        both = joined_scenes(*some)
        is_so = (np.arange(300) >= 150)[None, :]
        told = {
            item.key: float(information_bits((item,), both, is_so, np.random.default_rng(88))[0])
            for item in everything()
        }
        assert max(told, key=told.__getitem__) == own.key
        assert all(0.0 <= value <= 1.0 for value in told.values())


def joined_scenes(one: Scene, other: Scene) -> Scene:
    arrays = {
        name: np.concatenate([getattr(one, name), getattr(other, name)])
        for name in one.__dataclass_fields__
        if isinstance(getattr(one, name), np.ndarray)
    }
    return replace(one, **arrays)


# ---- surprise ----


def before_any_visit(visit: Seen) -> Tracked:
    """Strands with nothing absorbed, and one visit to come."""
    rng = np.random.default_rng(89)
    strands = []
    for trouble in Trouble:
        mine = called().taken(np.arange(int(trouble), COLONIES, len(Trouble)))
        course = rng.standard_normal((len(mine.z), len(CourseDeviate)))
        strands.append(Strand(trouble, (replace(mine, z=np.hstack([mine.z, course])),), ()))
    return Tracked(watch(visit), tuple(strands))


IMAGINED = 60
FALSE_ALARM = 1e-4


def test_surprises_of_visits_that_are_as_forecast_are_uniform() -> None:
    """Tests visits drawn from the forecast itself by Kolmogorov and Smirnov: a p-value is
    uniform where its hypothesis holds."""
    rng = np.random.default_rng(90)
    runs = before_any_visit(seen(9)).runs(0, IMAGINED, rng)
    _, (scene,) = runs.views(YEAR.sky, FOUNDING.inspection_day, CONE, (seen(9),))
    found = []
    for i in range(IMAGINED):
        items = read(everything()[:6], scene.take(np.array([i])), rng)
        found.append(surprise_of(before_any_visit(seen(9, *items)), 0, rng))
    assert stats.kstest(found, "uniform").pvalue > FALSE_ALARM
    assert 0.35 < np.mean(found) < 0.65


def test_an_absurd_visit_is_a_surprise_and_an_empty_one_is_none() -> None:
    """Tests a flood of bees from a blocked cone while the box is empty and the wall silent."""
    absurd = (
        at_cone.bees_out(3000.0, 5.0, *GOOD),
        at_cone.cone_state(2.0),
        outside.cluster_on_wall(300.0),
        in_box.frames_of_bees(0.0, 0.9),
        cues.hum_heard(0.0),
    )
    rng = np.random.default_rng(91)
    assert surprise_of(before_any_visit(seen(9, *absurd)), 0, rng) < 0.01
    usual = (at_cone.cone_state(0.0), in_box.robbing_at_box(0.0, 0.9))
    assert surprise_of(before_any_visit(seen(9, *usual)), 0, rng) > 0.3
    assert surprise_of(before_any_visit(seen(9)), 0, rng) == 1.0


# ---- troubles injected into our own simulator ----

CASES_A_TROUBLE = 4
FEW = 300
# Where the deviate of severity scales what is left (of a cone, of joining), low is severe.
SEVERE = dict.fromkeys(Trouble, 1.5) | dict.fromkeys(
    (Trouble.CLOGGED, Trouble.CLUSTER, Trouble.QUEEN_STAYS, Trouble.STALLED), -1.5
)


@functools.cache
def injected(trouble: Trouble) -> tuple[Array, ...]:
    """What is said of all troubles in four trap-outs with this one, severe and there at once."""
    told = []
    for case in range(CASES_A_TROUBLE):
        rng = np.random.default_rng([92, trouble, case])
        true = drawn_runs(trouble, 1, 93 + case, ONSET=-4.0, SEVERITY=SEVERE[trouble])
        visits = tuple(seen(day) for day in (8, 16))
        _, scenes_then = true.views(YEAR.sky, FOUNDING.inspection_day, CONE, visits)
        known = tuple(
            replace(visit, items=read(everything(), scene, rng))
            for visit, scene in zip(visits, scenes_then, strict=True)
        )
        found = track(called(FEW), watch(*known), rng)
        now = active_troubles(found.runs(2, 400, rng), CONE + 16)
        told.append(np.bincount(now, minlength=len(Trouble)) / len(now))
    return tuple(told)


def brier(told: Array, trouble: Trouble) -> float:
    return float(((told - np.eye(len(Trouble))[trouble]) ** 2).sum())


def test_troubles_put_into_the_simulator_are_found_again() -> None:
    """Tests forty trap-outs, four of each course, by Brier's score against that of the prior."""
    prior = np.array([PRIOR[t] for t in Trouble])
    ours = np.array([[brier(told, t) for told in injected(t)] for t in Trouble])
    usual = np.array([brier(prior, t) for t in Trouble])
    assert ours.mean() < 0.6 * usual.mean()
    # Two in ten may fare worse by chance: other seeds give eight to ten of ten.
    assert (ours.mean(axis=1) < usual).sum() >= 7


# Both keep bees in by few flying: two visits do not tell them apart.
ALIKE = (Trouble.QUEEN_STAYS, Trouble.STALLED)


@pytest.mark.parametrize("trouble", TROUBLES, ids=lambda t: t.name)
def test_each_trouble_raises_its_own_chance(trouble: Trouble) -> None:
    """Tests the mean of four trap-outs against the prior share; of two that look alike, of both."""
    mine = list(ALIKE) if trouble in ALIKE else [trouble]
    said = np.mean([told[mine].sum() for told in injected(trouble)])
    assert said > sum(PRIOR[t] for t in mine)

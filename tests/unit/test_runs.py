"""Running trap-outs: what a visit finds to look at, against the kernel's own numbers."""

from __future__ import annotations

import functools
from dataclasses import fields, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from colony_factory import BOX, season

from lastbee.biology.constants import Column
from lastbee.colony.course import (
    BROOD_FRAME_CELLS,
    BRUSHED_SHARE,
    PRIOR,
    SYRUP_G_PER_L,
    CourseDeviate,
    Deed,
    DeedKind,
    Trouble,
)
from lastbee.colony.founding import DIMENSIONS, Cavity, Founding
from lastbee.colony.kernel import live
from lastbee.colony.layout import State
from lastbee.forecast.posterior import simulate_nests
from lastbee.forecast.runs import Runs, Seen, Watch, joined
from lastbee.forecast.trapout import TRAP_DAYS, followed

if TYPE_CHECKING:
    from lastbee.evidence.nest import Nest
    from lastbee.evidence.scene import Scene

YEAR = season(date(2026, 6, 22), days_ahead=140)
FOUNDING = Founding(YEAR.arrivals, YEAR.swarm_share_so_far, Cavity(), BOX)
INSPECTED, CONE = YEAR.inspection_day, YEAR.inspection_day + 2
COUNT = 120
NONE = Watch(FOUNDING, YEAR.sky, CONE, (), (), ())
CLOSED = Deed(CONE + 9, DeedKind.GAP_CLOSED)
TROUBLES = [t for t in Trouble if t != Trouble.NONE]


def visits(*offsets: int) -> tuple[Seen, ...]:
    return tuple(Seen(CONE + day, (), CONE + day) for day in offsets)


@functools.cache
def runs(trouble: Trouble, *deeds: Deed, onset: float | None = None) -> Runs:
    """Draw trap-outs, the same colonies for every trouble and any deeds."""
    rng = np.random.default_rng(61)
    watch = replace(NONE, deeds=deeds)
    z = rng.standard_normal((COUNT, NONE.dimensions))
    luck = np.random.default_rng(62).standard_normal((COUNT, len(deeds)))
    if onset is not None:
        z[:, DIMENSIONS + CourseDeviate.ONSET] = onset
    noise = rng.integers(0, 2**63, COUNT, dtype=np.uint64)
    return watch.runs(np.hstack([z, luck]), noise, trouble)


def views(of: Runs, *offsets: int) -> tuple[Nest, tuple[Scene, ...]]:
    return of.views(YEAR.sky, INSPECTED, CONE, visits(*offsets))


def scene(of: Runs, offset: int) -> Scene:
    return views(of, offset)[1][0]


def assert_same(one: Nest, other: Nest, index: np.ndarray | slice = slice(None)) -> None:
    """Compare every quantity of two nests or scenes, of some of the trap-outs."""
    for field in fields(one):
        a, b = getattr(one, field.name), getattr(other, field.name)
        if isinstance(a, np.ndarray):
            np.testing.assert_array_equal(a[index], b[index], err_msg=field.name)
        else:
            assert a == b, field.name


def test_deviates_are_those_of_a_colony_and_of_its_course() -> None:
    watch = replace(NONE, deeds=(CLOSED, CLOSED))
    assert watch.dimensions == DIMENSIONS + len(CourseDeviate) + 2
    assert runs(Trouble.LEAK).size == COUNT


@pytest.mark.parametrize("trouble", list(Trouble), ids=lambda t: t.name)
def test_the_inspection_finds_the_colonies_of_the_plan(trouble: Trouble) -> None:
    """Tests that nothing of a trap-out is felt before the cone, by the road that plans take."""
    rng = np.random.default_rng(61)
    z = rng.standard_normal((COUNT, NONE.dimensions))[:, :DIMENSIONS]
    noise = rng.integers(0, 2**63, COUNT, dtype=np.uint64)
    _, nest = simulate_nests(z, noise, FOUNDING, YEAR.sky)
    assert_same(views(runs(trouble), 0, 12)[0], nest)


def test_visits_looked_at_together_are_those_looked_at_alone() -> None:
    """Tests two visits of one day, and the order in which they are asked for."""
    leaky = runs(Trouble.LEAK, CLOSED)
    _, together = views(leaky, 12, 3, 12, 40)
    for offset, seen in zip((12, 3, 12, 40), together, strict=True):
        assert_same(seen, scene(leaky, offset))
        assert seen.trap_days == offset


@pytest.mark.parametrize("trouble", TROUBLES, ids=lambda t: t.name)
def test_a_trouble_that_has_not_begun_shows_nowhere(trouble: Trouble) -> None:
    """Tests every sign of trap-outs whose trouble begins later against sound ones."""
    later, sound = runs(trouble, onset=1.5), runs(Trouble.NONE, onset=1.5)
    # A queen who will stay is one who does not leave, which shows where hardly a bee is left.
    living = scene(sound, 6).adults > 100.0
    to_come = np.flatnonzero((later.courses.onset > CONE + 6) & living)
    assert len(to_come) > 0.5 * COUNT
    assert not later.courses.is_active(CONE + 6)[to_come].any()
    assert_same(scene(later, 6), scene(sound, 6), to_come)


SHOWS: dict[Trouble, tuple[str, int]] = {
    Trouble.LEAK: ("leak", 1),
    Trouble.CLOGGED: ("passable", -1),
    Trouble.WALKED_BACK: ("tip", 1),
    Trouble.CLUSTER: ("wall", 1),
    Trouble.ROBBED: ("is_robbed", 1),
    Trouble.BOX_LEFT: ("box", -1),
    Trouble.QUEEN_STAYS: ("adults", 1),
    Trouble.SECOND_COLONY: ("strangers", 1),
    Trouble.STALLED: ("flies_per_day", -1),
}
ON_DAY = {Trouble.QUEEN_STAYS: 20}


@pytest.mark.parametrize("trouble", TROUBLES, ids=lambda t: t.name)
def test_a_trouble_going_on_shows_where_the_trade_looks_for_it(trouble: Trouble) -> None:
    """Tests nine trap-outs in ten against their own twins without trouble: common practice."""
    name, sign = SHOWS[trouble]
    day = ON_DAY.get(trouble, 10)
    ill, sound = (scene(runs(t, onset=-4.0), day) for t in (trouble, Trouble.NONE))
    gain = sign * (getattr(ill, name) - getattr(sound, name))
    assert (gain > 0.0).mean() > 0.9


def test_ways_home_add_up_to_the_rate_in_force() -> None:
    """Tests gap and tip together against the leak that the kernel uses, before and after a deed."""
    for trouble in (Trouble.WALKED_BACK, Trouble.LEAK, Trouble.NONE):
        some = runs(trouble, CLOSED)
        for offset in (4, 10, 30):
            seen = scene(some, offset)
            now = some.courses.turns.in_force(some.colonies.params, CONE + offset)
            np.testing.assert_allclose(seen.leak + seen.tip, now[:, Column.LEAK])
            assert (seen.leak >= 0.0).all()
            by_tip = some.courses.is_active(CONE + offset) & (trouble == Trouble.WALKED_BACK)
            assert not seen.tip[~by_tip].any()


def test_what_a_visit_counts_is_in_the_kernels_state() -> None:
    """Tests bees and cells against snapshots of the same trap-outs taken directly."""
    some = runs(Trouble.BOX_LEFT, Deed(CONE + 5, DeedKind.BOX_ADDED, 2000.0))
    seen = scene(some, 9)
    snapshot = live(
        some.colonies.params, some.noise, YEAR.sky, snap_days=(CONE + 9,), cone_day=CONE,
        turns=some.courses.turns,
    )[0][:, 0]  # fmt: skip
    for values, column in (
        (seen.wall, State.WALL), (seen.box, State.BOX), (seen.honey_g, State.HONEY),
        (seen.box_brood, State.BOX_BROOD), (seen.foragers, State.FORAGERS),
    ):  # fmt: skip
        np.testing.assert_array_equal(values, snapshot[:, column])


def test_a_second_visit_of_a_day_sees_what_was_done_at_the_first() -> None:
    """Tests a gap closed in the morning: the state is the morning's, the ways are the new ones."""
    leaky = runs(Trouble.LEAK, CLOSED, onset=-4.0)
    day = CLOSED.day - 1
    _, (first, second) = leaky.views(
        YEAR.sky, INSPECTED, CONE, (Seen(day, (), day), Seen(day, (), day + 1))
    )
    np.testing.assert_array_equal(first.adults, second.adults)
    mended = leaky.courses.mended == CLOSED.day
    assert 0.5 < mended.mean() < 1.0
    assert (second.leak[mended] < first.leak[mended]).mean() > 0.95
    np.testing.assert_array_equal(second.leak[~mended], first.leak[~mended])


def test_what_is_done_later_changes_nothing_seen_before() -> None:
    """Tests every trouble with and without a gap closed nine days after the cone."""
    for trouble in Trouble:
        before, after = (scene(runs(trouble, *deeds), 8) for deeds in ((), (CLOSED,)))
        assert_same(before, after)


def test_a_second_visit_of_a_day_finds_what_was_given_at_the_first() -> None:
    """Tests bees, brood and syrup put into the box, and the wall brushed, by hand."""
    day = CONE + 6
    kinds = {
        DeedKind.BOX_ADDED: 800.0, DeedKind.BROOD_GIVEN: 2.0, DeedKind.FED: 1.5,
        DeedKind.BRUSHED_IN: None,
    }  # fmt: skip
    some = runs(Trouble.CLUSTER, *(Deed(day + 1, kind, amount) for kind, amount in kinds.items()))
    _, (first, second) = some.views(
        YEAR.sky, INSPECTED, CONE, (Seen(day, (), day), Seen(day, (), day + 1))
    )
    np.testing.assert_allclose(second.wall, (1.0 - BRUSHED_SHARE) * first.wall)
    np.testing.assert_allclose(second.box, first.box + BRUSHED_SHARE * first.wall + 800.0)
    np.testing.assert_allclose(second.box_brood, first.box_brood + 2.0 * BROOD_FRAME_CELLS)
    np.testing.assert_allclose(second.box_honey_g, first.box_honey_g + 1.5 * SYRUP_G_PER_L)


def test_taking_and_joining_undo_each_other() -> None:
    """Tests parts of two troubles put together again, by everything that is read off them."""
    leaky, robbed = runs(Trouble.LEAK, CLOSED), runs(Trouble.ROBBED, CLOSED)
    together = joined([leaky, robbed])
    assert together.size == 2 * COUNT
    for whole, first in ((leaky, 0), (robbed, COUNT)):
        again = together.take(np.arange(first, first + COUNT))
        assert_same(scene(again, 12), scene(whole, 12))
        np.testing.assert_array_equal(again.courses.trouble, whole.courses.trouble)
    index = np.array([7, 7, 3, 119])
    assert_same(scene(leaky.take(index), 12), scene(leaky, 12).take(index))


def test_sure_deeds_mend_what_they_can_and_only_that() -> None:
    """Tests a gap closed that nobody has closed yet, behind troubles it is for and not for."""
    rng = np.random.default_rng(3)
    z = rng.standard_normal((COUNT, NONE.dimensions))
    z[:, DIMENSIONS + CourseDeviate.ONSET] = -4.0
    noise = rng.integers(0, 2**63, COUNT, dtype=np.uint64)
    watch = replace(NONE, deeds=(CLOSED,))
    for trouble in TROUBLES:
        courses = watch.runs(np.hstack([z, np.full((COUNT, 1), -6.0)]), noise, trouble).courses
        assert (courses.mended == CLOSED.day).all() == (trouble == Trouble.LEAK)
        assert courses.is_active(CLOSED.day).any() == (trouble != Trouble.LEAK)


def test_a_queen_who_stays_leaves_no_trap_out_of_hers() -> None:
    staying, usual = runs(Trouble.QUEEN_STAYS), runs(Trouble.NONE)
    assert not staying.colonies.params[:, Column.QUEEN_LEAVES].any()
    assert usual.colonies.params[:, Column.QUEEN_LEAVES].any()
    kept = [column for column in Column if column != Column.QUEEN_LEAVES]
    np.testing.assert_array_equal(staying.colonies.params[:, kept], usual.colonies.params[:, kept])


def test_a_trap_out_begins_with_cone_and_box_as_they_should_be() -> None:
    """Tests the columns that nothing troubles at first: a free cone, a box that nobody leaves."""
    params = runs(Trouble.NONE).colonies.params
    assert (params[:, Column.PASSABLE] == 1.0).all()
    assert not params[:, [Column.BOX_LEAVE, Column.BOX_ROBBED]].any()
    seen = scene(runs(Trouble.NONE), 5)
    assert (seen.passable == 1.0).all()
    assert not np.hstack([seen.box_leaves_per_day, seen.is_robbed, seen.tip]).any()


def test_a_sound_trap_out_is_followed_as_a_plan_follows_it() -> None:
    """Tests the whole course against the road without turns."""
    some = runs(Trouble.NONE)
    ours = some.followed(YEAR.sky, CONE)
    plain = followed(some.colonies.params, some.noise, YEAR.sky, CONE)
    np.testing.assert_array_equal(ours.records, plain.records)
    assert ours.records.shape[1] == TRAP_DAYS


def test_on_the_whole_troubles_put_off_the_day() -> None:
    """Tests median days of troubles that keep bees inside: common practice, no source."""
    days = {t: np.median(runs(t).followed(YEAR.sky, CONE).empty_day) for t in PRIOR}
    for trouble in (Trouble.LEAK, Trouble.CLOGGED, Trouble.WALKED_BACK, Trouble.STALLED,
                    Trouble.QUEEN_STAYS):  # fmt: skip
        assert days[trouble] > days[Trouble.NONE] + 3
    for trouble in (Trouble.ROBBED, Trouble.BOX_LEFT, Trouble.SECOND_COLONY):
        assert abs(days[trouble] - days[Trouble.NONE]) <= 3

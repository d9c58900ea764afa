"""Turns and several snapshots: the kernel against its twin, by hand, and what it refuses."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numba
import numpy as np
import pytest
from colony_factory import Case, mixed_case, one_after_the_other, turns_of, wild_turns

from lastbee.biology.constants import Column
from lastbee.colony.kernel import live
from lastbee.colony.layout import NO_CONE, Daily, State
from lastbee.colony.turns import TURNED, Gift, Turns
from reference.numpy_twin import live_twin

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    Lived = tuple[NDArray[np.float64], NDArray[np.float32], NDArray[np.float64]]

TRAP_DAYS = 70


@pytest.fixture
def threads() -> Iterator[None]:
    """Put the number of threads back after a test that changes it."""
    before = numba.get_num_threads()
    yield
    numba.set_num_threads(before)


def wild_case(count: int, seed: int, spread: float = 1.0, span_days: int = TRAP_DAYS) -> Case:
    case = mixed_case(count, seed, spread)
    return replace(case, turns=wild_turns(case, 4, span_days, np.random.default_rng(seed)))


def mornings(case: Case, *since_cone: int) -> tuple[int, ...]:
    return tuple(case.cone_day + day for day in since_cone)


def trapped(case: Case, snap_days: tuple[int, ...], trap_days: int = TRAP_DAYS) -> Lived:
    return live(
        case.params, case.seeds, case.sky,
        snap_days=snap_days, cone_day=case.cone_day, trap_days=trap_days, turns=case.turns,
    )  # fmt: skip


def assert_is_twin(case: Case, snap_days: tuple[int, ...], trap_days: int) -> None:
    """Compare states to 1e-9 and records to their single precision, column by column."""
    got = trapped(case, snap_days, trap_days)
    want = live_twin(
        case.params, case.seeds, case.sky,
        snap_days=snap_days, cone_day=case.cone_day, trap_days=trap_days, turns=case.turns,
    )  # fmt: skip
    for i, names, rtol in ((0, State, 1e-9), (1, Daily, 1e-6), (2, State, 1e-9)):
        for column in names:
            np.testing.assert_allclose(
                got[i][..., column], want[i][..., column],
                rtol=rtol, atol=1e-6, err_msg=column.name,
            )  # fmt: skip


@pytest.mark.parametrize("spread", [1.0, 1.6])
@pytest.mark.parametrize("trap_days", [TRAP_DAYS, 20])
def test_kernel_is_its_numpy_twin_through_wild_turns(spread: float, trap_days: int) -> None:
    """Tests 400 colonies, each on a course of its own, on eight mornings.

    From the inspection to after the last day recorded; the twin is written from the equations.
    """
    case = wild_case(400, seed=31, spread=spread)
    days = (case.snap_day, *mornings(case, 0, 1, 9, 9, 20, 45, 80))
    assert_is_twin(case, days, trap_days)


@pytest.mark.nojit
def test_kernel_is_its_numpy_twin_through_turns_uncompiled() -> None:
    """Tests five colonies, few enough to run as plain Python."""
    case = wild_case(5, seed=32, span_days=15)
    # The hash wraps round on purpose; compiled code does so silently.
    with np.errstate(over="ignore"):
        assert_is_twin(case, mornings(case, 0, 5, 16), 16)


@pytest.mark.usefixtures("threads")
def test_same_bits_at_any_number_of_threads() -> None:
    case = wild_case(700, seed=33)
    days = mornings(case, 0, 10, 40)
    numba.set_num_threads(1)
    alone = trapped(case, days)
    numba.set_num_threads(numba.config.NUMBA_NUM_THREADS)
    for one, many in zip(alone, trapped(case, days), strict=True):
        np.testing.assert_array_equal(one, many)


def part(case: Case, index: NDArray[np.intp] | slice) -> Case:
    turns = case.turns
    assert turns is not None
    return replace(
        case, params=case.params[index], seeds=case.seeds[index],
        turns=Turns(turns.days[index], turns.rates[index], turns.gifts[index]),
    )  # fmt: skip


def test_same_bits_in_any_order_and_company() -> None:
    """Tests that a colony does not feel the turns of others: shuffled, and cut into odd parts."""
    case = wild_case(300, seed=34)
    days = mornings(case, 0, 10, 40)
    whole = trapped(case, days)
    order = np.random.default_rng(1).permutation(300)
    shuffled = trapped(part(case, order), days)
    cuts = [0, 1, 6, 39, 71, 300]
    parts = [trapped(part(case, slice(a, b)), days) for a, b in pairwise(cuts)]
    for i in range(3):
        np.testing.assert_array_equal(shuffled[i], whole[i][order])
        np.testing.assert_array_equal(np.concatenate([one[i] for one in parts]), whole[i])


def test_several_snapshots_are_those_taken_one_by_one() -> None:
    """Tests mornings before and after the cone, one of them twice, beyond the records too."""
    case = wild_case(60, seed=35)
    days = (case.snap_day, *mornings(case, 0, 3, 3, 30, 75))
    snaps, _, final = trapped(case, days)
    for i, day in enumerate(days):
        np.testing.assert_array_equal(trapped(case, (day,), 0)[0][:, 0], snaps[:, i])
    np.testing.assert_array_equal(final, snaps[:, -1])


def test_final_state_is_the_morning_after_the_last_record() -> None:
    case = wild_case(40, seed=36)
    _, _, final = trapped(case, mornings(case, 0), 25)
    np.testing.assert_array_equal(final, trapped(case, mornings(case, 25), 10)[0][:, 0])


def test_turns_to_the_rates_there_are_change_nothing() -> None:
    case = mixed_case(60, seed=37)
    same = one_after_the_other(*(turns_of(case, day) for day in mornings(case, 0, 7, 7, 50)))
    plain = trapped(case, mornings(case, 0, 8, 60))
    for one, other in zip(plain, trapped(replace(case, turns=same), mornings(case, 0, 8, 60)),
                          strict=True):  # fmt: skip
        np.testing.assert_array_equal(one, other)


def test_snapshot_comes_before_the_turns_of_its_morning() -> None:
    """Tests that a visit sees the trap-out as it was before what is done at the visit."""
    case = mixed_case(40, seed=38)
    plain = trapped(case, mornings(case, 0, 12, 13))[0]
    given = turns_of(case, case.cone_day + 12, gifts={Gift.BOX_BEES: 900.0})
    turned = trapped(replace(case, turns=given), mornings(case, 0, 12, 13))[0]
    np.testing.assert_array_equal(turned[:, :2], plain[:, :2])
    assert (turned[:, 2, State.BOX] > plain[:, 2, State.BOX] + 700.0).all()


def test_a_turn_on_the_day_of_the_cone_comes_after_the_box_is_set() -> None:
    """Tests that bees and stores given that morning are added to those set: none is lost."""
    case = mixed_case(40, seed=39)
    gifts = {Gift.BOX_BEES: 500.0, Gift.BOX_HONEY: 800.0}
    turned = replace(case, turns=turns_of(case, case.cone_day, gifts=gifts))
    state = trapped(turned, mornings(case, 1))[0][:, 0]
    np.testing.assert_allclose(state[:, State.BOX_START], case.params[:, Column.BOX_BEES] + 500.0)
    set_honey_g = 0.5 * case.params[:, Column.BOX_BEES]
    np.testing.assert_allclose(state[:, State.BOX_HONEY_GIVEN], set_honey_g + 800.0)


def test_turns_of_one_morning_are_taken_in_order() -> None:
    """Tests that half of the box leaves, then half of what was given besides: by hand."""
    case = mixed_case(40, seed=40)
    halved = turns_of(case, case.cone_day, gifts={Gift.BOX_GONE: 0.5})
    given = turns_of(case, case.cone_day, gifts={Gift.BOX_BEES: 1000.0})
    set_bees = case.params[:, Column.BOX_BEES]
    for turns, gone in (
        (one_after_the_other(halved, given), 0.5 * set_bees),
        (one_after_the_other(given, halved), 0.5 * (set_bees + 1000.0)),
        # Within one turn those who leave do so before anything is given.
        (replace(halved, gifts=halved.gifts + given.gifts), 0.5 * set_bees),
    ):
        state = trapped(replace(case, turns=turns), mornings(case, 1))[0][:, 0]
        np.testing.assert_allclose(state[:, State.BOX_GONE], gone)


def test_rates_in_force_are_those_that_the_kernel_uses() -> None:
    """Tests a colony trapped anew with the rates in force against one that turned to them.

    Turned on the very day of the cone, so that both live every day behind it alike.
    """
    case = mixed_case(40, seed=41)
    rng = np.random.default_rng(41)
    turns = wild_turns(case, 3, 0, rng)
    turns = replace(turns, gifts=np.zeros_like(turns.gifts))
    now = turns.in_force(case.params, case.cone_day)
    # Rates that also rule the days before the cone stay as they were until then.
    now[:, [Column.RECRUIT_MIN, Column.RECRUIT_HUNGER]] = case.params[
        :, [Column.RECRUIT_MIN, Column.RECRUIT_HUNGER]
    ]
    free_of_them = [TURNED.index(c) for c in (Column.RECRUIT_MIN, Column.RECRUIT_HUNGER)]
    rates = turns.rates.copy()
    rates[:, :, free_of_them] = case.params[:, None, [Column.RECRUIT_MIN, Column.RECRUIT_HUNGER]]
    turned = trapped(replace(case, turns=replace(turns, rates=rates)), mornings(case, 0))
    anew = trapped(replace(case, params=now), mornings(case, 0))
    np.testing.assert_array_equal(turned[1], anew[1])
    np.testing.assert_array_equal(turned[2], anew[2])


def orphaned(case: Case, cells: float, bees: float) -> Case:
    """Give each colony a box of so many bees and cells, and nobody who joins it or lays there."""
    params = case.params.copy()
    params[:, Column.BOX_BEES] = bees
    params[:, [Column.NEST_LOSS, Column.FORAGER_LOSS, Column.JOIN]] = 0.0
    params[:, Column.BOX_LAYING_DELAY] = 1000.0
    case = replace(case, params=params)
    return replace(case, turns=turns_of(case, case.cone_day, gifts={Gift.BOX_BROOD: cells}))


# Of an egg, a larva and a capped cell so much lives through a day (Schmickl & Crailsheim
# 2007, p. 230), by its age on that morning: 0 to 2, 3 to 8, 9 to 20 days.
KEPT_BY_AGE = np.repeat([0.97, 0.99, 0.999], [3, 6, 12])


def test_brood_given_emerges_from_the_thirteenth_to_the_twenty_first_morning() -> None:
    """Tests 900 cells of 0 to 8 days, a hundred of each, against 21 days (Winston 1987).

    The oldest have 13 days before them, the youngest 21, that of the gift among them; on
    each of those days those of one age emerge, as many as the losses of its stages leave.
    """
    case = orphaned(mixed_case(40, seed=42), 900.0, 3000.0)
    born = trapped(case, mornings(case, *range(25)))[0][:, :, State.BOX_BORN]
    want = np.zeros(25)
    for age in range(9):
        want[21 - age :] += 100.0 * KEPT_BY_AGE[age:].prod()
    np.testing.assert_allclose(born, np.tile(want, (40, 1)), rtol=1e-9, atol=1e-9)
    assert not born[:, 12].any()
    assert born[0, 13] == pytest.approx(100.0 * 0.99 * 0.999**12)


def test_brood_in_a_box_without_bees_dies() -> None:
    """Tests that half of it dies on each day on top of the losses, in any weather: assumed."""
    case = orphaned(mixed_case(40, seed=43), 900.0, 0.0)
    state = trapped(case, mornings(case, *range(23)))[0]
    cells = 100.0 * (0.5 * KEPT_BY_AGE[:9]).sum()
    np.testing.assert_allclose(state[:, 1, State.BOX_BROOD], cells)
    assert (state[:, -1, State.BOX_BORN] < 0.5).all()
    assert (state[:, -1, State.BOX_BROOD] < 0.01).all()
    assert (state[:, -1, State.BOX_BROOD_LOST] > 899.0).all()


def test_brood_with_too_few_bees_dies_in_part() -> None:
    """Tests 30 bees, who tend 300 cells of 900 at ten each: of the rest half, a third in all."""
    case = orphaned(mixed_case(40, seed=44), 900.0, 30.0)
    state = trapped(case, mornings(case, 1))[0][:, 0]
    cells = 100.0 * KEPT_BY_AGE[:9].sum() * (1.0 - 0.5 * (1.0 - 300.0 / 900.0))
    np.testing.assert_allclose(state[:, State.BOX_BROOD], cells)


def with_days(case: Case, days: NDArray[np.int64]) -> Case:
    assert case.turns is not None
    return replace(case, turns=replace(case.turns, days=days))


def with_value(case: Case, name: str, column: int, value: float) -> Case:
    assert case.turns is not None
    values = getattr(case.turns, name).copy()
    values[3, 1, column] = value
    return replace(case, turns=replace(case.turns, **{name: values}))


def two_turns(case: Case) -> Case:
    turns = [turns_of(case, case.cone_day + day) for day in (2, 9)]
    return replace(case, turns=one_after_the_other(*turns))


REFUSED = {
    "turn before the cone": (lambda c: with_days(c, c.turns.days - 3), "none before the cone"),
    "turns out of order": (lambda c: with_days(c, c.turns.days[:, ::-1]), "in order of day"),
    "days of another shape": (lambda c: with_days(c, c.turns.days[1:]), "do not fit 8"),
    "days that are no whole numbers": (
        lambda c: with_days(c, c.turns.days.astype(np.float64)), "do not fit 8",
    ),
    "one day for all": (lambda c: with_days(c, c.turns.days[:, 0]), "do not fit 8"),
    "rates short of a column": (
        lambda c: replace(c, turns=replace(c.turns, rates=c.turns.rates[:, :, 1:])), "do not fit 8",
    ),
    "gifts short of a turn": (
        lambda c: replace(c, turns=replace(c.turns, gifts=c.turns.gifts[:, 1:])), "do not fit 8",
    ),
    "turns of fewer colonies": (
        lambda c: replace(c, turns=Turns.none(7)), "do not fit 8",
    ),
    "rate below 0": (
        lambda c: with_value(c, "rates", TURNED.index(Column.FLY), -0.1), "none below 0",
    ),
    "rate that is no number": (
        lambda c: with_value(c, "rates", TURNED.index(Column.JOIN), np.nan), "must be numbers",
    ),
    "endless gift": (lambda c: with_value(c, "gifts", Gift.BOX_HONEY, np.inf), "must be numbers"),
    "leak above 1": (
        lambda c: with_value(c, "rates", TURNED.index(Column.LEAK), 1.1), "must not exceed 1",
    ),
    "passable above 1": (
        lambda c: with_value(c, "rates", TURNED.index(Column.PASSABLE), 1.1), "must not exceed 1",
    ),
    "more brushed in than hang there": (
        lambda c: with_value(c, "gifts", Gift.WALL_BOXED, 1.1), "must not exceed 1",
    ),
    "more leaving than there are": (
        lambda c: with_value(c, "gifts", Gift.BOX_GONE, 1.1), "must not exceed 1",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("spoil", "words"), REFUSED.values(), ids=REFUSED)
def test_turns_that_do_not_fit_are_refused(spoil, words: str) -> None:
    case = two_turns(mixed_case(8, seed=45))
    trapped(case, (case.snap_day,))
    with pytest.raises(ValueError, match=words):
        trapped(spoil(case), (case.snap_day,))


def test_turns_without_a_cone_are_refused() -> None:
    case = two_turns(mixed_case(8, seed=46))
    with pytest.raises(ValueError, match="none before the cone"):
        live(case.params, case.seeds, case.sky, snap_days=(case.snap_day,), turns=case.turns)
    never = replace(case.turns, days=np.full((8, 2), NO_CONE))
    found = live(case.params, case.seeds, case.sky, snap_days=(case.snap_day,), turns=never)
    plain = live(case.params, case.seeds, case.sky, snap_days=(case.snap_day,))
    np.testing.assert_array_equal(found[0], plain[0])


@pytest.mark.parametrize("days", [(), (140, 139), (140, 141, 140)])
def test_snapshots_out_of_order_are_refused(days: tuple[int, ...]) -> None:
    case = mixed_case(8, seed=47)
    with pytest.raises(ValueError, match="snap_days"):
        trapped(case, days)


def test_snapshots_beyond_the_sky_or_before_a_start_are_refused() -> None:
    """Tests what would read beyond the sky, or write a colony that is not there yet."""
    case = mixed_case(8, seed=48)
    with pytest.raises(ValueError, match="within the"):
        trapped(case, (case.snap_day, len(case.sky) + 1))
    latest = int(case.params[:, Column.START_DAY].max())
    for days in ((latest - 1, case.snap_day), (case.snap_day,)):
        late = case.params.copy()
        late[2, Column.START_DAY] = days[0] + 1
        with pytest.raises(ValueError, match="start days must lie in 0"):
            trapped(replace(case, params=late), days)
    # A colony founded after the cone would find the box set for nobody.
    late = case.params.copy()
    late[2, Column.START_DAY] = case.cone_day + 1
    with pytest.raises(ValueError, match="the first snapshot or the cone"):
        trapped(replace(case, params=late), mornings(case, 5))


def test_inputs_are_left_alone_and_need_not_be_contiguous() -> None:
    """Tests that turns change the parameters of the day and not those of the caller."""
    case = wild_case(40, seed=49)
    turns = case.turns
    assert turns is not None
    turned_over = Turns(
        np.asfortranarray(turns.days), np.asfortranarray(turns.rates),
        turns.gifts[:, :, ::-1].copy()[:, :, ::-1],
    )  # fmt: skip
    kept = case.params.copy(), turns.days.copy(), turns.rates.copy(), turns.gifts.copy()
    days = mornings(case, 0, 30)
    want = trapped(case, days)
    got = trapped(replace(case, turns=turned_over), days)
    for one, other in zip(got, want, strict=True):
        np.testing.assert_array_equal(one, other)
    now = case.params, turned_over.days, turned_over.rates, turned_over.gifts
    for one, before in zip(now, kept, strict=True):
        np.testing.assert_array_equal(one, before)

"""Bees, brood and honey are neither made nor lost outside named flows, however odd the colony.

The books are closed from outside the engine: what came in and what went out, as the state
names them, must explain what is there. Parameters run to six standard deviations, skies to
any latitude and climate, and to weather that no place has; and trap-outs change course up to
four times, to any rates and with any gifts.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from colony_factory import BOX, Case, wild_turns
from hypothesis import given, settings
from hypothesis import strategies as st

from lastbee.biology.constants import Column
from lastbee.colony.founding import DIMENSIONS, Cavity, Founding, draw_colonies
from lastbee.colony.kernel import live
from lastbee.colony.layout import QUEEN_DIED, QUEEN_LEFT, Sky, State
from lastbee.colony.turns import Gift
from lastbee.planning.climate import ClimateNormals
from lastbee.planning.sky import year_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

COLONIES = 40
TRAP_DAYS = 60
NEVER_NEGATIVE = [s for s in State if s not in {State.SHUT_OUT, State.QUEEN}]


@st.composite
def climates(draw: st.DrawFn) -> ClimateNormals:
    """Any climate: months in any order, from frost all year to heat all year."""
    middle = draw(st.lists(st.floats(-40.0, 45.0), min_size=12, max_size=12))
    half = draw(st.floats(0.0, 15.0))
    wet = draw(st.lists(st.floats(0.0, 1.0), min_size=12, max_size=12))
    return ClimateNormals(
        tuple(m + half for m in middle), tuple(m - half for m in middle), tuple(wet)
    )


@st.composite
def skies_of_places(draw: st.DrawFn) -> tuple[Array, int]:
    """Give the year at any place and date, and the day of the inspection."""
    inspected = date(2025, 1, 1) + timedelta(days=draw(st.integers(0, 729)))
    latitude, longitude = draw(st.floats(-66.0, 66.0)), draw(st.floats(-180.0, 180.0))
    year = year_at(latitude, longitude, inspected, draw(climates()), TRAP_DAYS + 10)
    return year.sky, year.inspection_day


@st.composite
def skies_of_nowhere(draw: st.DrawFn) -> tuple[Array, int]:
    """Drivers drawn day by day without any order."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    day = draw(st.integers(1, 120))
    sky = rng.random((day + TRAP_DAYS + 10, len(Sky)))
    sky[:, Sky.FLIGHT_H] *= draw(st.sampled_from([0.0, 1.0, 16.0, 24.0]))
    sky[:, Sky.COLD] = np.round(sky[:, Sky.COLD])
    return sky, day


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """Colonies of any kind under any sky, with any course of the trap-out."""
    sky, day = draw(st.one_of(skies_of_places(), skies_of_nowhere()))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    spread = draw(st.sampled_from([0.5, 1.0, 2.0, 4.0]))
    z = np.clip(spread * rng.standard_normal((COLONIES, DIMENSIONS)), -6.0, 6.0)
    params = draw_colonies(z, Founding(np.ones(day), 0.5, Cavity(), BOX)).params
    params[:, Column.YOUNG_DAYS] = rng.integers(0, 15, COLONIES)
    params[::5, Column.START_HONEY] = 0.0
    params[1::5, Column.START_POLLEN] = 0.0
    params[2::5, Column.LEAK] = draw(st.sampled_from([0.0, 1.0]))
    params[3::5, Column.BOX_BEES] = 0.0
    seeds = rng.integers(0, 2**63, COLONIES, dtype=np.uint64)
    case = Case(params, seeds, sky, day, day + draw(st.integers(0, 10)))
    return replace(case, turns=wild_turns(case, draw(st.integers(0, 4)), TRAP_DAYS, rng))


def lived(case: Case) -> tuple[Array, NDArray[np.float32], Array]:
    """States before the cone, daily records, and states after the trap-out."""
    snaps, daily, final = live(
        case.params, case.seeds, case.sky, snap_days=(case.snap_day,),
        cone_day=case.cone_day, trap_days=TRAP_DAYS, turns=case.turns,
    )  # fmt: skip
    return snaps[:, 0], daily, final


def given_to(case: Case, gift: Gift) -> Array:
    """All that the turns of the days lived gave, shape (n,)."""
    assert case.turns is not None
    is_taken = case.turns.days < case.cone_day + TRAP_DAYS
    return np.asarray((case.turns.gifts[:, :, gift] * is_taken).sum(axis=1))


def assert_closed(name: str, left: Array, right: Array, turnover: Array) -> None:
    """Compare two sides of a book to rounding: a billionth of what passed through it."""
    gap = np.abs(left - right)
    assert (gap <= 1e-9 * turnover + 1e-6).all(), f"{name}: off by {gap.max():g}"


def in_nest(s: Array) -> Array:
    return s[:, State.YOUNG] + s[:, State.HOUSE] + s[:, State.FORAGERS]


def cells(s: Array) -> Array:
    return s[:, State.EGGS] + s[:, State.LARVAE] + s[:, State.CAPPED]


@given(cases())
@settings(max_examples=40)
def test_workers_are_accounted_for(case: Case) -> None:
    """Tests start + born = alive + died inside + died away + shut out, at any time."""
    snaps, _, final = lived(case)
    for s in (snaps, final):
        came = case.params[:, Column.START_BEES] + s[:, State.BORN]
        went = s[:, State.DIED_INSIDE] + s[:, State.DIED_AWAY] + s[:, State.SHUT_OUT]
        assert_closed("workers", came, in_nest(s) + went, came)


@given(cases())
@settings(max_examples=40)
def test_shut_out_bees_are_accounted_for(case: Case) -> None:
    """Tests shut out less walked back = on the wall + joined + drifted + died on the wall."""
    snaps, _, s = lived(case)
    where = s[:, State.WALL] + s[:, State.JOINED] + s[:, State.DRIFTED] + s[:, State.DIED_ON_WALL]
    assert_closed("wall", s[:, State.SHUT_OUT], where, s[:, State.JOINED] + where)
    assert not snaps[:, [State.SHUT_OUT, State.WALL, State.JOINED, State.BOX]].any()


@given(cases())
@settings(max_examples=40)
def test_box_bees_are_accounted_for(case: Case) -> None:
    """Tests set in the box + given + joined + born there = in the box + died there + gone."""
    _, _, s = lived(case)
    put_in = case.params[:, Column.BOX_BEES] + given_to(case, Gift.BOX_BEES)
    came = put_in + s[:, State.JOINED] + s[:, State.BOX_BORN]
    went = s[:, State.DIED_IN_BOX] + s[:, State.BOX_GONE]
    assert_closed("box", came, s[:, State.BOX] + went, came)
    assert_closed("put in the box", s[:, State.BOX_START], put_in, put_in)


@given(cases())
@settings(max_examples=40)
def test_box_brood_is_accounted_for(case: Case) -> None:
    """Tests laid in the box + given = in its cells + born there + lost."""
    _, _, s = lived(case)
    came = s[:, State.BOX_LAID] + given_to(case, Gift.BOX_BROOD)
    went = s[:, State.BOX_BORN] + s[:, State.BOX_BROOD_LOST]
    assert_closed("box brood", came, s[:, State.BOX_BROOD] + went, came)


@given(cases())
@settings(max_examples=40)
def test_box_honey_is_accounted_for(case: Case) -> None:
    """Tests half a gram a bee set + given + half of what was carried out + gathered.

    Against what is there + eaten + robbed.
    """
    _, _, s = lived(case)
    given = 0.5 * case.params[:, Column.BOX_BEES] + given_to(case, Gift.BOX_HONEY)
    came = given + 0.5 * s[:, State.HONEY_CARRIED] + s[:, State.BOX_HONEY_IN]
    went = s[:, State.BOX_HONEY_EATEN] + s[:, State.BOX_HONEY_ROBBED]
    assert_closed("box honey", came, s[:, State.BOX_HONEY] + went, came)


@given(cases())
@settings(max_examples=40)
def test_drones_are_accounted_for(case: Case) -> None:
    for s in lived(case)[::2]:
        born = s[:, State.DRONES_BORN]
        assert_closed("drones", born, s[:, State.DRONES] + s[:, State.DRONES_GONE], born)


@given(cases())
@settings(max_examples=40)
def test_brood_is_accounted_for(case: Case) -> None:
    """Tests laid = in cells + born + lost; what dies capped behind the cone is part of the lost."""
    for s in lived(case)[::2]:
        laid = s[:, State.WORKERS_LAID]
        assert_closed("brood", laid, cells(s) + s[:, State.BORN] + s[:, State.BROOD_LOST], laid)
        assert (s[:, State.DEAD_CAPPED] <= s[:, State.BROOD_LOST] + 1e-6 + 1e-9 * laid).all()


@given(cases())
@settings(max_examples=40)
def test_honey_is_accounted_for(case: Case) -> None:
    """Tests start + brought in = there + eaten + turned to wax + carried out."""
    for s in lived(case)[::2]:
        came = case.params[:, Column.START_HONEY] + s[:, State.HONEY_IN]
        went = s[:, State.HONEY_EATEN] + s[:, State.HONEY_TO_WAX] + s[:, State.HONEY_CARRIED]
        assert_closed("honey", came, s[:, State.HONEY] + went, came)


@given(cases())
@settings(max_examples=40)
def test_comb_is_paid_for_in_honey(case: Case) -> None:
    """Tests comb drawn x honey a dm2 = honey turned to wax, and no comb behind a cone."""
    snaps, _, final = lived(case)
    for s in (snaps, final):
        drawn = s[:, State.COMB] - case.params[:, Column.START_COMB]
        paid = s[:, State.HONEY_TO_WAX]
        assert_closed(
            "wax", drawn * case.params[:, Column.WAX_HONEY], paid, paid + s[:, State.COMB]
        )
        assert (s[:, State.COMB] <= case.params[:, Column.CAVITY_COMB] * (1.0 + 1e-12)).all()


@given(cases())
@settings(max_examples=40)
def test_dead_in_the_cavity_are_those_who_died_inside_behind_the_cone(case: Case) -> None:
    at_cone = live(case.params, case.seeds, case.sky, snap_days=(case.cone_day,))[0][:, 0]
    _, _, final = lived(case)
    died = final[:, State.DIED_INSIDE] - at_cone[:, State.DIED_INSIDE]
    dead = final[:, State.DEAD_IN_CAVITY]
    assert_closed("dead inside", died, dead, final[:, State.DIED_INSIDE])
    behind = in_nest(at_cone) + at_cone[:, State.DRONES]
    assert_closed("bees at the cone", final[:, State.CONE_BEES], behind, behind)
    brood = cells(at_cone) + at_cone[:, State.DRONE_BROOD]
    assert_closed("brood at the cone", final[:, State.CONE_BROOD], brood, brood)


@given(cases())
@settings(max_examples=60)
def test_nothing_is_negative_or_not_a_number(case: Case) -> None:
    """Tests every state and record; rounding may leave a millionth of a bee or gram below 0."""
    snaps, daily, final = lived(case)
    for values in (snaps, daily, final):
        assert np.isfinite(values).all()
    for s in (snaps, final):
        lowest = s[:, NEVER_NEGATIVE].min(axis=0)
        names = [n.name for n, low in zip(NEVER_NEGATIVE, lowest, strict=True) if low < -1e-6]
        assert not names
        assert np.isin(s[:, State.QUEEN], [1.0, QUEEN_LEFT, QUEEN_DIED]).all()
        memory = s[:, State.INCOME_MEMORY]
        assert ((memory >= 0.0) & (memory <= 1.0 + 1e-12)).all()
    assert daily.min() >= -1e-6


@given(cases())
@settings(max_examples=20)
def test_comb_never_holds_more_than_its_cells(case: Case) -> None:
    """Tests brood, honey and pollen against cells, but for what swarm bees hold in their crops.

    801 cells a dm2, 0.387 g of honey and 0.23 g of pollen a cell; brood laid in half the
    free cells of a day and honey stored in all of them can cross by one day's work.
    """
    snaps, _, _ = lived(case)
    full = snaps[:, State.COMB] * 801.0
    used = (
        cells(snaps) + snaps[:, State.DRONE_BROOD]
        + snaps[:, State.HONEY] / 0.387 + snaps[:, State.POLLEN] / 0.23
    )  # fmt: skip
    in_crops = 0.042 * in_nest(snaps) / 0.387
    days_work = snaps[:, State.LAID_TODAY] + case.params[:, Column.LAY_MAX]
    start = case.params[:, Column.START_POLLEN] / 0.23 + case.params[:, Column.START_HONEY] / 0.387
    assert (used <= full + in_crops + days_work + start + LEAST_POLLEN_CELLS).all()


# Pollen is held even where there is no comb yet: 250 g in cells of 0.23 g.
LEAST_POLLEN_CELLS = 250.0 / 0.23

"""What the founding gives a trap-out: priors of its newer columns, and what each of them moves."""

from __future__ import annotations

import functools
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from colony_factory import BOX, Case, season, swarms
from scipy import stats
from scipy.special import logit

from lastbee.biology.constants import PARAMETERS, Column
from lastbee.colony.founding import DIMENSIONS, Cavity, Founding, draw_colonies
from lastbee.colony.kernel import live
from lastbee.colony.layout import Daily, Sky, State
from lastbee.colony.turns import TURNED

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

ARRIVED = date(2026, 5, 20)
TRAP_DAYS = 80
NEWER = (Column.TRAPPED_PACE, Column.BODY_PROTEIN, Column.WARMING)
FALSE_ALARM = 1e-4


@functools.cache
def swarm_case() -> Case:
    """Swarms of 20 May, five weeks old when the cone goes on."""
    return swarms(season(ARRIVED + timedelta(days=35), TRAP_DAYS + 5), ARRIVED, 300, seed=97)


def with_column(column: Column, value: float) -> Case:
    params = swarm_case().params.copy()
    params[:, column] = value
    return replace(swarm_case(), params=params)


def free(case: Case, sky: Array | None = None) -> Array:
    """States on the day of the cone, before it goes on."""
    sky = case.sky if sky is None else sky
    return live(case.params, case.seeds, sky, snap_days=(case.cone_day,))[0][:, 0]


def trapped(case: Case) -> tuple[Array, Array]:
    """Bees and brood on each evening behind the cone, and the final states."""
    _, records, final = live(
        case.params, case.seeds, case.sky, snap_days=(case.cone_day,), cone_day=case.cone_day,
        trap_days=TRAP_DAYS,
    )  # fmt: skip
    return records[:, :, Daily.NEST_BEES] + records[:, :, Daily.BROOD], final


@pytest.mark.parametrize("column", NEWER, ids=lambda c: c.name)
def test_each_prior_is_the_one_in_the_table(column: Column) -> None:
    """Tests draws against the normal law on the scale of their kind, by Kolmogorov and Smirnov."""
    rng = np.random.default_rng(98)
    founding = Founding(np.ones(60), 0.5, Cavity(), BOX)
    drawn = draw_colonies(rng.standard_normal((3000, DIMENSIONS)), founding).params[:, column]
    parameter = PARAMETERS[column]
    scale = {"lognormal": np.log, "logit": logit}[parameter.kind]
    standard = (scale(drawn) - scale(parameter.median)) / parameter.spread
    assert stats.kstest(standard, "norm").pvalue > FALSE_ALARM


def test_what_turns_change_is_drawn_or_is_as_nothing_troubles_it() -> None:
    """Tests that every turned rate has a kind, and the structural ones their sound values."""
    fixed = {c for c in TURNED if PARAMETERS[c].kind == "structural"}
    assert fixed == {
        Column.PASSABLE, Column.BOX_LEAVE, Column.BOX_ROBBED, Column.BOX_LAYING_DELAY,
    }  # fmt: skip
    params = swarm_case().params
    assert (params[:, Column.PASSABLE] == 1.0).all()
    assert not params[:, [Column.BOX_LEAVE, Column.BOX_ROBBED]].any()
    assert (params[:, Column.BOX_LAYING_DELAY] == BOX.laying_delay_days).all()


@pytest.mark.parametrize("column", [Column.TRAPPED_PACE, Column.BODY_PROTEIN], ids=lambda c: c.name)
def test_what_is_of_the_cone_is_not_felt_before_it(column: Column) -> None:
    low, high = (free(with_column(column, value)) for value in (0.1, 0.9))
    np.testing.assert_array_equal(low, high)


def test_a_faster_pace_empties_no_nest_more_slowly() -> None:
    """Tests bees left after three weeks at half, usual and double recruitment behind the cone."""
    left = [trapped(with_column(Column.TRAPPED_PACE, pace))[0][:, 21] for pace in (0.5, 1.0, 2.0)]
    for slow, fast in pairwise(left):
        assert np.median(fast) < 0.9 * np.median(slow)
        assert (fast <= slow + 1e-6).mean() > 0.85


def test_bodies_spend_protein_on_brood_where_there_is_no_pollen() -> None:
    """Tests brood that emerges behind the cone: bees fed no pollen rear some (Haydak 1935, from
    memory), and the more, the greater the share."""
    case = with_column(Column.POLLEN_INCOME, 0.0)
    born = []
    for share in (0.0, 0.35, 1.0):
        params = case.params.copy()
        params[:, Column.BODY_PROTEIN] = share
        params[:, Column.LAY_COUPLING] = 0.0
        final = trapped(replace(case, params=params))[1]
        before = free(replace(case, params=params))
        born.append(final[:, State.BORN] - before[:, State.BORN])
    for less, more in pairwise(born):
        assert (more >= less - 1e-6).mean() > 0.9
        assert np.median(more) > np.median(less)


def test_a_nest_that_needs_more_bees_for_warmth_loses_brood_in_the_cold_and_only_there() -> None:
    """Tests brood lost up to the cone on cold days, and the same days without the cold."""
    few, many = (with_column(Column.WARMING, bees) for bees in (50.0, 5000.0))
    cold, warm = swarm_case().sky.copy(), swarm_case().sky.copy()
    cold[:, Sky.COLD], warm[:, Sky.COLD] = 1.0, 0.0
    np.testing.assert_array_equal(free(few, warm), free(many, warm))
    lost, lost_more = (
        free(case, cold)[:, State.BROOD_LOST] / free(case, cold)[:, State.WORKERS_LAID]
        for case in (few, many)
    )
    laid = np.isfinite(lost) & np.isfinite(lost_more)
    assert laid.mean() > 0.9
    assert (lost_more[laid] >= lost[laid] - 1e-9).all()
    assert np.median(lost_more[laid]) > np.median(lost[laid]) + 0.1

"""What a running trap-out has before it, seen from today: going on with it, or giving it up.

What is past is past: shares and days are of the bees that are still behind the cone or on
the wall today. Giving it up is told as a cone that every bee passes both ways, with nothing
wrong any more; combs grow no further then, so that honey is guessed too low where a young
nest would go on building.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.constants import Column
from lastbee.colony.kernel import live
from lastbee.colony.layout import NO_CONE, State
from lastbee.colony.turns import TURNED, Turns
from lastbee.evidence.nest import nest_from
from lastbee.forecast.trapout import DEAD_BEE_G, DEAD_CELL_G, TRAP_DAYS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest
    from lastbee.forecast.runs import Runs
    from lastbee.forecast.trapout import TrapOut

    Array = NDArray[np.float64]

# What the cone does once it is off: nobody is shut out, all come home, brood is reared.
_CONE_OFF = {
    Column.LEAK: 1.0,
    Column.REENTRY: 1.0,
    Column.PASSABLE: 1.0,
    Column.FLY: 0.0,
    Column.DESERT: 0.0,
    Column.LAY_COUPLING: 0.0,
    Column.TRAPPED_PACE: 1.0,
    Column.BODY_PROTEIN: 0.0,
}


@dataclass(frozen=True, slots=True)
class FromToday:
    """n running trap-outs as of today.

    `nest` is what is behind the cone this morning; `going_on` the trap-out from today on,
    with fewer days than TRAP_DAYS; `honey_if_left_g` (n,) the honey at the end of the
    forecast if the cone is taken off today and the bees are left alone.
    """

    nest: Nest
    going_on: TrapOut
    honey_if_left_g: Array


def from_today(runs: Runs, sky: Array, cone_day: int, today: int) -> FromToday:
    """See what running trap-outs have before them.

    Parameters
    ----------
    runs
        Running trap-outs, equally weighted, as things stand.
    sky
        Daily drivers, reaching TRAP_DAYS past the cone.
    cone_day, today
        Day indices of the cone's first day and of today.

    Returns
    -------
    What lies ahead.

    Raises
    ------
    ValueError
        If `today` is not one of the TRAP_DAYS days from the cone's first.
    """
    if not 0 <= today - cone_day < TRAP_DAYS:
        raise ValueError(f"day {today} is not within {TRAP_DAYS} days of the cone on {cone_day}")
    params, turns, end = runs.colonies.params, runs.courses.turns, cone_day + TRAP_DAYS
    states, _, _ = live(
        params, runs.noise, sky, snap_days=(today, end), cone_day=cone_day, turns=turns
    )
    left_alone, _, _ = live(
        params, runs.noise, sky, snap_days=(end,), cone_day=cone_day, turns=_cone_off(runs, today)
    )
    trap = _since(runs.followed(sky, cone_day), today - cone_day, states[:, 0], states[:, 1])
    return FromToday(
        nest_from(states[:, 0], runs.colonies, today), trap, left_alone[:, 0, State.HONEY]
    )


def _cone_off(runs: Runs, day: int) -> Turns:
    """Courses that end on the morning of a day with the cone taken off."""
    turns, rates = runs.courses.turns, runs.courses.sound.copy()
    for column, value in _CONE_OFF.items():
        rates[:, TURNED.index(column)] = value
    days = np.column_stack(
        [np.where(turns.days < day, turns.days, NO_CONE), np.full(runs.size, day)]
    )
    order = np.argsort(days, axis=1, kind="stable")
    all_rates = np.concatenate([turns.rates, rates[:, None]], axis=1)
    gifts = np.concatenate([turns.gifts, np.zeros_like(turns.gifts[:, :1])], axis=1)
    return Turns(
        np.take_along_axis(days, order, axis=1),
        np.take_along_axis(all_rates, order[:, :, None], axis=1),
        np.take_along_axis(gifts, order[:, :, None], axis=1),
    )


def _since(trap: TrapOut, gone: int, then: Array, final: Array) -> TrapOut:
    """Cut the days that are gone off a trap-out; dead brood and bees of then are still there."""
    ahead = trap.records.shape[1] - gone
    days = {
        name: np.clip(getattr(trap, name) - gone, 0, ahead)
        for name in ("empty_day", "no_laying_day", "no_brood_day")
    }
    return replace(
        trap,
        records=trap.records[:, gone:],
        expected_left=trap.expected_left[:, gone:],
        dead_brood_g=DEAD_CELL_G * final[:, State.DEAD_CAPPED],
        dead_bees_g=DEAD_BEE_G * final[:, State.DEAD_IN_CAVITY],
        joined_share=_kept_share(then, final, trap.expected_left[:, -1]),
        empty_by=trap.empty_by[gone:],
        last_bee_by=trap.last_bee_by[gone:],
        **days,
    )


def _kept_share(then: Array, final: Array, staying: Array) -> Array:
    """Bees that go into the box from then on and stay, out of all that have to go."""
    gain = final - then
    strayed = gain[:, State.BOX_GONE]
    kept = np.maximum(gain[:, State.JOINED] - strayed, 0.0)
    lost = gain[:, [State.DRIFTED, State.DIED_ON_WALL, State.DEAD_IN_CAVITY]].sum(axis=1)
    lost += np.minimum(strayed, gain[:, State.JOINED]) + final[:, State.WALL] + staying
    return np.asarray(kept / np.maximum(kept + lost, 1.0))

"""What becomes of running trap-outs if their trouble is put right on one day or another.

A visit changes a trap-out's course in one way: trouble that is going on may end. With one
trouble at a time, a trap-out is then settled by the day on which its trouble ends, whatever
visits led to it. `foresee` follows every trap-out once for each of a row of such days, and
any schedule of visits can be read off that table: same colonies, same weather, no further
simulation and no chance between one schedule and another.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.course import Trouble, put_right_chance
from lastbee.colony.kernel import live
from lastbee.colony.layout import NO_CONE, Daily, State
from lastbee.forecast.trapout import EMPTY_BEES, TRAP_DAYS, first_below

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.forecast.runs import Runs

    Array = NDArray[np.float64]
    Days = NDArray[np.int64]

# Days after the last visit on which trouble ends in simulation; straight lines join them.
ENDING_DAYS = (1, 3, 5, 8, 11, 15, 19, 24, 30, 37, 45, 55, 70, 90)
# However long ago the cone was set, so much is looked ahead.
LEAST_AHEAD_DAYS = 28
# So few are easily missed at the wall, by eye and by ear: assumed.
NEARLY_EMPTY_BEES = 300
# Only the box of a trap-out that is empty can still lose bees, and only to these.
BOX_TROUBLES = (Trouble.ROBBED, Trouble.BOX_LEFT)


@dataclass(frozen=True, slots=True)
class Prospects:
    """What becomes of n running trap-outs, from the day after `since` to `until`.

    All days are day indices. `ends` (m,) holds days of visits that put trouble right, from
    the next morning on; the last one, `until` + 1, stands for never. `trouble` and `onset`
    have shape (n,), an onset of NO_CONE where trouble never comes or is over; `chance` (n,)
    that a visit ends trouble which is going on. Of shape (n, m) are `empty`, the day from
    which it is empty, and `nearly`, from which at most NEARLY_EMPTY_BEES bees and brood are
    left, both `until` + 1 where not by then; and `lost`, the share of bees and brood that
    reaches no box.
    """

    since: int
    until: int
    ends: Days
    trouble: Days
    onset: Days
    chance: Array
    empty: Array
    nearly: Array
    lost: Array

    def ended_on(self, days: Days) -> tuple[Array, Array, Array]:
        """`empty`, `nearly` and `lost` with trouble put right on each of k days, shapes (n, k)."""
        days = np.minimum(days, self.until + 1)
        right = np.clip(np.searchsorted(self.ends, days), 1, len(self.ends) - 1)
        before, after = self.ends[right - 1], self.ends[right]
        share = (days - before) / (after - before)

        def between(table: Array) -> Array:
            return (1.0 - share) * table[:, right - 1] + share * table[:, right]

        return between(self.empty), between(self.nearly), between(self.lost)


def foresee(
    runs: Runs,
    sky: Array,
    cone_day: int,
    since: int,
    ending_days: tuple[int, ...] = ENDING_DAYS,
) -> Prospects:
    """Follow running trap-outs through every ending of their trouble.

    Parameters
    ----------
    runs
        Trap-outs, equally weighted; their troubles may also begin later.
    sky
        Daily drivers of the site.
    cone_day
        Day index of the cone's first day.
    since
        Day index of the last visit, that of the cone before the first one. What was done
        then may count from the next morning on.
    ending_days
        Days after `since` on which trouble ends in simulation, from 1 on and in order.

    Returns
    -------
    The prospects, for TRAP_DAYS days from the cone's first and LEAST_AHEAD_DAYS from
    `since`, as far as `sky` reaches.

    Raises
    ------
    ValueError
        If `sky` does not reach two days beyond `since`, or `since` is before the cone.
    """
    until = min(max(cone_day + TRAP_DAYS, since + 1 + LEAST_AHEAD_DAYS), len(sky)) - 1
    if not cone_day <= since < until - 1:
        raise ValueError(f"the last visit, day {since}, must lie in {cone_day} to {until - 2}")
    ends = np.array([*(since + d for d in ending_days if since + d <= until), until + 1])
    courses = runs.courses
    is_open = (courses.mended == NO_CONE) & (courses.onset <= until)
    onset = np.where(is_open, courses.onset, NO_CONE)
    chances = np.array([put_right_chance(trouble) for trouble in Trouble])
    tables = _tables(runs, sky, cone_day, onset, ends)
    return Prospects(since, until, ends, courses.trouble, onset, chances[courses.trouble], *tables)


def _tables(runs: Runs, sky: Array, cone_day: int, onset: Days, ends: Days) -> Array:
    """Find `empty`, `nearly` and `lost`, shape (3, n, m), simulating what an ending can change."""
    until = int(ends[-1]) - 1
    sound = _lived(runs, sky, cone_day, int(ends[0]), until)
    never = _lived(runs, sky, cone_day, int(ends[-1]), until)
    is_ill = onset[:, None] <= ends
    tables = np.where(is_ill, never[:, :, None], sound[:, :, None])
    tables[:, :, 0] = sound
    is_box = np.isin(runs.courses.trouble, BOX_TROUBLES)
    for j in range(1, len(ends) - 1):
        moved = np.flatnonzero(is_ill[:, j] & (is_box | (never[0] > ends[j - 1])))
        if len(moved):
            part = runs.take(moved)
            tables[:, moved, j] = _lived(part, sky, cone_day, int(ends[j]), until)
    return tables


def _lived(runs: Runs, sky: Array, cone_day: int, end: int, until: int) -> Array:
    """`empty`, `nearly` and `lost` with trouble put right on day `end`, shape (3, n)."""
    ended = replace(runs, courses=runs.courses.ended(end + 1))
    _, records, final = live(
        ended.colonies.params, ended.noise, sky,
        snap_days=(cone_day,), cone_day=cone_day, trap_days=until + 1 - cone_day,
        turns=ended.courses.turns,
    )  # fmt: skip
    left = records[:, :, Daily.NEST_BEES] + records[:, :, Daily.BROOD]
    empty, nearly = (
        cone_day + first_below(left, most + 1.0) for most in (EMPTY_BEES, NEARLY_EMPTY_BEES)
    )
    dead = final[:, [State.DIED_ON_WALL, State.DEAD_IN_CAVITY, State.DEAD_CAPPED]].sum(axis=1)
    strayed = final[:, State.DRIFTED] + final[:, State.BOX_GONE]
    lost = dead + strayed
    kept = np.maximum(final[:, State.JOINED] - final[:, State.BOX_GONE], 0.0)
    others = final[:, State.WALL] + left[:, -1]
    return np.stack([empty, nearly, lost / np.maximum(lost + kept + others, 1.0)])

"""How a trap-out changes course: what goes wrong, what is put right, what is given.

A trap-out runs on the rates that its colony was drawn with until a turn: on some morning
rates of cone, nest or box take new values, and things may be given or taken once. Turns
are plain arrays, one row a colony, so that the kernel needs no notion of troubles or
repairs; `lastbee.colony.course` decides which turns a trouble or a deed makes.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.constants import Column
from lastbee.colony.layout import NO_CONE

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Parameters that a turn may change, in the order of `Turns.rates`.
TURNED: tuple[Column, ...] = (
    Column.LEAK, Column.REENTRY, Column.PASSABLE, Column.FLY, Column.JOIN, Column.DESERT,
    Column.LAY_COUPLING, Column.RECRUIT_MIN, Column.RECRUIT_HUNGER, Column.BOX_LEAVE,
    Column.BOX_ROBBED, Column.BOX_LAYING_DELAY, Column.TRAPPED_PACE, Column.BODY_PROTEIN,
)  # fmt: skip


class Gift(IntEnum):
    """What happens once on the morning of a turn; column of `Turns.gifts`."""

    BOX_BEES = 0  # bees put into the box
    BOX_BROOD = 1  # cells of open brood put into the box
    BOX_HONEY = 2  # honey, or sugar's worth of it, put into the box [g]
    WALL_BOXED = 3  # share of the bees on the wall that is brushed into the box
    BOX_GONE = 4  # share of the box's bees that leaves for good


@dataclass(frozen=True, slots=True)
class Turns:
    """Turns of n colonies, at most m each, in order of day.

    `days` (n, m) holds the day index of each turn, never falling along a row, NO_CONE where
    there is none; `rates` (n, m, len(TURNED)) the parameters from that morning on; `gifts`
    (n, m, len(Gift)).
    """

    days: NDArray[np.int64]
    rates: NDArray[np.float64]
    gifts: NDArray[np.float64]

    @classmethod
    def none(cls, colonies: int) -> Turns:
        """No turn for any of so many colonies."""
        return cls(
            np.full((colonies, 0), NO_CONE, dtype=np.int64),
            np.zeros((colonies, 0, len(TURNED))),
            np.zeros((colonies, 0, len(Gift))),
        )

    def given(self, first: int, last: int) -> NDArray[np.float64]:
        """What was given on the days `first` to `last`, both included, shape (n, len(Gift))."""
        is_then = (self.days >= first) & (self.days <= last)
        return np.asarray((self.gifts * is_then[:, :, None]).sum(axis=1))

    def in_force(self, params: NDArray[np.float64], day: int) -> NDArray[np.float64]:
        """Parameters as they stand after the turns of the morning of `day`.

        Parameters
        ----------
        params
            Parameters that the colonies began with, shape (n, len(Column)).
        day
            Day index.

        Returns
        -------
        A copy of `params` with the rates of the latest turn, shape (n, len(Column)).
        """
        now = params.copy()
        taken = (self.days <= day).sum(axis=1)
        turned = np.flatnonzero(taken)
        now[turned[:, None], TURNED] = self.rates[turned, taken[turned] - 1]
        return now

"""A schedule of visits, and how running trap-outs go on under it.

Each trap-out is settled by the visit that ends its trouble and by the one that closes it.
Which visit ends the trouble is a matter of chance; instead of drawing it, everything is held
for each visit that may, beside its chance, and averaged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from lastbee.forecast.clearance import APART_DAYS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.forecast.prospects import Prospects

    Array = NDArray[np.float64]
    Days = NDArray[np.int64]
    Suited = NDArray[np.bool_]

# What one visit failed to see or mend, another soon after fails at as well, for the same
# reasons; this many days on, at a third of the chances there were: assumed.
SAME_REASONS_DAYS = 3.0


@dataclass(frozen=True, slots=True)
class Schedule:
    """Visits on `days`, day indices in order, and from then on every so many days."""

    days: tuple[int, ...]
    then_every_days: int

    def visits(self, suited: Suited, until: int) -> Days:
        """Days of all visits, the last one on or after day `until`, shape (k,).

        A visit waits for the next day that is `suited`, shape (days,); beyond its end every
        day is.
        """
        found: list[int] = []
        wanted = iter(self.days)
        while not found or found[-1] < until:
            rhythm = found[-1] + self.then_every_days if found else 0
            day = _suited_from(next(wanted, rhythm), suited)
            if not found or day > found[-1]:
                found.append(day)
        return np.array(found)


def _suited_from(day: int, suited: Suited) -> int:
    """Return the first suited day from `day` on."""
    return day + int(np.argmax(np.append(suited[day:], True)))


@dataclass(frozen=True, slots=True)
class Followed:
    """How n trap-outs go on; shapes (n, k + 1), a column for the visit that ends trouble.

    The last column is that none does. `chance` is that of each column, `made` the visits
    to the last one.
    """

    chance: Array
    made: Days
    empty: Array
    idle: Array
    troubled: Array
    lost: Array
    is_closed: NDArray[np.bool_]

    def mean(self, each: NDArray[Any]) -> Array:
        """Average over which visit ends the trouble, shape (n,)."""
        return np.asarray((self.chance * each).sum(axis=1))


def follow(schedule: Schedule, prospects: Prospects, suited: Suited, confidence: float) -> Followed:
    """Follow every trap-out through a schedule."""
    since, until = prospects.since, prospects.until
    visits = schedule.visits(suited, until)
    visits = visits[visits > since]
    endings = np.append(visits, until + 1)
    empty, nearly, lost = prospects.ended_on(endings)
    chance = _ending_chances(prospects, visits)
    # What is seen there moves the forecast either way: it must be surer than is asked.
    surety = _surety(visits, chance, empty, nearly)
    closing = np.minimum(
        _first(visits, empty, surety >= 0.5 * (1.0 + confidence)),
        _first(visits, np.maximum(empty, _looked(since, visits, nearly) + APART_DAYS)),
    )
    closing = np.where(empty <= until, closing, len(visits))
    is_closed = closing < len(visits)
    # Closing ends whatever trouble there still is.
    stop = np.minimum(np.arange(len(endings)), closing)
    empty = np.clip(empty, since, until)
    onset = np.clip(prospects.onset, since, until)[:, None]
    return Followed(
        chance=chance,
        made=np.where(is_closed, closing + 1, (visits <= until).sum()),
        empty=empty,
        idle=np.where(is_closed, endings[closing], until) - empty,
        troubled=np.maximum(np.minimum(endings[stop], until) - onset, 0),
        lost=np.take_along_axis(lost, stop, axis=1),
        is_closed=is_closed,
    )


def _first(visits: Days, wanted: Array, fit: Suited | None = None) -> Days:
    """Index of the first visit, of those that are fit, on or after a wanted day; k if none."""
    index = np.arange(len(visits)) if fit is None else np.flatnonzero(fit)
    return np.append(index, len(visits))[np.searchsorted(visits[index], wanted)]


def _looked(since: int, visits: Days, nearly: Array) -> Array:
    """Day of the first look, the last visit made among them, at which it looks empty."""
    looks = np.append(since, visits)
    return np.append(looks, np.inf)[np.searchsorted(looks, nearly)]


def _surety(visits: Days, chance: Array, empty: Array, nearly: Array) -> Array:
    """Of the trap-outs that look empty on each visit, the share that is, shape (k,)."""
    day = visits[:, None, None]
    are = (chance * (empty <= day)).sum(axis=(1, 2))
    look = (chance * (nearly <= day)).sum(axis=(1, 2))
    return np.asarray(are / np.maximum(look, 1e-12))


def _ending_chances(prospects: Prospects, visits: Days) -> Array:
    """Chance that trouble ends on each visit, and last that it never does, shape (n, k + 1)."""
    onset = prospects.onset[:, None]
    earlier = np.append(prospects.since, visits[:-1])
    fresh = np.where(onset > earlier, 1.0, -np.expm1((earlier - visits) / SAME_REASONS_DAYS))
    chance = np.where(onset <= visits, prospects.chance[:, None] * fresh, 0.0)
    open_still = np.cumprod(np.column_stack([np.ones(len(onset)), 1.0 - chance]), axis=1)
    return np.column_stack([chance * open_still[:, :-1], open_still[:, -1]])

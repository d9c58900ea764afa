"""Days along a line: even where much happens, folded where nothing did.

A call in May, a cone in July and a warranty of a year do not fit one even scale on the width
of a hand. Long stretches without an event are folded to one short width each, and a fold is
drawn as a break, so that nobody reads it as time.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

# A stretch without an event that is longer than this is folded.
FOLD_OVER_DAYS = 14
# A fold is as wide as this share of all that is not folded, but no narrower than these days.
_FOLD_SHARE, _FOLD_LEAST_DAYS = 0.13, 3.0


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days `first` to `last`, drawn from `left` to `right`, both from 0 to 1 of the line."""

    first: date
    last: date
    left: float
    right: float
    is_folded: bool

    @property
    def days(self) -> int:
        """Its length in days."""
        return (self.last - self.first).days


@dataclass(frozen=True, slots=True)
class DayScale:
    """Stretches one after the other, from the first day of a line to its last."""

    stretches: tuple[Stretch, ...]

    @property
    def first(self) -> date:
        """First day on the line."""
        return self.stretches[0].first

    @property
    def last(self) -> date:
        """Last day on the line."""
        return self.stretches[-1].last

    @property
    def folds(self) -> tuple[Stretch, ...]:
        """The stretches that are folded."""
        return tuple(one for one in self.stretches if one.is_folded)

    def at(self, day: date) -> float:
        """Place of a day from 0 to 1; days beyond an end are put at that end."""
        for one in self.stretches:
            if day <= one.last:
                since = max(0, (day - one.first).days)
                return one.left + (one.right - one.left) * since / one.days
        return 1.0

    def ticks(self, most: int) -> tuple[date, ...]:
        """Mondays on the even stretches, so many weeks apart that there are `most` or fewer."""
        even = [one for one in self.stretches if not one.is_folded]
        mondays = [day for one in even for day in _mondays(one)]
        share = sum(one.right - one.left for one in even)
        weeks = 1
        while -(-len(mondays) // weeks) > max(1, int(most * share)):
            weeks += 1
        return tuple(day for day in mondays if (day.toordinal() // 7) % weeks == 0)


def day_scale(events: Iterable[date], even: tuple[date, date] | None = None) -> DayScale:
    """Lay out a line that holds all events.

    Parameters
    ----------
    events
        Days on which something happened, happens or is due; at least one.
    even
        First and last day of a forecast, within which nothing is folded.
    """
    anchors = sorted({*events, *(even or ())})
    if len(anchors) == 1:
        anchors = [anchors[0], anchors[0] + timedelta(days=1)]
    pairs = list(itertools.pairwise(anchors))
    folded = [_is_folded(first, last, even) for first, last in pairs]
    unfolded_days = sum(
        (last - first).days for (first, last), fold in zip(pairs, folded, strict=True) if not fold
    )
    fold_width = max(_FOLD_LEAST_DAYS, _FOLD_SHARE * unfolded_days)
    widths = [
        fold_width if fold else float((last - first).days)
        for (first, last), fold in zip(pairs, folded, strict=True)
    ]
    whole, left = sum(widths), 0.0
    found = []
    for (first, last), fold, width in zip(pairs, folded, widths, strict=True):
        right = left + width / whole
        found.append(Stretch(first, last, left, right, fold))
        left = right
    return DayScale(tuple(found))


def _is_folded(first: date, last: date, even: tuple[date, date] | None) -> bool:
    if even is not None and even[0] <= first and last <= even[1]:
        return False
    return (last - first).days > FOLD_OVER_DAYS


def _mondays(one: Stretch) -> list[date]:
    first = one.first + timedelta(days=-one.first.weekday() % 7)
    return [first + timedelta(days=n) for n in range(0, (one.last - first).days + 1, 7)]

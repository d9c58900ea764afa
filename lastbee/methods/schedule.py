"""When to come back: the date that costs least, over what may become of the trap-out.

    cost = visits + w_week weeks until closed + w_bees share lost + w_open [never closed]

in visits' worth of trouble, with the firm's weights. A visit finds trouble that is going on
and puts it right with a chance. It closes a trap-out that is empty if that can be known: it
looked empty at a visit a week before, or nearly all that look so by then are. A trap-out
that is not closed as far as is looked ahead must be decided anew, which is taken to cost
what an opening costs. `next_visit` weighs every date on which bees fly, each with the best
of a few ways to go on after it, and says what makes sooner and later dates dearer.

Hidden trouble and visits that each cost something are the inspection problem of Barlow,
Hunter & Proschan, "Optimum checking procedures", J. SIAM 11(4), 1078-1095, 1963.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import StrEnum
from typing import TYPE_CHECKING, Any

import numpy as np

from lastbee.biology.constants import WET_DAY_FLIGHT_SHARE
from lastbee.colony.course import Trouble
from lastbee.colony.layout import Sky
from lastbee.methods.rules import LEAST_FLIGHT_H
from lastbee.methods.visits import Schedule, follow

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from numpy.typing import NDArray

    from lastbee.forecast.prospects import Prospects
    from lastbee.methods.loss import Weights

    Array = NDArray[np.float64]
    Suited = NDArray[np.bool_]

# The next visit lies within four weeks, unless bees do not fly: common practice.
LATEST_DAYS = 28
# All ways to go on are tried on one date in so many, the best of them on those between.
COARSE_DAYS = 3
# Dates are compared with what lies this far to either side.
BESIDE_DAYS = 7
# Closer than this no forecast tells two dates apart. A sooner one is then better: a visit
# also sees what no model knows, and helps to choose the next one. Assumed.
TIE_VISITS = 0.5


class Cause(StrEnum):
    """What makes one date dearer than another."""

    VISITS = "visits"
    IDLE = "idle"
    TROUBLE = "trouble"


@dataclass(frozen=True, slots=True)
class Then:
    """A way to go on after the next visit.

    The second visit is made on the day on which it is empty with probability `likely`, or
    after `every_days` if that is None; all others every so many days.
    """

    likely: float | None
    every_days: int

    def after(self, day: int, prospects: Prospects) -> Schedule:
        """The schedule that goes on so after a visit on `day`."""
        if self.likely is None:
            return Schedule((day,), self.every_days)
        empty, _, _ = prospects.ended_on(np.array([day]))
        second = int(np.ceil(np.quantile(empty, self.likely)))
        return Schedule((day, max(second, day + 1)), self.every_days)


def ways_on(confidence: float) -> tuple[Then, ...]:
    """Ways to go on that are tried; a week is the trade's routine."""
    return (
        *(Then(None, days) for days in (7, 10, 14, 21)),
        *(Then(likely, 10) for likely in (0.35, 0.5, 0.65)),
        *(Then(likely, 7) for likely in (0.8, confidence)),
    )


@dataclass(frozen=True, slots=True)
class Cost:
    """Expected cost by cause, in visits' worth of trouble.

    `idle` is weeks that an empty cavity waits for its last visit; `trouble_weeks` and
    `trouble_bees` what trouble costs that a visit tomorrow could end, in time (a trap-out
    that must be decided anew included) and in bees; `unavoidable` is the rest, the same
    whatever the schedule. Trouble can save bees: those that a leak lets home do not die.
    """

    visits: float
    idle: float
    trouble_weeks: float
    trouble_bees: float
    unavoidable: float

    @property
    def total(self) -> float:
        """All of it."""
        return float(sum(getattr(self, f.name) for f in fields(self)))

    def of(self, cause: Cause) -> float:
        """The part that a cause has in it."""
        if cause == Cause.TROUBLE:
            return self.trouble_weeks + self.trouble_bees
        return self.visits if cause == Cause.VISITS else self.idle


@dataclass(frozen=True, slots=True)
class Outlook:
    """What to expect of a schedule: its cost, and means over the trap-outs.

    `days_idle` from empty to closed, `days_troubled` with trouble that a visit has not
    ended yet, `share_lost` of bees and brood, `unclosed` the chance that it is not closed
    as far as is looked ahead. `trouble_costs` has the cost of each `Trouble`, shape
    (len(Trouble),).
    """

    schedule: Schedule
    cost: Cost
    days_idle: float
    days_troubled: float
    share_lost: float
    unclosed: float
    trouble_costs: Array


@dataclass(frozen=True, slots=True)
class Why:
    """What makes sooner and later dates dearer; None where nothing does or there are none.

    `trouble` is the one whose cost grows most with waiting.
    """

    sooner: Cause | None
    later: Cause | None
    trouble: Trouble | None


@dataclass(frozen=True, slots=True)
class NextVisit:
    """The day index to come back on, and every date weighed, in order, each at its best."""

    day: int
    outlooks: tuple[Outlook, ...]
    why: Why

    @property
    def best(self) -> Outlook:
        """The outlook of the chosen day."""
        return next(o for o in self.outlooks if o.schedule.days[0] == self.day)


def suited_days(sky: Array) -> Suited:
    """Whether enough flight is expected on each day for a visit to tell anything.

    Parameters
    ----------
    sky
        Daily drivers, shape (days, len(Sky)).

    Returns
    -------
    Shape (days,).
    """
    flown = 1.0 - sky[:, Sky.WET] * (1.0 - WET_DAY_FLIGHT_SHARE)
    return np.asarray(sky[:, Sky.FLIGHT_H] * flown >= LEAST_FLIGHT_H)


def expected_cost(
    schedule: Schedule, prospects: Prospects, suited: Suited, weights: Weights, confidence: float
) -> Outlook:
    """What a schedule of visits costs on average.

    Parameters
    ----------
    schedule
        The visits; those that are not after the last visit are passed over.
    prospects
        What becomes of the trap-outs.
    suited
        Days fit for a visit, by day index.
    weights
        The firm's weights.
    confidence
        Probability of being empty, 0 to 1, that closing takes.

    Returns
    -------
    The outlook. Whether each visit ends the trouble is averaged over, not drawn.
    """
    course = follow(schedule, prospects, suited, confidence)
    waited = weights.week * (course.mean(course.empty) - prospects.since) / 7.0
    anew = weights.opening * course.mean(1.0 - course.is_closed)
    dead = weights.bees_lost * course.mean(course.lost)
    least_time, least_dead = _unavoidable(prospects, weights)
    by_time, by_bees = waited + anew - least_time, dead - least_dead
    by_trouble = np.bincount(prospects.trouble, by_time + by_bees, len(Trouble))

    def overall(each: NDArray[Any]) -> float:
        return float(course.mean(each).mean())

    return Outlook(
        schedule=schedule,
        cost=Cost(
            visits=overall(course.made),
            idle=weights.week * overall(course.idle) / 7.0,
            trouble_weeks=float(by_time.mean()),
            trouble_bees=float(by_bees.mean()),
            unavoidable=float((least_time + least_dead).mean()),
        ),
        days_idle=overall(course.idle),
        days_troubled=overall(course.troubled),
        share_lost=overall(course.lost),
        unclosed=overall(1.0 - course.is_closed),
        trouble_costs=by_trouble / len(by_time),
    )


def _unavoidable(prospects: Prospects, weights: Weights) -> tuple[Array, Array]:
    """Cost in time and in bees if trouble that a visit can end ended tomorrow, shapes (n,)."""
    column = np.where(prospects.chance > 0.0, 0, len(prospects.ends) - 1)[:, None]
    empty = np.take_along_axis(prospects.empty, column, axis=1)[:, 0]
    lost = np.take_along_axis(prospects.lost, column, axis=1)[:, 0]
    waited = np.clip(empty, prospects.since, prospects.until) - prospects.since
    time = weights.week * waited / 7.0 + weights.opening * (empty > prospects.until)
    return time, weights.bees_lost * lost


def next_visit(
    prospects: Prospects,
    suited: Suited,
    weights: Weights,
    confidence: float,
    within_days: int = LATEST_DAYS,
) -> NextVisit | None:
    """Choose the day of the next visit.

    Parameters
    ----------
    prospects
        What becomes of the trap-outs.
    suited
        Days fit for a visit, by day index.
    weights
        The firm's weights.
    confidence
        Probability of being empty, 0 to 1, that closing takes.
    within_days
        How late the visit may be, if bees fly by then.

    Returns
    -------
    The choice; None if no day as far as is looked ahead is fit for a visit.
    """
    days = _candidates(prospects, suited, within_days)
    if not days:
        return None

    def best_of(day: int, ways: Iterable[Then]) -> tuple[Then, Outlook]:
        weighed = [
            (way, expected_cost(way.after(day, prospects), prospects, suited, weights, confidence))
            for way in ways
        ]
        return min(weighed, key=lambda w: w[1].cost.total)

    outlooks = _coarse_to_fine(days, ways_on(confidence), best_of)
    best = _soonest_good(outlooks)
    return NextVisit(best.schedule.days[0], outlooks, _why(best, outlooks))


def _candidates(prospects: Prospects, suited: Suited, within_days: int) -> list[int]:
    """Suited days of the time ahead, or else the first one after it."""
    first = prospects.since + 1
    ahead = first + np.flatnonzero(suited[first : prospects.until + 1])
    near = ahead[ahead < first + within_days]
    return [int(day) for day in (near if len(near) else ahead[:1])]


def _coarse_to_fine(
    days: list[int],
    ways: tuple[Then, ...],
    best_of: Callable[[int, Iterable[Then]], tuple[Then, Outlook]],
) -> tuple[Outlook, ...]:
    """Weigh every date, those between two with the ways on that are best after them."""
    coarse = {day: best_of(day, ways) for day in [*days[::COARSE_DAYS], days[-1]]}
    found = []
    for i, day in enumerate(days):
        if day not in coarse:
            left = i - i % COARSE_DAYS
            beside = (days[left], days[min(left + COARSE_DAYS, len(days) - 1)])
            found.append(best_of(day, dict.fromkeys(coarse[d][0] for d in beside))[1])
        else:
            found.append(coarse[day][1])
    return tuple(found)


def _soonest_good(outlooks: tuple[Outlook, ...]) -> Outlook:
    """The soonest date that ties with the best and that the week after it does not better."""
    least = min(o.cost.total for o in outlooks)

    def week_from(outlook: Outlook) -> list[float]:
        days = range(BESIDE_DAYS + 1)
        first = outlook.schedule.days[0]
        return [o.cost.total for o in outlooks if o.schedule.days[0] - first in days]

    return next(o for o in outlooks if o.cost.total <= min(least + TIE_VISITS, *week_from(o)))


def _why(best: Outlook, outlooks: tuple[Outlook, ...]) -> Why:
    """Hold the best date against one a week sooner and one a week later."""
    day = best.schedule.days[0]
    sooner = [o for o in outlooks if o.schedule.days[0] < day]
    later = [o for o in outlooks if o.schedule.days[0] > day]
    before = [o for o in sooner if o.schedule.days[0] >= day - BESIDE_DAYS]
    after = [o for o in later if o.schedule.days[0] <= day + BESIDE_DAYS]
    return Why(
        _dearer(before[0], best) if before else None,
        _dearer(after[-1], best) if after else None,
        _grows(after[-1], best) if after else None,
    )


def _dearer(other: Outlook, best: Outlook) -> Cause | None:
    """Where another date costs more, most of all."""
    more = {cause: other.cost.of(cause) - best.cost.of(cause) for cause in Cause}
    worst = max(more, key=more.__getitem__)
    return worst if more[worst] > 0.0 else None


def _grows(later: Outlook, best: Outlook) -> Trouble | None:
    """The trouble that waiting makes dearer, most of all."""
    more = later.trouble_costs - best.trouble_costs
    return Trouble(int(more.argmax())) if more.max() > 0.0 else None

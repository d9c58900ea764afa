"""Whether a trap-out is empty, and from when finding nothing would be enough to say so.

Every running trap-out makes finding nothing so and so probable: the product of the items of
evidence at their zero reading. Over n trap-outs i with bees and brood mu_i left,

    P(nothing) = mean_i P(nothing | i)
    P(empty | nothing) = sum_i P(nothing | i) P(empty | mu_i) / sum_i P(nothing | i)

with P(empty | mu) as in `lastbee.forecast.trapout`. Where a leak is likely, silence at the cone
alone is worth less; at a cone that nobody can pass it is worth nothing, and in the cold no
watch is, since none would fly: all that follows from the items.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import pdtr

from lastbee.colony.layout import Sky
from lastbee.evidence.at_cone import bees_out
from lastbee.evidence.cues import bees_seen_inside, hum_heard, warm_to_hand
from lastbee.evidence.item import log_likelihood
from lastbee.evidence.outside import going_in_elsewhere
from lastbee.forecast.runs import Seen
from lastbee.forecast.trapout import EMPTY_BEES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from lastbee.evidence.item import Item
    from lastbee.evidence.scene import Scene
    from lastbee.forecast.runs import Runs

    Array = NDArray[np.float64]

# How long the cone, and the wall around it, are watched: common practice, no source. [min]
CONE_MINUTES, WALL_MINUTES = 15.0, 10.0
# The second of two watches comes a week after the first: common practice, no source.
APART_DAYS = 7
# A check is planned for a day on which it is more likely than not to find nothing: assumed.
WORTH_GOING = 0.5
# A watch needs an hour of at least this share of full flight: assumed.
GOOD_ACTIVITY = 0.5
# Flight in the best hour of a fine day nears full flight as 1 - exp(-h / H) with the day's h
# flight hours: within a fifth of what temperature and light give at 25 to 52 degrees. [h]
BEST_HOUR_H = 4.0
# Views of so many days are held in memory at once.
_DAYS_AT_ONCE = 21


@dataclass(frozen=True, slots=True)
class Check:
    """What is done to make sure; it finds nothing if every part of it does.

    `cone_minutes` and `wall_minutes` are watched, 0 for not; `listens` means an ear and a
    hand to the wall, `looks_inside` a small hole or an inspection camera; `before_days` are
    the days between the same check made once before and this one, 0 for a single check.
    """

    key: str
    cone_minutes: float = 0.0
    wall_minutes: float = 0.0
    listens: bool = False
    looks_inside: bool = False
    before_days: int = 0

    @property
    def needs_flight(self) -> bool:
        """Whether it tells anything only on a flying day."""
        return self.cone_minutes > 0.0 or self.wall_minutes > 0.0

    def nothing(self, activity: float, flight_h: float) -> tuple[Item[Scene], ...]:
        """What it reads where nothing is found, at an hour of some flight activity."""
        found: list[Item[Scene]] = []
        if self.cone_minutes > 0.0:
            found.append(bees_out(0.0, self.cone_minutes, activity, flight_h))
        if self.wall_minutes > 0.0:
            found.append(going_in_elsewhere(0.0, self.wall_minutes, activity, flight_h))
        if self.listens:
            found += [hum_heard(0.0), warm_to_hand(0.0)]
        if self.looks_inside:
            found.append(bees_seen_inside(0.0))
        return tuple(found)


WATCH = Check("watch", CONE_MINUTES, WALL_MINUTES)
LISTEN = Check("listen", CONE_MINUTES, WALL_MINUTES, listens=True)
LOOK_INSIDE = Check("look inside", looks_inside=True)
WATCH_TWICE = Check("watch twice", CONE_MINUTES, WALL_MINUTES, before_days=APART_DAYS)
CHECKS = (WATCH, LISTEN, LOOK_INSIDE, WATCH_TWICE)


@dataclass(frozen=True, slots=True)
class CheckAhead:
    """What a check can do.

    `day` is the first day index on which finding nothing would reach the confidence and is
    likely enough to be worth going for, None if there is none; `chance` the probability of
    finding nothing and `confidence` that of being empty if nothing is found: on that day, or
    on the day that comes nearest. Of a check made twice, `day` is that of the second time
    and `chance` that of finding nothing both times.
    """

    check: Check
    day: int | None
    chance: float
    confidence: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """Emptiness ahead: `empty` (days,) is P(empty) each morning; `checks`, the fastest first."""

    days: range
    empty: Array
    checks: tuple[CheckAhead, ...]


def empty_chances(scene: Scene) -> Array:
    """Probability that at most EMPTY_BEES bees and brood are left in each, shape (n,)."""
    return np.asarray(pdtr(EMPTY_BEES, scene.adults + scene.drones + scene.brood_cells))


def emptiness(runs: Runs, sky: Array, cone_day: int, day: int) -> float:
    """Probability of being empty on the morning of a day index."""
    (scene,) = _scenes(runs, sky, cone_day, range(day, day + 1))
    return float(empty_chances(scene).mean())


def best_hour_activity(flight_h: float) -> float:
    """Flight in the best hour of a fine day, as a share of full flight, from its flight hours."""
    return 1.0 - float(np.exp(-flight_h / BEST_HOUR_H))


def outlook(
    runs: Runs,
    sky: Array,
    cone_day: int,
    days: range,
    confidence: float,
    checks: tuple[Check, ...] = CHECKS,
) -> Outlook:
    """Say when a trap-out will be empty, and from when each check could show it.

    Parameters
    ----------
    runs
        Running trap-outs, equally weighted, as things stand.
    sky
        Daily drivers of the site, reaching to the end of `days`.
    cone_day
        Day index of the cone's first day.
    days
        Day indices on which a check could be made, none before the cone, at least one.
    confidence
        Probability of being empty that is asked for, 0 to 1.
    checks
        Checks that may be made here.

    Returns
    -------
    The outlook. Checks that reach the confidence come first, by day and then by chance;
    the others by how near they come.

    Raises
    ------
    ValueError
        If `days` is empty or begins before the cone.
    """
    if not days or days[0] < cone_day:
        raise ValueError(f"days {days} must begin on the cone's day {cone_day} or after it")
    empty = np.zeros((len(days), runs.size))
    nothing = np.zeros((len(checks), len(days), runs.size))
    for i, scene in enumerate(_scenes(runs, sky, cone_day, days)):
        empty[i] = empty_chances(scene)
        flight_h = float(sky[days[i], Sky.FLIGHT_H])
        for k, check in enumerate(checks):
            nothing[k, i] = _log_nothing(check, flight_h, scene)
    ahead = [
        _ahead(check, _twice(nothing[k], check.before_days), empty, days, confidence)
        for k, check in enumerate(checks)
    ]
    return Outlook(days, empty.mean(axis=1), tuple(sorted(ahead, key=_fastest)))


def _scenes(runs: Runs, sky: Array, cone_day: int, days: range) -> Iterator[Scene]:
    """The trap-outs on each morning, few days at a time."""
    for first in range(0, len(days), _DAYS_AT_ONCE):
        seen = tuple(Seen(day, (), day) for day in days[first : first + _DAYS_AT_ONCE])
        yield from runs.views(sky, cone_day, cone_day, seen)[1]


def _log_nothing(check: Check, flight_h: float, scene: Scene) -> Array:
    """Log probability that a check finds nothing; NaN on a day unfit for it."""
    activity = best_hour_activity(flight_h)
    if check.needs_flight and activity < GOOD_ACTIVITY:
        return np.full(scene.size, np.nan)
    return log_likelihood(check.nothing(activity, flight_h), scene)


def _twice(log_nothing: Array, before_days: int) -> Array:
    """Log probability that a check and the same one some days before both find nothing."""
    if before_days == 0:
        return log_nothing
    earlier = np.full_like(log_nothing, np.nan)
    earlier[before_days:] = log_nothing[:-before_days]
    return log_nothing + earlier


def _ahead(
    check: Check, log_nothing: Array, empty: Array, days: range, confidence: float
) -> CheckAhead:
    """Find the first day on which finding nothing is enough, and more likely than not."""
    fit = np.flatnonzero(~np.isnan(log_nothing[:, 0]))
    if not len(fit):
        return CheckAhead(check, None, 0.0, 0.0)
    nothing = np.exp(log_nothing[fit])
    sure = (nothing * empty[fit]).sum(axis=1) / nothing.sum(axis=1)
    chance = nothing.mean(axis=1)
    enough = np.flatnonzero((sure >= confidence) & (chance >= WORTH_GOING))
    at = int(enough[0]) if len(enough) else int(np.argmax(sure))
    day = days[int(fit[at])] if len(enough) else None
    return CheckAhead(check, day, float(chance[at]), float(sure[at]))


def _fastest(ahead: CheckAhead) -> tuple[float, float]:
    """Order of checks: the earliest day, then the highest chance."""
    if ahead.day is None:
        return np.inf, -ahead.confidence
    return ahead.day, -ahead.chance

"""The picture of a running trap-out: visits behind, the forecast ahead, the one before it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from lastbee.documents.charts import Mark, Series, band_series
from lastbee.documents.days import (
    BOX_BAND,
    EMPTY,
    WALL_BAND,
    band_of,
    days_shown,
    milestone_of,
)
from lastbee.documents.wording import clean, with_range
from lastbee.words import day_words

if TYPE_CHECKING:
    from datetime import date

    from lastbee.documents.charts import MarkKind
    from lastbee.jobs.plan import Band
    from lastbee.jobs.progress import Progress

# Days drawn beyond the last that matters.
_MARGIN_DAYS = 7


@dataclass(frozen=True, slots=True)
class VisitPoint:
    """What a visit left as the answer for its own day: the visit's number and 90 % range."""

    number: int
    day: date
    low: float
    median: float
    high: float


@dataclass(frozen=True, slots=True)
class Fan:
    """One thing followed: as known and forecast now, and as forecast before the last visit."""

    label: str
    unit: str
    now: Series
    before: Series | None = None
    points: tuple[VisitPoint, ...] = ()


@dataclass(frozen=True, slots=True)
class CourseChart:
    """Fans one below the other on the same days, from `start` over `days` days.

    Left of `last_visit` lies what was, right of it what is forecast; `summary` says in a
    sentence or two what the picture shows, for readers who cannot see it.
    """

    title: str
    summary: str
    start: date
    days: int
    last_visit: date
    fans: tuple[Fan, ...]
    marks: tuple[Mark, ...]


def course_chart(progress: Progress) -> CourseChart | None:
    """Build the picture, or None where there are no days to draw."""
    wall = band_of(progress, WALL_BAND)
    if wall is None:
        return None
    days = min(_days_drawn(progress), len(wall.median))
    box = band_of(progress, BOX_BAND)
    fans = (_wall_fan(progress, wall, days), *([] if box is None else [_fan(progress, box, days)]))
    since = min((progress.as_of - progress.cone_on).days, days - 1)
    now = with_range(wall.median[since], wall.low90[since], wall.high90[since])
    return CourseChart(
        title=clean(wall.label),
        summary=f"{clean(wall.label)}: {now} on {day_words(progress.as_of)}, with the forecast"
        f" to {day_words(progress.cone_on + timedelta(days=days - 1))} and"
        f" {len(progress.visits)} visits marked.",
        start=progress.cone_on,
        days=days,
        last_visit=progress.as_of,
        fans=fans,
        marks=_marks(progress, days),
    )


def _days_drawn(progress: Progress) -> int:
    """Count days until nobody is left, and at least some beyond the visits."""
    visit = progress.next_visit
    latest = max(progress.as_of, progress.as_of if visit is None else visit.on)
    return max(days_shown(progress), (latest - progress.cone_on).days + _MARGIN_DAYS)


def _fan(progress: Progress, band: Band, days: int) -> Fan:
    now = band_series(band, progress.cone_on, slice(0, days))
    return Fan(clean(band.label), clean(band.unit), now)


def _wall_fan(progress: Progress, band: Band, days: int) -> Fan:
    fan = _fan(progress, band, days)
    if not progress.visits:
        return fan
    since = (progress.as_of - progress.cone_on).days
    before = band_series(progress.visits[-1].bees_before, progress.as_of, slice(since, days))
    return Fan(
        fan.label, fan.unit, fan.now, before if before.median else None, _points(progress, days)
    )


def _points(progress: Progress, days: int) -> tuple[VisitPoint, ...]:
    found = []
    for number, visit in enumerate(progress.visits, start=1):
        day, band = visit.at.date(), visit.bees_after
        offset = (day - progress.cone_on).days
        if 0 <= offset < min(days, len(band.median)):
            values = band.low90[offset], band.median[offset], band.high90[offset]
            found.append(VisitPoint(number, day, *values))
    return tuple(found)


def _marks(progress: Progress, days: int) -> tuple[Mark, ...]:
    empty, visit = milestone_of(progress, EMPTY), progress.next_visit
    found: tuple[tuple[date | None, str, MarkKind], ...] = (
        (progress.as_of, "last visit", "visit"),
        (visit.on if visit else None, "next visit", "next"),
        (empty.likely if empty else None, "empty: likely", "likely"),
        (empty.safe if empty else None, "almost sure", "safe"),
    )
    last = progress.cone_on + timedelta(days=days - 1)
    return tuple(
        Mark(when, words, kind) for when, words, kind in found if when is not None and when <= last
    )

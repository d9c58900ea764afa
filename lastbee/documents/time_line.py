"""The time line of a job: what was on the left of today, what is forecast on the right.

One picture from the first call to the end of the warranty. It is described here in days and
values; `lastbee.documents.time_line_svg` draws it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Literal

from lastbee.documents.charts import Mark, Series, plan_charts
from lastbee.documents.day_scale import DayScale, day_scale
from lastbee.documents.days import EMPTY, days_shown, milestone_of
from lastbee.documents.outline import is_trap_out
from lastbee.documents.progress_charts import course_chart
from lastbee.documents.progress_drawing import FEW_SHARE
from lastbee.documents.wording import two_digits, with_range
from lastbee.words import day_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from lastbee.documents.progress_charts import VisitPoint
    from lastbee.jobs.plan import Plan
    from lastbee.jobs.progress import Progress

MomentKind = Literal[
    "seen", "call", "inspection", "decision", "cone", "visit", "gap", "box", "closed",
    "certificate", "callback", "ended", "due",
]  # fmt: skip

# Days shown beyond the last that matters.
_MARGIN_DAYS = 6
_LANES = ("wall", "box")
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Moment:
    """Something that happened on a day, or is due on it.

    `label` is what a person reads, without the day; `number` counts visits from 1; `frames`
    are the frames of bees seen in the box; `is_ahead` says that it has yet to be done.
    """

    day: date
    kind: MomentKind
    label: str
    number: int | None = None
    frames: float | None = None
    is_ahead: bool = False


@dataclass(frozen=True, slots=True)
class Lane:
    """One thing followed day by day, with its bands and what each visit made of it.

    `top` is the value at the upper edge; `is_widened` says that small values are given more
    room, by the square root.
    """

    label: str
    unit: str
    series: Series
    points: tuple[VisitPoint, ...]
    top: float
    is_widened: bool

    def height(self, value: float) -> float:
        """Height of a value, 0 at the foot of the lane and 1 at its upper edge."""
        share = min(1.0, max(0.0, value / self.top))
        return float(share**0.5) if self.is_widened else share

    def words_on(self, day: date) -> str:
        """The value of a day with its range; empty where none is known."""
        number, series = (day - self.series.start).days, self.series
        if not 0 <= number < len(series.median):
            return ""
        return with_range(series.median[number], series.low90[number], series.high90[number])


@dataclass(frozen=True, slots=True)
class TableRow:
    """A day of the picture in words, for readers who cannot see it or want the figures."""

    day: date
    what: str
    wall: str
    box: str


@dataclass(frozen=True, slots=True)
class TimeLine:
    """The picture: lanes and moments on one scale of days, `now` between past and forecast.

    `marks` are days worth an upright line through the wall's lane; `summary` says in a
    sentence or two what there is to see; `table` holds the same in figures.
    """

    summary: str
    scale: DayScale
    now: date
    wall: Lane | None
    box: Lane | None
    moments: tuple[Moment, ...]
    marks: tuple[Mark, ...]
    table: tuple[TableRow, ...]


def time_line(moments: Iterable[Moment], plan: Plan | None, now: date) -> TimeLine:
    """Describe the picture of a job.

    Parameters
    ----------
    moments
        What happened and what is due, in any order.
    plan
        The last forecast, with its progress once there are visits; None before the first.
    now
        Today at the site.
    """
    told = tuple(sorted(moments, key=lambda one: (one.day, one.is_ahead, one.number or 0)))
    picture = _forecast_picture(plan, told)
    if picture is None:
        scale = day_scale([now, *(one.day for one in told)])
        return TimeLine(_summary(told, now, ""), scale, now, None, None, told, (),
                        _table(told, (), (None, None), scale, now))  # fmt: skip
    last = _last_day_shown(picture, told, now)
    scale = day_scale([now, *(one.day for one in told)], (picture.start, last))
    wall, box = (_lane(picture.series(key), picture.points(key), last, now) for key in _LANES)
    marks = tuple(mark for mark in picture.marks if mark.day <= last)
    return TimeLine(_summary(told, now, picture.summary), scale, now, wall, box, told, marks,
                    _table(told, marks, (wall, box), scale, now))  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Picture:
    """What the pictures of plan and progress have in common."""

    forecast: Plan | Progress
    summary: str
    lanes: tuple[tuple[Series, tuple[VisitPoint, ...]] | None, ...]
    marks: tuple[Mark, ...]

    @property
    def start(self) -> date:
        return self.forecast.cone_on

    def series(self, key: str) -> Series | None:
        lane = self.lanes[_LANES.index(key)]
        return None if lane is None else lane[0]

    def points(self, key: str) -> tuple[VisitPoint, ...]:
        lane = self.lanes[_LANES.index(key)]
        return () if lane is None else lane[1]


def _forecast_picture(plan: Plan | None, told: Sequence[Moment]) -> _Picture | None:
    """The fans of the last forecast; None where no trap-out is forecast or under way."""
    if plan is None:
        return None
    if plan.progress is not None:
        return _progress_picture(plan.progress)
    if not (is_trap_out(plan) or any(one.kind == "cone" for one in told)):
        return None
    charts = {chart.key: chart for chart in plan_charts(plan)}
    if "wall" not in charts:
        return None
    found = (charts.get(key) for key in _LANES)
    lanes = tuple(None if chart is None else (chart.series[0], ()) for chart in found)
    return _Picture(plan, charts["wall"].summary, lanes, _of_emptiness(charts["wall"].marks))


def _progress_picture(progress: Progress) -> _Picture | None:
    chart = course_chart(progress)
    if chart is None:
        return None
    fans = [*chart.fans, None][: len(_LANES)]
    lanes = tuple(None if fan is None else (fan.now, fan.points) for fan in fans)
    return _Picture(progress, chart.summary, lanes, _of_emptiness(chart.marks))


def _of_emptiness(marks: Iterable[Mark]) -> tuple[Mark, ...]:
    """Cone and visits are moments of the record already."""
    return tuple(mark for mark in marks if mark.kind in ("likely", "safe"))


def _last_day_shown(picture: _Picture, told: Sequence[Moment], now: date) -> date:
    """The day of closing, or some days beyond the last date that matters."""
    closed = next((one.day for one in told if one.kind == "closed"), None)
    if closed is not None:
        return max(closed, picture.start + _DAY)
    empty = milestone_of(picture.forecast, EMPTY)
    horizon = picture.start + timedelta(days=days_shown(picture.forecast) - 1)
    until = horizon if empty is None or empty.safe is None else empty.safe
    due = (one.day for one in told if one.is_ahead)
    last = max(until, now, *due) + timedelta(days=_MARGIN_DAYS)
    return max(min(last, horizon), picture.start + _DAY)


def _lane(
    series: Series | None, points: tuple[VisitPoint, ...], last: date, now: date
) -> Lane | None:
    if series is None:
        return None
    shown = slice(0, (last - series.start).days + 1)
    clipped = Series(
        series.label, series.start, series.median[shown], series.low90[shown],
        series.low50[shown], series.high50[shown], series.high90[shown],
    )  # fmt: skip
    points = tuple(point for point in points if point.day <= last)
    top = max([1.0, *clipped.high90, *(point.high for point in points)])
    since = max(0, (now - series.start).days)
    ahead = max(clipped.high90[since:], default=top)
    return Lane(series.label, "bees", clipped, points, 1.05 * top, ahead < FEW_SHARE * top)


def _summary(told: Sequence[Moment], now: date, forecast: str) -> str:
    past = [one for one in told if not one.is_ahead]
    begun = f"From {day_words(past[0].day)}" if past else "Nothing yet"
    visits = sum(one.kind == "visit" for one in past)
    seen = f" {visits} visit{'s' if visits != 1 else ''} so far." if visits else ""
    ahead = "".join(f" {one.label.capitalize()}: {day_words(one.day)}." for one in told
                    if one.is_ahead)  # fmt: skip
    return f"{begun} to today, {day_words(now)}.{seen} {forecast}".rstrip() + ahead


def _table(
    told: Sequence[Moment],
    marks: Sequence[Mark],
    lanes: tuple[Lane | None, Lane | None],
    scale: DayScale,
    now: date,
) -> tuple[TableRow, ...]:
    """Every day with an event, today, and a day in each week of a forecast."""
    events: dict[date, list[str]] = {now: ["today"]}
    for day, label in [*((one.day, moment_words(one)) for one in told),
                       *((mark.day, mark.label) for mark in marks)]:  # fmt: skip
        events.setdefault(day, []).append(label)
    if lanes[0] is not None:
        for monday in scale.ticks(most=10_000):
            events.setdefault(monday, [])
    words = [
        TableRow(day, ", ".join(dict.fromkeys(events[day])),
                 *("" if lane is None else lane.words_on(day) for lane in lanes))
        for day in sorted(events)
    ]  # fmt: skip
    return tuple(row for row in words if row.what or row.wall)


def moment_words(one: Moment) -> str:
    """A moment in words: what, and the frames of bees in the box where they were seen."""
    label = one.label if one.number is None else f"{one.label} {one.number}"
    return label if one.frames is None else f"{label} ({frames_words(one.frames)} in the box)"


def frames_words(frames: float) -> str:
    """Frames of bees, to half a frame."""
    halves = round(2.0 * frames) / 2.0
    number = two_digits(halves) if halves == int(halves) else f"{halves:.1f}"
    return f"{number} frame{'' if halves == 1.0 else 's'}"

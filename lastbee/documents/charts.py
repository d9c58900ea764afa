"""Charts of a plan: one declarative spec, and its drawing as SVG.

A `Chart` says what is shown and knows nothing of a library; `chart_svg` draws it with
matplotlib, the same bytes for the same chart. Blue carries the colony and a dark ochre
the dates; both differ in lightness too, so that the charts hold in grey print and for
eyes that do not tell the two apart.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Literal

from lastbee.documents.days import (
    BOX_BAND,
    EMPTY,
    WALL_BAND,
    band_of,
    days_shown,
    milestone_of,
)
from lastbee.documents.outline import is_trap_out
from lastbee.documents.wording import clean, percent, with_range
from lastbee.words import day_words

if TYPE_CHECKING:
    from lastbee.jobs.plan import Band, MethodRow, Plan, Quantity

MarkKind = Literal["cone", "visit", "next", "likely", "safe"]
Status = Literal["recommended", "possible", "refused"]


@dataclass(frozen=True, slots=True)
class Series:
    """A daily line, one value a day from `start`; the four edges of its bands may be empty."""

    label: str
    start: date
    median: tuple[float, ...]
    low90: tuple[float, ...] = ()
    low50: tuple[float, ...] = ()
    high50: tuple[float, ...] = ()
    high90: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Mark:
    """A day worth an upright line, and the word that stands on it."""

    day: date
    label: str
    kind: MarkKind


@dataclass(frozen=True, slots=True)
class Level:
    """A value worth a level line."""

    value: float
    label: str


@dataclass(frozen=True, slots=True)
class Dot:
    """One row of a dot-range panel; None where nothing is known."""

    label: str
    status: Status
    low_median_high: tuple[float, float, float] | None


@dataclass(frozen=True, slots=True)
class Panel:
    """A set of dot ranges on one axis; the panels of a chart share their rows."""

    axis: str
    dots: tuple[Dot, ...]
    top: float | None = None


@dataclass(frozen=True, slots=True)
class Chart:
    """What a chart shows: daily series with marks and levels, or panels of dot ranges.

    `unit` names the upright axis of a daily chart; `summary` says in a sentence or two
    what the picture shows, for readers who cannot see it.
    """

    key: str
    title: str
    unit: str
    summary: str
    series: tuple[Series, ...] = ()
    marks: tuple[Mark, ...] = ()
    levels: tuple[Level, ...] = ()
    panels: tuple[Panel, ...] = ()
    top: float | None = None


def plan_charts(plan: Plan) -> tuple[Chart, ...]:
    """Build the charts that a plan has the numbers for, at most four.

    Keys, in order: "wall" (bees left in the wall), "empty" (chance that it is empty),
    "box" (bees in the box), "methods" (bees alive against honey left).
    """
    found = (_wall(plan), _empty(plan), _box(plan), _methods(plan))
    return tuple(chart for chart in found if chart is not None)


def _wall(plan: Plan) -> Chart | None:
    band = band_of(plan, WALL_BAND)
    return None if band is None else replace(_band_chart(plan, "wall", band), marks=_marks(plan))


def _box(plan: Plan) -> Chart | None:
    band = band_of(plan, BOX_BAND)
    return None if band is None else _band_chart(plan, "box", band)


def _band_chart(plan: Plan, key: str, band: Band) -> Chart:
    series = band_series(band, plan.cone_on, slice(0, days_shown(plan)))
    last = len(series.median) - 1
    first_words, last_words = (
        with_range(series.median[n], series.low90[n], series.high90[n]) for n in (0, last)
    )
    summary = (
        f"{series.label}: {first_words} on {day_words(series.start)},"
        f" {last_words} on {day_words(series.start + timedelta(days=last))}."
    )
    return Chart(key, series.label, clean(band.unit), summary, (series,))


def band_series(band: Band, start: date, shown: slice) -> Series:
    """The days `shown` of a band as a series; `start` is the first of them."""
    return Series(
        label=clean(band.label),
        start=start,
        median=band.median[shown],
        low90=band.low90[shown],
        low50=band.low50[shown],
        high50=band.high50[shown],
        high90=band.high90[shown],
    )


def _marks(plan: Plan) -> tuple[Mark, ...]:
    empty = milestone_of(plan, EMPTY)
    label = "cone on" if is_trap_out(plan) else "forecast from"
    found: tuple[tuple[date | None, str, MarkKind], ...] = (
        (plan.cone_on, label, "cone"),
        (empty.likely if empty else None, "empty: likely", "likely"),
        (empty.safe if empty else None, "almost sure", "safe"),
    )
    last = plan.cone_on + timedelta(days=days_shown(plan) - 1)
    return tuple(
        Mark(when, words, kind) for when, words, kind in found if when is not None and when <= last
    )


def _empty(plan: Plan) -> Chart | None:
    shown = plan.empty_by[: days_shown(plan)]
    if not shown:
        return None
    level = Level(100.0 * plan.confidence, f"{percent(plan.confidence)} sure")
    last = plan.cone_on + timedelta(days=len(shown) - 1)
    return Chart(
        key="empty",
        title="Chance that the wall is empty",
        unit="%",
        summary=f"Chance that the wall is empty: {percent(shown[-1])} by {day_words(last)}.",
        series=(Series("chance", plan.cone_on, tuple(100.0 * value for value in shown)),),
        marks=tuple(mark for mark in _marks(plan) if mark.kind == "safe"),
        levels=(level,),
        top=100.0,
    )


def _methods(plan: Plan) -> Chart | None:
    rows = plan.methods
    if not any(row.bees_alive_pct or row.honey_left for row in rows):
        return None
    alive = tuple(_dot(row, row.bees_alive_pct) for row in rows)
    honey = tuple(_dot(row, row.honey_left) for row in rows)
    words = (
        f"{clean(row.label)}: bees alive {_words(row.bees_alive_pct)},"
        f" honey left {_words(row.honey_left)}."
        for row in rows
    )
    return Chart(
        key="methods",
        title="Bees alive against honey left",
        unit="",
        summary=" ".join(words),
        panels=(
            Panel("bees alive, %", alive, top=100.0),
            Panel(f"honey left, {_unit(rows)}", honey),
        ),
    )


def _unit(rows: tuple[MethodRow, ...]) -> str:
    """Give the unit that the rows' honey is told in."""
    return next((row.honey_left.unit for row in rows if row.honey_left is not None), "kg")


def _words(item: Quantity | None) -> str:
    return "not known" if item is None else clean(item.words)


def _dot(row: MethodRow, item: Quantity | None) -> Dot:
    values = None if item is None else (item.low, item.median, item.high)
    label = clean(row.label)
    return Dot(f"{label} (refused)" if row.status == "refused" else label, row.status, values)

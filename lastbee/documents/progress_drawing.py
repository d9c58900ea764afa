"""Drawing a `CourseChart` as SVG.

What was stands pale, what is forecast strong, and the forecast before the last visit as
broken outlines alone, so that the three differ in grey print too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.documents.drawing import (
    GRID,
    INK,
    INNER,
    LINE,
    MARK_DASHES,
    OCHRE,
    OUTER,
    QUIET,
    count_axis,
    date_axis,
    drawn_svg,
    plain_axes,
)
from lastbee.words import short_day_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from lastbee.documents.charts import Mark, Series
    from lastbee.documents.progress_charts import CourseChart, Fan, VisitPoint

PAST = "#e9eff4"
_HEIGHTS = (3.0, 1.0)  # of the first panel and of each below
# Room of a letter in mark labels, and of what stands left of the axes. [mm]
_LETTER_MM, _LEFT_MM = 1.35, 16.0
_ROW_PT = 8.5
# With so few bees left the axis is widened near zero, or nothing ahead could be seen.
FEW_SHARE = 0.15
WIDENED_TICKS = (0, 100, 1_000, 2_500, 5_000, 10_000, 20_000, 40_000, 80_000)


def course_svg(chart: CourseChart, width_mm: float, height_mm: float) -> str:
    """Draw a course chart.

    Parameters
    ----------
    chart
        What to draw.
    width_mm, height_mm
        Size of the picture. [mm]

    Returns
    -------
    The text of an SVG file, without a date.
    """

    def draw(figure: Figure) -> None:
        heights = [_HEIGHTS[0], *([_HEIGHTS[1]] * (len(chart.fans) - 1))]
        every_axes = figure.subplots(
            len(chart.fans), 1, sharex=True, squeeze=False, height_ratios=heights
        )[:, 0]
        for axes, fan in zip(every_axes, chart.fans, strict=True):
            _draw_fan(axes, fan, chart)
        first, last = every_axes[0], every_axes[-1]
        date_axis(last, chart.start, chart.days, most_ticks=max(3, int(width_mm // 18)))
        _label_marks(first, chart, width_mm - _LEFT_MM)
        _legend(figure, first)

    return drawn_svg(draw, chart.title, chart.summary, width_mm, height_mm)


def _draw_fan(axes: Axes, fan: Fan, chart: CourseChart) -> None:
    plain_axes(axes)
    axes.grid(axis="y", color=GRID, linewidth=0.6)
    since = (chart.last_visit - chart.start).days
    _draw_band(axes, fan.now, since)
    if fan.before is not None:
        _draw_outline(axes, fan.before, since)
    for mark in chart.marks:
        colour = INK if mark.kind == "visit" else OCHRE
        number = (mark.day - chart.start).days
        axes.axvline(number, color=colour, linewidth=1.1, linestyle=MARK_DASHES[mark.kind])
    for point in fan.points:
        _draw_point(axes, point, (point.day - chart.start).days)
    axes.set_xlim(0, max(1, chart.days - 1))
    axes.set_ylim(0, _headroom(fan))
    count_axis(axes, fan.unit, most_steps=5 if fan is chart.fans[0] else 3)
    if max(fan.now.high90[since:], default=0.0) < FEW_SHARE * max(fan.now.high90):
        _widen(axes)
    if fan is not chart.fans[0]:
        axes.set_title(fan.label, loc="left", fontsize=7.0, color=INK, weight="bold", pad=3.0)


def _headroom(fan: Fan) -> float:
    highs = [*fan.now.high90, *(fan.before.high90 if fan.before else ())]
    highest = max([*highs, *(point.high for point in fan.points)], default=0.0)
    return 1.05 * highest if highest > 0.0 else 1.0


def _widen(axes: Axes) -> None:
    """Give small numbers more room: the axis goes by the square root."""
    import numpy as np

    top = axes.get_ylim()[1]
    axes.set_yscale("function", functions=(lambda v: np.sqrt(np.maximum(v, 0.0)), np.square))
    axes.set_yticks([tick for tick in WIDENED_TICKS if tick <= top])
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    axes.minorticks_off()
    axes.set_ylim(0, top)


def _draw_band(axes: Axes, series: Series, since: int) -> None:
    """Draw what was up to the day `since` pale, and what is forecast from it on strong."""
    past, ahead = range(min(since + 1, len(series.median))), range(since, len(series.median))
    for days, outer, inner in ((past, PAST, None), (ahead, OUTER, INNER)):
        part = slice(days.start, days.stop)
        axes.fill_between(
            days, series.low90[part], series.high90[part], color=outer, linewidth=0,
            label="9 in 10 lie here" if inner else None,
        )  # fmt: skip
        if inner:
            axes.fill_between(
                days, series.low50[part], series.high50[part], color=inner, linewidth=0,
                label="1 in 2 lies here",
            )  # fmt: skip
        width = 1.4 if inner else 0.9
        axes.plot(
            days, series.median[part], color=LINE, linewidth=width,
            label="median" if inner else None,
        )  # fmt: skip


def _draw_outline(axes: Axes, series: Series, since: int) -> None:
    days = range(since, since + len(series.median))
    for values, dashes in (
        (series.median, (0, (5, 2))), (series.low90, (0, (1.5, 1.5))),
        (series.high90, (0, (1.5, 1.5))),
    ):  # fmt: skip
        is_middle = values is series.median
        axes.plot(
            days, values, color=QUIET, linewidth=0.9, linestyle=dashes,
            label="as forecast before this visit" if is_middle else None,
        )  # fmt: skip


def _draw_point(axes: Axes, point: VisitPoint, day: int) -> None:
    axes.plot([day, day], [point.low, point.high], color=INK, linewidth=0.9, clip_on=False)
    axes.plot(
        [day], [point.median], marker="o", markersize=8.5, color=INK, markerfacecolor="white",
        markeredgewidth=0.9, linestyle="none", clip_on=False, zorder=5,
        label="visit, with its range" if point.number == 1 else None,
    )  # fmt: skip
    axes.annotate(
        str(point.number), (day, point.median), ha="center", va="center", color=INK,
        fontsize=5.5, weight="bold", zorder=6, annotation_clip=False,
    )  # fmt: skip


def _label_marks(axes: Axes, chart: CourseChart, width_mm: float) -> None:
    """Write each mark above the axes, in the lowest row where it stands clear of the others."""
    days_per_mm = max(1, chart.days - 1) / width_mm
    taken: list[float] = []  # where the last word of each row ends
    for mark in sorted(chart.marks, key=lambda item: item.day):
        words = f"{mark.label} {short_day_words(mark.day)}"
        length = len(words) * _LETTER_MM * days_per_mm
        day = (mark.day - chart.start).days
        at_right = day + length > chart.days - 1
        begin = day - length if at_right else float(day)
        row = next((n for n, end in enumerate(taken) if end < begin), len(taken))
        taken[row : row + 1] = [begin + length]
        _write_mark(axes, mark, words, day, row, at_right=at_right)


def _write_mark(axes: Axes, mark: Mark, words: str, day: int, row: int, *, at_right: bool) -> None:
    axes.annotate(
        words, (day, 1.0), (0, 2 + _ROW_PT * row), xycoords=("data", "axes fraction"),
        textcoords="offset points", ha="right" if at_right else "left", va="bottom",
        color=INK if mark.kind == "visit" else OCHRE,
    )  # fmt: skip


def _legend(figure: Figure, axes: Axes) -> None:
    handles, labels = axes.get_legend_handles_labels()
    figure.legend(
        handles, labels, loc="outside lower right", ncols=len(handles), frameon=False,
        fontsize=6.5, labelcolor=INK, handlelength=1.6, columnspacing=1.2,
    )  # fmt: skip

"""Drawing a `Chart` as SVG, the same bytes for the same chart on every machine."""

from __future__ import annotations

import io
import textwrap
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from lastbee.words import short_day_words

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from lastbee.documents.charts import Chart, Dot, Mark, Panel, Series

INK = "#1b1f23"
QUIET = "#5a6268"
GRID = "#d9dde0"
LINE = "#17405f"
INNER = "#6b9bbf"
OUTER = "#c9dcea"
OCHRE = "#8f4a00"

_MM_PER_INCH = 25.4
_WIDE_MM = 120.0
MARK_DASHES: dict[str, Any] = {
    "cone": (0, (1, 1.5)), "visit": "solid", "next": (0, (1, 1.5)), "likely": (0, (4, 2)),
    "safe": "solid",
}  # fmt: skip

# Letters are drawn as outlines of the font that comes with the library, so that a chart
# looks the same wherever it is opened; nothing is read as mathematics.
_SETTINGS: dict[str, Any] = {
    "svg.hashsalt": "lastbee",
    "svg.fonttype": "path",
    "font.family": "DejaVu Sans",
    "font.size": 7.0,
    "text.parse_math": False,
    "axes.unicode_minus": True,
    "path.simplify": True,
}


def chart_svg(
    chart: Chart, width_mm: float = 174.0, height_mm: float = 60.0, *, has_title: bool = True
) -> str:
    """Draw a chart.

    Parameters
    ----------
    chart
        What to draw.
    width_mm, height_mm
        Size of the picture. [mm]
    has_title
        Whether the title is drawn; a page that sets the title itself leaves it out.

    Returns
    -------
    The text of an SVG file, without a date.
    """

    def draw(figure: Figure) -> None:
        if chart.panels:
            _draw_panels(figure, chart)
        else:
            _draw_days(figure, chart, width_mm, height_mm)
        if has_title:
            figure.suptitle(chart.title, x=0.01, ha="left", fontsize=9.0, color=INK, weight="bold")

    return drawn_svg(draw, chart.title, chart.summary, width_mm, height_mm)


def drawn_svg(
    draw: Callable[[Figure], None], title: str, summary: str, width_mm: float, height_mm: float
) -> str:
    """Give as SVG what `draw` puts on a figure of this size, under the settings of lastbee."""
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    target = io.StringIO()
    # The defaults, not what a matplotlibrc of the machine says: same picture everywhere.
    with mpl.rc_context():
        settings: dict[Any, Any] = {
            name: value
            for name, value in mpl.rcParamsDefault.items()
            if not name.startswith("backend")
        }
        mpl.rcParams.update(settings | _SETTINGS)
        figure = Figure(
            figsize=(width_mm / _MM_PER_INCH, height_mm / _MM_PER_INCH), layout="constrained"
        )
        FigureCanvasSVG(figure)
        draw(figure)
        metadata = {"Date": None, "Title": title, "Description": summary}
        figure.savefig(target, format="svg", metadata=metadata)
    return target.getvalue()


def plain_axes(axes: Axes) -> None:
    """Leave of the frame only the line at the bottom."""
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(QUIET)
    axes.tick_params(length=2.5, width=0.6, color=QUIET, labelcolor=INK, pad=2.5)
    axes.set_axisbelow(True)


def _draw_days(figure: Figure, chart: Chart, width_mm: float, height_mm: float) -> None:
    axes = figure.add_subplot()
    plain_axes(axes)
    axes.grid(axis="y", color=GRID, linewidth=0.6)
    for series in chart.series:
        _draw_series(axes, series, is_wide=width_mm > _WIDE_MM)
    first = chart.series[0]
    length = len(first.median)
    axes.set_xlim(0, max(1, length - 1))
    axes.set_ylim(0, chart.top if chart.top is not None else _headroom(chart))
    count_axis(axes, chart.unit)
    date_axis(axes, first.start, length, most_ticks=max(3, int(width_mm // 18)))
    for level in chart.levels:
        axes.axhline(level.value, color=OCHRE, linewidth=0.9, linestyle=(0, (4, 2)))
        axes.annotate(
            level.label, (0.0, level.value), xytext=(3, -3), textcoords="offset points",
            color=OCHRE, ha="left", va="top",
        )  # fmt: skip
    _draw_marks(axes, chart.marks, first)
    if any(series.high90 for series in chart.series):
        # Below the axes, where no band can run through the words.
        axes.legend(
            loc="upper right", bbox_to_anchor=(1.0, -0.11 * 60.0 / height_mm), ncols=3,
            frameon=False, fontsize=6.5, labelcolor=INK, handlelength=1.4, borderaxespad=0.2,
            columnspacing=1.2,
        )  # fmt: skip


def _headroom(chart: Chart) -> float:
    highest = max(max(series.high90 or series.median) for series in chart.series)
    return 1.05 * highest if highest > 0.0 else 1.0


def count_axis(axes: Axes, unit: str, most_steps: int = 5) -> None:
    """Number the upright axis in round steps and name its unit."""
    from matplotlib.ticker import MaxNLocator

    locator = MaxNLocator(nbins=most_steps, integer=True, steps=[1, 2, 2.5, 5, 10])
    axes.yaxis.set_major_locator(locator)
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    axes.tick_params(axis="y", length=0)
    axes.set_ylabel(unit, color=QUIET)


def _draw_series(axes: Axes, series: Series, *, is_wide: bool) -> None:
    numbers = range(len(series.median))
    outer, inner = ("9 in 10 lie here", "1 in 2 lies here") if is_wide else ("9 in 10", "1 in 2")
    if series.high90:
        axes.fill_between(
            numbers, series.low90, series.high90, color=OUTER, linewidth=0, label=outer
        )
        axes.fill_between(
            numbers, series.low50, series.high50, color=INNER, linewidth=0, label=inner
        )
    axes.plot(numbers, series.median, color=LINE, linewidth=1.4, label="median")


def date_axis(axes: Axes, start: date, length: int, most_ticks: int) -> None:
    """Name days along the bottom of axes that count them from `start`."""
    weeks = 1
    while (length - 1) // (7 * weeks) + 1 > most_ticks:
        weeks += 1
    ticks = list(range(0, length, 7 * weeks))
    dates = [start + timedelta(days=number) for number in ticks]
    axes.set_xticks(ticks, [short_day_words(value) for value in dates])
    years = sorted({start.year, (start + timedelta(days=length - 1)).year})
    axes.set_xlabel(" to ".join(map(str, years)), color=QUIET, loc="left")


def _draw_marks(axes: Axes, marks: tuple[Mark, ...], series: Series) -> None:
    """Draw upright lines, each with its word and date above the axes, staggered where close."""
    _, last = axes.get_xlim()
    previous, row = -1.0e9, 0
    for mark in sorted(marks, key=lambda item: item.day):
        number = (mark.day - series.start).days
        axes.axvline(
            number, color=OCHRE, linewidth=1.1, linestyle=MARK_DASHES[mark.kind], clip_on=False
        )
        row = 1 - row if number - previous < 0.3 * last else 0
        at_right = number > 0.8 * last
        axes.annotate(
            f"{mark.label} {short_day_words(mark.day)}", (number, 1.0), (0, 2 + 8 * row),
            xycoords=("data", "axes fraction"), textcoords="offset points",
            ha="right" if at_right else "left", va="bottom", color=OCHRE,
        )  # fmt: skip
        previous = number


def _draw_panels(figure: Figure, chart: Chart) -> None:
    every_axes = figure.subplots(1, len(chart.panels), sharey=True, squeeze=False)[0]
    for axes, panel in zip(every_axes, chart.panels, strict=True):
        plain_axes(axes)
        axes.grid(axis="x", color=GRID, linewidth=0.6)
        for row, dot in enumerate(panel.dots):
            _draw_dot(axes, row, dot)
        axes.set_xlim(0, panel.top if panel.top is not None else _panel_top(panel))
        axes.set_xlabel(panel.axis, color=INK)
        axes.tick_params(axis="y", length=0, pad=7)
    dots = chart.panels[0].dots
    labels = [
        "\n".join(textwrap.wrap(dot.label, 38, max_lines=2, placeholder=" …")) for dot in dots
    ]
    every_axes[0].set_yticks(range(len(dots)), labels)
    every_axes[0].set_ylim(len(dots) - 0.5, -0.5)
    for label, dot in zip(every_axes[0].get_yticklabels(), dots, strict=True):
        label.set_color(QUIET if dot.status == "refused" else INK)
        label.set_weight("bold" if dot.status == "recommended" else "normal")


def _panel_top(panel: Panel) -> float:
    highest = max(
        (dot.low_median_high[2] for dot in panel.dots if dot.low_median_high), default=0.0
    )
    return 1.05 * highest if highest > 0.0 else 1.0


def _draw_dot(axes: Axes, row: int, dot: Dot) -> None:
    if dot.low_median_high is None:
        return
    low, median, high = dot.low_median_high
    is_refused = dot.status == "refused"
    colour = QUIET if is_refused else LINE
    axes.plot([low, high], [row, row], color=colour, linewidth=1.6, solid_capstyle="butt",
              clip_on=False)  # fmt: skip
    axes.plot(
        [median], [row], marker="o", markersize=6.5 if dot.status == "recommended" else 5.0,
        color=colour, markerfacecolor="white" if is_refused else colour, clip_on=False,
    )  # fmt: skip

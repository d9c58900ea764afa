"""Blocks that the plan and the progress of a job share on a terminal."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from lastbee.documents.lines import LABELS
from lastbee.documents.screen import (
    DATE_WIDTH,
    Columns,
    bullets,
    caution,
    heading,
    indented,
    labelled,
)
from lastbee.documents.wording import with_range
from lastbee.words import day_words, short_day_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from rich.console import RenderableType

    from lastbee.documents.lines import MethodLines, MilestoneLine, StepLines
    from lastbee.documents.screen import Screen
    from lastbee.jobs.plan import Band

STATUS_STYLES = {"recommended": "bold green", "possible": "", "refused": ""}
_MOST_ROWS = 15
_LEAST_BAR = 10  # columns below which a bar goes on a line of its own


def alarm(lines: Sequence[str], screen: Screen) -> list[RenderableType]:
    """The warning that an answer is not to be relied on."""
    if not lines:
        return []
    first, *rest = lines
    return [Text(f"! {first}", style="bold red"), *bullets(rest, screen), Text("")]


def milestones(
    heads: tuple[str, str, str], lines: Sequence[MilestoneLine], screen: Screen
) -> list[RenderableType]:
    """Dated events."""
    if not lines:
        return []
    columns = Columns(heads, DATE_WIDTH, screen)
    parts = columns.head()
    for item in lines:
        parts += columns.row(Text(item.label, style="bold"), item.dates)
        if item.note:
            parts.append(indented(Text(item.note, style="italic"), 4))
    return parts


def steps(title: str, lines: Sequence[StepLines], screen: Screen) -> list[RenderableType]:
    """What to do, in order, each step with its caution."""
    parts = heading(title, screen) if lines else []
    for number, step in enumerate(lines, start=1):
        parts += [
            Text.assemble(f"{number:>2}  ", (step.when, "bold")),
            indented(Text(step.what), 4),
            *(indented(labelled(line.label, line.words), 4) for line in step.details),
            *caution(step.caution, 4),
        ]
    return parts


def methods(
    title: str, heads: tuple[str, ...], rows: Sequence[MethodLines], screen: Screen
) -> list[RenderableType]:
    """Every way of the trade on the same axes."""
    if not rows:
        return []
    # The cells hold a number and its range; they may wrap between the two.
    columns = Columns(heads, 13 if screen.width >= 80 else 12, screen)
    parts = [*heading(title, screen), *columns.head()]
    for row in rows:
        label = Text.assemble((row.label, "bold"), ": ", (row.status, STATUS_STYLES[row.status]))
        parts += [Text(""), *columns.row(label, row.cells)]
        for line in row.prose:
            if line.label == LABELS["caution"]:
                parts += caution(line.words, 4)
            else:
                words = labelled(line.label, line.words) if line.label else Text(line.words)
                parts.append(indented(words, 4))
    return parts


def weekly_chart(band: Band, cone_on: date, days: range, screen: Screen) -> list[RenderableType]:
    """A daily band as bars, week by week.

    Parameters
    ----------
    band
        A band with one value a day from `cone_on`.
    cone_on
        The day of the band's first value.
    days
        The days to show, counted from `cone_on`; the first has a row.
    screen
        Where it is printed.
    """
    weeks, pace = days[::7], "week by week"
    if len(weeks) > _MOST_ROWS:
        weeks, pace = days[::14], "every second week"
    top = max((band.high90[number] for number in weeks), default=0.0)
    title = f"{band.label}, {pace}"
    solid, middle, light = screen.signs.bar
    legend = (
        f"{solid} low end   {middle} up to the median   {light} up to the high end;"
        " 9 in 10 lie between the ends"
    )
    return [
        Text(""),
        indented(Text(title, style="bold")),
        indented(_weeks(band, cone_on, weeks, top, screen)),
        indented(Text(legend)),
    ]


def _weeks(band: Band, cone_on: date, weeks: range, top: float, screen: Screen) -> Table:
    numbers = [with_range(band.median[n], band.low90[n], band.high90[n]) for n in weeks]
    days = [cone_on + timedelta(days=n) for n in weeks]
    number_width = max(map(len, numbers))
    for date_words in (day_words, short_day_words):
        dates = [date_words(day) for day in days]
        date_width = max(map(len, dates))
        room = screen.width - 2 - (date_width + 2) - (number_width + 2)
        if room >= _LEAST_BAR:
            break
    is_beside = room >= _LEAST_BAR
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=date_width, no_wrap=True, justify="right")
    grid.add_column(width=number_width, no_wrap=True)
    length = room if is_beside else number_width
    for n, when, number in zip(weeks, dates, numbers, strict=True):
        bar = _bar(band, n, length / top if top > 0.0 else 0.0, screen)
        grid.add_row(Text(when), Text(number), *([bar] if is_beside else []))
        if not is_beside and bar:
            grid.add_row(Text(""), bar)
    return grid


def _bar(band: Band, number: int, scale: float, screen: Screen) -> Text:
    ends = [round(value[number] * scale) for value in (band.low90, band.median, band.high90)]
    if band.high90[number] >= 1.0:
        ends[2] = max(ends[2], 1)  # a few bees still show
    lengths = (ends[0], ends[1] - ends[0], ends[2] - ends[1])
    pieces = zip(screen.signs.bar, lengths, strict=True)
    return Text("".join(sign * length for sign, length in pieces))

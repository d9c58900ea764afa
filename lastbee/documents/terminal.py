"""The plan on the terminal: for a phone-width screen, a wide one, and a plain pipe."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from rich.console import Group
from rich.padding import Padding
from rich.segment import Segment, Segments
from rich.table import Table
from rich.text import Text

from lastbee.documents.encoding import encodable
from lastbee.documents.outline import HEADINGS, LABELS, WALL_BAND, band_of, days_shown, outline
from lastbee.documents.wording import with_range
from lastbee.words import day_words

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from lastbee.documents.outline import (
        EvidenceLines,
        Line,
        LookLines,
        MethodLines,
        MilestoneLine,
        Outline,
        StepLines,
    )
    from lastbee.jobs.plan import Band, Plan

_WIDEST = 100
_LABEL_BESIDE_FROM = 25  # columns a label needs to stand beside its cells, not above
_DATE_WIDTH = 15
_LABEL_WIDTH = 26
_MOST_ROWS = 15

_STATUS_STYLES = {"recommended": "bold green", "possible": "", "refused": "dim"}
_FIT_STYLES = {"agrees": "green", "odd": "yellow", "contradicts": "bold red"}
_KIND_STYLES = {"Go": "bold green", "Another way": "bold green", "Refuse": "bold red"}


@dataclass(frozen=True, slots=True)
class _Signs:
    """The few drawn signs of the page."""

    rule: str
    item: str
    bar: tuple[str, str, str]


_DRAWN = _Signs("─", "•", ("█", "▒", "░"))
_TYPED = _Signs("-", "*", ("#", "=", "."))


def print_plan(plan: Plan, console: Console) -> None:
    """Print the whole answer, at most 100 columns wide, readable from 60 columns up.

    Parameters
    ----------
    plan
        The whole answer for one job.
    console
        Where to print. Its width, colours and encoding are heeded: signs and letters that
        the encoding lacks are replaced, and no text of the plan is read as markup.
    """
    words = encodable(outline(plan), console.encoding)
    is_ascii = not console.encoding.lower().startswith("utf")
    signs = _TYPED if is_ascii else _DRAWN
    width = min(console.width, _WIDEST)
    parts = [
        *_head(words, signs, width),
        *_verdict(words, signs),
        *_listed("contents", words.contents, signs, width),
        *_shares("founding", words.founding, width),
        *_when(plan, words, signs, width),
        *_left(words, signs, width),
        *_steps(words, signs, width),
        *_methods(words, signs, width),
        *_evidence(words, signs, width),
        *_looks(words, signs, width),
        *_items("sure", words.how_sure, signs, width),
        *_items("cautions", words.cautions, signs, width),
        Text(""),
    ]
    _print_trimmed(Group(*parts), console, width)


def _print_trimmed(parts: Group, console: Console, width: int) -> None:
    """Print without the spaces that tables leave at the end of lines."""
    options = console.options.update(width=width)
    page: list[Segment] = []
    for line in console.render_lines(parts, options, pad=False):
        kept = list(line)
        while kept and not kept[-1].text.rstrip():
            kept.pop()
        if kept:
            kept[-1] = Segment(kept[-1].text.rstrip(), kept[-1].style, kept[-1].control)
        page += [*kept, Segment.line()]
    console.print(Segments(page), end="")


def _heading(key: str, signs: _Signs, width: int) -> list[RenderableType]:
    title = HEADINGS[key]
    rule = signs.rule * max(0, width - len(title) - 1)
    return [Text(""), Text.assemble((title, "bold"), " ", (rule, "dim"))]


def _indented(part: RenderableType, left: int = 2) -> Padding:
    return Padding(part, (0, 0, 0, left))


def _bullets(items: tuple[str, ...], signs: _Signs, left: int = 2) -> list[RenderableType]:
    if not items:
        return []
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=1)
    grid.add_column(overflow="fold")
    for item in items:
        grid.add_row(Text(signs.item), Text(item))
    return [_indented(grid, left)]


def _pairs(lines: tuple[Line, ...], label_width: int, style: str = "") -> Table:
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=label_width, overflow="fold")
    grid.add_column(overflow="fold")
    for line in lines:
        grid.add_row(Text(line.label, style="dim"), Text(line.words, style=style))
    return grid


def _head(words: Outline, signs: _Signs, width: int) -> list[RenderableType]:
    parts: list[RenderableType] = []
    if words.alarm:
        first, *rest = words.alarm
        parts += [Text(f"! {first}", style="bold red"), *_bullets(tuple(rest), signs), Text("")]
    label_width = max(len(fact.label) for fact in words.facts)
    rule = Text(signs.rule * width, style="dim")
    return [*parts, Text(words.title, style="bold"), _pairs(words.facts, label_width), rule]


def _verdict(words: Outline, signs: _Signs) -> list[RenderableType]:
    parts: list[RenderableType] = [
        Text(""),
        Text.assemble(
            (f"{words.kind}: ", _KIND_STYLES.get(words.kind, "bold yellow")),
            (words.headline, "bold"),
        ),
    ]
    if words.chance:
        parts.append(Text(words.chance))
    for key, items in (("because", words.reasons), ("change", words.would_change)):
        if items:
            parts += [Text(LABELS[key], style="dim"), *_bullets(items, signs)]
    return parts


def _label_width(lines: tuple[Line, ...], width: int) -> int:
    longest = max((len(line.label) for line in lines), default=0)
    return min(max(longest, _LABEL_WIDTH), width // 2 - 4)


def _listed(key: str, lines: tuple[Line, ...], signs: _Signs, width: int) -> list[RenderableType]:
    if not lines:
        return []
    return [*_heading(key, signs, width), _indented(_pairs(lines, _label_width(lines, width)))]


def _shares(key: str, lines: tuple[Line, ...], width: int) -> list[RenderableType]:
    """Set the possibilities below a label, each with its probability."""
    if not lines:
        return []
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=9, justify="right")
    grid.add_column(max_width=width - 15, overflow="fold")
    for line in lines:
        grid.add_row(Text(line.words), Text(line.label))
    return [_indented(Text(LABELS[key], style="dim")), _indented(grid)]


def _when(plan: Plan, words: Outline, signs: _Signs, width: int) -> list[RenderableType]:
    chart = _chart(plan, signs, width)
    if not words.milestones and not chart:
        return []
    parts = _heading("when", signs, width)
    if words.milestones:
        parts.append(_columns(Text(""), words.milestone_heads, "dim", _DATE_WIDTH, width))
        for item in words.milestones:
            parts += _milestone(item, width)
    return [*parts, *chart]


def _columns(
    label: Text, cells: tuple[str, ...], style: str, cell_width: int, width: int
) -> RenderableType:
    """Set a label and its cells; on a narrow screen the label takes the line above.

    Column widths depend on nothing but the screen, so that rows set one by one line up.
    """
    room = width - 4 - len(cells) * (cell_width + 2)
    is_wide = room >= _LABEL_BESIDE_FROM
    grid = Table.grid(padding=(0, 2, 0, 0))
    row: list[Text] = [Text(_broken(cell, cell_width), style=style) for cell in cells]
    if is_wide:
        grid.add_column(width=room, overflow="fold")
        row.insert(0, label)
    for _ in cells:
        grid.add_column(width=cell_width, overflow="fold")
    grid.add_row(*row)
    if is_wide or not label:
        return _indented(grid, 2 if is_wide else 4)
    return Group(_indented(label), _indented(grid, 4))


def _broken(cell: str, width: int) -> str:
    """Break a cell that is too long between the number and its range, not inside it."""
    if len(cell) <= width:
        return cell
    return cell.replace(" (", "\n(", 1).replace("not by ", "not by\n", 1)


def _milestone(item: MilestoneLine, width: int) -> list[RenderableType]:
    parts = [_columns(Text(item.label, style="bold"), item.dates, "", _DATE_WIDTH, width)]
    if item.note:
        parts.append(_indented(Text(item.note, style="italic"), 4))
    return parts


def _chart(plan: Plan, signs: _Signs, width: int) -> list[RenderableType]:
    band = band_of(plan, WALL_BAND)
    if band is None:
        return []
    shown = days_shown(plan)
    step_days, pace = (7, "week by week") if shown <= 7 * _MOST_ROWS else (14, "every second week")
    weeks = range(0, shown, step_days)
    top = max(band.high90[number] for number in weeks)
    numbers = {n: with_range(band.median[n], band.low90[n], band.high90[n]) for n in weeks}
    number_width = max(map(len, numbers.values()))
    room = max(8, width - 2 - 15 - 2 - number_width - 2)
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=15, no_wrap=True, justify="right")
    grid.add_column(width=number_width, no_wrap=True)
    grid.add_column(width=room, no_wrap=True)
    for number in weeks:
        date_words = day_words(plan.cone_on + timedelta(days=number))
        bar = _bar(band, number, room / top if top > 0.0 else 0.0, signs)
        grid.add_row(Text(date_words), Text(numbers[number]), bar)
    solid, middle, light = signs.bar
    legend = (
        f"{solid} low end   {middle} up to the median   {light} up to the high end;"
        " 9 in 10 lie between the ends"
    )
    title = Text(f"{band.label}, {pace}", style="bold")
    return [Text(""), _indented(title), _indented(grid), _indented(Text(legend, style="dim"))]


def _bar(band: Band, number: int, scale: float, signs: _Signs) -> Text:
    ends = [round(value[number] * scale) for value in (band.low90, band.median, band.high90)]
    if band.high90[number] >= 1.0:
        ends[2] = max(ends[2], 1)  # a few bees still show
    lengths = (ends[0], ends[1] - ends[0], ends[2] - ends[1])
    return Text("".join(sign * length for sign, length in zip(signs.bar, lengths, strict=True)))


def _left(words: Outline, signs: _Signs, width: int) -> list[RenderableType]:
    parts: list[RenderableType] = []
    if words.left or words.consequences:
        parts += _heading("left", signs, width)
        if words.left:
            parts.append(_indented(_pairs(words.left, _label_width(words.left, width))))
        parts += _bullets(words.consequences, signs)
    if words.box or words.queen:
        parts += _heading("box", signs, width)
        if words.box:
            parts.append(_indented(_pairs(words.box, _label_width(words.box, width))))
        parts += _shares("queen", words.queen, width)
    return parts


def _steps(words: Outline, signs: _Signs, width: int) -> list[RenderableType]:
    if not words.steps:
        return []
    parts = _heading("steps", signs, width)
    for number, step in enumerate(words.steps, start=1):
        parts += _step(number, step)
    return parts


def _step(number: int, step: StepLines) -> list[RenderableType]:
    return [
        Text.assemble(f"{number:>2}  ", (step.when, "bold")),
        _indented(Text(step.what), 4),
        *(_indented(_labelled(line.label, line.words, "dim"), 4) for line in step.details),
        *_caution(step.caution, 4),
    ]


def _labelled(label: str, words: str, label_style: str) -> Text:
    return Text.assemble((f"{label}: ", label_style), words)


def _caution(words: str, left: int) -> list[RenderableType]:
    return [_indented(_labelled(LABELS["caution"], words, "bold yellow"), left)] if words else []


def _methods(words: Outline, signs: _Signs, width: int) -> list[RenderableType]:
    if not words.methods:
        return []
    # The cells hold a number and its range; they may wrap between the two.
    cell_width = 13 if width >= 80 else 12
    parts = _heading("methods", signs, width)
    parts.append(_columns(Text(""), words.method_heads, "dim", cell_width, width))
    for row in words.methods:
        parts += _method(row, cell_width, width)
    return parts


def _method(row: MethodLines, cell_width: int, width: int) -> list[RenderableType]:
    status = (row.status, _STATUS_STYLES[row.status])
    label = Text.assemble((row.label, "bold"), ": ", status)
    parts: list[RenderableType] = [Text(""), _columns(label, row.cells, "", cell_width, width)]
    for line in row.prose:
        if line.label == LABELS["caution"]:
            parts += _caution(line.words, 4)
        else:
            text = _labelled(line.label, line.words, "dim") if line.label else Text(line.words)
            parts.append(_indented(text, 4))
    return parts


def _evidence(words: Outline, signs: _Signs, width: int) -> list[RenderableType]:
    if not words.evidence:
        return []
    parts = _heading("evidence", signs, width)
    for row in words.evidence:
        parts += _sighting(row)
    return parts


def _sighting(row: EvidenceLines) -> list[RenderableType]:
    fit = f"{row.verdict} ({row.odds})" if row.odds else row.verdict
    return [
        _indented(Text.assemble((row.label, "bold"), ": ", (fit, _FIT_STYLES[row.verdict]))),
        _indented(_labelled(LABELS["reading"], row.reading, "dim"), 4),
        _indented(_labelled(LABELS["moved"], row.moved, "dim"), 4),
    ]


def _looks(words: Outline, signs: _Signs, width: int) -> list[RenderableType]:
    if not words.looks:
        return []
    parts = _heading("looks", signs, width)
    for look in words.looks:
        parts += _look(look)
    return parts


def _look(look: LookLines) -> list[RenderableType]:
    return [
        _indented(Text(look.label, "bold")),
        _indented(Text(look.words), 4),
        *_caution(look.caution, 4),
    ]


def _items(key: str, items: tuple[str, ...], signs: _Signs, width: int) -> list[RenderableType]:
    return [*_heading(key, signs, width), *_bullets(items, signs)] if items else []

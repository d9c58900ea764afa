"""The progress of a trap-out on the terminal.

Made for a phone in bright sun: the four answers come first, nothing that matters is dim,
and no state is told by colour alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from lastbee.documents.days import WALL_BAND, band_of, days_shown
from lastbee.documents.encoding import encodable
from lastbee.documents.lines import LABELS
from lastbee.documents.progress_outline import (
    PROGRESS_HEADINGS,
    PROGRESS_LABELS,
    progress_outline,
)
from lastbee.documents.screen import (
    DATE_WIDTH,
    Columns,
    Screen,
    bullets,
    caution,
    heading,
    indented,
    items,
    labelled,
    listing,
    print_trimmed,
    rule,
)
from lastbee.documents.screen_blocks import (
    STATUS_STYLES,
    alarm,
    methods,
    milestones,
    steps,
    weekly_chart,
)

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from lastbee.documents.answers import Answer
    from lastbee.documents.causes import CauseLine, ReasonLines
    from lastbee.documents.progress_outline import CloseOutLines, ProgressOutline, StoryLines
    from lastbee.jobs.progress import Progress

# Dark on light or light on dark of their own, so that they hold on any terminal.
_TONES = {
    "good": "bold black on green",
    "wary": "bold black on yellow",
    "bad": "bold white on red",
    "plain": "bold",
}
_LONGEST_BAR = 24
_CHECK_WIDTH = 60  # checks are told in a sentence and need more room than other labels
_LEAST_LABEL = 22  # columns below which a label goes above its bar


def print_progress(progress: Progress, console: Console) -> None:
    """Print how a trap-out stands, at most 100 columns wide, readable from 40 columns up.

    Parameters
    ----------
    progress
        The whole answer for a running trap-out.
    console
        Where to print; it is heeded as by `print_plan`.
    """
    screen = Screen.of(console)
    print_trimmed([*progress_parts(progress, screen), Text("")], console, screen)


def progress_parts(progress: Progress, screen: Screen) -> list[RenderableType]:
    """Lay out the whole progress, to be printed alone or after the plan."""
    words = encodable(progress_outline(progress), screen.encoding)
    heads = PROGRESS_HEADINGS
    return [
        *_head(words, screen),
        *_answers(words.answers, screen),
        *_changed(words, screen),
        *_section("now", listing(words.now, screen), screen),
        *_causes(words, screen),
        *methods(heads["methods"], words.method_heads, words.methods, screen),
        *_next_visit(words, screen),
        *steps(heads["steps"], words.steps, screen),
        *_clearance(words, screen),
        *_close_out(words.close_out, screen),
        *items(heads["closing"], words.closing_list, screen),
        *_when(progress, words, screen),
        *_story(words.story, screen),
        *items(heads["sure"], words.how_sure, screen),
        *items(heads["cautions"], words.cautions, screen),
        *_section("job", listing(words.facts, screen), screen),
    ]


def _section(key: str, parts: list[RenderableType], screen: Screen) -> list[RenderableType]:
    """Set a heading above the parts of a section, if it has any."""
    return [*heading(PROGRESS_HEADINGS[key], screen), *parts] if parts else []


def _head(words: ProgressOutline, screen: Screen) -> list[RenderableType]:
    return [
        *alarm(words.alarm, screen),
        Text(words.title, style="bold"),
        Text(words.as_of),
        rule(screen),
    ]


def _answers(answers: tuple[Answer, ...], screen: Screen) -> list[RenderableType]:
    """Set each question beside its answer; a caution stands right below what it is for."""
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=max(len(answer.question) for answer in answers))
    grid.add_column(overflow="fold", max_width=screen.width - 11)
    for answer in answers:
        words = Text(answer.words)
        if answer.lead:
            end = "." if answer.words else ""
            words = Text.assemble((f"{answer.lead}{end}", _TONES[answer.tone]), " ", words)
        grid.add_row(Text(answer.question, style="bold"), words)
        if answer.caution:
            grid.add_row(Text(LABELS["caution"], style="bold"), Text(answer.caution))
    return [grid]


def _changed(words: ProgressOutline, screen: Screen) -> list[RenderableType]:
    heads = (PROGRESS_LABELS["before"], PROGRESS_LABELS["after"])
    columns = Columns(heads, 22 if screen.width >= 80 else 24, screen)
    parts = bullets(words.changed, screen)
    if words.changes:
        parts += columns.head()
    for line in words.changes:
        parts += columns.row(Text(line.label, style="bold"), (line.before, line.after))
    return _section("changed", parts, screen)


def _causes(words: ProgressOutline, screen: Screen) -> list[RenderableType]:
    parts = [*_bars(words.causes, screen), *_paragraph(words.far_fetched)]
    for reasons in words.reasons:
        parts += _reasons(reasons, screen)
    if words.settled_by:
        label = PROGRESS_LABELS["settled"]
        parts += [Text(""), indented(labelled(label, words.settled_by, "bold"))]
    return _section("causes", parts, screen)


def _paragraph(words: str) -> list[RenderableType]:
    return [indented(Text(words))] if words else []


def _bars(causes: tuple[CauseLine, ...], screen: Screen) -> list[RenderableType]:
    """Set each explanation beside its chance and a bar, or above them on a narrow screen."""
    if not causes:
        return []
    chance_width = max(len(cause.chance) for cause in causes)
    length = min(_LONGEST_BAR, screen.width // 5)
    room = screen.width - 2 - (chance_width + 2) - (length + 2)
    is_beside = room >= _LEAST_LABEL
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=chance_width, justify="right", no_wrap=True)
    grid.add_column(width=length)
    if is_beside:
        grid.add_column(width=room, overflow="fold")
    parts: list[RenderableType] = []
    for cause in causes:
        bar = Text(screen.signs.bar[0] * max(1, round(length * cause.share)))
        row = [Text(cause.chance, style="bold"), bar]
        if is_beside:
            grid.add_row(*row, Text(cause.label))
            continue
        alone = Table.grid(padding=(0, 2, 0, 0))
        alone.add_row(*row)
        parts += [indented(Text(cause.label)), indented(alone, 4)]
    return [indented(grid)] if is_beside else parts


def _reasons(reasons: ReasonLines, screen: Screen) -> list[RenderableType]:
    parts: list[RenderableType] = [
        Text(""),
        indented(Text.assemble((reasons.label, "bold"), f" ({reasons.chance})")),
    ]
    for key, texts in (("for", reasons.speaks_for), ("against", reasons.speaks_against)):
        if texts:
            parts += [indented(Text(f"{PROGRESS_LABELS[key]}:"), 4), *bullets(texts, screen, 4)]
    if reasons.remedy:
        parts.append(indented(labelled(PROGRESS_LABELS["if so"], reasons.remedy, "bold"), 4))
    return [*parts, *caution(reasons.caution, 4)]


def _next_visit(words: ProgressOutline, screen: Screen) -> list[RenderableType]:
    visit = words.next_visit
    if visit is None:
        return []
    when = ", ".join(filter(None, (visit.when, visit.hours)))
    parts: list[RenderableType] = [indented(Text(when, style="bold"))]
    parts += [indented(labelled(line.label, line.words, "bold")) for line in visit.details]
    if visit.look_for:
        parts.append(indented(Text(f"{PROGRESS_LABELS['look for']}:", style="bold")))
    return _section(
        "visit", [*parts, *bullets(visit.look_for, screen), *caution(visit.caution, 2)], screen
    )


def _clearance(words: ProgressOutline, screen: Screen) -> list[RenderableType]:
    columns = Columns(words.check_heads, DATE_WIDTH, screen, beside_from=_CHECK_WIDTH)
    parts = _paragraph(words.clearance)
    if words.checks:
        parts += columns.head()
    for check in words.checks:
        parts += columns.row(Text(check.label, style="bold"), check.cells)
        parts += caution(check.caution, 4)
    return _section("clearance", parts, screen)


def _close_out(rows: tuple[CloseOutLines, ...], screen: Screen) -> list[RenderableType]:
    parts: list[RenderableType] = []
    for row in rows:
        status = (row.status, STATUS_STYLES[row.status])
        parts.append(indented(Text.assemble((row.label, "bold"), ": ", status)))
        parts += [indented(labelled(line.label, line.words), 4) for line in row.prose]
    return _section("left", parts, screen)


def _when(progress: Progress, words: ProgressOutline, screen: Screen) -> list[RenderableType]:
    parts = milestones(words.milestone_heads, words.milestones, screen)
    band, shown = band_of(progress, WALL_BAND), days_shown(progress)
    since = (progress.as_of - progress.cone_on).days
    if band is not None and since < shown:
        parts += weekly_chart(band, progress.cone_on, range(since, shown), screen)
    return _section("when", parts, screen)


def _story(visits: tuple[StoryLines, ...], screen: Screen) -> list[RenderableType]:
    parts: list[RenderableType] = []
    for visit in visits:
        when = f"{visit.date}, {visit.hour}, {visit.day}"
        parts.append(Text.assemble(f"{visit.number:>2}  ", (when, "bold")))
        parts += [indented(labelled(line.label, line.words), 4) for line in visit.parts]
    return _section("story", parts, screen)

"""The plan on the terminal: for a phone-width screen, a wide one, and a plain pipe."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from lastbee.documents.days import WALL_BAND, band_of, days_shown
from lastbee.documents.encoding import encodable
from lastbee.documents.outline import HEADINGS, LABELS, outline
from lastbee.documents.progress_outline import PROGRESS_HEADINGS
from lastbee.documents.progress_terminal import progress_parts
from lastbee.documents.screen import (
    Screen,
    bullets,
    caution,
    heading,
    indented,
    items,
    labelled,
    listing,
    pairs,
    print_trimmed,
    rule,
    shares,
)
from lastbee.documents.screen_blocks import alarm, methods, milestones, steps, weekly_chart

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from lastbee.documents.outline import EvidenceLines, LookLines, Outline
    from lastbee.jobs.plan import Plan

_FIT_STYLES = {"agrees": "green", "odd": "yellow", "contradicts": "bold red"}
_KIND_STYLES = {"Go": "bold green", "Another way": "bold green", "Refuse": "bold red"}


def print_plan(plan: Plan, console: Console) -> None:
    """Print the whole answer, at most 100 columns wide, readable from 40 columns up.

    Parameters
    ----------
    plan
        The whole answer for one job.
    console
        Where to print. Its width, colours and encoding are heeded: signs and letters that
        the encoding lacks are replaced, and no text of the plan is read as markup.
    """
    screen = Screen.of(console)
    words = encodable(outline(plan), screen.encoding)
    parts = [
        *_head(words, screen),
        *_verdict(words, screen),
        *_contents(words, screen),
        *_when(plan, words, screen),
        *_left(words, screen),
        *steps(HEADINGS["steps"], words.steps, screen),
        *methods(HEADINGS["methods"], words.method_heads, words.methods, screen),
        *_evidence(words, screen),
        *_looks(words, screen),
        *items(HEADINGS["sure"], words.how_sure, screen),
        *items(HEADINGS["cautions"], words.cautions, screen),
        *_since(plan, screen),
        Text(""),
    ]
    print_trimmed(parts, console, screen)


def _since(plan: Plan, screen: Screen) -> list[RenderableType]:
    """How the trap-out stands after its visits, under a heading of its own."""
    if plan.progress is None:
        return []
    title = heading(PROGRESS_HEADINGS["progress"], screen)
    return [*title, *progress_parts(plan.progress, screen)]


def _head(words: Outline, screen: Screen) -> list[RenderableType]:
    label_width = max(len(fact.label) for fact in words.facts)
    return [
        *alarm(words.alarm, screen),
        Text(words.title, style="bold"),
        pairs(words.facts, label_width),
        rule(screen),
        *([Text(words.overtaken, style="bold")] if words.overtaken else []),
    ]


def _verdict(words: Outline, screen: Screen) -> list[RenderableType]:
    parts: list[RenderableType] = [
        Text(""),
        Text.assemble(
            (f"{words.kind}: ", _KIND_STYLES.get(words.kind, "bold yellow")),
            (words.headline, "bold"),
        ),
    ]
    if words.chance:
        parts.append(Text(words.chance))
    for key, texts in (("because", words.reasons), ("change", words.would_change)):
        if texts:
            parts += [Text(LABELS[key]), *bullets(texts, screen)]
    return parts


def _contents(words: Outline, screen: Screen) -> list[RenderableType]:
    return [
        *(heading(HEADINGS["contents"], screen) if words.contents else []),
        *listing(words.contents, screen),
        *shares(LABELS["founding"], words.founding, screen),
    ]


def _when(plan: Plan, words: Outline, screen: Screen) -> list[RenderableType]:
    band = band_of(plan, WALL_BAND)
    parts = milestones(words.milestone_heads, words.milestones, screen)
    if band is not None:
        parts += weekly_chart(band, plan.cone_on, range(days_shown(plan)), screen)
    return [*heading(HEADINGS["when"], screen), *parts] if parts else []


def _left(words: Outline, screen: Screen) -> list[RenderableType]:
    parts: list[RenderableType] = []
    if words.left or words.consequences:
        parts += heading(HEADINGS["left"], screen)
        parts += [*listing(words.left, screen), *bullets(words.consequences, screen)]
    if words.box or words.queen:
        parts += heading(HEADINGS["box"], screen)
        parts += [*listing(words.box, screen), *shares(LABELS["queen"], words.queen, screen)]
    return parts


def _evidence(words: Outline, screen: Screen) -> list[RenderableType]:
    parts = heading(HEADINGS["evidence"], screen) if words.evidence else []
    for row in words.evidence:
        parts += _sighting(row)
    return parts


def _sighting(row: EvidenceLines) -> list[RenderableType]:
    fit = f"{row.verdict} ({row.odds})" if row.odds else row.verdict
    return [
        indented(Text.assemble((row.label, "bold"), ": ", (fit, _FIT_STYLES[row.verdict]))),
        indented(labelled(LABELS["reading"], row.reading), 4),
        indented(labelled(LABELS["moved"], row.moved), 4),
    ]


def _looks(words: Outline, screen: Screen) -> list[RenderableType]:
    parts = heading(HEADINGS["looks"], screen) if words.looks else []
    for look in words.looks:
        parts += _look(look)
    return parts


def _look(look: LookLines) -> list[RenderableType]:
    return [
        indented(Text(look.label, "bold")),
        indented(Text(look.words), 4),
        *caution(look.caution, 4),
    ]

"""Pieces of a document in ready words, as the plan and the progress of a job share them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee import __version__
from lastbee.documents.wording import (
    CODES_DECIDE,
    NOT_TRUSTED,
    clean,
    day_or_later,
    days,
    percent,
    sentence,
)
from lastbee.words import day_words

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from lastbee.jobs.plan import MethodRow, Milestone, Quantity, Share, Step, Trust

MADE_BY = f"lastbee {__version__}"
METHOD_HEADS = ("bees alive", "honey left", "weeks", "visits")

LABELS = {
    "why not": "Why not",
    "change back": "What would change that",
    "who": "Who",
    "with": "With",
    "caution": "Caution",
}


@dataclass(frozen=True, slots=True)
class Line:
    """A label and the words beside it."""

    label: str
    words: str


@dataclass(frozen=True, slots=True)
class MilestoneLine:
    """One event with its three dates in words, in the order of `milestone_heads`."""

    label: str
    dates: tuple[str, str, str]
    note: str


@dataclass(frozen=True, slots=True)
class MethodLines:
    """One method: its four readings in the order of METHOD_HEADS, then the prose."""

    label: str
    status: str
    cells: tuple[str, str, str, str]
    prose: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class StepLines:
    """One step; `details` holds who and with what, `caution` stands right below them."""

    when: str
    what: str
    details: tuple[Line, ...]
    caution: str


def sentences(texts: Iterable[str]) -> tuple[str, ...]:
    """Make a sentence of every text that says something."""
    return tuple(words for words in map(sentence, texts) if words)


def said(*lines: Line) -> tuple[Line, ...]:
    """Leave out the lines that have nothing beside their label."""
    return tuple(line for line in lines if line.words)


def quantity_lines(items: Iterable[Quantity]) -> tuple[Line, ...]:
    """Each quantity beside its label."""
    return tuple(Line(clean(item.label), clean(item.words)) for item in items)


def share_lines(items: Iterable[Share]) -> tuple[Line, ...]:
    """Each possibility with its probability in words."""
    return tuple(Line(clean(item.label), percent(item.probability)) for item in items)


def milestone_heads(confidence: float) -> tuple[str, str, str]:
    """The heads above the three dates of an event."""
    return "earliest", "likely", f"almost sure ({percent(confidence)})"


def milestone_line(item: Milestone, horizon: date | None) -> MilestoneLine:
    """One event; `horizon` is the last day of the forecast."""
    # An event that is fixed, such as the day the cone goes on, has one date only.
    if item.likely is not None and item.early == item.likely == item.safe:
        dates = ("", day_words(item.likely), "")
    else:
        early, likely, safe = (
            day_or_later(value, horizon) for value in (item.early, item.likely, item.safe)
        )
        dates = (early, likely, safe)
    return MilestoneLine(clean(item.label), dates, sentence(item.note))


def step_lines(step: Step) -> StepLines:
    """One step with who, with what, and its caution."""
    return StepLines(
        when=days(step.when, step.until),
        what=sentence(step.what),
        details=said(Line(LABELS["who"], clean(step.who)), Line(LABELS["with"], clean(step.bring))),
        caution=sentence(step.caution),
    )


def method_lines(row: MethodRow) -> MethodLines:
    """One way of the trade."""
    values = (row.bees_alive_pct, row.honey_left, row.weeks, row.visits)
    first, second, third, fourth = ("-" if item is None else clean(item.words) for item in values)
    # A way that is refused is not going to be walked: its cautions are in the JSON.
    cautions = () if row.status == "refused" else sentences(row.cautions)
    return MethodLines(
        label=clean(row.label),
        status=row.status,
        cells=(first, second, third, fourth),
        prose=said(
            Line("", sentence(row.note)),
            Line(LABELS["why not"], " ".join(sentences(row.forbidden_by))),
            Line(LABELS["change back"], " ".join(sentences(row.would_change))),
            Line(LABELS["caution"], " ".join(cautions)),
        ),
    )


def alarm_lines(trust: Trust) -> tuple[str, ...]:
    """Say first that an answer is not to be relied on, and why."""
    return () if trust.is_trusted else (f"{NOT_TRUSTED}.", *sentences(trust.warnings))


def trust_lines(trust: Trust, how_sure: Iterable[str] = ()) -> tuple[str, ...]:
    """Say how sure the answer is, and how it was computed."""
    computed = (
        f"Computed from {trust.colonies:,} simulated colonies, worth"
        f" {trust.effective_colonies:,.0f} once weighed by what was seen;"
        f" seed {trust.seed}, {MADE_BY}."
    )
    warnings = sentences(trust.warnings) if trust.is_trusted else ()
    return (*warnings, *sentences(how_sure), computed)


def caution_lines(texts: Iterable[str]) -> tuple[str, ...]:
    """The cautions, with the one on local codes among them in any case."""
    given = sentences(texts)
    core = CODES_DECIDE.rstrip(".").lower()
    return given if any(core in words.lower() for words in given) else (*given, CODES_DECIDE)

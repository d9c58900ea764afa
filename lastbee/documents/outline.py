"""The plan in ready words, section by section: what terminal and paper both set.

`outline` turns a `Plan` into strings in reading order, so that the two layouts cannot
say different things. Only layout is left to them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from lastbee import __version__
from lastbee.documents.wording import (
    CODES_DECIDE,
    NOT_TRUSTED,
    clean,
    day_or_later,
    days,
    one_in,
    percent,
    sentence,
    two_digits,
)
from lastbee.words import day_words

if TYPE_CHECKING:
    from datetime import date

    from lastbee.jobs.plan import Band, EvidenceRow, MethodRow, Milestone, Plan, Quantity, Share

# Below this the others hardly speak against a reading, and its rarity is told instead.
CONFLICT_WORTH_SAYING = 3.0
# Keys by which the charts find their bands and their dates in a plan.
WALL_BAND = "bees_in_wall"
BOX_BAND = "bees_in_box"
EMPTY = "empty"

HEADINGS = {
    "verdict": "The answer",
    "contents": "What is in there",
    "when": "When",
    "left": "What stays behind",
    "box": "The box and the queen",
    "steps": "What to do next",
    "methods": "Every way, side by side",
    "evidence": "Why we think so",
    "looks": "Further looks worth taking",
    "sure": "How sure this is",
    "cautions": "Cautions",
}

LABELS = {
    "because": "Because",
    "change": "What would change it",
    "founding": "It came as",
    "queen": "The queen is then",
    "why not": "Why not",
    "change back": "What would change that",
    "who": "Who",
    "with": "With",
    "caution": "Caution",
    "reading": "Reading",
    "moved": "Moved",
    "rest": "With the rest",
    "inspected": "Inspected on",
}


@dataclass(frozen=True, slots=True)
class Line:
    """A label and the words beside it."""

    label: str
    words: str


@dataclass(frozen=True, slots=True)
class MilestoneLine:
    """One event with its three dates in words, in the order of `Outline.milestone_heads`."""

    label: str
    dates: tuple[str, str, str]
    note: str


@dataclass(frozen=True, slots=True)
class MethodLines:
    """One method: its four readings in the order of `Outline.method_heads`, then the prose."""

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


@dataclass(frozen=True, slots=True)
class EvidenceLines:
    """One sighting: what was reported, what it moved, and how it sits with the rest."""

    label: str
    reading: str
    moved: str
    verdict: str
    odds: str


@dataclass(frozen=True, slots=True)
class LookLines:
    """One further look, what it would do, and its caution."""

    label: str
    words: str
    caution: str


@dataclass(frozen=True, slots=True)
class Outline:
    """The whole document in words. Empty tuples and strings mean: leave the part out."""

    title: str
    facts: tuple[Line, ...]
    alarm: tuple[str, ...]
    kind: str
    headline: str
    chance: str
    reasons: tuple[str, ...]
    would_change: tuple[str, ...]
    contents: tuple[Line, ...]
    founding: tuple[Line, ...]
    milestone_heads: tuple[str, str, str]
    milestones: tuple[MilestoneLine, ...]
    left: tuple[Line, ...]
    consequences: tuple[str, ...]
    box: tuple[Line, ...]
    queen: tuple[Line, ...]
    steps: tuple[StepLines, ...]
    method_heads: tuple[str, str, str, str]
    methods: tuple[MethodLines, ...]
    evidence: tuple[EvidenceLines, ...]
    looks: tuple[LookLines, ...]
    how_sure: tuple[str, ...]
    cautions: tuple[str, ...]
    made_by: str


def outline(plan: Plan) -> Outline:
    """Put a plan into words.

    Parameters
    ----------
    plan
        The whole answer for one job.

    Returns
    -------
    Strings free of control codes, in reading order.
    """
    verdict, horizon = plan.verdict, last_day(plan)
    return Outline(
        title=clean(plan.title) or "Plan for one colony",
        facts=_facts(plan),
        alarm=_alarm(plan),
        kind=sentence(verdict.kind).rstrip("."),
        headline=sentence(verdict.headline),
        chance="" if verdict.chance is None
        else f"Chance that this works out: {percent(verdict.chance)}.",
        reasons=_sentences(verdict.reasons),
        would_change=_sentences(verdict.would_change),
        contents=_quantities(plan.contents),
        founding=_shares(plan.founding),
        milestone_heads=("earliest", "likely", f"almost sure ({percent(plan.confidence)})"),
        milestones=tuple(_milestone(item, horizon) for item in plan.milestones),
        left=_quantities(plan.left),
        consequences=_sentences(plan.consequences),
        box=_quantities(plan.box_colony),
        queen=_shares(plan.queen),
        steps=_steps(plan),
        method_heads=("bees alive", "honey left", "weeks", "visits"),
        methods=tuple(_method(row) for row in plan.methods),
        evidence=tuple(_evidence(row) for row in plan.evidence),
        looks=_looks(plan),
        how_sure=_how_sure(plan),
        cautions=_cautions(plan),
        made_by=f"lastbee {__version__}",
    )  # fmt: skip


def is_trap_out(plan: Plan) -> bool:
    """Say whether the plan is to trap out, whatever follows; else no cone is spoken of."""
    return plan.verdict.method.startswith("trap-out")


def last_day(plan: Plan) -> date | None:
    """Give the last day that the forecast covers, or None where it has no days."""
    lengths = [len(plan.empty_by), *(len(band.median) for band in plan.bands)]
    longest = max(lengths)
    return plan.cone_on + timedelta(days=longest - 1) if longest else None


def _facts(plan: Plan) -> tuple[Line, ...]:
    facts = (
        Line("Place", clean(plan.place)),
        Line("Client", clean(plan.client)),
        Line(LABELS["inspected"], day_words(plan.inspected_on)),
        # Where the cone is refused its day is only where the reckoning begins.
        *(
            (Line("Cone on", day_words(plan.cone_on)), Line("Box", clean(plan.box)))
            if is_trap_out(plan)
            else ()
        ),
        Line("Prepared by", clean(plan.prepared_by)),
    )
    return tuple(fact for fact in facts if fact.words)


def _alarm(plan: Plan) -> tuple[str, ...]:
    if plan.trust.is_trusted:
        return ()
    return (f"{NOT_TRUSTED}.", *_sentences(plan.trust.warnings))


def _sentences(texts: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(words for words in map(sentence, texts) if words)


def _quantities(items: tuple[Quantity, ...]) -> tuple[Line, ...]:
    return tuple(Line(clean(item.label), clean(item.words)) for item in items)


def _shares(items: tuple[Share, ...]) -> tuple[Line, ...]:
    return tuple(Line(clean(item.label), percent(item.probability)) for item in items)


def _milestone(item: Milestone, horizon: date | None) -> MilestoneLine:
    # An event that is fixed, such as the day the cone goes on, has one date only.
    if item.likely is not None and item.early == item.likely == item.safe:
        dates = ("", day_words(item.likely), "")
    else:
        early, likely, safe = (
            day_or_later(value, horizon) for value in (item.early, item.likely, item.safe)
        )
        dates = (early, likely, safe)
    return MilestoneLine(clean(item.label), dates, sentence(item.note))


def _steps(plan: Plan) -> tuple[StepLines, ...]:
    return tuple(
        StepLines(
            when=days(step.when, step.until),
            what=sentence(step.what),
            details=tuple(
                Line(label, words)
                for label, words in (
                    (LABELS["who"], clean(step.who)),
                    (LABELS["with"], clean(step.bring)),
                )
                if words
            ),
            caution=sentence(step.caution),
        )
        for step in plan.steps
    )


def _method(row: MethodRow) -> MethodLines:
    values = (row.bees_alive_pct, row.honey_left, row.weeks, row.visits)
    first, second, third, fourth = ("-" if item is None else clean(item.words) for item in values)
    prose = (
        Line("", sentence(row.note)),
        Line(LABELS["why not"], " ".join(_sentences(row.forbidden_by))),
        Line(LABELS["change back"], " ".join(_sentences(row.would_change))),
        # A way that is refused is not going to be walked: its cautions are in the JSON.
        Line(
            LABELS["caution"], "" if row.status == "refused" else " ".join(_sentences(row.cautions))
        ),
    )
    return MethodLines(
        label=clean(row.label),
        status=row.status,
        cells=(first, second, third, fourth),
        prose=tuple(line for line in prose if line.words),
    )


def _evidence(row: EvidenceRow) -> EvidenceLines:
    odds = "" if row.verdict == "agrees" else _odds(row)
    return EvidenceLines(
        label=clean(row.label),
        reading=clean(row.reading),
        moved=clean(row.moved),
        verdict=row.verdict,
        odds=odds,
    )


def _odds(row: EvidenceRow) -> str:
    """Say how far the reading is off: against the others, or against anything."""
    if row.conflict >= CONFLICT_WORTH_SAYING:
        return f"{two_digits(row.conflict)} times less likely given the others"
    return f"{one_in(row.surprise)} by chance"


def _looks(plan: Plan) -> tuple[LookLines, ...]:
    return tuple(
        LookLines(
            label=clean(look.label),
            words=sentence(look.words),
            caution=sentence(look.caution),
        )
        for look in plan.looks
    )


def _how_sure(plan: Plan) -> tuple[str, ...]:
    trust = plan.trust
    warnings = _sentences(trust.warnings) if trust.is_trusted else ()
    computed = (
        f"Computed from {trust.colonies:,} simulated colonies, worth"
        f" {trust.effective_colonies:,.0f} once weighed by what was seen;"
        f" seed {trust.seed}, lastbee {__version__}."
    )
    return (*warnings, *_sentences(plan.how_sure), computed)


def _cautions(plan: Plan) -> tuple[str, ...]:
    given = _sentences(plan.cautions)
    core = CODES_DECIDE.rstrip(".").lower()
    return given if any(core in words.lower() for words in given) else (*given, CODES_DECIDE)


def band_of(plan: Plan, key: str) -> Band | None:
    """Find a band by its key; None when the plan lacks it or it has no days."""
    return next((band for band in plan.bands if band.key == key and band.median), None)


def milestone_of(plan: Plan, key: str) -> Milestone | None:
    """Find a milestone by its key, or None."""
    return next((item for item in plan.milestones if item.key == key), None)


def days_shown(plan: Plan) -> int:
    """Count the days worth drawing: until the wall is empty at the high end, and a week more."""
    wall = band_of(plan, WALL_BAND)
    if wall is None:
        return len(plan.empty_by)
    still_in = [number for number, bees in enumerate(wall.high90) if bees >= 1.0]
    empty = milestone_of(plan, EMPTY)
    safe = 0 if empty is None or empty.safe is None else (empty.safe - plan.cone_on).days
    until = max(still_in[-1] if still_in else 0, safe) + 8
    return min(len(wall.median), until)

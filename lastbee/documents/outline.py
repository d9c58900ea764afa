"""The plan in ready words, section by section: what terminal and paper both set.

`outline` turns a `Plan` into strings in reading order, so that the two layouts cannot
say different things. Only layout is left to them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.documents.days import last_day
from lastbee.documents.lines import (
    MADE_BY,
    METHOD_HEADS,
    Line,
    MethodLines,
    MilestoneLine,
    StepLines,
    alarm_lines,
    caution_lines,
    method_lines,
    milestone_heads,
    milestone_line,
    quantity_lines,
    said,
    sentences,
    share_lines,
    step_lines,
    trust_lines,
)
from lastbee.documents.wording import clean, one_in, percent, sentence, two_digits
from lastbee.words import day_words

if TYPE_CHECKING:
    from lastbee.jobs.plan import EvidenceRow, MethodRow, Plan, Step

# Below this the others hardly speak against a reading, and its rarity is told instead.
CONFLICT_WORTH_SAYING = 3.0

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
    "reading": "Reading",
    "moved": "Moved",
    "rest": "With the rest",
    "inspected": "Inspected on",
}


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
    overtaken: str
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
        overtaken=_overtaken(plan),
        alarm=alarm_lines(plan.trust),
        kind=sentence(verdict.kind).rstrip("."),
        headline=sentence(verdict.headline),
        chance="" if verdict.chance is None
        else f"Chance that this works out: {percent(verdict.chance)}.",
        reasons=sentences(verdict.reasons),
        would_change=sentences(verdict.would_change),
        contents=quantity_lines(plan.contents),
        founding=share_lines(plan.founding),
        milestone_heads=milestone_heads(plan.confidence),
        milestones=tuple(milestone_line(item, horizon) for item in plan.milestones),
        left=quantity_lines(plan.left),
        consequences=sentences(plan.consequences),
        box=quantity_lines(plan.box_colony),
        queen=share_lines(plan.queen),
        steps=tuple(step_lines(step) for step in _steps_ahead(plan)),
        method_heads=METHOD_HEADS,
        methods=tuple(method_lines(row) for row in _methods_open(plan)),
        evidence=tuple(_evidence(row) for row in plan.evidence),
        looks=_looks(plan),
        how_sure=trust_lines(plan.trust, plan.how_sure),
        cautions=caution_lines(plan.cautions),
        made_by=MADE_BY,
    )  # fmt: skip


def is_trap_out(plan: Plan) -> bool:
    """Say whether the plan is to trap out, whatever follows; else no cone is spoken of."""
    return plan.verdict.method.startswith("trap-out")


def _facts(plan: Plan) -> tuple[Line, ...]:
    return said(
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


def _overtaken(plan: Plan) -> str:
    """Say that a plan is older than the visits, so that nobody works by what has passed."""
    if plan.progress is None:
        return ""
    return (
        f"This is how it looked at the inspection. How it stands since the visit on"
        f" {day_words(plan.progress.as_of)}, and what to do now, is told at the end, under"
        f" Progress."
    )


def _steps_ahead(plan: Plan) -> tuple[Step, ...]:
    """The steps that visits have not overtaken, by their day or by newer steps."""
    progress = plan.progress
    if progress is None:
        return plan.steps
    if progress.steps:
        return ()
    return tuple(step for step in plan.steps if (step.until or step.when) >= progress.as_of)


def _methods_open(plan: Plan) -> tuple[MethodRow, ...]:
    """The ways as compared at the inspection, unless they have been compared anew since."""
    return () if plan.progress is not None and plan.progress.methods else plan.methods


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
    """Looks worth taking before the decision, which the visits have overtaken."""
    if plan.progress is not None:
        return ()
    return tuple(
        LookLines(
            label=clean(look.label),
            words=sentence(look.words),
            caution=sentence(look.caution),
        )
        for look in plan.looks
    )

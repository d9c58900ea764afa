"""The four questions at the foot of the ladder, answered in a line or two each.

Is it working; what is wrong if not, and what to do about it now; when to come back; can
the wall be closed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from lastbee.documents.causes import SOUND, chance_words, settling_look, suspect
from lastbee.documents.wording import clean, days, percent, sentence
from lastbee.jobs.running_steps import SEEN
from lastbee.words import day_words

if TYPE_CHECKING:
    from datetime import date

    from lastbee.jobs.plan import Step
    from lastbee.jobs.progress import Clearance, Progress, TroubleRow

Tone = Literal["good", "wary", "bad", "plain"]

# A further explanation this likely is named beside the first.
WORTH_NAMING = 0.1
# A check that is less likely than this to find nothing is no date to plan by.
LIKELY_ENOUGH = 0.5
_STATES: dict[str, tuple[str, Tone]] = {
    "working": ("Yes", "good"),
    "slow": ("Yes, but slowly", "wary"),
    "trouble": ("No, something is wrong", "bad"),
    "failed": ("No, it has failed", "bad"),
    "empty": ("Done, it is empty", "good"),
    "unsure": ("Not clear yet", "wary"),
}


@dataclass(frozen=True, slots=True)
class Answer:
    """A question, the answer in a few words, and a sentence or two about it.

    `caution` belongs to what the answer asks to be done.
    """

    question: str
    lead: str
    words: str = ""
    tone: Tone = "plain"
    caution: str = ""


def answers(progress: Progress) -> tuple[Answer, ...]:
    """Answer what is asked first, in the order in which it is asked."""
    lead, tone = _STATES[progress.kind]
    found = (
        Answer("Working?", lead, sentence(progress.headline), tone),
        _wrong(progress),
        _do_now(progress),
        _come_back(progress),
        _close(progress),
    )
    return tuple(answer for answer in found if answer.lead or answer.words)


def _wrong(progress: Progress) -> Answer:
    row = suspect(progress)
    if row is None:
        is_well = progress.kind in ("working", "slow", "empty")
        return Answer("Wrong?", "Nothing that shows" if is_well else "")
    if progress.kind == "unsure":
        return Answer("Wrong?", "Not clear", _named(row) + _others(progress, row))
    if row.key != SOUND:
        return Answer("Wrong?", _named(row).rstrip("."), _others(progress, row).strip())
    found = max(progress.troubles, key=lambda each: each.probability)
    if found.key == SOUND:
        return Answer("Wrong?", "Nothing likely", _named(row) + _others(progress, row))
    return Answer("Wrong?", "Put right, it seems", _named(found) + _others(progress, row, found))


def _others(progress: Progress, *told: TroubleRow) -> str:
    """Name the further explanations that were or are likely enough."""
    others = [
        _named(row).rstrip(".")
        for row in progress.troubles
        if row not in told and max(row.probability, row.still) >= WORTH_NAMING
    ]
    return f" Or: {'; '.join(others)}." if others else ""


def _named(row: TroubleRow) -> str:
    return f"{clean(row.label)} ({chance_words(row)})."


def _do_now(progress: Progress) -> Answer:
    """What to do before leaving the site, with its caution."""
    row, first = suspect(progress), next(iter(progress.steps), None)
    remedy = "" if row is None else sentence(row.remedy)
    caution = "" if row is None else sentence(row.caution)
    if progress.kind in ("failed", "empty") and first is not None:
        return _step_now(first, progress)
    if first is not None and first.what.startswith(SEEN):
        return _step_now(first, progress)
    if progress.kind == "unsure" and (look := settling_look(progress)):
        return Answer("Do now", "", look, caution=caution)
    if remedy:
        return Answer("Do now", "", remedy, caution=caution)
    if first is not None and first.when <= progress.as_of:
        return _step_now(first, progress)
    is_well = progress.kind in ("working", "slow")
    return Answer("Do now", "", "Nothing: leave cone and box as they are." if is_well else "")


def _step_now(step: Step, progress: Progress) -> Answer:
    lead = "" if step.when <= progress.as_of else days(step.when, step.until)
    return Answer("Do now", lead, sentence(step.what), caution=sentence(step.caution))


def _come_back(progress: Progress) -> Answer:
    visit = progress.next_visit
    if visit is None:
        return Answer("Come back", "No visit to the cone is planned")
    hours = clean(visit.hours)
    return Answer("Come back", ", ".join(filter(None, (day_words(visit.on), hours))))


def _close(progress: Progress) -> Answer:
    clearance = progress.clearance
    chance = f"Chance that it is empty: {percent(clearance.probability_empty)}"
    if clearance.is_clear:
        rest = " First deal with what is left, below." if progress.close_out else ""
        return Answer("Close?", "Yes", f"{chance}.{rest}", "good")
    first = likely_clear_on(clearance)
    when = "" if first is None else f" A check may show it from {day_words(first)}."
    needed = percent(clearance.confidence)
    return Answer("Close?", "Not yet", f"{chance}, needed: {needed}.{when}")


def likely_clear_on(clearance: Clearance) -> date | None:
    """The first day on which a check would be enough and is as likely as not to find nothing."""
    days = (
        check.on
        for check in clearance.checks
        if check.on is not None and check.chance >= LIKELY_ENOUGH
    )
    return min(days, default=None)

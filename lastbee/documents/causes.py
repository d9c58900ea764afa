"""What explains how a trap-out runs: the explanations weighed, and what speaks for each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.documents.lines import sentences
from lastbee.documents.wording import clean, percent, sentence

if TYPE_CHECKING:
    from lastbee.jobs.progress import Progress, TroubleRow

# Key of the explanation that nothing is wrong.
SOUND = "sound"
# Rarer explanations share a line, so that the table of the likely ones stays short.
LEAST_SHARE = 0.01
# Beyond this there is nothing left to settle.
SETTLED = 0.95
# How many explanations are told with all that speaks for and against them.
MOST_ARGUED = 2


@dataclass(frozen=True, slots=True)
class CauseLine:
    """One explanation, its probability in words, and as a share after what was done."""

    label: str
    chance: str
    share: float


@dataclass(frozen=True, slots=True)
class ReasonLines:
    """One explanation with what was seen for and against it, and what to do if it is so."""

    label: str
    chance: str
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    remedy: str
    caution: str


def suspect(progress: Progress) -> TroubleRow | None:
    """The explanation to act on: the likeliest after what was done at the last visit.

    Where something is amiss for sure it is a trouble, however likely each alone may be.
    """
    is_amiss = progress.kind in ("trouble", "failed")
    rows = [row for row in progress.troubles if row.key != SOUND or not is_amiss]
    return max(rows, key=lambda row: row.still, default=None)


def chance_words(row: TroubleRow) -> str:
    """Say how likely an explanation was at the visit, and is since, where that differs."""
    then, now = percent(row.probability), percent(row.still)
    return then if then == now else f"{then}, now {now}"


def cause_lines(progress: Progress) -> tuple[CauseLine, ...]:
    """The explanations that are not far-fetched, in the order given."""
    return tuple(CauseLine(clean(r.label), chance_words(r), r.still) for r in _likely(progress))


def far_fetched(progress: Progress) -> str:
    """The explanations that are, in one sentence; empty where there are none."""
    likely = _likely(progress)
    labels = [clean(row.label) for row in progress.troubles if row not in likely]
    return sentence(f"Under 1 % each: {'; '.join(labels)}") if labels else ""


def reason_lines(progress: Progress) -> tuple[ReasonLines, ...]:
    """What speaks for and against the likeliest explanations.

    The remedy of the one that is acted on stands with the answer and is not said again.
    """
    acted_on = suspect(progress)
    argued = (_reasons(r, is_told=r is acted_on) for r in _likely(progress)[:MOST_ARGUED])
    return tuple(r for r in argued if r.speaks_for or r.speaks_against or r.remedy)


def settling_look(progress: Progress) -> str:
    """The one look that would best tell the likeliest explanations apart, if they are level."""
    if any(row.still >= SETTLED for row in progress.troubles):
        return ""
    looks = (sentence(row.settled_by) for row in progress.troubles[:MOST_ARGUED])
    return next((look for look in looks if look), "")


def _likely(progress: Progress) -> list[TroubleRow]:
    return [r for r in progress.troubles if max(r.probability, r.still) >= LEAST_SHARE]


def _reasons(row: TroubleRow, *, is_told: bool) -> ReasonLines:
    return ReasonLines(
        label=clean(row.label),
        chance=chance_words(row),
        speaks_for=sentences(row.speaks_for),
        speaks_against=sentences(row.speaks_against),
        remedy="" if is_told else sentence(row.remedy),
        caution="" if is_told else sentence(row.caution),
    )

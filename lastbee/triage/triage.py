"""Call triage: from what a caller says to what it most likely is and what to do now.

Examples
--------
>>> call = triage({"where": "ball", "since": "today"}, month=5, latitude_deg=45.0)
>>> call.likeliest, call.advice.kind
('swarm', 'swarm today')
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.errors import InvalidInput, Problem
from lastbee.triage.advice import advice_of, urgency_of
from lastbee.triage.insects import MONTHS, season_month
from lastbee.triage.questions import NOT_KNOWN, QUESTIONS, question_of
from lastbee.triage.reasons import reasons_for
from lastbee.triage.shares import TELLING, expected_bits, shares_of
from lastbee.triage.situation import Situation
from lastbee.triage.telling import tell_now

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lastbee.triage.advice import Advice, Urgency
    from lastbee.triage.insects import InsectKey
    from lastbee.triage.questions import Question
    from lastbee.triage.reasons import Reason
    from lastbee.triage.shares import Shares
    from lastbee.triage.telling import Telling

ALLERGIC = ("yes", "no", "unknown")


@dataclass(frozen=True, slots=True)
class AskNext:
    """A question not yet answered, and what its answer is expected to tell. [bit]."""

    question: Question
    bits: float
    why: str


@dataclass(frozen=True, slots=True)
class Triage:
    """What follows from a call.

    Attributes
    ----------
    shares
        Probability of each insect, largest first, summing to 1.
    reasons
        Up to three things told that carried most for or against the likeliest.
    tell_now
        What the caller should hear, most important first.
    ask_next
        Questions still open, the one to ask next first.
    urgency
        How soon somebody must act.
    advice
        What the office does.
    """

    shares: Shares
    reasons: tuple[Reason, ...]
    tell_now: tuple[Telling, ...]
    ask_next: tuple[AskNext, ...]
    urgency: Urgency
    advice: Advice

    @property
    def likeliest(self) -> InsectKey:
        """The insect with the largest share."""
        return next(iter(self.shares))

    @property
    def is_alarming(self) -> bool:
        """Whether life or health hangs on what the caller does now."""
        return any(telling.is_alarm for telling in self.tell_now)


def triage(
    answers: Mapping[str, str],
    month: int,
    latitude_deg: float | None = None,
    allergic: str = "unknown",
) -> Triage:
    """Say what a call is most likely about, and what to do.

    Parameters
    ----------
    answers
        Answer keys by question key, as in `QUESTIONS`; "not-known" and what is left out say
        nothing.
    month
        1 to 12.
    latitude_deg
        Where the building stands, north positive; None where not known. [deg]
    allergic
        Whether somebody there is allergic to stings: "yes", "no" or "unknown".

    Raises
    ------
    InvalidInput
        With every problem of `problems_of_call`.
    """
    problems = problems_of_call(answers, month, latitude_deg, allergic)
    if problems:
        raise InvalidInput(problems)
    shares = shares_of(answers, month, latitude_deg)
    shares = dict(sorted(shares.items(), key=lambda item: -item[1]))
    situation = Situation(shares, answers, allergic, season_month(month, latitude_deg))
    return Triage(
        shares=shares,
        reasons=reasons_for(situation.likeliest, answers, month, latitude_deg),
        tell_now=tell_now(situation),
        ask_next=_ask_next(answers, month, latitude_deg),
        urgency=urgency_of(situation),
        advice=advice_of(situation),
    )


def _ask_next(
    answers: Mapping[str, str], month: int, latitude_deg: float | None
) -> tuple[AskNext, ...]:
    """Questions never put, people first; "not known" is an answer, and is not asked again."""
    ranked = sorted(
        (
            AskNext(q, expected_bits(q.key, answers, month, latitude_deg), "It tells most.")
            for q in TELLING
            if q.key not in answers
        ),
        key=lambda ask: -ask.bits,
    )
    people = tuple(
        AskNext(q, 0.0, "People come first.")
        for q in QUESTIONS
        if q.topic == "people" and q.key not in answers
    )
    return people + tuple(ranked)


def problems_of_call(
    answers: Mapping[str, str],
    month: int,
    latitude_deg: float | None = None,
    allergic: str = "unknown",
) -> tuple[Problem, ...]:
    """Everything that keeps a call from being judged, each with its field, value and mend."""
    problems = list(problems_of_answers(answers))
    if not 1 <= month <= MONTHS:
        problems.append(Problem("month", month, "give a month from 1 to 12"))
    if latitude_deg is not None and not -90.0 <= latitude_deg <= 90.0:
        mend = "give degrees north between -90 and 90"
        problems.append(Problem("latitude", latitude_deg, mend))
    if allergic not in ALLERGIC:
        problems.append(Problem("allergic_person", allergic, f"give {_either(ALLERGIC)}"))
    return tuple(problems)


def problems_of_answers(answers: Mapping[str, str]) -> tuple[Problem, ...]:
    """Questions that nobody asks, and answers that their question does not have."""
    problems = []
    for key, answer in answers.items():
        question = question_of(key)
        if question is None:
            asked = _either(tuple(q.key for q in QUESTIONS))
            problems.append(Problem(f"answers.{key}", answer, f"name a question: {asked}"))
        elif answer != NOT_KNOWN and question.answer(answer) is None:
            known = _either(tuple(choice.key for choice in question.choices))
            problems.append(Problem(f"answers.{key}", answer, f"give {known}"))
    return tuple(problems)


def _either(words: tuple[str, ...]) -> str:
    return f"{', '.join(words[:-1])} or {words[-1]}"

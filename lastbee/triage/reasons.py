"""Why it is most likely that: the two or three things told that carried most, for and against."""

from __future__ import annotations

from dataclasses import dataclass
from math import log2
from typing import TYPE_CHECKING

from lastbee.triage.insects import INSECT_KEYS, MONTHS, InsectKey, name_of, prior_shares
from lastbee.triage.shares import TELLING, TOLD_BY, Shares, factors

if TYPE_CHECKING:
    from collections.abc import Mapping

SEASON = "month"
"""Stands for the season where a reason names the question it comes from."""

_MOST_FOR, _MOST_AGAINST = 2, 1
# Less than this is not worth a sentence. [bit]
_WORTH_SAYING_BITS = 0.3
_SHARE_WORDS = (
    (0.75, "very likely"),
    (0.4, "quite likely"),
    (0.15, "possible"),
    (0.05, "unlikely"),
    (0.0, "very unlikely"),
)
_MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing told, and what it does to the likeliest insect.

    Attributes
    ----------
    question
        Key of the question, or `SEASON`.
    sentence
        For a person.
    bits
        Log to base 2 of how much likelier it is under that insect than under the others as
        they were likely in that month; negative where it speaks against. [bit]
    """

    question: str
    sentence: str
    bits: float

    @property
    def is_for(self) -> bool:
        """Whether it speaks for the insect."""
        return self.bits > 0.0


def reasons_for(
    insect: InsectKey, answers: Mapping[str, str], month: int, latitude_deg: float | None
) -> tuple[Reason, ...]:
    """The two things that speak loudest for an insect and the one that speaks against it.

    Returns
    -------
    Up to three reasons, loudest first; none for what hardly speaks.
    """
    every = [_from_season(insect, month, latitude_deg)]
    prior = prior_shares(month, latitude_deg)
    for question in TELLING:
        answer = question.answer(answers.get(question.key, ""))
        if answer is not None and (question.key, answer.key) in TOLD_BY:
            weight = factors(question, answer.key)
            every.append(_reason(question.key, answer.told, insect, weight, prior))
    loud = sorted(
        (reason for reason in every if abs(reason.bits) >= _WORTH_SAYING_BITS),
        key=lambda reason: -abs(reason.bits),
    )
    speaks_for = [reason for reason in loud if reason.is_for][:_MOST_FOR]
    against = [reason for reason in loud if not reason.is_for][:_MOST_AGAINST]
    return tuple(sorted(speaks_for + against, key=lambda reason: -abs(reason.bits)))


def share_words(share: float) -> str:
    """Say how likely a share makes an insect.

    Examples
    --------
    >>> [share_words(share) for share in (0.9, 0.5, 0.3, 0.1, 0.02)]
    ['very likely', 'quite likely', 'possible', 'unlikely', 'very unlikely']
    """
    return next(words for least, words in _SHARE_WORDS if share >= least)


def _from_season(insect: InsectKey, month: int, latitude_deg: float | None) -> Reason:
    """What the month says against the year's mean."""
    year = prior_shares(1, None)
    now = prior_shares(month, latitude_deg)
    weight = {key: now[key] / year[key] for key in INSECT_KEYS}
    return _reason(SEASON, f"it is {_MONTH_NAMES[(month - 1) % MONTHS]}", insect, weight, year)


def _reason(question: str, told: str, insect: InsectKey, weight: Shares, before: Shares) -> Reason:
    others = [key for key in INSECT_KEYS if key != insect]
    elsewhere = sum(before[key] * weight[key] for key in others) / sum(before[k] for k in others)
    bits = log2(weight[insect] / elsewhere)
    start = told[:1].upper() + told[1:]
    if bits > 0.0:
        return Reason(question, f"{start}: {_strength(bits)} for {name_of(insect)}.", bits)
    rival = max(others, key=lambda key: weight[key] * before[key])
    said = f"{start}: {_strength(-bits)} against {name_of(insect)}"
    return Reason(question, f"{said}; it would sooner be {name_of(rival)}.", bits)


def _strength(bits: float) -> str:
    """Say a factor in words: it is never known to a digit."""
    if bits >= 2.5:
        return "that speaks very strongly"
    if bits >= 1.3:
        return "that speaks strongly"
    return "that speaks" if bits >= 0.7 else "that speaks somewhat"

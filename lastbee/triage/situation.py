"""What is known of a call at this moment, as rules ask it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lastbee.triage.insects import InsectKey
    from lastbee.triage.shares import Shares

EMERGENCIES: dict[str, str] = {
    "ill": "somebody who was stung is ill",
    "trapped": "somebody is being stung and cannot get away",
    "many": "somebody was stung many times",
    "at-risk": "a child or an allergic person was stung",
}
"""Answers to "is everybody well" that are an emergency, and why."""

# Shares from which an insect is spoken of, and from which the call is taken to be about it.
MENTIONED = 0.2
LIKELY = 0.4


@dataclass(frozen=True, slots=True)
class Situation:
    """A call: shares, answers, allergic person ("yes", "no", "unknown") and season.

    `month` is the month of the same season north of the equator, 1 to 12.
    """

    shares: Shares
    answers: Mapping[str, str]
    allergic: str
    month: int

    @property
    def likeliest(self) -> InsectKey:
        """The insect with the largest share."""
        return max(self.shares, key=lambda key: self.shares[key])

    @property
    def emergency(self) -> str:
        """Why it is an emergency, empty where it is none."""
        return EMERGENCIES.get(self.answers.get("stung", ""), "")

    @property
    def comes_indoors(self) -> bool:
        """Whether any were seen indoors."""
        return self.answers.get("indoors") in {"few", "many"}

    @property
    def is_new(self) -> bool:
        """Whether they came within days."""
        return self.answers.get("since") in {"today", "days"}

    @property
    def is_treated(self) -> bool:
        """Whether something was sprayed or powdered."""
        return self.answers.get("sprayed") == "sprayed"

    @property
    def honey_bees(self) -> float:
        """Share of honey bees, nest or swarm."""
        return self.shares["honey-bee-nest"] + self.shares["swarm"]

    def says(self, question: str, *answers: str) -> bool:
        """Whether a question was answered by one of these."""
        return self.answers.get(question) in answers

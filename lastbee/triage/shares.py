r"""From answers to shares: Bayes' rule, tempered twice.

With prior shares :math:`\pi_i` of the month and answers :math:`a_q`,

.. math:: s_i = (1 - 6 f) \frac{\pi_i \prod_q P(a_q | i)^{w_q}}{\sum_j \ldots} + f.

- The exponent :math:`w_q` says that answers about the same thing are not news each time: a
  caller who has decided on "wasp" says yellow, smooth and waisted in one breath. Of k
  questions of a topic with correlation :math:`\rho` each weighs
  :math:`1 / (1 + (k - 1) \rho)`, as in a sample of clusters (Kish 1965). It hangs on the
  topic alone, not on what was answered, so that a further answer for an insect never lowers
  it, and the order never matters.
- Likelihoods are mixed with a share of any answer at all: callers guess, and mistake.
- The floor f stands for everything else: nobody is sure on the phone.
"""

from __future__ import annotations

from math import log2
from typing import TYPE_CHECKING

from lastbee.triage.insects import INSECT_KEYS, InsectKey, prior_shares
from lastbee.triage.questions import QUESTIONS, question_of
from lastbee.triage.table import TABLE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lastbee.triage.questions import Question

Shares = dict[InsectKey, float]

# Assumed: correlation of two answers about the same thing; share of answers that are given
# at random; least share of any insect.
TOPIC_CORRELATION = 0.3
LAPSE = 0.06
FLOOR = 0.01

TOLD_BY: dict[tuple[str, str], tuple[int, ...]] = {
    (row.question, row.answer): row.calls for row in TABLE
}
TELLING: tuple[Question, ...] = tuple(
    question for question in QUESTIONS if any(row.question == question.key for row in TABLE)
)
"""The questions that say which insect it is, in the order in which they are asked."""


def shares_of(answers: Mapping[str, str], month: int, latitude_deg: float | None) -> Shares:
    """Share of each insect after the answers.

    Parameters
    ----------
    answers
        Answer keys by question key; whatever the table does not hold says nothing.
    month, latitude_deg
        As `prior_shares`.

    Returns
    -------
    One share for each insect, each at least `FLOOR`, summing to 1.
    """
    weights = prior_shares(month, latitude_deg)
    for question in TELLING:
        given = answers.get(question.key, "")
        if (question.key, given) in TOLD_BY:
            for key, factor in factors(question, given).items():
                weights[key] *= factor
    total = sum(weights.values())
    spread = 1.0 - FLOOR * len(weights)
    return {key: spread * weight / total + FLOOR for key, weight in weights.items()}


def factors(question: Question, answer: str) -> Shares:
    """What an answer multiplies the share of each insect by, before they are summed to 1."""
    weight = topic_weight(question)
    return {key: chance**weight for key, chance in chances(question, answer).items()}


def chances(question: Question, answer: str) -> Shares:
    """Probability of an answer for each insect, the caller's slips in it."""
    by_chance = LAPSE / len(question.answers)
    calls = TOLD_BY[question.key, answer]
    return {
        key: (1.0 - LAPSE) * count / 100.0 + by_chance
        for key, count in zip(INSECT_KEYS, calls, strict=True)
    }


def topic_weight(question: Question) -> float:
    """Exponent of a question: what one of several about the same thing is worth, 0 to 1."""
    like_it = sum(other.topic == question.topic for other in TELLING)
    return 1.0 / (1.0 + (like_it - 1) * TOPIC_CORRELATION)


def expected_bits(
    question_key: str, answers: Mapping[str, str], month: int, latitude_deg: float | None
) -> float:
    """How much the answer to a further question is expected to tell.

    Returns
    -------
    Mean over the answers, as likely as they are now, of the relative entropy of the shares
    after to the shares before, at least 0; 0 for a question that tells nothing. [bit]

    References
    ----------
    Lindley, D. V., "On a measure of the information provided by an experiment", Annals of
    Mathematical Statistics 27, 986-1005, 1956.
    """
    question = question_of(question_key)
    if question is None or question not in TELLING:
        return 0.0
    now = shares_of(answers, month, latitude_deg)
    bits = 0.0
    for answer in question.answers:
        likely = chances(question, answer.key)
        after = shares_of({**answers, question_key: answer.key}, month, latitude_deg)
        bits += sum(now[key] * likely[key] for key in INSECT_KEYS) * _relative_entropy(after, now)
    return bits


def _relative_entropy(after: Shares, before: Shares) -> float:
    return sum(share * log2(share / before[key]) for key, share in after.items())

"""The answer in one sentence, its reasons, and the fact that would change it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.jobs.plan import Verdict
from lastbee.words import chance_words, day_words

if TYPE_CHECKING:
    from datetime import date

    from lastbee.jobs.plan import Look, Milestone, Quantity, Trust
    from lastbee.methods.compare import Way
    from lastbee.methods.rules import Findings

# A trap-out is promised over this time: common practice gives 4 to 8 weeks.
PLAN_WEEKS = 8
# Below this chance of too much honey the risk needs no words: assumed.
LITTLE_CHANCE = 0.1


def how_likely(probability: float) -> str:
    """Verb phrase for a chance of success."""
    for floor, words in ((0.95, "will almost certainly"), (0.85, "will very likely"),
                         (0.65, "will probably")):  # fmt: skip
        if probability >= floor:
            return words
    return "may"


def verdict(
    ways: tuple[Way, ...],
    empty_in_plan: float,
    empty: Milestone,
    honey: Quantity,
    findings: Findings,
    trust: Trust,
    missing_look: Look | None,
) -> Verdict:
    """Say what to do.

    Parameters
    ----------
    ways
        All ways, compared.
    empty_in_plan
        Chance that a trap-out is empty within PLAN_WEEKS.
    empty
        The milestone of emptiness.
    honey
        Honey left when the bees are out.
    findings
        Probabilities out of the posterior.
    trust
        Whether the answer may be relied on.
    missing_look
        The look to take before anything is decided, where too little is known.

    Returns
    -------
    The verdict.
    """
    trap = next(w for w in ways if w.key == "trap-out")
    best = next((w for w in ways if w.status == "recommended"), None)
    chance = empty_in_plan if best is not None and best.key.startswith("trap-out") else None
    reasons = tuple(r.reason for r in trap.refusals)
    change = tuple(dict.fromkeys(r.would_change for r in trap.refusals))
    if best is None:
        why = tuple(dict.fromkeys(r.reason for w in ways for r in w.refusals))
        lifts = tuple(dict.fromkeys(r.would_change for w in ways for r in w.refusals))
        return Verdict(
            "refuse", "none", "Do not take this job as it stands: every way is barred.", None,
            why, lifts,
        )  # fmt: skip
    headline = _headline(best, trap, empty_in_plan, empty, honey)
    if best.key == "trap-out":
        kind, reasons, change = "go", _trap_reasons(honey, findings), ()
    elif best.key == "trap-out then open":
        kind = "go with opening"
    else:
        kind = "refuse" if trap.refusals else "go"
    if not trap.refusals and best.key != "trap-out":
        reasons = (
            f"A trap-out would work too ({chance_words(empty_in_plan)} to be empty within "
            f"{PLAN_WEEKS} weeks), at more trouble in all: {trap.expected_loss:.0f} against "
            f"{best.expected_loss:.0f} visits' worth.",
        )
    if not trust.is_trusted:
        headline = f"Look again before deciding. As told: {_lower(headline)}"
        return Verdict("unsure", best.key, headline,
                       chance, trust.warnings + reasons, change)  # fmt: skip
    if missing_look is not None:
        headline = f"Too little is known to decide: look first. As things stand: {_lower(headline)}"
        first = f"{missing_look.label}: it {missing_look.words}."
        return Verdict("unsure", best.key, headline, chance, (first, *reasons), change)
    return Verdict(kind, best.key, headline, chance, reasons, change)  # type: ignore[arg-type]


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _trap_reasons(honey: Quantity, findings: Findings) -> tuple[str, ...]:
    over = findings.honey_over_limit
    if over < LITTLE_CHANCE:
        return (f"What would stay in the cavity is little enough: {honey.words} of honey.",)
    return (
        f"Most likely little enough honey would stay in the cavity, {honey.words}; but the chance "
        f"of more than {findings.limit_words} is {chance_words(over)}, and then it must be opened.",
    )


def _date(day: date | None) -> str:
    return "after the forecast ends" if day is None else f"by {day_words(day)}"


def _headline(best: Way, trap: Way, empty_in_plan: float, empty: Milestone, honey: Quantity) -> str:
    likely = f"most likely {_date(empty.likely)}, safe {_date(empty.safe)}"
    if best.key == "trap-out":
        return (
            f"A trap-out {how_likely(empty_in_plan)} work: {chance_words(empty_in_plan)} to be "
            f"empty within {PLAN_WEEKS} weeks, {likely}."
        )
    if best.key == "trap-out then open":
        return (
            f"Trap the bees out, then open and clean: empty of bees {likely}, but {honey.words} of "
            "honey would stay behind."
        )
    if best.key == "leave" and not trap.refusals:
        return "Leave them for now: every other way is more trouble than the bees are."
    if best.key == "leave":
        return "Leave them for now: no way here does more good than harm."
    if best.key == "eradication":
        return "Only a licensed applicator is left: nothing that saves the bees can be done here."
    refused = "A trap-out alone is refused here. " if trap.refusals else ""
    return f"{refused}Best way: {_lower(best.label)}."

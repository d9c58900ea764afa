"""The answer in one sentence, its reasons, and the fact that would change it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from lastbee.jobs.plan import Verdict
from lastbee.methods.compare import recommended
from lastbee.words import chance_words, day_words

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from lastbee.jobs.plan import Look, MethodRow, Milestone, Quantity, Trust
    from lastbee.methods.compare import Way
    from lastbee.methods.rules import Findings

Kind = Literal["go", "go with opening", "another way", "refuse", "unsure"]

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


@dataclass(frozen=True, slots=True)
class Case:
    """What a verdict is spoken on.

    `row` is the recommended way as a row for a person, `trap` the trap-out, `on` the day
    on which work begins; `empty` the milestone of emptiness and `honey` what a trap-out
    would leave; `empty_in_plan` the chance that it is empty within PLAN_WEEKS.
    """

    ways: tuple[Way, ...]
    row: MethodRow
    on: date
    empty: Milestone
    empty_in_plan: float
    honey: Quantity
    findings: Findings

    @property
    def trap(self) -> Way:
        """The trap-out alone."""
        return next(w for w in self.ways if w.key == "trap-out")


def verdict(case: Case, trust: Trust, missing_look: Look | None) -> Verdict:
    """Say what to do.

    Parameters
    ----------
    case
        The ways compared, and the trap-out's dates and remains.
    trust
        Whether the answer may be relied on.
    missing_look
        The look to take before anything is decided, where too little is known.

    Returns
    -------
    The verdict.
    """
    best, trap = recommended(case.ways), case.trap
    if best is None:
        why = tuple(dict.fromkeys(r.reason for w in case.ways for r in w.refusals))
        lifts = tuple(dict.fromkeys(r.would_change for w in case.ways for r in w.refusals))
        barred = "Do not take this job as it stands: every way is barred."
        return Verdict("refuse", "none", barred, None, why, lifts)
    chance = case.empty_in_plan if best.key.startswith("trap-out") else None
    reasons = tuple(r.reason for r in trap.refusals)
    change = tuple(dict.fromkeys(r.would_change for r in trap.refusals))
    if best.key == "trap-out":
        reasons = _trap_reasons(case)
    elif not trap.refusals:
        reasons = (
            f"A trap-out would work too ({chance_words(case.empty_in_plan)} to be empty within "
            f"{PLAN_WEEKS} weeks), but it takes {_median(trap.outcome.weeks, 'week')} and "
            f"{_median(trap.outcome.visits, 'visit')}.",
        )
    headline = _headline(case, best)
    if not trust.is_trusted:
        said = f"Look again before deciding. As told: {_lower(headline)}"
        return Verdict("unsure", best.key, said, chance, trust.warnings + reasons, change)
    if missing_look is not None:
        said = f"Too little is known to decide: look first. As things stand: {_lower(headline)}"
        first = f"{missing_look.label}: it {missing_look.words}."
        return Verdict("unsure", best.key, said, chance, (first, *reasons), change)
    return Verdict(_kind(best), best.key, headline, chance, reasons, change)


def _kind(best: Way) -> Kind:
    if best.key == "trap-out":
        return "go"
    if best.key == "trap-out then open":
        return "go with opening"
    return "refuse" if best.key in ("leave", "eradication") else "another way"


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _median(values: NDArray[np.float64], name: str) -> str:
    middle = round(float(np.median(values)))
    return f"about {middle} {name}{'' if middle == 1 else 's'}"


def _trap_reasons(case: Case) -> tuple[str, ...]:
    over, words = case.findings.honey_over_limit, case.honey.words
    if over < LITTLE_CHANCE:
        return (f"What would stay in the cavity is little enough: {words} of honey.",)
    return (
        f"Most likely little enough honey would stay in the cavity, {words}; but the chance of "
        f"more than {case.findings.limit_words} is {chance_words(over)}, and then it must be "
        "opened.",
    )


def _date(day: date | None) -> str:
    return "after the forecast ends" if day is None else f"by {day_words(day)}"


def _headline(case: Case, best: Way) -> str:
    empty, refused = case.empty, bool(case.trap.refusals)
    dates = f"most likely {_date(empty.likely)}, almost surely {_date(empty.safe)}"
    if best.key == "trap-out":
        return (
            f"A trap-out {how_likely(case.empty_in_plan)} work: {chance_words(case.empty_in_plan)} "
            f"to be empty within {PLAN_WEEKS} weeks, {dates}."
        )
    if best.key == "trap-out then open":
        return (
            f"Trap the bees out, then open and clean: empty of bees {dates}; {case.honey.words} of "
            "honey would stay behind a trap-out alone."
        )
    if best.key == "leave":
        why = "no way here does more good than harm" if refused else (
            "every other way is more trouble than the bees are"
        )  # fmt: skip
        return f"Leave them for now: {why}."
    if best.key == "eradication":
        return "Only a licensed applicator is left: nothing that saves the bees can be done here."
    saved = "" if case.row.bees_alive_pct is None else case.row.bees_alive_pct.words
    instead = ", not by trap-out" if refused and best.key != "swarm capture" else ""
    return f"{best.label}{instead}, {day_words(case.on)}: {saved} of the bees live on."

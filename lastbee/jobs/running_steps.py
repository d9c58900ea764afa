"""What to do next in a running trap-out: at the wall now, at the next visit, at its end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.jobs.plan import Step
from lastbee.jobs.standing import NAMED_FIRST
from lastbee.jobs.troubles import TOLD, TROUBLE_OF_KEY
from lastbee.methods import cautions

if TYPE_CHECKING:
    from datetime import date

    from lastbee.jobs.progress import Clearance, NextVisit, TroubleRow
    from lastbee.jobs.standing import Standing
    from lastbee.methods.circumstances import Circumstances

# How a step begins that deals with what was seen and left.
SEEN = "Seen and not yet put right"
# Remedies for what is less likely than this wait until it is named: assumed.
LIKELY_ENOUGH = 0.15
MOST_REMEDIES = 2


@dataclass(frozen=True, slots=True)
class Ahead:
    """What the steps hang on; `way` is what is to be done anew where the trap-out failed."""

    as_of: date
    standing: Standing
    next_visit: NextVisit | None
    clearance: Clearance
    way: str | None


def running_steps(ahead: Ahead, c: Circumstances) -> tuple[Step, ...]:
    """Steps in order of time."""
    kind = ahead.standing.kind
    if kind == "empty":
        return (_close(ahead, c),)
    if kind == "failed":
        return (_decide(ahead, c),)
    found = (*_remedies(ahead), *_come_back(ahead), *_make_sure(ahead))
    return tuple(sorted(found, key=lambda step: step.when))


def _remedies(ahead: Ahead) -> tuple[Step, ...]:
    """Put right what is likely wrong, best before leaving the wall."""
    seen = ahead.standing.seen
    rows = [r for r in ahead.standing.rows if r.key != "sound"]
    rows = [r for r in rows if r.still >= LIKELY_ENOUGH or TROUBLE_OF_KEY[r.key] in seen]
    rows.sort(key=lambda r: (TROUBLE_OF_KEY[r.key] not in seen, -r.still))
    return tuple(_remedy(row, ahead) for row in rows[: max(MOST_REMEDIES, len(seen))])


def _remedy(row: TroubleRow, ahead: Ahead) -> Step:
    """What is likely, or was seen and left, is put right today; of the rest one makes sure."""
    trouble = TROUBLE_OF_KEY[row.key]
    if trouble in ahead.standing.seen:
        what = f"{SEEN} ({_lower(row.label)}): {_lower(row.remedy)}"
    elif row.still >= NAMED_FIRST:
        what = row.remedy
    else:
        what = f"To see whether it is so ({_lower(row.label)}): {_lower(row.settled_by)}"
    return Step(ahead.as_of, None, what, "technician", TOLD[trouble].bring, row.caution)


def _come_back(ahead: Ahead) -> tuple[Step, ...]:
    visit = ahead.next_visit
    if visit is None:
        return ()
    looks = "; ".join(visit.look_for) or "count bees leaving by the cone"
    return (
        Step(visit.on, None, f"Visit, {visit.hours}: {looks}", "technician", visit.bring,
             visit.caution),
    )  # fmt: skip


def _make_sure(ahead: Ahead) -> tuple[Step, ...]:
    """The fastest check, on the first day on which it can be enough."""
    check = next((c for c in ahead.clearance.checks if c.on is not None), None)
    if check is None or check.on is None:
        return ()
    return (
        Step(check.on, None, f"To call it empty: {_lower(check.label)}", "technician",
             "watch, torch, thermal camera or hand", check.caution),
    )  # fmt: skip


def _close(ahead: Ahead, c: Circumstances) -> Step:
    return Step(
        ahead.as_of, None, "Deal with what is left and close for good, as the closing list says",
        "technician and helper", "screen, straps, torch, mesh, sealant, camera",
        cautions.joined(cautions.stings(c), cautions.height(c), cautions.lifting()),
    )  # fmt: skip


def _decide(ahead: Ahead, c: Circumstances) -> Step:
    what = "" if ahead.way is None else f"; the figures speak for: {_lower(ahead.way)}"
    return Step(
        ahead.as_of, None, f"Stop and decide anew with the client{what}", "technician and client",
        "this page", cautions.joined(cautions.stings(c, brief=True), "The exit is never plugged."),
    )  # fmt: skip


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]

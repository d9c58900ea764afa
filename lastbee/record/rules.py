"""Whether an entry may be taken in as it stands, asked before it is.

A form is held to these rules, and whoever fills it in mends it on the spot. What comes from a
phone that was offline is kept in any case and set aside by the record if it breaks them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.documents.wording import percent
from lastbee.errors import Problem
from lastbee.record.record import record_of
from lastbee.words import chance_words

if TYPE_CHECKING:
    from lastbee.jobs.progress import Progress
    from lastbee.record.chains import Told
    from lastbee.record.entry import Entry
    from lastbee.record.record import Record

_WHY_NOW = "write why it is closed all the same"


def problems_of(
    record: Record, entry: Entry, progress: Progress | None, refused: frozenset[str] = frozenset()
) -> tuple[Problem, ...]:
    """Find what keeps an entry from counting.

    Parameters
    ----------
    record
        The record without it.
    entry
        The entry.
    progress
        How the trap-out stands after all that was written so far; None where no forecast knows.
    refused
        Keys of the ways that the plan refuses.

    Returns
    -------
    Problems whose field is the dotted key within the entry's body.
    """
    written = (*(one for told in record.told for one in told.all), entry)
    after = record_of(record.job, written, record.firm)
    told = next(told for told in after.told if entry.id in {one.id for one in told.all})
    if told.entry.id != entry.id or told.problems:
        return told.problems
    if entry.is_withdrawal:
        return _left_without(record, after)
    if entry.kind == "decision" and told.body["way"] in refused and "reason" not in told.body:
        mend = "write why, since the plan refuses this way, or choose another"
        return (Problem("reason", None, mend),)
    if entry.kind == "close-out" and record.is_trap_out and "reason" not in told.body:
        return _below_confidence(progress)
    if entry.kind == "certificate" and progress is not None:
        return _unexplained(after, told, progress)
    return ()


def _below_confidence(progress: Progress | None) -> tuple[Problem, ...]:
    if progress is None:
        mend = f"{_WHY_NOW}: no forecast says yet that the wall is empty"
        return (Problem("reason", None, mend),)
    if progress.clearance.is_clear:
        return ()
    return (Problem("reason", None, f"{_WHY_NOW}: {_how_sure(progress)}"),)


def _unexplained(record: Record, certificate: Told, progress: Progress) -> tuple[Problem, ...]:
    """Find a closing below the confidence that came in without its reason."""
    closing = record.close_out
    if closing is None or not record.is_trap_out or "reason" in closing.body:
        return ()
    if progress.clearance.is_clear:
        return ()
    mend = f"correct the close-out first and {_WHY_NOW}: {_how_sure(progress)}"
    return (Problem("date", certificate.on, mend),)


def _how_sure(progress: Progress) -> str:
    reached = chance_words(progress.clearance.probability_empty)
    asked = percent(progress.clearance.confidence)
    return f"the wall is empty with a chance of {reached}, and {asked} is asked for"


def _left_without(before: Record, after: Record) -> tuple[Problem, ...]:
    """What would be set aside by taking an entry back."""
    aside = {told.first.id for told in before.set_aside}
    left = [told for told in after.set_aside if told.first.id not in aside]
    if not left:
        return ()
    what = ", ".join(sorted({told.kind for told in left}))
    mend = f"take back first what rests on it: {what}"
    return (Problem("withdrawn", None, mend),)

"""Whether an entry may be taken in as it stands, asked before it is.

A form is held to these rules, and whoever fills it in mends it on the spot. What comes from a
phone that was offline is kept in any case and set aside by the record if it breaks them.
"""

from __future__ import annotations

from datetime import timedelta, timezone
from typing import TYPE_CHECKING

from lastbee.documents.wording import percent
from lastbee.errors import Problem
from lastbee.record.chains import day_of
from lastbee.record.job_tree import BODY_KEYS
from lastbee.record.record import record_of
from lastbee.words import chance_words

if TYPE_CHECKING:
    from datetime import datetime

    from lastbee.jobs.progress import Progress
    from lastbee.record.chains import Told
    from lastbee.record.entry import Entry
    from lastbee.record.record import Record

# Where a day begins first, so that no device on earth is told that its today is to come.
_EARLIEST_ZONE = timezone(timedelta(hours=14))
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
        mend = reason_wanted(progress)
        return (Problem("reason", None, mend),) if mend else ()
    if entry.kind == "certificate" and progress is not None:
        return _unexplained(after, told, progress)
    return ()


def reason_wanted(progress: Progress | None) -> str:
    """What is to be written before a trap-out is closed; empty where it is sure enough.

    Parameters
    ----------
    progress
        As for `problems_of`.
    """
    if progress is None:
        return f"{_WHY_NOW}: no forecast says yet that the wall is empty"
    return "" if progress.clearance.is_clear else f"{_WHY_NOW}: {_how_sure(progress)}"


def not_yet(entry: Entry, now: datetime) -> tuple[Problem, ...]:
    """Find a day that has not come yet anywhere: what is written down has happened.

    Parameters
    ----------
    entry
        The entry.
    now
        The moment, aware.
    """
    day, latest = day_of(entry.body), now.astimezone(_EARLIEST_ZONE).date()
    if day is None or day <= latest:
        return ()
    mend = "write the day on which it was, not one that is still to come"
    return (Problem(BODY_KEYS.get(entry.kind, "date"), day, mend),)


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

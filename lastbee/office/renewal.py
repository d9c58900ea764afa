"""Working out anew what is kept of a job besides its entries: its card, and what to forecast."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from lastbee.errors import InvalidInput
from lastbee.record.due import card_of
from lastbee.record.job_tree import fingerprint
from lastbee.record.record import record_of

if TYPE_CHECKING:
    from datetime import date, datetime

    from lastbee.office.case import Plans
    from lastbee.record.firm import Firm
    from lastbee.record.forecast import Forecast
    from lastbee.record.record import Record
    from lastbee.store.writing import Writing

RESTING = ("over", "ended")
"""Stages in which nothing is forecast any more."""


def renew(writing: Writing, job: str, firm: Firm, today: date, plans: Plans) -> Record:
    """Keep the card of a job anew, and ask for the forecast that its entries now call for."""
    record = record_of(job, writing.entries_of(job), firm)
    last = writing.forecast(job)
    card = card_of(record, plans.plan_of(last), today)
    writing.keep_card(card)
    urgency = 0.0 if card.due is None else card.due.urgency
    if card.stage in RESTING:
        # The last plan stands for good; it is not called out of date.
        writing.ask_forecast(job, "" if last is None else last.answered, urgency)
    else:
        asked, problem = asked_of(record)
        writing.ask_forecast(job, asked, urgency, problem)
    return record


def asked_of(record: Record) -> tuple[str, str]:
    """Fingerprint of what there is to forecast from, or else what keeps it from that.

    Returns
    -------
    Fingerprint and problem, one of them empty; both where there is no inspection yet.
    """
    if record.inspection is None:
        return "", ""
    try:
        record.checked_job()
    except InvalidInput as error:
        first, more = error.problems[0].sentence, len(error.problems) - 1
        return "", first if not more else f"{first[:-1]}; {more} more to mend."
    return fingerprint(record.tree), ""


def is_asked(record: Record, last: Forecast) -> bool:
    """Whether a forecast still asks for what the record amounts to."""
    return bool(last.asked) and asked_of(record) == (last.asked, "")


def knows_all(last: Forecast | None, record: Record) -> bool:
    """Whether the last plan was computed from all that the record amounts to now."""
    return last is not None and last.answered == fingerprint(record.tree)


def day_at(firm: Firm, moment: datetime) -> date:
    """The day on which a moment falls at the firm."""
    return moment.astimezone(ZoneInfo(firm.time_zone)).date()

"""Where a job stands, and what is to be done on it next.

The record says how far the job has come; its last forecast says when the next thing is worth
doing. A forecast that is older than the last visit still names its date: a date that may be
moved is better on a list than none.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from lastbee.methods import cautions
from lastbee.record.card import Card, Due, Stage
from lastbee.record.chains import day_of
from lastbee.record.circumstances import circumstances_told
from lastbee.words import day_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lastbee.jobs.plan import MethodRow, Plan
    from lastbee.jobs.progress import Progress
    from lastbee.record.record import Record

# A fresh trap-out is looked at again after this long (leaks show in the first days), and any
# other when this has passed and no forecast says otherwise: common practice, no source.
FIRST_LOOK_DAYS, NEXT_LOOK_DAYS = 2, 7
# A deadline of the client's presses from this long before it on: assumed.
PRESSING_DAYS = 14
BY_DAY = "10:00 to 16:00, warm and dry, while bees fly"
"""Hours at which bees can be watched or a cone goes on: common practice, no source."""


def stage_of(record: Record, progress: Progress | None, today: date) -> Stage:
    """Say where a job stands.

    Parameters
    ----------
    record
        The record.
    progress
        How the trap-out stood when it was last forecast, None before.
    today
        The day at the firm.
    """
    if record.ended is not None:
        return "ended"
    if record.certificate is not None:
        return "over" if warranty_until(record) < today else "warranty"
    if record.close_out is not None:
        return "to certify"
    if not record.is_trap_out:
        return "to close"
    if record.setup is not None:
        return "to close" if progress is not None and progress.kind == "empty" else "trapping"
    if record.decision is not None:
        return "to set up"
    if record.inspection is not None:
        return "to decide"
    return "call" if _booked(record) is None else "to inspect"


def due_of(record: Record, plan: Plan | None, today: date) -> Due | None:
    """Say what is to be done next, None where nothing is.

    Parameters
    ----------
    record
        The record.
    plan
        Its last forecast, with its progress once there are visits; None before the first.
    today
        The day at the firm.
    """
    progress = None if plan is None else plan.progress
    stage = stage_of(record, progress, today)
    urgency = _urgency(record, progress, today)
    if record.open_callback is not None and stage in ("warranty", "over", "to certify"):
        return Due(
            "Go back: the client called under the warranty", record.open_callback.on,
            str(record.open_callback.body["what"]), BY_DAY, "callback", max(urgency, 0.5),
            _at_the_wall(record, brief=True),
        )  # fmt: skip
    if stage == "call":
        why = "Nobody has agreed on a day to look at it."
        return Due("Phone back and book an inspection", today, why, "", "call", urgency)
    if stage == "to inspect" and (booked := _booked(record)) is not None:
        return _inspect(record, booked, urgency)
    if stage == "to decide":
        return _decide(record, plan, urgency)
    if stage == "to set up":
        return _set_up(record, plan, today, urgency)
    if stage == "trapping":
        return _visit(record, progress, urgency)
    if stage == "to close":
        return _close(record, progress, today, urgency)
    if stage == "to certify" and record.close_out is not None:
        why = "The wall is closed and the client has nothing in hand yet."
        on = record.close_out.on
        return Due("Sign the closing certificate", on, why, "", "certificate", 0.3 * urgency)
    if stage == "warranty":
        until = warranty_until(record)
        return Due("Warranty ends", until, f"It runs until {day_words(until)}.")
    return None


def card_of(record: Record, plan: Plan | None, today: date) -> Card:
    """What a list shows of a job; see `lastbee.record.card.Card`."""
    progress = None if plan is None else plan.progress
    standing, kind = standing_of(record, plan)
    north, east = record.position or (None, None)
    return Card(
        job=record.job,
        stage=stage_of(record, progress, today),
        title=record.title,
        client=record.client,
        place=record.place,
        phone=record.phone,
        latitude_deg=north,
        longitude_deg=east,
        standing=standing,
        standing_kind=kind,
        due=due_of(record, plan, today),
        visits=len(record.visits),
        opened_at=min(one.first.written_at for one in record.told),
        touched_at=max(one.entry.written_at for one in record.told),
        questions=len(record.set_aside),
        photos=len(record.all("photo")),
    )


def warranty_until(record: Record) -> date:
    """Last day of the warranty: as the certificate says, or the firm's months after the closing.

    Raises
    ------
    ValueError
        If there is no certificate.
    """
    if record.certificate is None:
        raise ValueError("a job without certificate has no warranty")
    if until := record.certificate.body.get("warranty_until"):
        return date.fromisoformat(until)
    closed = record.close_out or record.certificate
    return months_after(closed.on, record.firm.warranty_months)


def months_after(day: date, months: int) -> date:
    """The same day of the month so many months later, or the last there is.

    Examples
    --------
    >>> from datetime import date
    >>> months_after(date(2026, 1, 31), 1)
    datetime.date(2026, 2, 28)
    """
    years, month = divmod(day.month - 1 + months, 12)
    first = day.replace(year=day.year + years, month=month + 1, day=1)
    last = (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
    return first.replace(day=min(day.day, last.day))


def standing_of(record: Record, plan: Plan | None) -> tuple[str, str]:
    """How a job stands in a sentence, and in a word; empty before the first forecast.

    Once a way is agreed on, it is that way that is told of, whatever the plan would have chosen.
    """
    if plan is None:
        return "", ""
    if plan.progress is not None:
        return plan.progress.headline, plan.progress.kind
    agreed = agreed_otherwise(record, plan)
    if agreed is None:
        return plan.verdict.headline, plan.verdict.kind
    told = (agreed.bees_alive_pct, agreed.weeks, agreed.honey_left)
    facts = "; ".join(f"{one.label.lower()} {one.words}" for one in told if one is not None)
    return f"Agreed on: {agreed.label}" + (f" ({facts})" if facts else ""), "agreed"


def agreed_otherwise(record: Record, plan: Plan) -> MethodRow | None:
    """The way agreed on, where the plan would have chosen another; None where it is the same."""
    if record.decision is None or record.decision.body["way"] == plan.verdict.method:
        return None
    way = record.decision.body["way"]
    return next((row for row in plan.methods if row.key == way), None)


def _booked(record: Record) -> Mapping[str, Any] | None:
    """The call in which an inspection was last agreed on."""
    calls = (one.body for one in reversed(record.all("call")))
    return next((body for body in calls if "inspect_on" in body), None)


def _inspect(record: Record, booked: Mapping[str, Any], urgency: float) -> Due:
    on, who = date.fromisoformat(booked["inspect_on"]), booked.get("inspect_by")
    why = f"Booked with the caller{f', {who} goes' if who else ''}."
    hours = booked.get("inspect_at", BY_DAY)
    return Due("Inspect", on, why, hours, "inspection", urgency, _at_the_wall(record))


def _decide(record: Record, plan: Plan | None, urgency: float) -> Due:
    inspected = record.told[0].on if record.inspection is None else record.inspection.on
    why = (
        "The inspection is in; the forecast is on its way."
        if plan is None
        else plan.verdict.headline
    )
    if plan is not None and plan.verdict.kind == "refuse" and plan.verdict.would_change:
        why += f" First ask what would change that: {plan.verdict.would_change[0]}"
    return Due("Decide on the way with the client", inspected, why, "", "decision", urgency)


def _set_up(record: Record, plan: Plan | None, today: date, urgency: float) -> Due:
    decided = {} if record.decision is None else record.decision.body
    on = day_of({"date": decided.get("cone_on")}) or (today if plan is None else plan.cone_on)
    why = "The way is agreed on: every other gap closed first, then cone and box."
    caution = _at_the_wall(record, cautions.vents())
    return Due("Set cone and box", on, why, BY_DAY, "set-up", urgency, caution)


def _visit(record: Record, progress: Progress | None, urgency: float) -> Due:
    setup, caution = record.setup, _at_the_wall(record, brief=True)
    last = record.visits[-1].on if record.visits else None
    if last is None:
        cone_on = record.told[0].on if setup is None else setup.on
        why = "Leaks and a cone that does not hold show in the first days."
        on = cone_on + timedelta(days=FIRST_LOOK_DAYS)
        return Due("First look at cone, gaps and box", on, why, BY_DAY, "visit", urgency, caution)
    if progress is not None and progress.kind == "failed" and not _decided_since(record, last):
        return Due("Decide anew", last, progress.headline, "", "decision", max(urgency, 0.5))
    following = None if progress is None else progress.next_visit
    if progress is not None and following is not None and following.on > last:
        in_trouble = f"{progress.headline} " if progress.kind == "trouble" else ""
        return Due(
            "Visit", following.on, f"{in_trouble}{following.why}", following.hours, "visit",
            urgency, following.caution or caution,
        )  # fmt: skip
    on = last + timedelta(days=NEXT_LOOK_DAYS)
    why = f"The last visit was on {day_words(last)}; no forecast since then names a day."
    return Due("Visit", on, why, BY_DAY, "visit", urgency, caution)


def _decided_since(record: Record, day: date) -> bool:
    return record.decision is not None and record.decision.on >= day


def _close(record: Record, progress: Progress | None, today: date, urgency: float) -> Due:
    caution = _at_the_wall(record, cautions.vents(), brief=True)
    if progress is None or not record.is_trap_out:
        on = today if record.decision is None else record.decision.on
        why = "The way that was agreed on is still to be done."
        return Due("Do what was agreed on", on, why, "", "close-out", urgency, caution)
    ways = (row.label for row in progress.close_out if row.status == "recommended")
    what = f"Close out: {next(ways, 'settle with the client what becomes of what is left')}"
    on = progress.as_of + timedelta(days=1)
    return Due(what, on, progress.clearance.words, BY_DAY, "close-out", urgency, caution)


def _at_the_wall(record: Record, *more: str, brief: bool = False) -> str:
    """What can hurt at the wall; in brief from the second time there, as the form says it all."""
    c = circumstances_told(record)
    usual = cautions.stings(c, brief=brief), cautions.height(c, brief=brief)
    return cautions.joined(*usual, *more)


def _urgency(record: Record, progress: Progress | None, today: date) -> float:
    """From 0 to 1: people at risk first, then trouble, then the client's deadline. Assumed."""
    people = record.tree.get("people", {})
    urgency = 0.2
    if people.get("allergic_person") == "yes":
        urgency += 0.35
    if people.get("public_path_near") == "yes":
        urgency += 0.1
    if progress is not None and progress.kind in ("trouble", "failed"):
        urgency += 0.25
    gone_by = day_of({"date": people.get("gone_by")})
    if gone_by is not None and (gone_by - today).days <= PRESSING_DAYS:
        urgency += 0.2
    return min(urgency, 1.0)

"""The last forecast in the few words that stand on top of a job's page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.documents.days import EMPTY, last_day, milestone_of
from lastbee.documents.lines import Line, alarm_lines, quantity_lines, sentences
from lastbee.documents.outline import is_trap_out
from lastbee.documents.wording import clean, day_or_later, percent, sentence
from lastbee.record.due import agreed_otherwise, standing_of, warranty_until
from lastbee.web.forms.deciding import CLOSE_OUT_LABELS, WAY_LABELS
from lastbee.words import day_words

if TYPE_CHECKING:
    from datetime import date

    from lastbee.jobs.plan import Plan
    from lastbee.jobs.progress import Progress
    from lastbee.record.record import Record


_CLOSING_FACTS = (("Honey left", "honey_left"), ("Why already then", "reason"))
# Of what an inspection tells of the nest, what is asked for first.
_TOLD_FIRST = ("adults", "open_brood", "capped", "honey", "comb")


@dataclass(frozen=True, slots=True)
class LastForecast:
    """A headline, the days that matter, and what is in there.

    `kind` is the state in one word; `as_of` says of which day it tells; `alarm` that it is not
    to be relied on, and why; `aside` what else is to be said of it.
    """

    kind: str
    headline: str
    as_of: str
    alarm: tuple[str, ...]
    days: tuple[Line, ...]
    contents: tuple[Line, ...]
    aside: tuple[str, ...] = ()


def last_forecast(record: Record, plan: Plan | None) -> LastForecast | None:
    """Put the last forecast of a job into a few words; None before the first."""
    if plan is None:
        return None
    progress = plan.progress
    if progress is not None:
        return LastForecast(
            kind=progress.kind,
            headline=sentence(progress.headline),
            as_of=f"At the visit of {day_words(progress.as_of)}",
            alarm=alarm_lines(progress.trust),
            days=(*_empty(progress, progress.clearance.confidence), *_next_visit(progress)),
            contents=quantity_lines(progress.now),
        )
    headline, kind = standing_of(record, plan)
    return LastForecast(
        kind=kind,
        headline=sentence(headline),
        as_of=f"At the inspection of {day_words(plan.inspected_on)}",
        alarm=alarm_lines(plan.trust),
        days=_empty(plan, plan.confidence) if is_trap_out(plan) else (),
        contents=quantity_lines(item for item in plan.contents if item.key in _TOLD_FIRST),
        aside=_aside(record, plan),
    )


def _aside(record: Record, plan: Plan) -> tuple[str, ...]:
    """What the plan would have chosen where another way is agreed on, or what would change it."""
    if agreed_otherwise(record, plan) is not None:
        return (f"The forecast itself says: {sentence(plan.verdict.headline)}",)
    if plan.verdict.kind in ("refuse", "unsure") or "eradication" in plan.verdict.method:
        return tuple(
            f"What would change this: {said}" for said in sentences(plan.verdict.would_change)
        )
    return ()


def after_closing(record: Record) -> LastForecast | None:
    """How a job stands that is closed or has ended; None while it is open."""
    if record.ended is not None:
        on, body = record.ended.on, record.ended.body
        words = f"Ended without certificate: {body['why']}"
        return LastForecast("ended", sentence(words), f"On {day_words(on)}", (), (), ())
    if record.close_out is None:
        return None
    on, body = record.close_out.on, record.close_out.body
    label = (CLOSE_OUT_LABELS | WAY_LABELS)[body["way"]]
    until = () if record.certificate is None else (
        Line("Warranty until", day_words(warranty_until(record))),
    )  # fmt: skip
    facts = ((head, clean(str(body[key]))) for head, key in _CLOSING_FACTS if body.get(key))
    contents = tuple(Line(head, words) for head, words in facts)
    words = sentence(f"The wall is closed: {label[0].lower()}{label[1:]}")
    return LastForecast("closed", words, f"On {day_words(on)}", (), (), (*contents, *until))


def _empty(forecast: Plan | Progress, confidence: float) -> tuple[Line, ...]:
    """Likely and safe day, as far as the forecast reaches."""
    empty, horizon = milestone_of(forecast, EMPTY), last_day(forecast)
    if empty is None:
        return ()
    year = forecast.cone_on.year
    likely, safe = (
        day_or_later(day, horizon) if day is None else _day(day, year)
        for day in (empty.likely, empty.safe)
    )
    return Line("empty: likely", likely), Line(f"almost sure ({percent(confidence)})", safe)


def _next_visit(progress: Progress) -> tuple[Line, ...]:
    visit = progress.next_visit
    if visit is None:
        return ()
    return (Line("next visit", _day(visit.on, progress.cone_on.year)),)


def _day(day: date, year: int) -> str:
    """A day, with its year where that is not the one of the trap-out."""
    return day_words(day).removesuffix(f" {year}")

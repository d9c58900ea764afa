"""The closing certificate of a job, from its record and its last forecast."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from lastbee.documents.certificate import Certificate
from lastbee.documents.lines import Line, caution_lines, said, sentences
from lastbee.documents.wording import clean, percent, sentence
from lastbee.methods.closeout import CLOSE, OPEN, ROB_OUT
from lastbee.record.due import warranty_until
from lastbee.words import chance_words, day_words, days_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from lastbee.jobs.progress import CloseOutRow, Progress
    from lastbee.office.case import Case
    from lastbee.record.chains import Told
    from lastbee.record.record import Record

_CLOSED_BY = {
    ROB_OUT: "the honey robbed out by bees, then closed",
    OPEN: "opened and cleaned, then closed",
    CLOSE: "closed as it is, comb left inside",
}
# Common practice, no source.
_FOR_THE_CLIENT = (
    "If bees go in or out anywhere at this wall, close nothing and spray nothing: call the firm",
    "Stay out of their flight path. More than about 15 stings, or any trouble breathing, swelling"
    " or faintness: emergency services at once",
    "Whoever opens this wall later is told that bees lived in it",
)
_NUMBER_LETTERS = 8
_NOT_LOOKED = "-"


def certificate_of(case: Case) -> Certificate | None:
    """Put the certificate of a job into words; None while nobody has signed one."""
    record = case.record
    signed, closing = record.certificate, record.close_out
    if signed is None or closing is None:
        return None
    kept = _kept(signed) or _known(case, closing)
    return Certificate(
        number=f"{signed.on.year}-{record.job[-_NUMBER_LETTERS:].upper()}",
        issued=day_words(signed.on),
        firm=clean(case.firm.name),
        firm_place=clean(str(case.firm.settings.get("place", ""))),
        facts=said(
            Line("Client", clean(record.client)),
            Line("Place", clean(record.place)),
            Line("Job", clean(record.title)),
            Line("Closed", day_words(closing.on)),
        ),
        statement=kept.statement or _statement(case, closing),
        done=_done(record, closing),
        visits=tuple(_visit_cells(one) for one in record.visits),
        sure=kept.sure,
        left=_left(kept.honey_forecast, closing),
        meaning=kept.meaning,
        closed=tuple(_closed(record, closing)),
        warranty=f"The firm answers for this wall until {day_words(warranty_until(record))}.",
        words=sentence(str(signed.body.get("words", ""))),
        signed_by=clean(str(signed.body["signed_by"])),
        cautions=caution_lines(_FOR_THE_CLIENT),
    )


@dataclass(frozen=True, slots=True)
class ToSign:
    """What only a forecast knows of a closed wall; kept with the certificate that is signed.

    Later forecasts, of a newer program or for a firm that asks for more, change nothing in it.
    """

    sure: tuple[str, ...]
    statement: str = ""
    honey_forecast: str = ""
    meaning: tuple[str, ...] = ()


NOT_CLOSED = ToSign(())
"""What there is to sign while the wall is not closed."""


def to_sign(case: Case) -> ToSign:
    """What a certificate would say now."""
    closing = case.record.close_out
    return NOT_CLOSED if closing is None else _known(case, closing)


def _kept(signed: Told) -> ToSign | None:
    """What was known when it was signed; None where that was not kept."""
    body = signed.body
    if "sure" not in body:
        return None
    return ToSign(
        tuple(map(str, body["sure"])),
        " ".join(map(str, body.get("statement", ()))),
        " ".join(map(str, body.get("honey_forecast", ()))),
        tuple(map(str, body.get("meaning", ()))),
    )


def _known(case: Case, closing: Told) -> ToSign:
    row = _row(case.progress, str(closing.body["way"]))
    meaning = () if row is None else sentences(row.consequences)
    return ToSign(
        tuple(_sure(case, closing)), _statement(case, closing),
        _honey_forecast(case.progress, row), meaning,
    )  # fmt: skip


def _statement(case: Case, closing: Told) -> str:
    """What was achieved, and no more: bees that may still be in there were not taken out."""
    record, on = case.record, day_words(closing.on)
    if not record.is_trap_out or record.setup is None:
        return f"The work is done and the wall was closed on {on}."
    if case.progress is not None and case.progress.clearance.is_clear:
        return f"The bees were taken out alive by trap-out and the wall was closed on {on}."
    return (
        f"A trap-out ran from {day_words(record.setup.on)}. The wall was closed on {on}, before it"
        " was sure to be empty."
    )


def _done(record: Record, closing: Told) -> tuple[Line, ...]:
    """The steps of the job with their days."""
    decided = "" if record.decision is None else str(record.decision.body["way"])
    cone, visits = "", ""
    if record.setup is not None:
        stood = (closing.on - record.setup.on).days
        cone = f"{day_words(record.setup.on)}, and stood {days_words(stood)}"
    if record.visits:
        visits = f"{len(record.visits)}, the last on {day_words(record.visits[-1].on)}"
    way = str(closing.body["way"])
    return said(
        Line("Inspected", "" if record.inspection is None else day_words(record.inspection.on)),
        Line("Way agreed on", clean(decided)),
        Line("Cone and box set", cone),
        Line("Visits", visits),
        Line("Wall", f"{_CLOSED_BY.get(way, way)}, {day_words(closing.on)}"),
    )


def _visit_cells(one: Told) -> tuple[str, str, str, str]:
    body = one.body
    elsewhere: Mapping[str, Any] = body.get("elsewhere", {})
    was_seen = elsewhere.get("seen")
    seen = _NOT_LOOKED if was_seen is None else "seen" if was_seen else "none seen"
    frames = body.get("box", {}).get("frames_of_bees")
    return (
        day_words(one.on),
        _count(body.get("count", {}), "out") or _NOT_LOOKED,
        _count(elsewhere, "in") or seen,
        _NOT_LOOKED if frames is None else f"{frames:g}",
    )


def _count(table: Mapping[str, Any], key: str) -> str:
    count, minutes = table.get(key), table.get("minutes")
    if count is None or minutes is None:
        return ""
    return f"{count} in {minutes:g} minute{'' if minutes == 1 else 's'}"


def _sure(case: Case, closing: Told) -> Iterator[str]:
    """How sure it was at closing and how that was reached, or why it was closed all the same."""
    progress, reason = case.progress, sentence(str(closing.body.get("reason", "")))
    if not case.record.is_trap_out:
        yield "The nest was reached by hand; no forecast was needed to know it empty."
    elif progress is None:
        yield "No forecast was made of how far the wall had emptied."
    else:
        chance = progress.clearance.probability_empty
        yield (
            f"After the visit of {day_words(progress.as_of)} the chance that it was empty was"
            f" {chance_words(chance)}; the firm asks for {percent(progress.clearance.confidence)}."
        )
        if progress.clearance.is_clear:
            last = progress.visits[-1] if progress.visits else None
            if last is not None:
                yield f"It was reached by what was seen there: {'; '.join(map(clean, last.seen))}."
        elif not reason:
            yield "It was closed before that was reached; nobody wrote down why."
    if reason:
        yield f"Why it was closed then: {reason}"


def _row(progress: Progress | None, way: str) -> CloseOutRow | None:
    if progress is None:
        return None
    return next((row for row in progress.close_out if row.key == way), None)


def _honey_forecast(progress: Progress | None, row: CloseOutRow | None) -> str:
    if row is not None:
        return clean(row.honey_left.words)
    now = () if progress is None else progress.now
    return clean(next((item.words for item in now if item.key == "honey_in_wall"), ""))


def _left(honey_forecast: str, closing: Told) -> tuple[Line, ...]:
    found = clean(str(closing.body.get("honey_left", "")))
    lines = said(Line("Honey, as seen", found), Line("Honey, as forecast", honey_forecast))
    return lines or (Line("Honey", "not known"),)


def _closed(record: Record, closing: Told) -> Iterator[str]:
    """Gaps that were closed, then what was ticked off of the closing list."""
    gaps = 0 if record.setup is None else int(record.setup.body.get("gaps_closed") or 0)
    at_visits = [one for one in record.visits if one.body.get("did", {}).get("closed_gap")]
    if gaps:
        yield f"{gaps} gap{'s' if gaps != 1 else ''} when the cone was set."
    for one in at_visits:
        yield f"A gap at the visit of {day_words(one.on)}."
    done = closing.body.get("done", ())
    for line in sentences([done] if isinstance(done, str) else map(str, done)):
        yield f"Done: {line}"

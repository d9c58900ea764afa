"""The moments of a job for its time line: what the record tells, and what is due."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.documents.time_line import Moment
from lastbee.record.chains import day_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lastbee.documents.time_line import MomentKind
    from lastbee.record.card import Due
    from lastbee.record.chains import Told
    from lastbee.record.record import Record

# What is due, so short that it fits on the line; by the form that takes it down.
_DUE_WORDS: dict[str | None, str] = {
    "call": "phone back", "inspection": "inspect", "decision": "decide",
    "set-up": "set cone and box", "visit": "next visit", "close-out": "close out",
    "certificate": "certificate", "callback": "go back", None: "warranty ends",
}  # fmt: skip
_WORDS: dict[str, tuple[MomentKind, str]] = {
    "inspection": ("inspection", "inspection"),
    "set-up": ("cone", "cone on"),
    "close-out": ("closed", "closed"),
    "certificate": ("certificate", "certificate"),
    "callback": ("callback", "callback"),
    "ended": ("ended", "ended"),
    "call": ("call", "call"),
}
_BOX_WORDS = {
    "moved": "box moved", "checked": "box checked", "merged": "box merged", "lost": "box lost",
}  # fmt: skip


def moments_of(record: Record, due: Due | None) -> tuple[Moment, ...]:
    """Give what the time line shows of a record, and what is due next."""
    found = [moment for one in record.told if one.counts for moment in _of(one)]
    found += _visits(record)
    if due is not None:
        found.append(Moment(due.on, "due", _DUE_WORDS[due.page], is_ahead=True))
    return tuple(found)


def _of(one: Told) -> Iterator[Moment]:
    if one.kind in _WORDS:
        yield Moment(one.on, *_WORDS[one.kind])
    if one.kind == "inspection":
        seen = day_of({"date": one.body["inspection"].get("first_seen")})
        if seen is not None:
            yield Moment(seen, "seen", "first seen")
    elif one.kind == "decision":
        yield Moment(one.on, "decision", f"{one.body['way']} agreed")
    elif one.kind == "box":
        yield Moment(one.on, "box", _BOX_WORDS[one.body["what"]])


def _visits(record: Record) -> Iterator[Moment]:
    for number, one in enumerate(record.visits, start=1):
        frames = one.body.get("box", {}).get("frames_of_bees")
        yield Moment(one.on, "visit", "visit", number, frames)
        if one.body.get("did", {}).get("closed_gap"):
            yield Moment(one.on, "gap", "gap closed")

"""An entry: one thing that somebody told, saw or did, written down once and never changed.

Everything the firm knows is entries. A correction is a new entry that names the one it stands
in for, and under `SETTLES` the rivals of that one that it stands in for too; a withdrawal is a
correction whose body has `WITHDRAWN`. Ids are made on the
device that writes (UUID version 7, RFC 9562), so that phones without signal can write for a
day and hand in what they have in any order, twice over if need be.
"""

from __future__ import annotations

import hashlib
import re
import uuid
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, Literal, get_args

if TYPE_CHECKING:
    from collections.abc import Mapping

JobEntryKind = Literal[
    "call", "inspection", "decision", "set-up", "visit", "box", "close-out", "certificate",
    "callback", "note", "photo", "ended",
]  # fmt: skip
FirmEntryKind = Literal["firm", "person", "kit"]
EntryKind = JobEntryKind | FirmEntryKind

JOB_KINDS: tuple[str, ...] = get_args(JobEntryKind)
FIRM_KINDS: tuple[str, ...] = get_args(FirmEntryKind)
KINDS: tuple[str, ...] = JOB_KINDS + FIRM_KINDS

WITHDRAWN = "withdrawn"
"""Key of a body that takes an entry back; its value says why."""

SETTLES = "settles"
"""Key that every body may have: ids of the other corrections that its writer was shown."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
# Every place's own clock can still show what lies before this.
_NO_CLOCK = datetime(9999, 1, 1, tzinfo=UTC)
_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry.

    Attributes
    ----------
    id
        UUID version 7 in lower case.
    job
        Id of the job it belongs to, of the same form; None for what concerns the whole firm.
    kind
        What sort of thing it is; it decides which keys the body may have.
    body
        What was written, as a tree of JSON values with the keys of `lastbee.record.tables`.
        It is kept as it came in, whether or not it can be used.
    written_at
        When, by the clock of the device; aware, UTC.
    device, person
        Who wrote it on what; may be empty.
    replaces
        Id of the entry that this one corrects, None for a new one.

    Raises
    ------
    ValueError
        If an id is not of its form, `written_at` has no zone or lies beyond all clocks, or a
        job's kind lacks a job.
    """

    id: str
    job: str | None
    kind: EntryKind
    body: Mapping[str, Any]
    written_at: datetime
    device: str = ""
    person: str = ""
    replaces: str | None = None

    def __post_init__(self) -> None:
        """Check what the record relies on."""
        for name in ("id", "job", "replaces"):
            value = getattr(self, name)
            if value is not None and not is_id(value):
                raise ValueError(f"{name} is {value!r}; it must be a UUID of version 7")
        if self.kind not in KINDS:
            raise ValueError(f"kind is {self.kind!r}; it must be one of {', '.join(KINDS)}")
        if (self.job is None) != (self.kind in FIRM_KINDS):
            raise ValueError(f"job is {self.job!r}, which does not suit the kind {self.kind!r}")
        if self.written_at.tzinfo is None:
            raise ValueError("written_at has no time zone")
        if not is_of_a_clock(self.written_at):
            raise ValueError(f"written_at is {self.written_at}, which no clock of a device says")
        object.__setattr__(self, "written_at", self.written_at.astimezone(UTC))

    @property
    def is_withdrawal(self) -> bool:
        """Whether this takes another entry back."""
        return WITHDRAWN in self.body

    @property
    def stands_in_for(self) -> frozenset[str | None]:
        """Ids of all that this corrects: what it replaces and what it settles."""
        named = self.body.get(SETTLES, ())
        settled = named if isinstance(named, list | tuple) else ()
        return frozenset((self.replaces, *(one for one in settled if isinstance(one, str))))


def is_id(text: str) -> bool:
    """Whether `text` is a UUID of version 7 as entries and jobs carry it."""
    return _ID.fullmatch(text) is not None


def is_of_a_clock(moment: datetime) -> bool:
    """Whether an aware moment is one that some device's clock could say."""
    return _EPOCH <= moment < _NO_CLOCK


def new_id(at: datetime, randomness: bytes) -> str:
    """Make a UUID of version 7.

    Parameters
    ----------
    at
        The moment, aware; its milliseconds since 1970 lead the id.
    randomness
        Ten random bytes; 74 of their bits are used.

    References
    ----------
    RFC 9562, "Universally Unique IDentifiers (UUIDs)", section 5.7, 2024.
    """
    if len(randomness) != 10:
        raise ValueError(f"randomness has {len(randomness)} bytes; it must have 10")
    milliseconds = (at - _EPOCH) // timedelta(milliseconds=1)
    bits = int.from_bytes(randomness, "big")
    first, second = bits >> 68, bits & (2**62 - 1)
    value = milliseconds << 80 | 7 << 76 | first << 64 | 0b10 << 62 | second
    return str(uuid.UUID(int=value))


def derived_id(of: str, words: str) -> str:
    """Make an id that follows from another and from some words; it keeps the moment of the first.

    The same come out each time, so that what is made from an entry is made once.
    """
    at = _EPOCH + timedelta(milliseconds=int(of.replace("-", "")[:12], 16))
    return new_id(at, hashlib.sha256(f"{of} {words}".encode()).digest()[:10])

"""Entries of an invented job, made one after another."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import count
from typing import TYPE_CHECKING, Any

from lastbee.record.entry import Entry, new_id

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lastbee.record.entry import EntryKind

MORNING = datetime(2026, 6, 20, 12, tzinfo=UTC)

FIRM = {
    "name": "Ostrel Vale Bees",
    "latitude": 43.0,
    "longitude": -72.0,
    "time_zone": "Etc/GMT+4",
    "preferences": {"units": "us", "confidence": 0.9},
}
CALL = {
    "date": "2026-06-20",
    "client": "R. Ashgrove",
    "phone": "555 0100",
    "title": "Bees behind the north wall",
    "place": "Orchard House, Meadowgate",
    "inspect_on": "2026-06-29",
    "inspect_at": "14:00",
    "allergic_person": "no",
}
INSPECTION = {
    "inspection": {
        "date": "2026-06-29",
        "time": "14:30",
        "temperature": "24 C",
        "sky": "sun",
        "wind": "calm",
        "first_seen": "2026-06-02",
        "traffic": {"minutes": 5, "out": 142, "in": 136},
    },
    "site": {"latitude": 43.1, "longitude": -72.4, "time_zone": "Etc/GMT+4"},
    "building": {"cavity": "stud bay", "entrance_height": "4.2 m"},
    "people": {"public_path_near": "no"},
}
DECISION = {"date": "2026-06-30", "way": "trap-out", "cone_on": "2026-07-01"}
SET_UP = {"date": "2026-07-01", "box": "queenright nucleus", "rob_out": True}
VISIT = {
    "date": "2026-07-03",
    "time": "13:30",
    "temperature": "25 C",
    "cone": "clear",
    "count": {"minutes": 5, "out": 14, "back_in": 0},
}
CLOSE_OUT = {"date": "2026-08-10", "way": "rob out"}
CERTIFICATE = {"date": "2026-08-11", "signed_by": "T. Wick"}
STORY: tuple[tuple[EntryKind, dict[str, Any]], ...] = (
    ("call", CALL),
    ("inspection", INSPECTION),
    ("decision", DECISION),
    ("set-up", SET_UP),
    ("visit", VISIT),
    ("close-out", CLOSE_OUT),
    ("certificate", CERTIFICATE),
)


class Writer:
    """Writes entries of one job a minute apart, with ids that say in which order."""

    def __init__(self) -> None:
        self._numbers = count(1)
        self.job = self.new_id()

    def new_id(self) -> str:
        """The next id."""
        number = next(self._numbers)
        return new_id(MORNING + timedelta(minutes=number), number.to_bytes(10, "big"))

    def write(self, kind: EntryKind, body: Mapping[str, Any], **more: Any) -> Entry:
        """The next entry."""
        number = next(self._numbers)
        at = MORNING + timedelta(minutes=number)
        entry_id = new_id(at, number.to_bytes(10, "big"))
        job = None if kind in ("firm", "person", "kit") else self.job
        given = {"written_at": at, "device": "phone", "person": "T. Wick", **more}
        return Entry(entry_id, job, kind, body, **given)

    def story(self, until: EntryKind) -> list[Entry]:
        """The job up to the first entry of a kind."""
        kinds = [kind for kind, _ in STORY]
        return [self.write(kind, body) for kind, body in STORY[: kinds.index(until) + 1]]

"""A firm's file with many jobs in every stage, invented, for measuring pages on."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from lastbee.office.desk import Desk
from lastbee.record.entry import Entry, new_id
from lastbee.store.book import Book

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from lastbee.record.entry import EntryKind

NOW = datetime(2026, 7, 14, 12, tzinfo=UTC)
# Jobs that go in as one transaction.
_BATCH = 100
_STREETS = ("Orchard Lane", "Mill Row", "Quarry Road", "Chapel Hill", "Weir Street", "Tithe End")
_NAMES = ("Ashgrove", "Pell", "Wick", "Larkin", "Thorne", "Sedge", "Marl", "Fenn")
_FIRM = {
    "name": "Ostrel Vale Bees",
    "latitude": 43.1,
    "longitude": -72.4,
    "time_zone": "Etc/GMT+4",
}


def make(path: Path, jobs: int, seed: int = 1) -> str:
    """Write a firm's file with so many jobs; give the id of one that has visits.

    Most are over, as in a firm that has been at it for years; some tens are open.
    """
    rng = random.Random(seed)  # noqa: S311  (invented data, not secrets)
    with Book.open(path, NOW) as book:
        desk = Desk(book, lambda: NOW)
        desk.take_in([_entry(rng, NOW, None, "firm", _FIRM)], strict=False)
        batch: list[Entry] = []
        with_visits = ""
        for number in range(jobs):
            story = list(_story(rng, number, jobs))
            if sum(entry.kind == "visit" for entry in story) >= 3:
                with_visits = with_visits or str(story[0].job)
            batch += story
            if number % _BATCH == _BATCH - 1 or number == jobs - 1:
                desk.take_in(batch, strict=False)
                batch = []
    return with_visits


def _story(rng: random.Random, number: int, jobs: int) -> Iterator[Entry]:
    """One job; the last hundred are of this season and stand anywhere between call and close."""
    is_open = number >= jobs - 100
    called = date(2026, 5, 20) if is_open else date(2016, 5, 1) + timedelta(days=number % 3_500)
    called += timedelta(days=rng.randrange(20))
    at = datetime(called.year, called.month, called.day, 12, tzinfo=UTC)
    job = _id(rng, at)
    last = rng.randrange(1, 10) if is_open else 12

    def day(after: int) -> str:
        return (called + timedelta(days=after)).isoformat()

    steps: list[tuple[EntryKind, dict[str, Any]]] = [
        ("call", {
            "date": day(0), "client": f"{rng.choice('ABCDEFGHIJ')}. {rng.choice(_NAMES)}",
            "phone": f"555 {number:05d}", "inspect_on": day(2),
            "place": f"{number % 97 + 1} {rng.choice(_STREETS)}, Meadowgate",
            "title": f"Bees in the {rng.choice(('north', 'south'))} wall, no. {number}",
        }),
        ("inspection", {
            "inspection": {
                "date": day(2), "time": "14:00", "temperature": "24 C", "first_seen": day(-20),
                "traffic": {"minutes": 5, "out": rng.randrange(20, 200), "in": 90},
            },
            "building": {"cavity": "stud bay", "entrance_height": "4 m"},
        }),
        ("decision", {"date": day(3), "way": "trap-out"}),
        ("set-up", {"date": day(5), "box": "queenright nucleus"}),
        *(
            ("visit", {
                "date": day(8 + 7 * week), "time": "13:30", "temperature": "25 C", "cone": "clear",
                "count": {"minutes": 5, "out": 40 >> week, "back_in": 0},
            })
            for week in range(5)
        ),
        ("close-out", {"date": day(50), "way": "close as it is", "reason": "As agreed."}),
        ("certificate", {"date": day(51), "signed_by": "T. Wick"}),
        ("note", {"date": day(51), "text": "Key is back with the neighbour."}),
    ]  # fmt: skip
    for place, (kind, body) in enumerate(steps[:last]):
        yield _entry(rng, at + timedelta(hours=place), job, kind, body)


def _entry(
    rng: random.Random, at: datetime, job: str | None, kind: EntryKind, body: dict[str, Any]
) -> Entry:
    return Entry(_id(rng, at), job, kind, body, at, "office", "T. Wick")


def _id(rng: random.Random, at: datetime) -> str:
    return new_id(at, rng.randbytes(10))

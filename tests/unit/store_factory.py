"""Entries, cards and files for the tests of the store; nothing here is random or reads a clock."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from lastbee.record.card import Card, Due
from lastbee.record.entry import Entry, new_id
from lastbee.store.book import Book

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

NOW = datetime(2026, 7, 14, 7, 0, tzinfo=UTC)
TODAY = date(2026, 7, 14)


def id_of(number: int) -> str:
    """The same id for the same number, later ones sorting later."""
    return new_id(NOW + timedelta(milliseconds=number), number.to_bytes(10, "big"))


def job_of(number: int) -> str:
    """Id of a job; never that of an entry of these tests."""
    return new_id(NOW - timedelta(days=1) + timedelta(milliseconds=number), bytes(10))


def note(number: int, job: int = 0, **body: Any) -> Entry:
    """A note on a job."""
    text = {"date": "2026-07-14", "text": f"note {number}"}
    at = NOW + timedelta(seconds=number)
    return Entry(id_of(number), job_of(job), "note", text | body, at, "phone", "Wren")


def firm(number: int, **body: Any) -> Entry:
    """What the firm says of itself."""
    return Entry(id_of(number), None, "firm", body, NOW + timedelta(seconds=number))


def card(job: int = 0, **changed: Any) -> Card:
    """A card of a job."""
    plain: dict[str, Any] = {
        "job": job_of(job),
        "stage": "trapping",
        "title": f"Bees at house {job}",
        "client": "",
        "place": "",
        "phone": "",
        "latitude_deg": None,
        "longitude_deg": None,
        "standing": "",
        "standing_kind": "",
        "due": None,
        "visits": 0,
        "opened_at": NOW,
        "touched_at": NOW + timedelta(minutes=job),
        "questions": 0,
        "photos": 0,
    }
    return Card(**(plain | changed))


def due(days: int, urgency: float = 0.0) -> Due:
    """Something due that many days from today."""
    return Due("Count at the cone", TODAY + timedelta(days=days), "The cone is new.", "10 to 16",
               "visit", urgency)  # fmt: skip


def keep(book: Book, *cards: Card) -> None:
    """Keep cards, each of a job with one entry."""
    with book.writing() as writing:
        for kept in cards:
            number = writing.count_entries()
            writing.append(Entry(id_of(number), kept.job, "call", {}, NOW))
            writing.keep_card(kept)


def opened(folder: Path) -> Iterator[Book]:
    """A book in a new file, closed at the end; the body of a fixture."""
    with Book.open(folder / "firm.lastbee", NOW) as book:
        yield book

"""Many threads and processes at one file; each sees whole transactions and loses none."""

from __future__ import annotations

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from store_factory import NOW, card, firm, job_of, note, opened

from lastbee.store.book import Book

if TYPE_CHECKING:
    from collections.abc import Iterator

WRITERS, EACH = 8, 12

PROGRAM = """
import sys
from pathlib import Path
from store_factory import NOW, card, note
from lastbee.store.book import Book
first = int(sys.argv[2])
with Book.open(Path(sys.argv[1]), NOW) as book:
    for number in range(first, first + 60):
        with book.writing() as writing:
            writing.append(note(number))
            writing.append(note(number // 2))
            writing.keep_card(card(0, visits=writing.count_entries()))
"""


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """A book in a new file."""
    yield from opened(tmp_path)


def test_threads_write_at_once_and_lose_nothing(book: Book) -> None:
    def write(writer: int) -> None:
        for number in range(writer * EACH, (writer + 1) * EACH):
            with book.writing() as writing:
                writing.append(note(number, job=number % 5))
                writing.append(firm(100_000))
                writing.keep_card(card(number % 5, visits=number))

    with ThreadPoolExecutor(WRITERS) as pool:
        list(pool.map(write, range(WRITERS)))
    with book.reading() as reading:
        assert reading.count_entries() == WRITERS * EACH + 1
        assert reading.count_cards() == 5
        assert sorted(found.number for found in reading.cards()) == [1, 2, 3, 4, 5]


def test_readers_in_threads_only_ever_see_whole_transactions(book: Book) -> None:
    with book.writing() as writing:
        writing.append(note(0))
        writing.keep_card(card(0, visits=1))

    def write(_: int) -> None:
        for number in range(1, 60):
            with book.writing() as writing:
                writing.append(note(number))
                writing.keep_card(card(0, visits=number + 1))

    def look(_: int) -> list[tuple[int, int]]:
        seen = []
        for _round in range(60):
            with book.reading() as reading:
                found = reading.card(job_of(0))
                seen.append((reading.count_entries(), found.visits if found else 0))
        return seen

    with ThreadPoolExecutor(6) as pool:
        writing_thread = pool.submit(write, 0)
        looks = [pool.submit(look, number) for number in range(4)]
        writing_thread.result()
        seen = [pair for found in looks for pair in found.result()]
    assert all(entries == visits for entries, visits in seen)


def test_more_threads_than_connections_wait_rather_than_fail(book: Book) -> None:
    def look(_: int) -> int:
        with book.reading() as reading:
            return reading.count_entries()

    with ThreadPoolExecutor(80) as pool:
        assert set(pool.map(look, range(400))) == {0}


def test_statements_are_counted_in_threads_that_a_context_starts(book: Book) -> None:
    def look() -> None:
        with book.reading() as reading:
            reading.count_entries()

    with ThreadPoolExecutor(2) as pool, book.counting() as sent:
        pool.submit(copy_context().run, look).result()
        pool.submit(look).result()  # another request's, not of this context
    assert len(sent) == 1


def test_processes_write_at_once_and_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "firm.lastbee"
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).parent)}
    running = [
        subprocess.Popen([sys.executable, "-c", PROGRAM, str(path), first], env=environment)
        for first in ("0", "30")
    ]
    assert [process.wait() for process in running] == [0, 0]
    with Book.open(path, NOW) as book, book.reading() as reading:
        wanted = {note(number).id for number in range(90)}
        assert {entry.id for entry in reading.entries()} == wanted
        assert [found.visits for found in reading.cards()] == [len(wanted)]
        assert book.faults() == ()

"""What the firm's file keeps: entries that only grow, cards, pictures, devices and settings."""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from sqlalchemy.exc import IntegrityError
from store_factory import NOW, TODAY, card, due, firm, id_of, job_of, keep, note, opened

from lastbee.record.entry import Entry
from lastbee.store.device import Device

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from lastbee.store.book import Book

SHA = hashlib.sha256(b"picture").hexdigest()


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """A book in a new file."""
    yield from opened(tmp_path)


@contextmanager
def bare(book: Book) -> Iterator[sqlite3.Connection]:
    """The file without anything of ours around it, as any other program sees it."""
    with closing(sqlite3.connect(book.path)) as connection:
        yield connection


def titles(cards: tuple[object, ...]) -> list[str]:
    """Titles of cards."""
    return [getattr(found, "title", "") for found in cards]


def test_an_entry_is_kept_once(book: Book) -> None:
    with book.writing() as writing:
        assert writing.append(note(1))
        assert not writing.append(note(1))
    with book.writing() as writing:
        assert not writing.append(replace(note(1), body={"text": "something else"}))
    with book.reading() as reading:
        assert reading.entries_of(job_of(0)) == (note(1),)


def test_entries_come_out_in_the_order_in_which_they_came_in(book: Book) -> None:
    came = [note(3), firm(5), note(1, job=2), note(2), firm(4)]
    with book.writing() as writing:
        for entry in came:
            writing.append(entry)
    with book.reading() as reading:
        assert list(reading.entries()) == came
        assert reading.entries_of(job_of(0)) == (note(3), note(2))
        assert reading.firm_entries() == (firm(5), firm(4))
        assert reading.entry(id_of(1)) == note(1, job=2)
        assert reading.entry(id_of(99)) is None
        assert reading.entries_of(job_of(99)) == ()


def test_jobs_are_numbered_by_their_first_entry(book: Book) -> None:
    with book.writing() as writing:
        for number, job in enumerate((7, 3, 7, 5)):
            writing.append(note(number, job=job))
    with book.reading() as reading:
        assert list(reading.jobs()) == [job_of(7), job_of(3), job_of(5)]
        assert [reading.number_of(job_of(job)) for job in (7, 3, 5, 1)] == [1, 2, 3, None]


def test_a_number_is_not_used_up_by_what_was_not_kept(book: Book) -> None:
    with pytest.raises(RuntimeError), book.writing() as writing:  # noqa: PT012
        writing.append(note(1, job=1))
        raise RuntimeError
    with book.writing() as writing:
        writing.append(note(2, job=2))
    with book.reading() as reading:
        assert reading.number_of(job_of(1)) is None
        assert reading.number_of(job_of(2)) == 1


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET body = '{}'",
        "DELETE FROM entries",
        "INSERT OR REPLACE INTO entries SELECT * FROM entries",
        "REPLACE INTO entries (id, kind, written_at, device, person, body) "
        "SELECT id, kind, written_at, '', '', '{}' FROM entries",
        "UPDATE jobs SET number = number + 1",
        "DELETE FROM jobs",
        "REPLACE INTO jobs SELECT * FROM jobs",
    ],
)
def test_the_file_itself_refuses_to_change_or_lose_an_entry(book: Book, statement: str) -> None:
    with book.writing() as writing:
        writing.append(note(1))
    with bare(book) as other, pytest.raises(sqlite3.IntegrityError, match="are never"):
        other.execute(statement)
    with book.reading() as reading:
        assert reading.entries_of(job_of(0)) == (note(1),)


def test_a_number_that_json_cannot_write_is_refused_before_anything_is_kept(book: Book) -> None:
    with book.writing() as writing:
        with pytest.raises(ValueError, match="JSON"):
            writing.append(note(1, count=float("nan")))
        assert list(writing.jobs()) == []


def test_a_card_comes_back_with_the_number_of_its_job(book: Book) -> None:
    full = card(
        4, client="Ann Example", place="4 Orchard Lane", phone="01632 960004", latitude_deg=43.25,
        longitude_deg=-75.125, standing="Half are out.", standing_kind="healthy",
        due=due(3, urgency=0.5), visits=3, questions=1, photos=2, number=77,
    )  # fmt: skip
    keep(book, card(9), full)
    with book.reading() as reading:
        assert reading.card(full.job) == replace(full, number=2)
        assert reading.card(job_of(1)) is None


def test_a_card_takes_the_place_of_the_last_one(book: Book) -> None:
    keep(book, card(1, due=due(0), questions=2))
    with book.writing() as writing:
        writing.keep_card(card(1, stage="over", title="Done"))
    with book.reading() as reading:
        assert reading.cards() == (card(1, stage="over", title="Done", number=1),)
        assert reading.due(TODAY) == ()
        assert reading.questions() == ()


def test_a_card_needs_a_job_with_entries(book: Book) -> None:
    with book.writing() as writing, pytest.raises(ValueError, match="no entries"):
        writing.keep_card(card(1))


def test_lists_are_cut_by_stage_and_page_the_last_touched_first(book: Book) -> None:
    stages = ("call", "trapping", "over")
    keep(book, *(card(n, stage=stages[n % 3]) for n in range(30)))
    with book.reading() as reading:
        newest = [f"Bees at house {n}" for n in range(29, -1, -1)]
        assert titles(reading.cards()) == newest
        assert titles(reading.cards(limit=10, offset=10)) == newest[10:20]
        assert titles(reading.cards(("call", "over"), limit=4)) == [
            f"Bees at house {n}" for n in (29, 27, 26, 24)
        ]
        assert reading.count_cards() == 30
        assert reading.count_cards(["call", "over"]) == 20
        assert reading.stage_counts() == dict.fromkeys(stages, 10)


@pytest.mark.parametrize(
    "search",
    [
        "jose", "JOSÉ", "mühlweg", "muhlweg", "strasse", "straße", "gable", "bee gable",
        "960 123", "960123", "(01632)", "632-960", "#2", "2", "100%", "o'neill", "  ", "",
    ],
)  # fmt: skip
def test_a_job_is_found_by_what_somebody_remembers(book: Book, search: str) -> None:
    wanted = card(
        2, title="Bees in the gable, 100% inside", client="José O'Neill",
        place="12 Mühlweg Straße", phone="(01632) 960 123",
    )  # fmt: skip
    keep(book, card(1), wanted)
    with book.reading() as reading:
        found = reading.cards(search=search)
        assert wanted.job in {one.job for one in found}
        assert reading.count_cards(search=search) == len(found)


@pytest.mark.parametrize(
    "search", ["josef", "gable wall", "gablejosé", "1%0", "_", "960124", "#1", "\\", "'", "#02x"]
)
def test_a_job_is_not_found_by_what_is_not_there(book: Book, search: str) -> None:
    keep(book, card(9), card(2, title="gable", client="José", phone="01632 960 123"))
    with book.reading() as reading:
        assert job_of(2) not in {found.job for found in reading.cards(search=search)}


def test_search_keeps_to_the_stages(book: Book) -> None:
    keep(book, card(1, client="Ann", stage="over"), card(2, client="Ann"), card(3, client="Bob"))
    with book.reading() as reading:
        assert titles(reading.cards(["trapping"], "ann")) == ["Bees at house 2"]
        assert reading.count_cards(["trapping"], "ann") == 1


def test_what_is_due_comes_by_urgency_and_days_overdue(book: Book) -> None:
    keep(
        book,
        card(1, due=due(0, urgency=0.2)),
        card(2, due=due(-3, urgency=0.1)),
        card(3, due=due(1, urgency=0.9)),
        card(4, due=due(0, urgency=0.9)),
        card(5),
        card(6, due=due(2, urgency=1.0)),
        card(7, due=due(0, urgency=0.2)),
    )
    order = [2, 4, 1, 7]
    with book.reading() as reading:
        assert titles(reading.due(TODAY)) == [f"Bees at house {n}" for n in order]
        assert titles(reading.due(TODAY, limit=2)) == [f"Bees at house {n}" for n in order[:2]]
        week = reading.due(TODAY + timedelta(days=7))
        assert titles(week) == [f"Bees at house {n}" for n in (*order, 3, 6)]


def test_jobs_with_questions_are_found(book: Book) -> None:
    keep(book, card(1, questions=1), card(2), card(3, questions=4))
    with book.reading() as reading:
        assert titles(reading.questions()) == ["Bees at house 3", "Bees at house 1"]
        assert titles(reading.questions(limit=1)) == ["Bees at house 3"]


def test_every_list_is_one_statement_that_goes_along_an_index(book: Book) -> None:
    keep(book, card(1, due=due(0), questions=1))
    with book.reading() as reading:
        lists = [
            (lambda: reading.cards(offset=100), "ix_cards_touched"),
            (lambda: reading.cards(["call"]), "ix_cards_stage"),
            (lambda: reading.due(TODAY), "ix_cards_due"),
            (lambda: reading.questions(), "ix_cards_questions"),
            (lambda: reading.entries_of(job_of(1)), "ix_entries_job"),
            (lambda: reading.waiting(), "ix_forecasts_waiting"),
        ]
        for question, index in lists:
            with book.counting() as sent:
                question()
            assert len(sent) == 1
            assert f"USING INDEX {index}" in plan_of(book, sent[0])


def plan_of(book: Book, statement: str) -> str:
    """How SQLite means to find an answer."""
    with bare(book) as other:
        nothing = [1] * statement.count("?")
        rows = other.execute(f"EXPLAIN QUERY PLAN {statement}", nothing).fetchall()
    return "; ".join(row[3] for row in rows)


def test_counting_counts_within_its_context_alone(book: Book) -> None:
    with book.counting() as outer:
        with book.counting() as inner, book.reading() as reading:
            reading.count_entries()
        with book.writing() as writing:
            writing.keep_setting("a", "1")
    with book.reading() as reading:
        reading.count_entries()
    assert len(inner) == 1
    assert len(outer) == 3  # besides, the attempt to change the setting, and its being made


def test_a_reading_sees_one_moment(book: Book) -> None:
    with book.reading() as reading:
        assert reading.count_entries() == 0
        with book.writing() as writing:
            writing.append(note(1))
        assert reading.count_entries() == 0
    with book.reading() as reading:
        assert reading.count_entries() == 1


def test_an_error_leaves_nothing_of_what_was_written(book: Book) -> None:
    with pytest.raises(ZeroDivisionError), book.writing() as writing:  # noqa: PT012
        writing.append(note(1))
        writing.keep_card(card(0))
        writing.keep_picture(SHA, b"large", b"small")
        writing.keep_setting("a", "1")
        _ = 1 / 0
    with book.reading() as reading:
        assert reading.count_entries() == 0
        assert reading.cards() == ()
        assert list(reading.pictures()) == []
        assert reading.setting("a") is None


def test_a_picture_is_kept_once_with_its_twin(book: Book) -> None:
    with book.writing() as writing:
        assert writing.keep_picture(SHA, b"\xff\xd8large\0" * 9000, b"\xff\xd8small")
        assert not writing.keep_picture(SHA, b"other", b"other")
    with book.reading() as reading:
        assert reading.picture(SHA) == b"\xff\xd8large\0" * 9000
        assert reading.picture(SHA, small=True) == b"\xff\xd8small"
        assert reading.has_picture(SHA)
        assert list(reading.pictures()) == [SHA]
        assert reading.picture("0" * 64) is None
        assert not reading.has_picture("0" * 64)


@pytest.mark.parametrize("sha", ["", "../firm", SHA[:-1], SHA.upper(), SHA + "\n"])
def test_a_picture_has_the_name_of_a_picture(book: Book, sha: str) -> None:
    with book.writing() as writing, pytest.raises(ValueError, match="hexadecimal"):
        writing.keep_picture(sha, b"", b"")


def test_devices_join_are_seen_renamed_and_removed(book: Book) -> None:
    phone, tablet = Device("p1", "Wren's phone", NOW), Device("t1", "Tablet", NOW)
    later = NOW + timedelta(hours=1)
    with book.writing() as writing:
        writing.join_device(tablet)
        writing.join_device(phone)
        assert writing.see_device("p1", later)
        assert writing.rename_device("p1", "Old phone")
        assert not writing.see_device("unknown", later)
        assert not writing.rename_device("unknown", "x")
    with book.reading() as reading:
        assert reading.devices() == (Device("p1", "Old phone", NOW, later), tablet)
        assert reading.device("t1") == tablet
        assert reading.device("unknown") is None
    with book.writing() as writing:
        assert writing.remove_device("p1")
        assert not writing.remove_device("p1")
        writing.join_device(replace(tablet, name="Anew"))
        assert writing.devices() == (replace(tablet, name="Anew"),)


def test_a_setting_is_the_last_that_was_set(book: Book) -> None:
    with book.writing() as writing:
        writing.keep_setting("joining", "one")
        writing.keep_setting("joining", "two")
        assert writing.setting("joining") == "two"
        assert writing.setting("other") is None


def test_text_that_no_database_keeps_becomes_question_marks_outside_of_bodies(book: Book) -> None:
    odd = "half \ud83d pair \0 zero"
    entry = Entry(id_of(1), job_of(0), "note", {"text": odd, odd: [odd]}, NOW, odd, odd)
    with book.writing() as writing:
        writing.append(entry)
        writing.keep_card(card(0, title=odd))
    with book.reading() as reading:
        (kept,) = reading.entries()
        assert kept.body == entry.body
        assert kept.device == kept.person == "half ? pair ? zero"
        assert titles(reading.cards()) == ["half ? pair ? zero"]


def test_a_column_takes_nothing_of_another_sort(book: Book) -> None:
    with bare(book) as other, pytest.raises(sqlite3.IntegrityError, match="cannot store"):
        other.execute("INSERT INTO settings VALUES ('a', x'00')")


def test_a_forecast_belongs_to_a_job_that_is_there(book: Book) -> None:
    with pytest.raises(IntegrityError), book.writing() as writing:
        writing.ask_forecast(job_of(1), "a")

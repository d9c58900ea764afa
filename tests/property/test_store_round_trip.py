"""Whatever is written comes back as it was, in any order and however often it is handed in."""

from __future__ import annotations

import shutil
import tempfile
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

from hypothesis import given, settings
from hypothesis import strategies as st
from store_factory import NOW, card, id_of, job_of, keep

from lastbee.record.card import Card, Due, Page, Stage
from lastbee.record.entry import FIRM_KINDS, JOB_KINDS, Entry, new_id
from lastbee.store.book import Book

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lastbee.record.forecast import Forecast

# Any text that JSON can carry, halves of surrogate pairs and zero characters among it.
ANY_TEXT = st.text(st.characters(codec=None), max_size=12)
WRITTEN = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=20)
FLOATS = st.floats(allow_nan=False, allow_infinity=False)
LEAVES = st.none() | st.booleans() | st.integers() | FLOATS | ANY_TEXT
TREES = st.recursive(
    LEAVES, lambda inner: st.lists(inner) | st.dictionaries(ANY_TEXT, inner), max_leaves=20
)
BODIES = st.dictionaries(ANY_TEXT, TREES, max_size=6)
MOMENTS = st.datetimes(datetime(1971, 1, 1), datetime(2200, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001
IDS = st.builds(new_id, MOMENTS, st.binary(min_size=10, max_size=10))
COUNTS = st.integers(0, 10**6)
SHORT = st.sampled_from([id_of(number) for number in range(6)])


@cache
def blank() -> bytes:
    """A new firm's file, made once."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "firm.lastbee")
        Book.open(path, NOW).close()
        return path.read_bytes()


@contextmanager
def fresh_book() -> Iterator[Book]:
    """A book in a file of its own."""
    folder = tempfile.mkdtemp()
    try:
        path = Path(folder, "firm.lastbee")
        path.write_bytes(blank())
        with Book.open(path, NOW) as book:
            yield book
    finally:
        shutil.rmtree(folder)


@st.composite
def entries(draw: st.DrawFn, ids: st.SearchStrategy[str] = IDS) -> Entry:
    """Any entry."""
    kind = draw(st.sampled_from(JOB_KINDS + FIRM_KINDS))
    job = None if kind in FIRM_KINDS else draw(st.sampled_from([job_of(1), job_of(2)]) | IDS)
    words = [draw(WRITTEN) for _ in range(2)]
    body: dict[str, Any] = draw(BODIES)
    replaces = draw(st.none() | IDS)
    return Entry(draw(ids), job, kind, body, draw(MOMENTS), *words, replaces)  # type: ignore[arg-type]


DUES = st.builds(
    Due, WRITTEN, st.dates(), WRITTEN, WRITTEN,
    st.none() | st.sampled_from(get_args(Page)), st.floats(0.0, 1.0),
)  # fmt: skip
DEGREES = st.none() | FLOATS
CARDS = st.builds(
    Card, IDS, st.sampled_from(get_args(Stage)), WRITTEN, WRITTEN, WRITTEN, WRITTEN, DEGREES,
    DEGREES, WRITTEN, WRITTEN, st.none() | DUES, COUNTS, MOMENTS, MOMENTS, COUNTS, COUNTS,
)  # fmt: skip


@given(entry=entries())
def test_any_entry_comes_back_as_it_was(entry: Entry) -> None:
    with fresh_book() as book:
        with book.writing() as writing:
            assert writing.append(entry)
        with book.reading() as reading:
            assert reading.entry(entry.id) == entry
            kept = reading.firm_entries() if entry.job is None else reading.entries_of(entry.job)
            assert kept == (entry,)


@settings(max_examples=40)
@given(data=st.data(), told=st.lists(entries(), min_size=1, unique_by=lambda entry: entry.id))
def test_order_and_repetition_change_nothing_but_the_order(
    data: st.DataObject, told: list[Entry]
) -> None:
    again = data.draw(st.permutations(told + told))
    with fresh_book() as book:
        news = []
        for entry in again:
            with book.writing() as writing:
                news.append(writing.append(entry))
        first = [entry for entry, new in zip(again, news, strict=True) if new]
        with book.reading() as reading:
            assert list(reading.entries()) == first
            jobs = list(dict.fromkeys(entry.job for entry in first if entry.job))
            assert list(reading.jobs()) == jobs
    assert sorted(entry.id for entry in first) == sorted(entry.id for entry in told)


@settings(max_examples=40)
@given(told=st.lists(entries(SHORT), min_size=2, max_size=10))
def test_of_entries_with_one_id_the_first_is_kept(told: list[Entry]) -> None:
    first: dict[str, Entry] = {}
    with fresh_book() as book, book.writing() as writing:
        for entry in told:
            assert writing.append(entry) == (entry.id not in first)
            first.setdefault(entry.id, entry)
        assert list(writing.entries()) == list(first.values())


@given(kept=CARDS)
def test_any_card_comes_back_as_it_was_and_is_found_by_each_of_its_words(kept: Card) -> None:
    with fresh_book() as book:
        keep(book, kept)
        with book.reading() as reading:
            assert reading.card(kept.job) == replace(kept, number=1)
            for part in (kept.title, kept.client, kept.place, kept.phone):
                assert reading.count_cards(search=part) == 1


@given(search=ANY_TEXT)
def test_no_search_breaks_a_list(search: str) -> None:
    with fresh_book() as book:
        keep(book, card(1, title="Bees"))
        with book.reading() as reading:
            assert len(reading.cards(search=search)) == reading.count_cards(search=search)


STEPS = st.lists(
    st.tuples(st.sampled_from(["ask", "start", "tell", "finish", "fail"]), st.sampled_from("abc")),
    max_size=14,
)


@given(steps=STEPS)
def test_whatever_the_order_of_steps_a_forecast_never_claims_what_it_does_not_have(
    steps: list[tuple[str, str]],
) -> None:
    asked, plans = "", set()
    with fresh_book() as book, book.writing() as writing:
        writing.append(Entry(id_of(1), job_of(1), "call", {}, NOW))
        for step, mark in steps:
            if step == "ask":
                asked = mark
                writing.ask_forecast(job_of(1), mark)
            elif step == "start":
                writing.start_forecast(job_of(1), mark)
            elif step == "tell":
                writing.tell_forecast(job_of(1), "simulating", 0.5)
            elif step == "finish":
                writing.finish_forecast(job_of(1), mark, f"plan {mark}", NOW)
                plans.add(mark)
            else:
                writing.fail_forecast(job_of(1), mark, "It stopped.")
            check(writing.forecast(job_of(1)), asked, plans)


def check(found: Forecast | None, asked: str, plans: set[str]) -> None:
    """What must hold of a forecast after any step."""
    if found is None:
        assert not asked
        return
    assert found.asked == asked
    assert (found.state == "done") == (found.answered == asked)
    assert found.plan_json == (f"plan {found.answered}" if found.answered else "")
    assert found.answered in plans | {""}
    assert found.state == "running" or not found.stage

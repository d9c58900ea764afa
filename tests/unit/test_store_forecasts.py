"""The steps of a forecast, and above all that a job is written to while its forecast runs."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from store_factory import NOW, job_of, note, opened

from lastbee.record.forecast import Forecast

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from lastbee.store.book import Book

JOB = job_of(0)
LATER = NOW + timedelta(minutes=1)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """A book with three jobs."""
    for book in opened(tmp_path):
        with book.writing() as writing:
            for number in range(3):
                writing.append(note(number, job=number))
        yield book


def forecast(book: Book) -> Forecast:
    """The forecast of the first job."""
    with book.reading() as reading:
        found = reading.forecast(JOB)
    assert found is not None
    return found


def test_a_forecast_goes_from_asked_to_answered(book: Book) -> None:
    with book.reading() as reading:
        assert reading.forecast(JOB) is None
    with book.writing() as writing:
        writing.ask_forecast(JOB, "a", 0.5)
    assert forecast(book) == Forecast(JOB, "a", state="waiting", urgency=0.5)
    with book.writing() as writing:
        assert writing.start_forecast(JOB, "a")
        assert writing.tell_forecast(JOB, "simulating", 0.25)
    assert forecast(book) == Forecast(
        JOB, "a", state="running", stage="simulating", share=0.25, urgency=0.5
    )
    with book.writing() as writing:
        assert writing.finish_forecast(JOB, "a", '{"days": 12}', LATER)
    assert forecast(book) == Forecast(
        JOB, "a", "a", '{"days": 12}', LATER, "done", share=1.0, urgency=0.5
    )


def test_one_alone_can_take_what_waits(book: Book) -> None:
    with book.writing() as writing:
        writing.ask_forecast(JOB, "a")
        assert not writing.start_forecast(JOB, "other")
        assert writing.start_forecast(JOB, "a")
        assert not writing.start_forecast(JOB, "a")
        assert not writing.start_forecast(job_of(1), "a")


def test_what_is_asked_for_while_another_runs_still_waits_when_that_is_finished(book: Book) -> None:
    with book.writing() as writing:
        writing.ask_forecast(JOB, "a")
        writing.start_forecast(JOB, "a")
        writing.ask_forecast(JOB, "b", 0.75)
        assert not writing.tell_forecast(JOB, "simulating", 0.5)
        assert not writing.finish_forecast(JOB, "a", "{}", LATER)
    found = forecast(book)
    assert found == Forecast(JOB, "b", "a", "{}", LATER, "waiting", urgency=0.75)
    assert found.is_stale
    with book.reading() as reading:
        assert reading.waiting() == (found,)


def test_a_failure_says_nothing_of_what_was_asked_for_meanwhile(book: Book) -> None:
    with book.writing() as writing:
        writing.ask_forecast(JOB, "a")
        writing.start_forecast(JOB, "a")
        writing.ask_forecast(JOB, "b")
        writing.start_forecast(JOB, "b")
        assert not writing.fail_forecast(JOB, "a", "It stopped.")
        assert forecast_state(writing.forecast(JOB)) == "running"
        assert writing.fail_forecast(JOB, "b", "It stopped.")
    assert forecast(book) == Forecast(JOB, "b", state="failed", problem="It stopped.")


def forecast_state(found: Forecast | None) -> str:
    """How a forecast stands."""
    return "" if found is None else found.state


def test_the_last_plan_stays_when_a_new_one_fails_or_cannot_be_asked_for(book: Book) -> None:
    with book.writing() as writing:
        writing.ask_forecast(JOB, "a")
        writing.finish_forecast(JOB, "a", "{}", LATER)
        writing.ask_forecast(JOB, "b")
        writing.start_forecast(JOB, "b")
        writing.fail_forecast(JOB, "b", "It stopped.")
    assert forecast(book).plan_json == "{}"
    with book.writing() as writing:
        writing.ask_forecast(JOB, "", 0.0, "The place is not known.")
    assert forecast(book) == Forecast(
        JOB, "", "a", "{}", LATER, "none", problem="The place is not known."
    )


def test_asking_for_the_same_changes_nothing_but_its_urgency(book: Book) -> None:
    with book.writing() as writing:
        writing.ask_forecast(JOB, "a")
        writing.start_forecast(JOB, "a")
        writing.tell_forecast(JOB, "simulating", 0.5)
        writing.ask_forecast(JOB, "a", 0.9)
    assert forecast(book) == Forecast(
        JOB, "a", state="running", stage="simulating", share=0.5, urgency=0.9
    )
    with book.writing() as writing:
        writing.fail_forecast(JOB, "a", "It stopped.")
        writing.ask_forecast(JOB, "a")
    assert forecast(book).problem == "It stopped."


def test_what_is_missing_is_said_as_it_is_now(book: Book) -> None:
    with book.writing() as writing:
        writing.ask_forecast(JOB, "", 0.0, "The place is not known.")
        writing.ask_forecast(JOB, "", 0.0, "The wall is not known.")
    assert forecast(book).problem == "The wall is not known."


def test_going_back_to_what_was_answered_needs_no_computing(book: Book) -> None:
    with book.writing() as writing:
        writing.ask_forecast(JOB, "a")
        writing.finish_forecast(JOB, "a", "first", LATER)
        writing.ask_forecast(JOB, "b")
        writing.start_forecast(JOB, "b")
        writing.ask_forecast(JOB, "a")
        assert not writing.finish_forecast(JOB, "b", "second", LATER)
    assert forecast(book) == Forecast(JOB, "a", "a", "first", LATER, "done")


def test_what_was_answered_or_failed_is_computed_again_on_demand(book: Book) -> None:
    with book.writing() as writing:
        writing.ask_forecast(JOB, "a")
        writing.finish_forecast(JOB, "a", "first", LATER)
        writing.ask_forecast(JOB, "a", again=True)
        assert [found.job for found in writing.waiting()] == [JOB]
        writing.start_forecast(JOB, "a")
        assert writing.finish_forecast(JOB, "a", "second", LATER)
    assert forecast(book).plan_json == "second"


def test_what_waits_comes_most_urgent_first_then_by_age(book: Book) -> None:
    with book.writing() as writing:
        for number, urgency in ((1, 0.5), (0, 0.5), (2, 0.75)):
            writing.ask_forecast(job_of(number), "a", urgency)
        assert [found.job for found in writing.waiting(5)] == [job_of(2), job_of(0), job_of(1)]
        assert [found.job for found in writing.waiting()] == [job_of(2)]
        writing.start_forecast(job_of(2), "a")
        assert [found.job for found in writing.waiting()] == [job_of(0)]


def test_what_a_dead_process_was_computing_waits_again(book: Book) -> None:
    with book.writing() as writing:
        for number in range(3):
            writing.ask_forecast(job_of(number), "a")
        writing.start_forecast(JOB, "a")
        writing.tell_forecast(JOB, "simulating", 0.5)
        assert writing.requeue_forecasts() == 1
        assert len(writing.waiting(5)) == 3
    assert forecast(book) == Forecast(JOB, "a", state="waiting")


def test_nothing_is_finished_that_was_never_asked_for(book: Book) -> None:
    with book.writing() as writing:
        assert not writing.finish_forecast(JOB, "a", "{}", LATER)
        assert writing.forecast(JOB) is None


def test_telling_how_far_one_has_come_does_not_write_the_plan_anew(book: Book) -> None:
    with book.writing() as writing:
        writing.ask_forecast(JOB, "a")
        writing.start_forecast(JOB, "a")
        with book.counting() as sent:
            writing.tell_forecast(JOB, "simulating", 0.5)
    assert len(sent) == 1
    assert "plan" not in sent[0]

"""The forecaster: most urgent first, nothing lost, no fault that ends it."""

from __future__ import annotations

import logging
import os
import sys
import threading
import time
from concurrent.futures import Executor, Future
from concurrent.futures.process import BrokenProcessPool
from itertools import count
from typing import TYPE_CHECKING, Any

import psutil
import pytest
from office_factory import (
    FIRM,
    JOB,
    NOW,
    WorkshopInThisThread,
    correction,
    desk_in,
    id_of,
    inspection,
    trap_out,
    visit,
    written,
)
from plan_factory import go_plan
from progress_factory import leak_progress, story_plan

from lastbee.documents.as_json import plan_to_json
from lastbee.errors import DegenerateWeights, FileProblem
from lastbee.office import forecaster as module
from lastbee.office.forecast_process import NICENESS, ProcessWorkshop
from lastbee.office.forecaster import Forecaster

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from lastbee.jobs.job import Job
    from lastbee.office.desk import Desk

PLAN = plan_to_json(go_plan())
RUNNING_PLAN = plan_to_json(story_plan(leak_progress()))


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A desk on the file of a firm without jobs."""
    made = desk_in(tmp_path)
    yield made
    made.book.close()


def forecaster_with(desk: Desk, compute: Callable[[Job, int], str]) -> Forecaster:
    """A forecaster that computes by a stand-in, in this thread."""
    return Forecaster(desk.queue, lambda: WorkshopInThisThread(compute), colonies=600)


def test_the_most_urgent_job_is_computed_first(desk: Desk) -> None:
    calm, urgent = id_of("calm"), id_of("urgent")
    desk.take_in([inspection(calm)], strict=True)
    desk.take_in(
        [
            written("call", job=urgent, hour=-370.0, date="2026-06-28", allergic_person="yes"),
            inspection(urgent),
        ],
        strict=True,
    )
    seen: list[str] = []

    def compute(job: Job, colonies: int) -> str:
        assert colonies == 600
        seen.append(job.people.allergic_person)
        return PLAN

    assert forecaster_with(desk, compute).run_all() == 2
    assert seen == ["yes", "unknown"]


def test_an_answer_is_kept_and_shown_on_the_card(desk: Desk) -> None:
    desk.take_in(trap_out(), strict=True)
    forecaster_with(desk, lambda *_: RUNNING_PLAN).run_all()
    forecast = desk.forecast(JOB)
    assert (forecast.state, forecast.is_stale, forecast.answered_at) == ("done", False, NOW)
    assert desk.cards().cards[0].standing == leak_progress().headline
    assert forecaster_with(desk, lambda *_: "never asked").run_all() == 0


def test_a_job_that_changes_meanwhile_is_computed_again(desk: Desk) -> None:
    desk.take_in(trap_out(), strict=True)
    visits: list[int] = []

    def compute(job: Job, _: int) -> str:
        visits.append(len(job.visits))
        if len(visits) == 1:
            desk.take_in([visit(10)], strict=True)
            assert desk.forecast(JOB).state == "waiting"
        return RUNNING_PLAN

    assert forecaster_with(desk, compute).run_all() == 2
    assert visits == [1, 2]
    assert not desk.forecast(JOB).is_stale


def test_a_plan_that_is_older_than_a_visit_is_kept_as_stale(desk: Desk) -> None:
    desk.take_in(trap_out(), strict=True)
    order = desk.queue.take()
    assert order is not None
    desk.take_in([visit(10)], strict=True)
    desk.queue.answer(order, RUNNING_PLAN)
    forecast = desk.forecast(JOB)
    assert (forecast.state, forecast.is_stale) == ("waiting", True)
    assert desk.case(JOB).plan is not None


def test_a_job_that_can_be_computed_no_more_leaves_the_queue(desk: Desk) -> None:
    desk.take_in([inspection()], strict=True)
    order = desk.queue.take()
    assert order is not None
    desk.take_in([correction(inspection(), withdrawn="Wrong house.")], strict=False)
    desk.queue.answer(order, PLAN)
    assert desk.forecast(JOB).state == "none"
    assert desk.queue.take() is None


def test_a_process_that_dies_is_started_anew_and_the_job_tried_again(desk: Desk) -> None:
    desk.take_in([inspection()], strict=True)
    opened: list[WorkshopInThisThread] = []

    def compute(*_: object) -> str:
        if len(opened) == 1:
            raise BrokenProcessPool("killed")
        return PLAN

    def open_workshop() -> WorkshopInThisThread:
        opened.append(WorkshopInThisThread(compute))
        return opened[-1]

    assert Forecaster(desk.queue, open_workshop).run_all() == 1
    assert desk.forecast(JOB).state == "done"
    assert [workshop.is_closed for workshop in opened] == [True, True]


def test_a_process_that_dies_twice_is_told_in_a_sentence(desk: Desk) -> None:
    desk.take_in([inspection()], strict=True)

    def compute(*_: object) -> str:
        raise BrokenProcessPool("killed")

    forecaster_with(desk, compute).run_all()
    forecast = desk.forecast(JOB)
    assert (forecast.state, forecast.problem) == ("failed", module.DIED)
    desk.ask_again(JOB)
    assert desk.forecast(JOB).state == "waiting"


def test_an_engine_without_an_answer_is_told_in_its_own_words(desk: Desk) -> None:
    desk.take_in([inspection()], strict=True)

    def compute(*_: object) -> str:
        raise DegenerateWeights("no simulated colony agrees with the evidence")

    forecaster_with(desk, compute).run_all()
    forecast = desk.forecast(JOB)
    assert forecast.state == "failed"
    assert forecast.problem == "no simulated colony agrees with the evidence"


def test_a_fault_of_the_program_is_logged_and_told(
    desk: Desk, caplog: pytest.LogCaptureFixture
) -> None:
    other = id_of("other job")
    desk.take_in([inspection(), inspection(other)], strict=True)

    def compute(*_: object) -> str:
        if desk.forecast(JOB).state == "running":
            raise ZeroDivisionError
        return PLAN

    with caplog.at_level(logging.ERROR):
        assert forecaster_with(desk, compute).run_all() == 2
    assert "ZeroDivisionError" in desk.forecast(JOB).problem
    assert "Traceback" in caplog.text
    assert desk.forecast(other).state == "done"


class Slow(Executor):
    """Never done by itself; it is for the test to say when."""

    def __init__(self) -> None:
        self.given: Future[Any] = Future()
        self.has_work = threading.Event()

    def submit(self, fn: Any, /, *args: Any, **_: Any) -> Future[Any]:
        del fn, args
        self.has_work.set()
        return self.given


class SlowWorkshop:
    """A workshop that tells how far it is each time it is asked, and ends after some of them."""

    def __init__(self, ends_after: int | None) -> None:
        self.executor = Slow()
        self.is_closed = False
        self._ends_after = ends_after
        self._asked = 0

    def heard(self) -> tuple[str, float] | None:
        self._asked += 1
        if self._asked == self._ends_after:
            self.executor.given.set_result(PLAN)
        return "Weighing each sighting", self._asked / 8

    def close(self) -> None:
        self.is_closed = True


def test_how_far_it_is_is_told_while_it_is_computed(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "TELL_EVERY_S", 0.001)
    desk.take_in([inspection()], strict=True)
    told: list[tuple[str, float]] = []
    queue = desk.queue
    plain_tell = queue.tell

    def tell(order: Any, stage: str, share: float) -> None:
        plain_tell(order, stage, share)
        forecast = desk.forecast(JOB)
        told.append((forecast.stage, forecast.share))

    monkeypatch.setattr(queue, "tell", tell)
    Forecaster(queue, lambda: SlowWorkshop(ends_after=3)).run_all()
    assert told == [("Weighing each sighting", share / 8) for share in (1, 2, 3)]
    assert desk.forecast(JOB).state == "done"


def test_it_stops_within_a_second_and_what_it_was_at_waits_again(desk: Desk) -> None:
    desk.take_in([inspection()], strict=True)
    workshop = SlowWorkshop(ends_after=None)
    forecaster = Forecaster(desk.queue, lambda: workshop)
    forecaster.start()
    assert workshop.executor.has_work.wait(10.0)
    assert desk.forecast(JOB).state == "running"
    began = time.monotonic()
    forecaster.stop()
    assert time.monotonic() - began < 1.0
    assert workshop.is_closed
    assert desk.forecast(JOB).state == "waiting"


def test_a_nudge_wakes_it(desk: Desk) -> None:
    workshop = SlowWorkshop(ends_after=None)
    forecaster = Forecaster(desk.queue, lambda: workshop)
    desk.heard = forecaster.nudge
    forecaster.start()
    desk.take_in([inspection()], strict=True)
    # Sooner than it would look by itself.
    assert workshop.executor.has_work.wait(module.LOOK_EVERY_S - 1.0)
    forecaster.stop()


def test_what_a_program_that_was_cut_off_left_running_is_computed(desk: Desk) -> None:
    desk.take_in([inspection()], strict=True)
    assert desk.queue.take() is not None
    assert desk.queue.take() is None
    workshop = SlowWorkshop(ends_after=None)
    forecaster = Forecaster(desk.queue, lambda: workshop)
    forecaster.start()
    assert workshop.executor.has_work.wait(10.0)
    forecaster.stop()


def test_a_file_that_fails_does_not_end_the_thread(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(module, "LOOK_EVERY_S", 0.001)
    queue = desk.queue
    asked = threading.Semaphore(0)

    def take() -> None:
        asked.release()
        raise OSError("the disk is gone")

    monkeypatch.setattr(queue, "take", take)
    forecaster = Forecaster(queue, lambda: SlowWorkshop(None))
    with caplog.at_level(logging.ERROR):
        forecaster.start()
        assert all(asked.acquire(timeout=10.0) for _ in range(3))
        forecaster.stop()
    assert "the disk is gone" in caplog.text


def test_an_answer_that_could_not_be_written_is_computed_again(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "LOOK_EVERY_S", 0.001)
    desk.take_in([inspection()], strict=True)
    queue = desk.queue
    plain_answer, is_answered, tries = queue.answer, threading.Event(), count()

    def answer(order: Any, plan_json: str) -> None:
        if next(tries) == 0:
            raise FileProblem("firm.lastbee", "is being written to", "try again")
        plain_answer(order, plan_json)
        is_answered.set()

    monkeypatch.setattr(queue, "answer", answer)
    forecaster = Forecaster(queue, lambda: WorkshopInThisThread(lambda *_: PLAN))
    forecaster.start()
    assert is_answered.wait(10.0)
    forecaster.stop()
    assert desk.forecast(JOB).state == "done"


def test_a_file_that_is_busy_keeps_no_forecast_from_being_made(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "TELL_EVERY_S", 0.001)
    desk.take_in([inspection()], strict=True)
    queue = desk.queue

    def tell(*_: object) -> None:
        raise FileProblem("firm.lastbee", "is being written to", "try again")

    monkeypatch.setattr(queue, "tell", tell)
    Forecaster(queue, lambda: SlowWorkshop(ends_after=3)).run_all()
    assert desk.forecast(JOB).state == "done"


def test_settings_that_change_while_cards_are_renewed_are_not_missed(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A job under warranty is not among those that change with the firm at once."""
    closed = written("close-out", date="2026-07-12", way="close as it is")
    signed = written("certificate", date="2026-07-13", signed_by="T. Wick")
    desk.take_in([*trap_out(), closed, signed], strict=False)
    queue = desk.queue
    plain_renew = queue._renew_alone

    def renew_and_change(job: str) -> None:
        plain_renew(job)
        change = written("firm", "later", None, 1.0, **{**FIRM, "warranty_months": 1})
        desk.take_in([change], strict=True)

    monkeypatch.setattr(queue, "_renew_alone", renew_and_change)
    queue.renew_day()
    monkeypatch.undo()
    queue.renew_day()
    due = desk.cards().cards[0].due
    assert due is not None
    assert due.on.isoformat() == "2026-08-12"


def test_a_job_that_meets_a_fault_does_not_keep_the_others_from_their_day(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    other = id_of("other")
    desk.take_in([written("call", job=job, date="2026-07-14") for job in (JOB, other)], strict=True)
    queue = type(desk.queue)(desk.book, desk._plans, lambda: NOW.replace(day=16))
    plain_renew = queue._renew

    def renew(writing: Any, job: str) -> None:
        if job == JOB:
            raise ZeroDivisionError
        plain_renew(writing, job)

    monkeypatch.setattr(queue, "_renew", renew)
    with caplog.at_level(logging.ERROR):
        queue.renew_day()
    assert JOB in caplog.text
    days = {card.job: card.due.on.day for card in desk.cards().cards if card.due}
    assert days == {JOB: 14, other: 16}


def test_a_new_day_renews_the_cards_once(desk: Desk) -> None:
    desk.take_in([written("call", date="2026-07-14")], strict=True)
    with desk.book.writing() as writing:
        card = writing.card(JOB)
        assert card is not None
    queue = type(desk.queue)(desk.book, desk._plans, lambda: NOW.replace(day=16))
    queue.renew_day()
    due = desk.cards().cards[0].due
    assert due is not None
    assert due.on.day == 16
    with desk.book.counting() as statements:
        queue.renew_day()
    assert len(statements) == 2


def test_the_process_steps_back_and_is_gone_when_closed() -> None:
    workshop = ProcessWorkshop()
    process_id = workshop.executor.submit(os.getpid).result(60.0)
    process = psutil.Process(process_id)
    assert process_id != os.getpid()
    if sys.platform != "win32":
        assert process.nice() >= NICENESS
    workshop.close()
    process.wait(10.0)
    assert not process.is_running()


def test_a_process_that_is_killed_breaks_its_workshop_alone() -> None:
    workshop = ProcessWorkshop()
    with pytest.raises(BrokenProcessPool):
        workshop.executor.submit(os._exit, 9).result(60.0)
    workshop.close()


@pytest.mark.long
def test_a_true_forecast_comes_out_of_the_process(desk: Desk) -> None:
    desk.take_in(trap_out(), strict=True)
    assert Forecaster(desk.queue, colonies=500).run_all() == 1
    progress = desk.case(JOB).progress
    assert progress is not None
    assert progress.trust.colonies == 500

"""Forecasts that wait to be computed, and what becomes of them.

Whoever computes takes an order, may take minutes over it, and hands the answer in. Entries
that came in meanwhile are no trouble: the answer is kept as that to the question which was
asked, and the new question stays in the queue.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee import __version__
from lastbee.errors import FileProblem
from lastbee.office.renewal import day_at, is_asked, renew
from lastbee.record.firm import firm_of
from lastbee.record.record import record_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import datetime

    from lastbee.jobs.job import Job
    from lastbee.office.case import Plans
    from lastbee.record.forecast import Forecast
    from lastbee.store.book import Book
    from lastbee.store.writing import Writing

RENEWED = "cards_renewed_for"
"""Setting of the file: day, version and firm's entry for which all cards were last worked out."""

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Order:
    """A forecast to compute: the checked `job`, and the fingerprint of what it was made from."""

    job_id: str
    asked: str
    job: Job


class ForecastQueue:
    """The queue, most urgent first; safe to use from several threads.

    Parameters
    ----------
    book
        The firm's file.
    plans
        Plans that were read before.
    clock
        Gives the moment, aware.
    """

    def __init__(self, book: Book, plans: Plans, clock: Callable[[], datetime]) -> None:
        self._book = book
        self._plans = plans
        self._clock = clock

    def take(self) -> Order | None:
        """Take the most urgent forecast, which then counts as running; None if none waits."""
        with self._book.reading() as reading:
            if not reading.waiting(1):
                return None
        while True:
            with self._book.writing() as writing:
                waiting = writing.waiting(1)
                if not waiting:
                    return None
                if (order := self._order(writing, waiting[0])) is not None:
                    return order

    def tell(self, order: Order, stage: str, share: float) -> None:
        """Say how far an order has come."""
        with self._book.writing() as writing:
            writing.tell_forecast(order.job_id, stage, share)

    def answer(self, order: Order, plan_json: str) -> None:
        """Keep the answer to an order; what was written meanwhile goes on waiting for its own."""
        with self._book.writing() as writing:
            writing.finish_forecast(order.job_id, order.asked, plan_json, self._clock())
            self._renew(writing, order.job_id)

    def give_up(self, order: Order, problem: str) -> None:
        """Keep in one sentence why an order has no answer."""
        with self._book.writing() as writing:
            writing.fail_forecast(order.job_id, order.asked, problem)

    def put_back(self) -> None:
        """Let wait again what was taken, by us or by a program that was cut off."""
        with self._book.writing() as writing:
            writing.requeue_forecasts()

    def renew_day(self, is_stopping: Callable[[], bool] = lambda: False) -> None:
        """Renew the cards of a new day, program or firm's settings, unless that was done already.

        Parameters
        ----------
        is_stopping
            Asked between jobs; what is left is then done the next time.
        """
        with self._book.reading() as reading:
            firm = firm_of(reading.firm_entries())
            settings = "" if firm.told is None else firm.told.entry.id
            now = f"{day_at(firm, self._clock())} {__version__} {settings}"
            if reading.setting(RENEWED) == now:
                return
            jobs = tuple(reading.jobs())
        if self.renew_jobs(jobs, is_stopping):
            with self._book.writing() as writing:
                writing.keep_setting(RENEWED, now)

    def renew_jobs(
        self, jobs: Iterable[str], is_stopping: Callable[[], bool] = lambda: False
    ) -> bool:
        """Renew the cards of some jobs one by one; False if it was stopped before the last.

        A phone that hands in an entry meanwhile need not wait for them all.
        """
        for job in jobs:
            if is_stopping():
                return False
            self._renew_alone(job)
        return True

    def ask_again(self, job: str) -> None:
        """Have a job computed once more, whatever became of it before."""
        with self._book.writing() as writing:
            last = writing.forecast(job)
            if last is not None and last.asked and last.state in ("failed", "done"):
                writing.ask_forecast(job, last.asked, last.urgency, again=True)

    def _order(self, writing: Writing, waiting: Forecast) -> Order | None:
        """Take one; None, with what is asked put right, where it asks for what is no more."""
        firm = firm_of(writing.firm_entries())
        record = record_of(waiting.job, writing.entries_of(waiting.job), firm)
        if not is_asked(record, waiting):
            self._renew(writing, waiting.job)
            return None
        writing.start_forecast(waiting.job, waiting.asked)
        return Order(waiting.job, waiting.asked, record.checked_job())

    def _renew_alone(self, job: str) -> None:
        try:
            with self._book.writing() as writing:
                self._renew(writing, job)
        except FileProblem:
            raise
        # A fault of lastbee in one job must not keep all others from their day and forecasts.
        except Exception:
            _log.exception("the card of job %s could not be worked out anew", job)

    def _renew(self, writing: Writing, job: str) -> None:
        firm = firm_of(writing.firm_entries())
        renew(writing, job, firm, day_at(firm, self._clock()), self._plans)

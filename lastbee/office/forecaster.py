"""The forecaster: computes what waits, most urgent first, while pages are answered.

One thread takes orders from the queue and hands them to a workshop, which is another process.
Nothing that goes wrong there ends the thread: a process that dies is started anew, and what
cannot be computed is kept as one sentence.
"""

from __future__ import annotations

import contextlib
import logging
import threading
from concurrent.futures import BrokenExecutor, CancelledError, wait
from typing import TYPE_CHECKING

from lastbee.errors import FileProblem, LastbeeError
from lastbee.office.forecast_process import ProcessWorkshop, plan_as_json

if TYPE_CHECKING:
    from collections.abc import Callable
    from concurrent.futures import Future

    from lastbee.office.forecast_process import Workshop
    from lastbee.office.forecast_queue import ForecastQueue, Order

COLONIES = 20_000
"""Colonies of a forecast, the same as of `lastbee plan`."""

TELL_EVERY_S = 0.5
LOOK_EVERY_S = 5.0
"""How often the queue is looked at unasked: another program may write to the same file."""

MOST_TRIES = 2
STOP_WITHIN_S = 1.0
SIGNAL_S = 0.3
"""How long a signal to end may take to reach this process after the one that computes."""

DIED = (
    "The program that computes forecasts was ended twice over this one, perhaps for want of"
    " memory: ask again later."
)
FAULT = "Computing it met a fault of lastbee itself ({}): what you wrote is kept."

_log = logging.getLogger(__name__)


class Forecaster:
    """Computes forecasts in the background.

    Parameters
    ----------
    queue
        Where orders come from and answers go.
    open_workshop
        Starts the process that computes; called again where one has died.
    colonies
        Number of colonies in each forecast.
    """

    def __init__(
        self,
        queue: ForecastQueue,
        open_workshop: Callable[[], Workshop] = ProcessWorkshop,
        *,
        colonies: int = COLONIES,
    ) -> None:
        self._queue = queue
        self._open_workshop = open_workshop
        self._colonies = colonies
        self._bell = threading.Event()
        self._is_stopping = threading.Event()
        self._thread: threading.Thread | None = None
        self._workshop: Workshop | None = None
        self._may_have_left_one = False

    def start(self) -> None:
        """Begin, with what a program that was cut off has left running."""
        self._is_stopping.clear()
        self._queue.put_back()
        self._thread = threading.Thread(target=self._run, name="forecaster", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End within a second; what is being computed waits for the next start."""
        self._is_stopping.set()
        self._bell.set()
        if self._thread is not None:
            self._thread.join(STOP_WITHIN_S + TELL_EVERY_S)
            self._thread = None

    def nudge(self) -> None:
        """Look at the queue now."""
        self._bell.set()

    def run_all(self) -> int:
        """Compute all that waits in this very thread, and say how many there were."""
        done = 0
        try:
            while not self._is_stopping.is_set() and (order := self._queue.take()) is not None:
                self._compute(order)
                done += 1
        finally:
            self._close_workshop()
        return done

    def _run(self) -> None:
        try:
            while not self._is_stopping.is_set():
                self._bell.clear()
                if not self._one():
                    self._bell.wait(LOOK_EVERY_S)
        finally:
            self._close_workshop()

    def _one(self) -> bool:
        """Compute the most urgent forecast; False if nothing waits."""
        try:
            if self._may_have_left_one:
                self._queue.put_back()
                self._may_have_left_one = False
            self._queue.renew_day(self._is_stopping.is_set)
            order = self._queue.take()
            if order is not None:
                self._compute(order)
        # The thread must outlive whatever the file or the queue may do to it.
        except Exception:
            _log.exception("the queue of forecasts could not be read or written")
            self._may_have_left_one = True
            return False
        return order is not None

    def _compute(self, order: Order) -> None:
        for _ in range(MOST_TRIES):
            try:
                plan_json = self._answer(order)
            except BrokenExecutor:
                self._close_workshop()
                # A signal to end reaches the process that computes as well as this one.
                if self._is_stopping.wait(SIGNAL_S):
                    self._queue.put_back()
                    return
                _log.warning("the process that computes forecasts has died; it is started anew")
            except CancelledError:
                self._queue.put_back()
                return
            except LastbeeError as error:
                self._queue.give_up(order, str(error))
                return
            except Exception as error:
                _log.exception("the forecast of job %s failed", order.job_id)
                self._queue.give_up(order, FAULT.format(type(error).__name__))
                return
            else:
                self._queue.answer(order, plan_json)
                return
        self._queue.give_up(order, DIED)

    def _answer(self, order: Order) -> str:
        """Have an order computed, saying meanwhile how far it is."""
        if self._workshop is None:
            self._workshop = self._open_workshop()
        workshop = self._workshop
        future: Future[str] = workshop.executor.submit(plan_as_json, order.job, self._colonies)
        while not wait([future], timeout=TELL_EVERY_S).done:
            if self._is_stopping.is_set():
                future.cancel()
                raise CancelledError
            if (told := workshop.heard()) is not None:
                # While another program writes, nobody hears; the forecast itself goes on.
                with contextlib.suppress(FileProblem):
                    self._queue.tell(order, *told)
        return future.result()

    def _close_workshop(self) -> None:
        if self._workshop is not None:
            self._workshop.close()
            self._workshop = None

"""The process that computes forecasts, apart from the one that answers pages.

It steps back for everything else that runs on the computer, says through a queue how far it
has come, and ends when the program that started it is gone.
"""

from __future__ import annotations

import contextlib
import os
import threading
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import connection, get_context, parent_process
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from concurrent.futures import Executor
    from multiprocessing.queues import SimpleQueue

    from lastbee.jobs.job import Job

    Message = int | tuple[str, float]

NICENESS = 10
"""How far computing steps back, of 19 that Unix has; pages stay quick on two cores."""

_messages: SimpleQueue[Message] | None = None


class Workshop(Protocol):
    """Where forecasts are computed, one after another."""

    @property
    def executor(self) -> Executor:
        """Takes the work."""

    def heard(self) -> tuple[str, float] | None:
        """The last stage and share that were told since this was last asked."""

    def close(self) -> None:
        """End it at once, whatever is being computed."""


class ProcessWorkshop:
    """A workshop in a process of its own, started when the first order comes."""

    def __init__(self) -> None:
        context = get_context("spawn")
        self._messages: SimpleQueue[Message] = context.SimpleQueue()
        self._process_id: int | None = None
        self.executor = ProcessPoolExecutor(
            max_workers=1, mp_context=context, initializer=_begin, initargs=(self._messages,)
        )

    def heard(self) -> tuple[str, float] | None:
        """See `Workshop`."""
        last = None
        while not self._messages.empty():
            message = self._messages.get()
            if isinstance(message, int):
                self._process_id = message
            else:
                last = message
        return last

    def close(self) -> None:
        """See `Workshop`."""
        self.heard()
        self.executor.shutdown(wait=False, cancel_futures=True)
        if self._process_id is not None:
            # The pool itself would wait for what is being computed, for a minute perhaps.
            with contextlib.suppress(OSError):
                os.kill(self._process_id, 15)


def plan_as_json(job: Job, colonies: int) -> str:
    """Make the plan of a job, as the worker does, and give it as JSON text."""
    from lastbee.documents.as_json import plan_to_json
    from lastbee.jobs.planner import make_plan

    return plan_to_json(make_plan(job, colonies=colonies, progress=_tell))


def _tell(stage: str, share: float) -> None:
    if _messages is not None:
        _messages.put((stage, share))


def _begin(messages: SimpleQueue[Message]) -> None:
    """Make ready a process that has just started."""
    global _messages
    _messages = messages
    messages.put(os.getpid())
    if hasattr(os, "nice"):
        os.nice(NICENESS)
    # Ctrl-C at the terminal reaches every process; the parent says what is to become of us.
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        connection.wait([parent.sentinel])
        os._exit(0)

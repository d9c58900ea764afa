"""How far the work is, on a terminal and only when it takes a while."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, Self

if TYPE_CHECKING:
    from types import TracebackType

    from rich.console import Console
    from rich.progress import Progress

DELAY_S = 1.0


class StageProgress:
    """A progress bar that appears on `console` once the work has lasted `delay_s`.

    Used as a context manager and called with a stage's label and the share of the whole
    work that is done, 0 to 1. Where `console` is no terminal it stays silent. The bar
    removes itself at the end.
    """

    def __init__(self, console: Console, delay_s: float = DELAY_S) -> None:
        self._console = console
        self._stage = "Starting"
        self._fraction = 0.0
        self._bar: Progress | None = None
        self._over = False
        # The timer's thread shows the bar while the work's thread reports to it.
        self._lock = threading.Lock()
        self._timer = threading.Timer(delay_s, self.show)
        self._timer.daemon = True

    def __enter__(self) -> Self:
        if self._console.is_terminal:
            self._timer.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._timer.cancel()
        with self._lock:
            self._over = True
            if self._bar is not None:
                self._bar.stop()

    def __call__(self, stage: str, fraction: float) -> None:
        """Note that `stage` has begun and that `fraction` of the whole is done."""
        with self._lock:
            self._stage = stage
            self._fraction = min(max(fraction, 0.0), 1.0)
            if self._bar is not None:
                self._bar.update(
                    self._bar.task_ids[0], description=self._stage, completed=self._fraction
                )

    def show(self) -> None:
        """Show the bar now, unless the work is over."""
        from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn

        with self._lock:
            if self._over or self._bar is not None:
                return
            self._bar = Progress(
                TextColumn("{task.description}", markup=False),
                BarColumn(),
                TaskProgressColumn(),
                console=self._console,
                transient=True,
            )
            task = self._bar.add_task(self._stage, total=1.0)
            self._bar.update(task, completed=self._fraction)
            self._bar.start()

"""Independent tasks shared between processes, results in the order of the tasks."""

from __future__ import annotations

import multiprocessing
from concurrent.futures import ProcessPoolExecutor
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence


def _one_thread() -> None:
    """Leave a core to each process; the engine would use them all."""
    import numba

    numba.set_num_threads(1)


def in_processes(
    work: Callable[..., Any], tasks: Sequence[tuple[Any, ...]], processes: int
) -> list[Any]:
    """Run `work(*task)` for each task.

    Parameters
    ----------
    work
        A function at the top of a module.
    tasks
        Arguments of each call; random numbers come from seeds among them.
    processes
        1 runs everything here.

    Returns
    -------
    Results in the order of `tasks`.
    """
    if processes == 1:
        return [work(*task) for task in tasks]
    # Threads of the engine do not survive a fork.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(processes, mp_context=context, initializer=_one_thread) as pool:
        return list(pool.map(work, *zip(*tasks, strict=True)))

"""Time and memory of a process that updates a forecast by eight visits; started by bench.run.

    python -m bench.visits COLONIES REPEATS

Prints, as JSON, the medians of seconds in all and in the kernel, the seconds that the
inspection takes of it, and the peak memory in MB: with the libraries, with the compiled
kernel, and in the end.
"""

from __future__ import annotations

import json
import sys
import time
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any
from unittest import mock

import numpy as np

from bench.eight_visits import job_with_eight_visits
from bench.peak_memory import peak_mb
from lastbee.colony.kernel import live
from lastbee.forecast import posterior, runs
from lastbee.forecast.tracking import track
from lastbee.jobs.assemble import assemble
from lastbee.jobs.assemble_visits import watch_of

if TYPE_CHECKING:
    from collections.abc import Iterator

FEW_COLONIES = 400


@dataclass(frozen=True, slots=True)
class Update:
    """What one process found."""

    seconds: float
    inspection_seconds: float
    kernel_seconds: float
    kernel_passes: float
    libraries_mb: float
    compiled_mb: float
    peak_mb: float


@contextmanager
def kernel_timed() -> Iterator[list[float]]:
    """Give a list that takes in the seconds of every pass of the kernel meanwhile."""
    passes: list[float] = []

    def timed_live(*words: Any, **options: Any) -> Any:
        start = time.perf_counter()
        lived = live(*words, **options)
        passes.append(time.perf_counter() - start)
        return lived

    with (
        mock.patch.object(posterior, "live", timed_live),
        mock.patch.object(runs, "live", timed_live),
    ):
        yield passes


def update(colonies: int, seed: int) -> tuple[float, float, float, int]:
    """Condition on the inspection and follow the visits.

    Returns
    -------
    Seconds in all, of the inspection, and in the kernel; passes of the kernel.
    """
    job = job_with_eight_visits()
    question = assemble(job)
    watch, rng = watch_of(job, question), np.random.default_rng(seed)
    with kernel_timed() as passes:
        start = time.perf_counter()
        inspected = posterior.condition(
            question.items, question.founding, question.year.sky, colonies, rng
        )
        middle = time.perf_counter()
        track(inspected.cloud, watch, rng)
        end = time.perf_counter()
    return end - start, middle - start, sum(passes), len(passes)


def measure(colonies: int, repeats: int) -> Update:
    """Update once small, to load the compiled code, and then in full."""
    libraries = peak_mb()
    update(FEW_COLONIES, 0)
    compiled = peak_mb()
    found = np.median([update(colonies, seed) for seed in range(1, repeats + 1)], axis=0)
    return Update(*found.tolist(), libraries, compiled, peak_mb())


def main() -> None:
    """Measure and print."""
    colonies, repeats = (int(word) for word in sys.argv[1:3])
    print(json.dumps(asdict(measure(colonies, repeats))))


if __name__ == "__main__":
    main()

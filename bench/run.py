"""Speed and memory against what was promised, measured side by side in one run.

    python -m bench.run          # prints a table and writes build/bench.json

Every ratio is of medians of repeats that take turns, so that whatever else the machine
does falls on both sides. Times are by the wall clock unless they say otherwise, memory is the
peak of a process of its own. For an aim that is missed the table says what the measurement blames.
"""

from __future__ import annotations

import json
import os
import platform
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numba
import numpy as np

from bench import against_smcpy, pages
from bench.eight_visits import EXAMPLE
from bench.visits import Update, kernel_timed
from lastbee.biology.constants import Column
from lastbee.colony.founding import DIMENSIONS, draw_colonies
from lastbee.colony.kernel import live
from lastbee.forecast import posterior
from lastbee.jobs.assemble import assemble
from lastbee.jobs.jobfile import read_job
from reference.numpy_twin import live_twin
from reference.ode_twin import live_ode, mean_sky

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from lastbee.jobs.assemble import Question

ROOT = Path(__file__).resolve().parents[1]
OUT = ROOT / "build" / "bench.json"
COLONIES = 20_000
REPEATS = 7
TWIN_BLOCKS = (2048, 8192, COLONIES)
ODE_COLONIES = 6
SIZES = (2_500, 5_000, 10_000, 20_000, 40_000, 80_000)
LENGTHS_DAYS = (40, 80, 160, 320)
UPDATES = 3
PARTICLES, REFERENCE_RUNS = 2_000, 8


@dataclass(frozen=True, slots=True)
class Work:
    """Colonies of the prior of one job: parameters, seeds, sky, and the day to reach."""

    params: NDArray[np.float64]
    seeds: NDArray[np.uint64]
    sky: NDArray[np.float64]
    day: int

    @property
    def colony_days(self) -> float:
        """Days lived by all colonies together."""
        return float((self.day - self.params[:, Column.START_DAY]).sum())

    def live(self) -> None:
        """Live them in the compiled kernel."""
        live(self.params, self.seeds, self.sky, snap_days=(self.day,))


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: a measured value, its aim, and what limits it."""

    key: str
    label: str
    value: float
    aim: float | None
    at_least: bool
    limits: str

    @property
    def is_met(self) -> bool:
        """Whether the aim is met; a value without one always is."""
        if self.aim is None:
            return True
        return self.value >= self.aim if self.at_least else self.value <= self.aim


def work_of(question: Question, colonies: int, seed: int = 1) -> Work:
    """Draw colonies of a job's prior."""
    rng = np.random.default_rng(seed)
    params = draw_colonies(rng.standard_normal((colonies, DIMENSIONS)), question.founding).params
    seeds = rng.integers(0, 2**63, colonies, dtype=np.uint64)
    return Work(params, seeds, question.year.sky, question.founding.inspection_day)


def seconds(action: Callable[[], object], clock: Callable[[], float] = time.perf_counter) -> float:
    """Time of one call, by the wall unless another clock is given."""
    start = clock()
    action()
    return clock() - start


def in_turn(
    actions: dict[str, Callable[[], object]],
    repeats: int = REPEATS,
    clock: Callable[[], float] = time.perf_counter,
) -> dict[str, float]:
    """Median time of each action, all taking turns after a first round that is not counted."""
    taken: dict[str, list[float]] = {name: [] for name in actions}
    for action in actions.values():
        action()
    for _ in range(repeats):
        for name, action in actions.items():
            taken[name].append(seconds(action, clock))
    return {name: float(np.median(times)) for name, times in taken.items()}


def on_one_thread(action: Callable[[], object]) -> Callable[[], None]:
    """Wrap an action so that it has one thread."""

    def run() -> None:
        threads = numba.get_num_threads()
        numba.set_num_threads(1)
        try:
            action()
        finally:
            numba.set_num_threads(threads)

    return run


def against_numpy(work: Work) -> list[Row]:
    """Compare kernel and vectorised twin, the twin at its best block."""

    def twin(block: int) -> Callable[[], object]:
        return lambda: live_twin(
            work.params, work.seeds, work.sky, snap_days=(work.day,), block=block
        )

    tried = {
        block: min(seconds(twin(block), time.thread_time) for _ in range(2))
        for block in TWIN_BLOCKS
    }
    block = min(tried, key=tried.__getitem__)
    found = in_turn(
        {"kernel": work.live, "one thread": on_one_thread(work.live), "numpy": twin(block)}
    )
    # Time on the processor is blind to whoever else is running.
    alone = in_turn(
        {"kernel": on_one_thread(work.live), "numpy": twin(block)}, clock=time.thread_time
    )
    per_day = {name: 1e9 * t / work.colony_days for name, t in alone.items()}
    ratio, one = found["numpy"] / found["kernel"], alone["numpy"] / alone["kernel"]
    limits = (
        f"by processor time one thread gains {one:.1f}x; {numba.get_num_threads()} threads took "
        f"1/{found['one thread'] / found['kernel']:.2f} of its wall time at load "
        f"{os.getloadavg()[0]:.1f} on {os.cpu_count()} cores (blocks of {block:,} for NumPy)"
    )
    return [
        Row("kernel_vs_numpy", "kernel against vectorised NumPy", ratio, 20.0, True, limits),
        Row("kernel_vs_numpy_cpu", "  one thread, processor time", one, None, True, ""),
        Row("kernel_ns_a_day", "kernel, ns a colony-day", per_day["kernel"], None, False, ""),
        Row("numpy_ns_a_day", "NumPy, ns a colony-day", per_day["numpy"], None, False, ""),
    ]


def against_scipy(work: Work) -> list[Row]:
    """Compare kernel and one solution of the differential equations a colony."""
    sky = mean_sky(work.sky)
    params = work.params[:: len(work.params) // ODE_COLONIES][:ODE_COLONIES]
    own = Work(params, work.seeds[: len(params)], sky, work.day)

    def solve() -> None:
        for p in params:
            live_ode(p, sky, work.day)

    found = in_turn({"kernel": work.live, "scipy": solve}, 3)
    scipy = found["scipy"] / own.colony_days
    ratio = scipy / (found["kernel"] / work.colony_days)
    return [
        Row(
            "kernel_vs_scipy", "kernel against one ODE solution a colony", ratio, 300.0, True,
            f"SciPy takes {1e6 * scipy:.0f} us a colony-day, most of it calls of the equations",
        ),
    ]  # fmt: skip


def posterior_time(question: Question, work: Work) -> list[Row]:
    """Time the posterior of the example, and the part of it that is the kernel."""

    def sample(seed: int) -> tuple[float, float, int]:
        """Seconds in all, seconds in the kernel, and the calls of the kernel."""
        rng = np.random.default_rng(seed)
        with kernel_timed() as passes:
            taken = seconds(
                lambda: posterior.condition(
                    question.items, question.founding, work.sky, COLONIES, rng
                )
            )
        return taken, sum(passes), len(passes)

    sample(0)
    taken, kernel, calls = np.median([sample(seed) for seed in range(1, 6)], axis=0).tolist()
    limits = f"the kernel takes {kernel:.2f} s of it in {calls:.0f} passes over {COLONIES:,}"
    return [
        Row("posterior_seconds", "posterior of 20,000 colonies, s", taken, 2.0, False, limits),
        Row("posterior_kernel_share", "  share in the kernel", kernel / taken, None, False, ""),
    ]  # fmt: skip


def posterior_memory() -> list[Row]:
    """Peak memory of a process that samples the same posterior, its code compiled before."""
    done = subprocess.run(
        [sys.executable, "-m", "bench.peak_memory", str(EXAMPLE), str(COLONIES)],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    loaded, compiled, peak = (float(word) for word in done.stdout.split())
    limits = (
        f"{loaded:.0f} MB once the libraries are loaded, {compiled - loaded:.0f} MB more with the "
        f"compiled kernel, {peak - compiled:.0f} MB for {COLONIES:,} colonies"
    )
    return [
        Row("posterior_peak_mb", "peak memory of the posterior, MB", peak, 300.0, False, limits),
        Row("libraries_mb", "  of which libraries and compiled code", compiled, None, False, ""),
        Row("colonies_mb", "  of which colonies", peak - compiled, None, False, ""),
    ]


def visits_update(colonies: int = COLONIES, repeats: int = UPDATES) -> list[Row]:
    """Time and memory of a process that takes in an inspection and eight visits."""
    done = subprocess.run(
        [sys.executable, "-m", "bench.visits", str(colonies), str(repeats)],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    found = Update(**json.loads(done.stdout))
    slow = (
        f"the inspection takes {found.inspection_seconds:.1f} s of it; the kernel "
        f"{found.kernel_seconds:.1f} s in {found.kernel_passes:.0f} passes, the rest is "
        f"proposals and scores; load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
    )
    large = (
        f"{found.libraries_mb:.0f} MB once the libraries are loaded, "
        f"{found.compiled_mb - found.libraries_mb:.0f} MB more with the compiled kernel, "
        f"{found.peak_mb - found.compiled_mb:.0f} MB for {colonies:,} colonies"
    )
    return [
        Row("visits_update_seconds", "update by eight visits, s", found.seconds, 2.0, False, slow),
        Row("visits_peak_mb", "  peak memory, MB", found.peak_mb, 300.0, False, large),
    ]


def visits_reference(particles: int = PARTICLES, runs: int = REFERENCE_RUNS) -> list[Row]:
    """Compare what an effective draw costs with smcpy and here, on one likelihood."""
    ours, theirs = against_smcpy.compare(particles, runs)
    ratio, scored = theirs.seconds / ours.seconds, theirs.scored / ours.scored
    limits = (
        f"a draw takes {1e3 * ours.seconds:.1f} ms here and {1e3 * theirs.seconds:.1f} ms there, "
        f"{ours.scored:.0f} and {theirs.scored:.0f} trap-outs scored"
    )
    return [
        Row("visits_vs_reference", "  an effective draw against smcpy's", ratio, 1.0, True, limits),
        Row("visits_scored_vs_reference", "    in trap-outs scored", scored, None, True, ""),
    ]


def exponent(sizes: tuple[int, ...], times: list[float]) -> float:
    """Slope of log time against log size."""
    return float(np.polyfit(np.log(sizes), np.log(times), 1)[0])


def growth(question: Question) -> list[Row]:
    """Fit how processor time grows with colonies, and with the days they live."""
    by_size = {str(n): on_one_thread(work_of(question, n).live) for n in SIZES}
    times = in_turn(by_size, 5, time.thread_time)
    colonies = exponent(SIZES, [times[str(n)] for n in SIZES])
    work = work_of(question, 10_000)
    params = work.params.copy()
    params[:, Column.START_DAY] = 0.0
    sky = np.tile(work.sky, (3, 1))
    by_days = {str(d): on_one_thread(Work(params, work.seeds, sky, d).live) for d in LENGTHS_DAYS}
    lived = in_turn(by_days, 5, time.thread_time)
    days = exponent(LENGTHS_DAYS, [lived[str(d)] for d in LENGTHS_DAYS])
    limits = "cost beyond linear: " + ", ".join(f"{n} {1e3 * t:.1f} ms" for n, t in times.items())
    return [
        Row("colonies_exponent", "time ~ colonies to the power", colonies, 1.1, False, limits),
        Row(
            "days_exponent", "time ~ days to the power", days, 1.1, False,
            ", ".join(f"{d} d {1e3 * t:.1f} ms" for d, t in lived.items()),
        ),
    ]  # fmt: skip


def help_time() -> list[Row]:
    """Time `lastbee --help` as a process of its own, and a bare interpreter beside it."""
    command = str(Path(sys.executable).with_name("lastbee"))

    def run(*words: str) -> Callable[[], object]:
        return lambda: subprocess.run(words, capture_output=True, check=True)

    found = in_turn({"help": run(command, "--help"), "bare": run(sys.executable, "-c", "")})
    limits = f"{found['bare']:.2f} s of it starts the interpreter, the rest is imports"
    return [Row("help_seconds", "lastbee --help, s", found["help"], 0.5, False, limits)]


def page_times() -> list[Row]:
    """Time every page of the app, on the invented firm and on one of many jobs."""
    demo, many = found = pages.measure()
    print(*pages.report(found), sep="\n")
    limits = "whatever else ran on the two cores, or the page named above"
    return [
        Row("pages_demo_p95_ms", "slowest page, demo, p95, ms", demo.p95_ms, 150.0, False, limits),
        Row(
            "pages_many_p95_ms", f"slowest page, {many.jobs:,} jobs, p95, ms", many.p95_ms, 150.0,
            False, limits,
        ),
        Row("pages_statements", "most statements of a page", float(many.statements), None, False,
            ""),
    ]  # fmt: skip


def table(rows: list[Row]) -> str:
    """Lines to print: value, aim, and for a missed aim what limits it."""
    lines = [f"{'what':44}{'measured':>12}{'aim':>12}", "-" * 68]
    for row in rows:
        aim = "" if row.aim is None else f"{'>=' if row.at_least else '<='} {row.aim:g}"
        lines.append(f"{row.label:44}{row.value:12.4g}{aim:>12}")
        if not row.is_met:
            lines.append(f"    MISSED: {row.limits}")
    return "\n".join(lines)


def main() -> int:
    """Measure everything, print the table, write the file."""
    started = time.perf_counter()
    question = assemble(read_job(EXAMPLE))
    work = work_of(question, COLONIES)
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, {numba.get_num_threads()} threads, "
        f"load {os.getloadavg()[0]:.1f}; Python {platform.python_version()}, "
        f"NumPy {np.__version__}, numba {numba.__version__}"
    )
    print(f"first pass, compiling or loading: {seconds(work.live):.1f} s")
    rows = against_numpy(work)
    rows += against_scipy(work)
    rows += posterior_time(question, work)
    rows += posterior_memory()
    rows += visits_update()
    rows += visits_reference()
    rows += growth(question)
    rows += help_time()
    rows += page_times()
    print(table(rows))
    OUT.parent.mkdir(exist_ok=True)
    figures = {row.key: row.value for row in rows}
    OUT.write_text(json.dumps(figures, indent=2) + "\n", encoding="utf-8")
    print(f"{OUT.relative_to(ROOT)} written after {time.perf_counter() - started:.0f} s")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

"""All long checks of honesty: tables to the terminal, figures to build/verify.json.

    python -m verify.run                                    # everything, the quick parts first
    python -m verify.run --only namings --named 100 --out build/named.json

Ages against the trade; writers of the record killed as they write; simulation-based
calibration of inspections and of running trap-outs; coverage, forecasts, named troubles and
planned visits on colonies of another model; and the tests marked `long`. The exit code is 1 if
a long test fails, an entry is lost, or ranks are so far from uniform that a right posterior had
one chance in ten thousand; what comes out on another model is reported and not judged.
"""

from __future__ import annotations

import argparse
import json
import math
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from verify import ages, calibration, kills, other_model, other_running, running, visits_saving

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    Told = tuple[list[str], dict[str, float]]

HERE = Path(__file__).resolve().parent.parent
FALSE_ALARM = 1e-4
INSPECTED_COLONIES, PLANNED_COLONIES = 600, 2000
# Ranks are counted in ten bins, five in each at the least.
LEAST_RANKED = 50


@dataclass(frozen=True, slots=True)
class Section:
    """One check: its word on the command line, its heading, and what it prints and measures.

    `minutes` it takes on two idle cores, about; the quick ones come first.
    """

    name: str
    title: str
    minutes: int
    tell: Callable[[argparse.Namespace], Told]


def _ages(_: argparse.Namespace) -> Told:
    return ages.table()


def _kills(asked: argparse.Namespace) -> Told:
    return kills.report(kills.kill_writers(asked.kills))


def _inspections(asked: argparse.Namespace) -> Told:
    found = calibration.calibrate(
        asked.inspections, INSPECTED_COLONIES, seed=20260601, processes=asked.processes
    )
    return calibration.report(found)


def _coverage(asked: argparse.Namespace) -> Told:
    return _joined(
        other_model.report(
            other_model.cover(
                asked.jobs, PLANNED_COLONIES, seed=20260701, processes=asked.processes, world=world
            ),
            world,
        )
        for world in other_model.WORLDS
    )


def _forecasts(asked: argparse.Namespace) -> Told:
    found = other_running.forecasts(
        asked.forecasts, asked.colonies, seed=20260901, processes=asked.processes
    )
    return other_running.report_forecasts(found)


def _trap_outs(asked: argparse.Namespace) -> Told:
    found = running.calibrate(
        asked.trap_outs, asked.colonies, seed=20260801, processes=asked.processes
    )
    return running.report(found)


def _saving(asked: argparse.Namespace) -> Told:
    lines, figures = visits_saving.report(
        visits_saving.compare(asked.visited, seed=20260801, processes=asked.processes)
    )
    saved = 1.0 - figures["saving_planned_cost"] / figures["saving_weekly_cost"]
    lines.append(f"planned visits save {100.0 * saved:.0f} % of what weekly ones cost")
    own = ["expected by the engine itself:", *visits_saving.own_table(), ""]
    return own + lines, figures | {"visits_saving": saved}


def _namings(asked: argparse.Namespace) -> Told:
    found = other_running.namings(
        asked.named, asked.colonies, seed=20260902, processes=asked.processes
    )
    return other_running.report_namings(found)


def _long_tests(_: argparse.Namespace) -> Told:
    """Run the tests that `make test` leaves out."""
    command = [sys.executable, "-m", "pytest", "-m", "long", "-q", "--timeout=1200"]
    passed = subprocess.run(command, cwd=HERE, check=False).returncode == 0
    return [], {"long_tests_passed": float(passed)}


SECTIONS = (
    Section("ages", "Swarms of known age (trade: 2 to 4 weeks old, out in 4 to 6)", 0, _ages),
    Section("kills", "Writers of the firm's file killed while they write", 1, _kills),
    Section("inspections", "Simulation-based calibration of inspections", 1, _inspections),
    Section("forecasts", "Forecasts after two visits, another model's jobs", 2, _forecasts),
    Section("trap_outs", "Simulation-based calibration of running trap-outs", 2, _trap_outs),
    Section("coverage", "Coverage of plans, another model's colonies", 3, _coverage),
    Section("long_tests", "Tests marked long", 5, _long_tests),
    Section("saving", "Planned visits against routines, another model's jobs", 6, _saving),
    Section("namings", "Troubles named, another model's jobs", 7, _namings),
)


def main(words: Sequence[str] | None = None) -> int:
    """Run what is asked for.

    Parameters
    ----------
    words
        Words of the command line; None for those of this process.

    Returns
    -------
    Exit code.
    """
    asked = _asked(words)
    started = time.perf_counter()
    figures: dict[str, float] = {}
    for section in SECTIONS:
        if section.name in asked.only:
            figures |= _told(section, asked)
            # A later one that breaks down leaves the figures of all before it.
            _write(figures, asked.out)
    wrong = failures(figures)
    minutes = (time.perf_counter() - started) / 60.0
    print(f"\n{asked.out.name} written after {minutes:.0f} min", *wrong, sep="\n")
    return 1 if wrong else 0


def _told(section: Section, asked: argparse.Namespace) -> dict[str, float]:
    """Run one section, print its table, and give its figures and what it took."""
    about = f"about {section.minutes} min" if section.minutes else "seconds"
    print(f"\n{time.strftime('%H:%M:%S')}  {section.title} ({about})", flush=True)
    start = time.perf_counter()
    lines, figures = section.tell(asked)
    took = time.perf_counter() - start
    print(*lines, f"{section.name} took {took:.0f} s", sep="\n", flush=True)
    return figures | {f"seconds_{section.name}": took}


def _write(figures: dict[str, float], out: Path) -> None:
    """Write every figure that is a number: a date never reached is none, nor is it JSON."""
    finite = {name: value for name, value in figures.items() if math.isfinite(value)}
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_text(json.dumps(finite, indent=2, allow_nan=False) + "\n", encoding="utf-8")


def failures(figures: dict[str, float]) -> list[str]:
    """Sentences about ranks that cannot be uniform, and about tests that failed."""
    names = [f"sbc_p_{q}" for q in calibration.QUANTITIES]
    names += [f"running_p_{q}" for q in running.QUANTITIES]
    found = {name: figures[name] for name in names if name in figures}
    wrong = [f"NOT CALIBRATED: {name} {p:.1g}" for name, p in found.items() if not p > FALSE_ALARM]
    wrong += ["ENTRIES LOST"] * (figures.get("kills_wrong", 0.0) > 0.0)
    return wrong + ["TESTS FAILED"] * (figures.get("long_tests_passed") == 0.0)


def _asked(words: Sequence[str] | None) -> argparse.Namespace:
    """Read the command line."""
    names = [section.name for section in SECTIONS]
    parser = argparse.ArgumentParser(description=str(__doc__).splitlines()[0])
    parser.add_argument(
        "--only", nargs="+", choices=names, default=names, metavar="PART", help=", ".join(names)
    )
    for word, size, what in (
        ("processes", 2, "processes that share the work"),
        ("kills", 500, "writers to kill"),
        ("inspections", 6000, "inspections to calibrate on"),
        ("jobs", 500, "plans in each other world"),
        ("trap-outs", 400, "running trap-outs to calibrate on"),
        ("forecasts", 200, "running jobs to forecast"),
        ("visited", 60, "jobs visited in every way"),
        ("named", 40, "jobs of each trouble"),
        ("colonies", 2200, "colonies that follow each running job"),
    ):
        parser.add_argument(f"--{word}", type=int, default=size, help=f"{what} ({size})")
    parser.add_argument("--out", type=Path, default=HERE / "build" / "verify.json")
    asked = parser.parse_args(words)
    for word, ranked in (("inspections", asked.inspections), ("trap-outs", asked.trap_outs)):
        if ranked < LEAST_RANKED:
            parser.error(f"--{word} {ranked} is too few to judge ranks by: {LEAST_RANKED} or more")
    return asked


def _joined(parts: Iterable[Told]) -> Told:
    """One table after another."""
    lines: list[str] = []
    figures: dict[str, float] = {}
    for some, found in parts:
        lines += some
        figures |= found
    return lines, figures


if __name__ == "__main__":
    sys.exit(main())

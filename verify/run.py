"""All long checks of honesty: tables to the terminal, figures to build/verify.json.

    python -m verify.run

Ages against the trade, simulation-based calibration, coverage on colonies of another
model, and the tests marked `long`. The exit code is 1 if a long test fails or if ranks are
so far from uniform that a right posterior had one chance in ten thousand; coverage on
another model is reported and not judged.
"""

from __future__ import annotations

import argparse
import json
import math
import subprocess
import sys
import time
from pathlib import Path

from verify import ages, calibration, other_model

HERE = Path(__file__).resolve().parent.parent
FALSE_ALARM = 1e-4


def main() -> int:
    """Run everything.

    Returns
    -------
    Exit code.
    """
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--cases", type=int, default=6000, help="inspections to calibrate on")
    parser.add_argument("--jobs", type=int, default=500, help="jobs in each other world")
    parser.add_argument("--out", type=Path, default=HERE / "build" / "verify.json")
    asked = parser.parse_args()
    figures: dict[str, float] = {}

    _head("Trap-outs of swarms of known age (trade: two to four weeks old, out in four to six)")
    _tell(*ages.table(), figures)

    _head("Simulation-based calibration of the inspection posterior")
    found = calibration.calibrate(asked.cases, 600, seed=20260601, processes=asked.processes)
    _tell(*calibration.report(found), figures)

    _head("Coverage on colonies of another model")
    for world in other_model.WORLDS:
        covered = other_model.cover(
            asked.jobs, 2000, seed=20260701, processes=asked.processes, world=world
        )
        _tell(*other_model.report(covered, world), figures)

    _head("Tests marked long")
    figures["long_tests_passed"] = float(_long_tests())

    asked.out.parent.mkdir(parents=True, exist_ok=True)
    # A date that is never reached has no number, and JSON has no word for that.
    finite = {name: value for name, value in figures.items() if math.isfinite(value)}
    asked.out.write_text(json.dumps(finite, indent=2, allow_nan=False) + "\n", encoding="utf-8")
    uniform = all(figures[f"sbc_p_{q}"] > FALSE_ALARM for q in calibration.QUANTITIES)
    return 0 if uniform and figures["long_tests_passed"] else 1


def _head(title: str) -> None:
    print(f"\n{time.strftime('%H:%M:%S')}  {title}", flush=True)


def _tell(lines: list[str], found: dict[str, float], figures: dict[str, float]) -> None:
    print(*lines, sep="\n", flush=True)
    figures.update(found)


def _long_tests() -> bool:
    """Run the tests that `make test` leaves out."""
    command = [sys.executable, "-m", "pytest", "-m", "long", "-q", "--timeout=1200"]
    return subprocess.run(command, cwd=HERE, check=False).returncode == 0


if __name__ == "__main__":
    sys.exit(main())

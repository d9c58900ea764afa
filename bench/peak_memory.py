"""Peak memory of a process that samples one posterior; started by bench.run, prints three figures.

    python -m bench.peak_memory JOB.toml COLONIES

Prints the peak in MB once the libraries are loaded, with the compiled kernel, and after
sampling.
"""

from __future__ import annotations

import resource
import sys
from pathlib import Path

import numpy as np

from lastbee.forecast.posterior import condition
from lastbee.jobs.assemble import assemble
from lastbee.jobs.jobfile import read_job


def peak_mb() -> float:
    """Peak memory of this process so far. [MB].

    A child's `ru_maxrss` begins at what its parent held, so Linux is asked for the mark of
    this process alone.
    """
    status = Path("/proc/self/status")
    if status.exists():
        lines = status.read_text(encoding="ascii").splitlines()
        return next(float(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1e3
    unit = 1e6 if sys.platform == "darwin" else 1e3
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit


def main() -> None:
    """Sample once small, to load the compiled code, and once in full."""
    question = assemble(read_job(Path(sys.argv[1])))
    peaks = [peak_mb()]
    for colonies in (32, int(sys.argv[2])):
        rng = np.random.default_rng(1)
        condition(question.items, question.founding, question.year.sky, colonies, rng)
        peaks.append(peak_mb())
    print(*peaks)


if __name__ == "__main__":
    main()

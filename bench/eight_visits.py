"""The example job with eight visits to its trap-out: what the update is timed on.

All invented. The bees are found to come home by a second gap at the second visit, which is
closed, and dwindle from then on; nine sightings a visit, what most visits would see.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from lastbee.jobs.jobfile import read_job
from lastbee.jobs.visit import BoxSeen, ConeCount, Deed, Elsewhere, Visit, WallSensed

if TYPE_CHECKING:
    from datetime import date

    from lastbee.jobs.job import Job
    from lastbee.jobs.visit import DeadBees

EXAMPLE = Path(__file__).resolve().parents[1] / "examples" / "meadowgate.toml"
MINUTES = 5.0
GAP_CLOSED_ON = 8


@dataclass(frozen=True, slots=True)
class _Look:
    """What changes from visit to visit; `day` counts from the cone."""

    day: int
    bees_out: int
    in_elsewhere: int
    dead_bees: DeadBees
    cluster_dm2: float
    frames_of_bees: float
    gain_kg: float
    hum: bool
    warm: bool

    def visit(self, cone_on: date) -> Visit:
        """Write it as a visit on a fine afternoon."""
        return Visit(
            at=datetime.combine(cone_on + timedelta(days=self.day), time(14)),
            temperature_degc=25.0,
            sky="sun",
            wind="calm",
            cone=ConeCount(MINUTES, self.bees_out, None),
            cone_state="clear",
            elsewhere=Elsewhere(MINUTES, self.in_elsewhere, None, None),
            cluster_dm2=self.cluster_dm2,
            dead_bees=self.dead_bees,
            box=BoxSeen(self.frames_of_bees, self.gain_kg, None, None, None, None),
            wall=WallSensed(self.hum, None, self.warm, None, None),
            did=(Deed("gap closed"),) if self.day == GAP_CLOSED_ON else (),
        )


_LOOKS = (
    _Look(3, 12, 1, "none", 0.5, 3.0, 0.5, hum=True, warm=True),
    _Look(8, 8, 3, "some", 1.0, 3.5, 1.1, hum=True, warm=True),
    _Look(13, 5, 0, "some", 0.5, 4.0, 1.8, hum=True, warm=False),
    _Look(18, 4, 0, "some", 0.0, 4.0, 2.3, hum=True, warm=False),
    _Look(23, 2, 0, "some", 0.0, 4.5, 2.8, hum=True, warm=False),
    _Look(28, 1, 0, "none", 0.0, 6.0, 3.0, hum=False, warm=False),
    _Look(33, 1, 0, "none", 0.0, 7.0, 3.1, hum=False, warm=False),
    _Look(40, 0, 0, "none", 0.0, 7.5, 2.9, hum=False, warm=False),
)


def job_with_eight_visits() -> Job:
    """Read the example and add the visits."""
    job = read_job(EXAMPLE)
    cone_on = job.setup.cone_on
    if cone_on is None:
        raise ValueError(f"{EXAMPLE.name} must say when the cone goes on")
    return replace(job, visits=tuple(look.visit(cone_on) for look in _LOOKS))

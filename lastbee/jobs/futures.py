"""What may become of the colony: trapped, robbed out, left alone; and what rules ask of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.constants import (
    PARAMETERS,
    REFERENCE_FLIGHT_H,
    WET_DAY_FLIGHT_SHARE,
    Column,
)
from lastbee.colony.founding import draw_colonies
from lastbee.colony.kernel import live
from lastbee.colony.layout import Daily, Sky, State
from lastbee.colony.robout import rob_out
from lastbee.evidence.nest import nest_from
from lastbee.forecast.trapout import TRAP_DAYS, first_reached, thinned, trap_out
from lastbee.jobs import quantities
from lastbee.jobs.assemble import ROB_DAYS
from lastbee.methods.compare import Simulated
from lastbee.methods.outcomes import SWARM_COMB_DM2
from lastbee.methods.rules import LONGEST_WEEKS, Findings
from lastbee.words import mass_unit, number

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.forecast.posterior import Posterior
    from lastbee.forecast.trapout import TrapOut
    from lastbee.jobs.assemble import Question
    from lastbee.jobs.job import Job
    from lastbee.methods.circumstances import Circumstances

# Daily records of this many colonies are kept; bands and shares need no more.
FOLLOWED = 4000


@dataclass(frozen=True, slots=True)
class Futures:
    """The same thinned colonies, followed.

    `safe_day` is the day offset from the cone's first day on which emptiness reaches the
    firm's confidence, None if it never does; `robs` says whether a rob-out is planned,
    `rob_note` why not where it was wanted.
    """

    simulated: Simulated
    safe_day: int | None
    robs: bool
    rob_note: str

    @property
    def trap(self) -> TrapOut:
        """The trap-out of these colonies."""
        return self.simulated.trap


def follow(posterior: Posterior, question: Question, job: Job, c: Circumstances) -> Futures:
    """Follow thinned colonies through trap-out, rob-out, and being left alone."""
    sky, founding = question.year.sky, question.founding
    index, cloud = thinned(posterior.cloud, FOLLOWED)
    trap = trap_out(cloud, founding, sky, question.cone_day)
    colonies = draw_colonies(cloud.z, founding)
    on_the_day, _, _ = live(colonies.params, cloud.noise, sky, snap_day=question.cone_day)
    later, _, _ = live(colonies.params, cloud.noise, sky, snap_day=question.cone_day + TRAP_DAYS)
    nest_then = nest_from(on_the_day, colonies, question.cone_day)
    safe = first_reached(trap.empty_by, job.preferences.confidence)
    note = _rob_note(job, c)
    robs = job.setup.rob_out and not note and safe is not None
    honey = trap.honey_left_g
    if robs and safe is not None:
        start = question.cone_day + safe + 1
        honey = _robbed(trap, safe, sky[start : start + ROB_DAYS])
    return Futures(
        Simulated(posterior.nest.take(index), nest_then, trap, honey, later[:, State.HONEY]),
        safe, robs, note,
    )  # fmt: skip


def _robbed(trap: TrapOut, safe: int, days: NDArray[np.float64]) -> NDArray[np.float64]:
    """Honey left after robbing over the drivers of some days, shape (n,)."""
    flown = 1.0 - days[:, Sky.WET] * (1.0 - WET_DAY_FLIGHT_SHARE)
    flight = days[:, Sky.FLIGHT_H] / REFERENCE_FLIGHT_H * flown
    dearth = PARAMETERS[Column.DEARTH].median * days[:, Sky.DEARTH]
    box = trap.records[:, safe, Daily.BOX].astype(np.float64)
    return rob_out(trap.honey_left_g, box, flight, days[:, Sky.FORAGE] * (1.0 - dearth))[:, -1]


def _rob_note(job: Job, c: Circumstances) -> str:
    """Why there is no rob-out although it was wanted; empty if nothing bars it."""
    if not job.setup.rob_out:
        return ""
    if c.exposing_comb == "barred":
        return "No rob-out: the law here bars exposing comb to other bees."
    if c.is_treated:
        return "No rob-out: the nest was sprayed, and treated honey must not reach bees."
    return ""


def findings_of(futures: Futures, c: Circumstances, job: Job) -> Findings:
    """Probabilities that the rules ask for."""
    trap, system = futures.trap, job.preferences.units
    honey_kg = trap.honey_left_g / 1000.0
    limit = job.preferences.honey_limit_kg * c.limit_times
    mass = mass_unit(system)
    by = trap.empty_by
    deadline = None
    if c.gone_by is not None:
        deadline = float(by[min(max(c.gone_by, 0), TRAP_DAYS - 1)])
    return Findings(
        honey_over_limit=float((honey_kg > limit).mean()),
        honey_words=quantities.quantity("honey", "Honey", honey_kg, mass).words,
        limit_words=f"{number(limit / mass.size, 0.1)} {mass.sign}",
        empty_in_time=float(by[7 * LONGEST_WEEKS - 1]),
        empty_by_deadline=deadline,
        safe_day=futures.safe_day,
        swarm_without_comb=float((futures.simulated.nest.comb_dm2 < SWARM_COMB_DM2).mean()),
    )

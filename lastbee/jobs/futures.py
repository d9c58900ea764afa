"""What may become of the colony: trapped, robbed out, left alone; and what rules ask of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.founding import draw_colonies
from lastbee.colony.kernel import live
from lastbee.colony.layout import Daily, State
from lastbee.evidence.nest import nest_from
from lastbee.forecast.trapout import TRAP_DAYS, first_reached, thinned, trap_out
from lastbee.jobs.assemble import ROB_DAYS
from lastbee.methods import findings
from lastbee.methods.closeout import bars_to_robbing, honey_after_robbing
from lastbee.methods.compare import Simulated

if TYPE_CHECKING:
    from lastbee.forecast.posterior import Posterior
    from lastbee.forecast.trapout import TrapOut
    from lastbee.jobs.assemble import Question
    from lastbee.jobs.job import Job
    from lastbee.methods.circumstances import Circumstances
    from lastbee.methods.rules import Findings

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
    untouched, _, _ = live(
        colonies.params, cloud.noise, sky,
        snap_days=(question.cone_day, question.cone_day + TRAP_DAYS),
    )  # fmt: skip
    nest_then = nest_from(untouched[:, 0], colonies, question.cone_day)
    safe = first_reached(trap.empty_by, job.preferences.confidence)
    note = _rob_note(job, c)
    robs = job.setup.rob_out and not note and safe is not None
    honey = trap.honey_left_g
    if robs and safe is not None:
        start = question.cone_day + safe + 1
        box = trap.records[:, safe, Daily.BOX].astype(np.float64)
        honey = honey_after_robbing(honey, box, sky[start : start + ROB_DAYS])
    return Futures(
        Simulated(
            posterior.nest.take(index), nest_then, trap, honey, untouched[:, 1, State.HONEY]
        ),
        safe, robs, note,
    )  # fmt: skip


def _rob_note(job: Job, c: Circumstances) -> str:
    """Why there is no rob-out although it was wanted; empty if nothing bars it."""
    bars = bars_to_robbing(c) if job.setup.rob_out else ()
    return f"No rob-out: {bars[0].reason[0].lower()}{bars[0].reason[1:]}" if bars else ""


def findings_of(futures: Futures, c: Circumstances, job: Job) -> Findings:
    """Probabilities that the rules ask for."""
    firm = job.preferences
    return findings.findings_of(
        futures.trap, futures.simulated.nest, c, firm.honey_limit_kg, firm.confidence, firm.units
    )

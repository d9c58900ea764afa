"""The main job: from an inspection to a dated plan.

    job -> question -> posterior -> trap-out and other ways -> decision -> plan

One function, `make_plan`, runs the whole of it; everything it calls is either the engine
(arrays in, arrays out) or words. The same job, seed and number of colonies give the same
plan on the same machine, however many threads it has.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from lastbee.forecast.influence import influences
from lastbee.forecast.posterior import condition
from lastbee.forecast.trapout import TRAP_DAYS
from lastbee.jobs import dates, quantities, reasons, remains, steps
from lastbee.jobs.assemble import assemble, circumstances_of, weights_of
from lastbee.jobs.futures import findings_of, follow
from lastbee.jobs.methods_table import method_rows
from lastbee.jobs.plan import SCHEMA, Plan
from lastbee.jobs.tracker import progress_of
from lastbee.jobs.trust import how_sure, missing_look, trust_of, worth_of_looks
from lastbee.jobs.verdict import PLAN_WEEKS, Case, verdict
from lastbee.methods import cautions
from lastbee.methods.compare import compare, recommended
from lastbee.words import mass_unit

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from lastbee.forecast.posterior import Posterior
    from lastbee.jobs.assemble import Question
    from lastbee.jobs.futures import Futures
    from lastbee.jobs.job import Job
    from lastbee.jobs.plan import (
        EvidenceRow,
        Look,
        MethodRow,
        Milestone,
        Quantity,
        Step,
        Trust,
    )
    from lastbee.methods.circumstances import Circumstances
    from lastbee.methods.compare import Way
    from lastbee.methods.rules import Findings

    Progress = Callable[[str, float], None]

FINDING = "Finding colonies that fit the sightings"
FOLLOWING = "Following the trap-out"
WEIGHING = "Weighing each sighting"
COMPARING = "Comparing the ways"


def make_plan(
    job: Job, *, seed: int = 1, colonies: int = 20_000, progress: Progress | None = None
) -> Plan:
    """Plan one job.

    Parameters
    ----------
    job
        A checked job.
    seed
        Start of all random numbers.
    colonies
        Number of colonies in the posterior.
    progress
        Called with the name of the stage and its fraction done.

    Returns
    -------
    The plan.

    Raises
    ------
    DegenerateWeights, NotConverged
        If no answer could be stood behind.
    """
    tell = progress or (lambda _stage, _share: None)
    streams = [np.random.default_rng(s) for s in np.random.SeedSequence(seed).spawn(4)]
    question = assemble(job)
    circumstances = circumstances_of(job, question)
    tell(FINDING, 0.0)
    posterior = condition(
        question.items, question.founding, question.year.sky, colonies, streams[0],
        lambda share: tell(FINDING, share),
    )  # fmt: skip
    tell(FOLLOWING, 0.0)
    futures = follow(posterior, question, job, circumstances)
    tell(WEIGHING, 0.0)
    weighed = influences(
        question.items, posterior.nest, question.founding, question.year.sky, streams[1],
        lambda share: tell(WEIGHING, share),
    )  # fmt: skip
    rows = reasons.evidence_rows(weighed, posterior.nest, job.preferences.units)
    tell(COMPARING, 0.0)
    findings = findings_of(futures, circumstances, job)
    ways = compare(futures.simulated, circumstances, findings, weights_of(job), streams[2])
    worths = worth_of_looks(question, futures.simulated.nest, ways, streams[3])
    looks = reasons.look_rows(worths)
    tell(COMPARING, 1.0)
    trust = trust_of(posterior, question, rows, seed)
    answer = _Answer(job, question, posterior, futures, circumstances, findings, ways)
    told = _write(answer, rows, looks, trust)
    if not job.visits:
        return told
    return replace(told, progress=progress_of(job, question, posterior, seed=seed, tell=tell))


@dataclass(frozen=True, slots=True)
class _Answer:
    """The numbers of a plan, before they are put into words."""

    job: Job
    question: Question
    posterior: Posterior
    futures: Futures
    circumstances: Circumstances
    findings: Findings
    ways: tuple[Way, ...]

    @property
    def best(self) -> Way | None:
        """The recommended way, None where all are refused."""
        return recommended(self.ways)

    @property
    def is_trap_out(self) -> bool:
        """Whether the plan is to trap out, whatever follows."""
        return self.best is not None and self.best.key.startswith("trap-out")

    @property
    def work_on(self) -> date:
        """The day on which work begins; a swarm is taken at once."""
        at_once = self.best is not None and self.best.key == "swarm capture"
        return self.job.inspection.at.date() if at_once else self.question.cone_on

    def trap_milestones(self) -> tuple[Milestone, ...]:
        """Dates of a trap-out with what follows it in the recommended way."""
        opens = self.best is not None and self.best.key == "trap-out then open"
        return dates.trap_milestones(
            self.futures.trap, self.question.cone_on, self.job.preferences.confidence,
            self.futures.safe_day, robs=self.futures.robs and not opens, opens=opens,
        )  # fmt: skip


def _write(
    a: _Answer, rows: tuple[EvidenceRow, ...], looks: tuple[Look, ...], trust: Trust
) -> Plan:
    """Turn numbers into the document."""
    job, question, c, trap = a.job, a.question, a.circumstances, a.futures.trap
    units, season = job.preferences.units, question.season
    stones = a.trap_milestones()
    empty = next(m for m in stones if m.key == "empty")
    honey = quantities.quantity("honey", "Honey", trap.honey_left_g / 1000.0, mass_unit(units))
    methods = method_rows(a.ways, units, question.cone_on + timedelta(days=TRAP_DAYS))
    missing = missing_look(rows, looks)
    case = Case(
        a.ways, methods[0], a.work_on, empty, float(trap.empty_by[7 * PLAN_WEEKS - 1]), honey,
        a.findings,
    )  # fmt: skip
    left, effects = _remains(a, methods[0])
    return Plan(
        schema=SCHEMA,
        title=job.title,
        client=job.client,
        place=job.site.place,
        prepared_by=job.prepared_by,
        inspected_on=job.inspection.at.date(),
        cone_on=question.cone_on,
        box=job.setup.box,
        confidence=job.preferences.confidence,
        verdict=verdict(case, trust, missing),
        contents=quantities.contents(a.posterior.nest, units, season),
        founding=quantities.founding_shares(a.posterior.nest, season),
        milestones=stones if a.is_trap_out else _at_once(a),
        bands=dates.bands(trap, units) if a.is_trap_out else (),
        empty_by=tuple(float(p) for p in trap.empty_by) if a.is_trap_out else (),
        left=left,
        consequences=effects,
        queen=quantities.queen_shares(trap) if a.is_trap_out else (),
        box_colony=quantities.box_colony(trap, _box_day(a, stones)) if a.is_trap_out else (),
        methods=methods,
        steps=_steps(a, stones, rows, missing),
        evidence=rows,
        looks=looks,
        how_sure=how_sure(question, rows, looks),
        cautions=tuple(
            s for s in (cautions.stings(c), cautions.height(c), cautions.opening(c)) if s
        ),
        trust=trust,
    )


def _at_once(a: _Answer) -> tuple[Milestone, ...]:
    """Dates of a way that acts at once; none where nothing is done."""
    if a.best is None or a.best.key == "leave":
        return ()
    return dates.at_once_milestones(a.best.label, a.work_on)


def _box_day(a: _Answer, stones: tuple[Milestone, ...]) -> int:
    """Day offset on which the box is moved: when the wall is closed, or after eight weeks."""
    close = next((m.likely for m in stones if m.key == "close"), None)
    offset = 7 * PLAN_WEEKS if close is None else (close - a.question.cone_on).days
    return min(offset, TRAP_DAYS - 1)


def _remains(a: _Answer, row: MethodRow) -> tuple[tuple[Quantity, ...], tuple[str, ...]]:
    """What the recommended way leaves, and what that will do."""
    if a.best is None or row.honey_left is None:
        return (), ()
    units, c, futures = a.job.preferences.units, a.circumstances, a.futures
    ahead = a.question.cone_day + (futures.safe_day or 0)
    hot = remains.is_hot(a.question.year.sky[ahead:])
    high_kg = float(np.quantile(a.best.outcome.honey_left_kg, 0.95))
    comb_stays = a.best.key not in ("trap-out then open", "cut-out outside", "cut-out inside")
    if a.best.key == "trap-out":
        robbed = futures.simulated.honey_after_rob_g if futures.robs else None
        left = quantities.left_behind(futures.trap, robbed, units)
        high_kg = float(np.quantile(futures.trap.honey_left_g, 0.95)) / 1000.0
    else:
        left = quantities.left_by(row.honey_left)
    if a.best.key in ("leave", "swarm capture"):
        return left, ()
    effects = remains.consequences(high_kg, c, units, comb_stays=comb_stays, hot=hot)
    if futures.rob_note and a.best.key == "trap-out":
        effects = (*effects, futures.rob_note)
    return left, effects


def _steps(
    a: _Answer,
    stones: tuple[Milestone, ...],
    rows: tuple[EvidenceRow, ...],
    missing: Look | None,
) -> tuple[Step, ...]:
    """What to do next; where nothing may be decided yet, only what leads to a decision."""
    by_key = {m.key: m for m in stones}
    close = by_key.get("close")
    course = steps.Course(
        inspected_on=a.job.inspection.at.date(),
        cone_on=a.question.cone_on,
        empty=by_key["empty"],
        opening=by_key.get("opening"),
        rob_out=by_key.get("rob_out"),
        close_on=None if close is None else close.likely,
        box=a.job.setup.box,
    )
    if missing is not None:
        return steps.look_first(missing, a.circumstances, course)
    if a.question.crosses_winter:
        return steps.wait_for_spring(a.circumstances, course)
    disagreeing = tuple(row.label for row in rows if row.verdict == "contradicts")
    if disagreeing:
        return steps.check_first(disagreeing, a.circumstances, course)
    way = None if a.best is None else a.best.key
    return steps.steps_for(way, a.circumstances, course)

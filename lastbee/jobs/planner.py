"""The main job: from an inspection to a dated plan.

    job -> question -> posterior -> trap-out and other ways -> decision -> plan

One function, `make_plan`, runs the whole of it; everything it calls is either the engine
(arrays in, arrays out) or words. The same job, seed and number of colonies give the same
plan on the same machine, however many threads it has.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.layout import Sky
from lastbee.forecast.influence import influences
from lastbee.forecast.posterior import condition
from lastbee.jobs import dates, quantities, reasons, steps
from lastbee.jobs.assemble import assemble, circumstances_of
from lastbee.jobs.futures import findings_of, follow
from lastbee.jobs.methods_table import method_rows
from lastbee.jobs.plan import SCHEMA, Plan
from lastbee.jobs.trust import how_sure, missing_look, trust_of, worth_of_looks
from lastbee.jobs.verdict import PLAN_WEEKS, verdict
from lastbee.methods import cautions
from lastbee.methods.compare import compare
from lastbee.methods.loss import Weights

if TYPE_CHECKING:
    from collections.abc import Callable

    from lastbee.forecast.posterior import Posterior
    from lastbee.jobs.assemble import Question
    from lastbee.jobs.futures import Futures
    from lastbee.jobs.job import Job
    from lastbee.jobs.plan import EvidenceRow, Look, Step, Trust
    from lastbee.methods.circumstances import Circumstances
    from lastbee.methods.compare import Way
    from lastbee.methods.rules import Findings

    Progress = Callable[[str, float], None]

FINDING = "Finding colonies that fit the sightings"
FOLLOWING = "Following the trap-out"
WEIGHING = "Weighing each sighting"
COMPARING = "Comparing the ways"
# Where the month after emptiness is warmer than this on the cold scale, comb will sag.
HOT_COLD_INDEX = 0.65
HOT_DAYS = 30


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
    ways = compare(futures.simulated, circumstances, findings, _weights(job), streams[2])
    worths = worth_of_looks(question, futures.simulated.nest, ways, streams[3])
    looks = reasons.look_rows(worths)
    tell(COMPARING, 1.0)
    trust = trust_of(posterior, rows, seed)
    return _write(
        job, question, posterior, futures, circumstances, findings, ways, rows, looks, trust
    )


def _weights(job: Job) -> Weights:
    p = job.preferences
    return Weights(
        p.bees_lost_weight, p.honey_left_weight_per_kg, p.week_weight, p.opening_weight,
        p.honey_limit_kg,
    )  # fmt: skip


def _write(
    job: Job,
    question: Question,
    posterior: Posterior,
    futures: Futures,
    c: Circumstances,
    findings: Findings,
    ways: tuple[Way, ...],
    rows: tuple[EvidenceRow, ...],
    looks: tuple[Look, ...],
    trust: Trust,
) -> Plan:
    """Turn numbers into the document."""
    trap, units = futures.trap, job.preferences.units
    confidence = job.preferences.confidence
    stones = dates.milestones(
        trap, question.cone_on, confidence, futures.safe_day, robs=futures.robs
    )
    by_key = {m.key: m for m in stones}
    robbed = futures.simulated.honey_after_rob_g if futures.robs else None
    left = quantities.left_behind(trap, robbed, units)
    best = next((w.key for w in ways if w.status == "recommended"), None)
    course = steps.Course(
        inspected_on=job.inspection.at.date(),
        cone_on=question.cone_on,
        empty=by_key["empty"],
        rob_out=by_key.get("rob_out"),
        close_on=by_key["close"].likely,
        box=job.setup.box,
    )
    missing = missing_look(rows, looks)
    first: tuple[Step, ...] = ()
    if missing is not None:
        first = (steps.look_first(missing, course),)
    disagreeing = tuple(row.label for row in rows if row.verdict == "contradicts")
    if disagreeing:
        first = (steps.check_first(disagreeing, c, course),)
    end = question.cone_day + futures.end_day
    ahead = question.year.sky[end : end + HOT_DAYS, Sky.COLD]
    effects = reasons.consequences(left[0], c, is_hot_ahead=bool((ahead < HOT_COLD_INDEX).any()))
    return Plan(
        schema=SCHEMA,
        title=job.title,
        client=job.client,
        place=job.site.place,
        prepared_by=job.prepared_by,
        inspected_on=job.inspection.at.date(),
        cone_on=question.cone_on,
        box=job.setup.box,
        confidence=confidence,
        verdict=verdict(
            ways,
            float(trap.empty_by[7 * PLAN_WEEKS - 1]),
            by_key["empty"],
            left[0],
            findings,
            trust,
            missing,
        ),
        contents=quantities.contents(posterior.nest, units),
        founding=quantities.founding_shares(posterior.nest),
        milestones=stones,
        bands=dates.bands(trap, units),
        empty_by=tuple(float(p) for p in trap.empty_by),
        left=left,
        consequences=effects + ((futures.rob_note,) if futures.rob_note else ()),
        queen=quantities.queen_shares(trap),
        box_colony=quantities.box_colony(trap, futures.end_day),
        methods=method_rows(ways, units),
        steps=(*first, *steps.steps_for(best, c, course)),
        evidence=rows,
        looks=looks,
        how_sure=how_sure(question, rows, looks),
        cautions=tuple(
            s for s in (cautions.stings(c), cautions.height(c), cautions.opening(c)) if s
        ),
        trust=trust,
    )

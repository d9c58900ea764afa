"""The main job: from an inspection to a dated plan.

    job -> question -> posterior -> trap-out and other ways -> decision -> plan

One function, `make_plan`, runs the whole of it; everything it calls is either the engine
(arrays in, arrays out) or words. The same job, seed and number of colonies give the same
plan on the same machine, however many threads it has.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.constants import REFERENCE_FLIGHT_H, WET_DAY_FLIGHT_SHARE
from lastbee.colony.founding import draw_colonies
from lastbee.colony.kernel import live
from lastbee.colony.layout import Sky, State
from lastbee.colony.robout import rob_out
from lastbee.evidence import cues
from lastbee.evidence.comb import CombColour
from lastbee.evidence.traffic import TrafficCount
from lastbee.forecast.influence import influences
from lastbee.forecast.posterior import condition
from lastbee.forecast.trapout import TRAP_DAYS, trap_out
from lastbee.jobs import dates, quantities, reasons, steps
from lastbee.jobs.assemble import ROB_DAYS, assemble, circumstances_of
from lastbee.jobs.methods_table import method_rows
from lastbee.jobs.plan import SCHEMA, Plan, Trust
from lastbee.jobs.verdict import PLAN_WEEKS, verdict
from lastbee.methods import cautions
from lastbee.methods.compare import Simulated, compare
from lastbee.methods.looks import value_of_look
from lastbee.methods.loss import Weights
from lastbee.methods.outcomes import SWARM_COMB_DM2
from lastbee.methods.rules import LONGEST_WEEKS, SPRAY_DAYS, Findings
from lastbee.words import mass_unit, number

if TYPE_CHECKING:
    from collections.abc import Callable

    from lastbee.evidence.item import Item
    from lastbee.evidence.nest import Nest
    from lastbee.forecast.posterior import Posterior
    from lastbee.forecast.trapout import TrapOut
    from lastbee.jobs.assemble import Question
    from lastbee.jobs.job import Job
    from lastbee.jobs.plan import EvidenceRow, Look
    from lastbee.methods.circumstances import Circumstances
    from lastbee.methods.compare import Way
    from lastbee.methods.looks import LookValue

    Progress = Callable[[str, float], None]

# Daily records of this many colonies are kept; bands and shares need no more.
FOLLOWED = 4000
# Below these the cloud is too thin, or moves too seldom, to be relied on.
LEAST_EFFECTIVE = 300.0
LEAST_ACCEPTANCE = 0.03
# Sightings that narrow the answer by less than this, in all, leave it nearly as usual.
LITTLE_KNOWN_BITS = 0.5
# A trap-out that ends in air hotter than this on the day leaves comb to sag.
HOT_COLD_INDEX = 0.65


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
    tell("Finding colonies that fit the sightings", 0.0)
    posterior = condition(
        question.items, question.founding, question.year.sky, colonies, streams[0],
        lambda share: tell("Finding colonies that fit the sightings", share),
    )  # fmt: skip
    tell("Following the trap-out", 0.0)
    futures = _follow(posterior, question, job)
    tell("Weighing each sighting", 0.0)
    weighed = influences(
        question.items, posterior.nest, question.founding, question.year.sky, streams[1],
        lambda share: tell("Weighing each sighting", share),
    )  # fmt: skip
    rows = reasons.evidence_rows(weighed, posterior.nest, job.preferences.units)
    tell("Comparing the ways", 0.0)
    circumstances = circumstances_of(job, question)
    findings = _findings(futures, circumstances, job)
    ways = compare(futures.simulated, circumstances, findings, _weights(job), streams[2])
    looks = _looks(question, futures.simulated.nest, ways, streams[3])
    tell("Comparing the ways", 1.0)
    trust = _trust(posterior, rows, seed)
    return _write(job, question, posterior, futures, circumstances, ways, rows, looks, trust)


@dataclass(frozen=True, slots=True)
class _Futures:
    """The same thinned colonies, followed; `robs` says whether a rob-out is planned."""

    simulated: Simulated
    robs: bool
    rob_note: str

    @property
    def trap(self) -> TrapOut:
        return self.simulated.trap


def _follow(posterior: Posterior, question: Question, job: Job) -> _Futures:
    """Follow thinned colonies through trap-out, rob-out, and being left alone."""
    sky, cloud = question.year.sky, posterior.cloud
    trap = trap_out(cloud, question.founding, sky, question.cone_day, FOLLOWED)
    every = max(1, len(cloud.z) // FOLLOWED)
    nest = posterior.nest.take(np.arange(0, len(cloud.z), every))
    params = draw_colonies(cloud.z[::every], question.founding).params
    later, _, _ = live(params, cloud.noise[::every], sky, snap_day=question.cone_day + TRAP_DAYS)
    robs, note = _may_rob(job)
    safe = dates.safe_day(trap, job.preferences.confidence)
    honey = trap.honey_left_g
    if robs and safe is not None:
        start = question.cone_day + safe + 1
        days = sky[start : start + ROB_DAYS]
        wet = 1.0 - days[:, Sky.WET] * (1.0 - WET_DAY_FLIGHT_SHARE)
        flight = days[:, Sky.FLIGHT_H] / REFERENCE_FLIGHT_H * wet
        box = trap.records[:, safe, 2].astype(np.float64)
        honey = rob_out(honey, box, flight, days[:, Sky.FORAGE] * (1.0 - days[:, Sky.DEARTH]))[
            :, -1
        ]
    simulated = Simulated(nest, trap, honey, later[:, State.HONEY])
    return _Futures(simulated, robs and safe is not None, note)


def _may_rob(job: Job) -> tuple[bool, str]:
    """Whether a rob-out is wanted and allowed, and if not why not."""
    sprayed = job.inspection.sprayed
    if not job.setup.rob_out:
        return False, ""
    if job.site.exposing_comb == "barred":
        return False, "No rob-out: the law here bars exposing comb to other bees."
    if sprayed is not None and (job.inspection.at.date() - sprayed).days <= SPRAY_DAYS:
        return False, "No rob-out: the nest was sprayed, and treated honey must not reach bees."
    return True, ""


def _weights(job: Job) -> Weights:
    p = job.preferences
    return Weights(
        p.bees_lost_weight, p.honey_left_weight_per_kg, p.week_weight, p.opening_weight,
        p.honey_limit_kg,
    )  # fmt: skip


def _findings(futures: _Futures, c: Circumstances, job: Job) -> Findings:
    trap, system = futures.trap, job.preferences.units
    honey_kg = trap.honey_left_g / 1000.0
    limit = job.preferences.honey_limit_kg
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
        safe_day=dates.safe_day(trap, job.preferences.confidence),
        swarm_without_comb=float((futures.simulated.nest.comb_dm2 < SWARM_COMB_DM2).mean()),
    )


def _looks(
    question: Question, nest: Nest, ways: tuple[Way, ...], rng: np.random.Generator
) -> tuple[LookValue, ...]:
    """Value the three usual further looks over the ways that a look could still open."""
    open_ways = [w for w in ways if all(r.rests_on_nest for r in w.refusals)]
    if len(open_ways) < 2:
        return ()
    losses = np.column_stack([w.loss_visits for w in open_ways])
    unread = float("nan")
    count = TrafficCount(unread, 5.0, 1, 1.0, max(question.flying.flight_hours, 1.0))
    wanted: dict[str, tuple[Item, ...]] = {
        "count": (count,),
        "thermal": (cues.warm_area(unread),),
        "hole": (
            cues.capped_honey_seen(unread), cues.capped_brood_seen(unread), CombColour(unread),
        ),
    }  # fmt: skip
    done = {item.key for item in question.items}
    return tuple(
        value_of_look(key, items, nest, losses, rng)
        for key, items in wanted.items()
        if key == "count" or not done.issuperset(item.key for item in items)
    )


def _trust(posterior: Posterior, rows: tuple[EvidenceRow, ...], seed: int) -> Trust:
    cloud = posterior.cloud
    warnings = []
    if cloud.effective < LEAST_EFFECTIVE or cloud.acceptance < LEAST_ACCEPTANCE:
        warnings.append(
            f"The sampler found too few colonies that fit (worth {cloud.effective:.0f} independent "
            "ones): run it again with more colonies."
        )
    warnings += [
        f"{row.label} ({row.reading}) contradicts the other sightings: check it, or the others, "
        "before relying on any number here."
        for row in rows
        if row.verdict == "contradicts"
    ]
    return Trust(not warnings, len(cloud.z), round(cloud.effective, 1), seed, tuple(warnings))


def _how_sure(
    question: Question, rows: tuple[EvidenceRow, ...], looks: tuple[Look, ...]
) -> tuple[str, ...]:
    bits = sum(r.information_bits for r in rows)
    found = [
        "Every range holds nine in ten of the simulated colonies that fit the sightings.",
        "The model rests on published figures and stated guesses; it has not yet been held against "
        "closed jobs of this firm.",
    ]
    if not rows:
        found.append("No sightings were given: this is what is usual at this place and date.")
    elif bits < LITTLE_KNOWN_BITS:
        found.append("The sightings say little: the answer is mostly what is usual here.")
    if not looks:
        found.append("None of the usual further looks would change the choice of way.")
    if question.normals_assumed:
        found.append(
            "The climate was guessed from the latitude; monthly normals in the job file sharpen "
            "every date."
        )
    if question.flying.activity < 0.1 and any(r.key == "traffic" for r in rows):
        found.append("Bees hardly flew when they were counted, so that the count says little.")
    return tuple(found)


def _missing_look(rows: tuple[EvidenceRow, ...], looks: tuple[Look, ...]) -> Look | None:
    """The best further look, if little has been seen and looking could change the choice."""
    known = sum(row.information_bits for row in rows)
    return looks[0] if looks and known < LITTLE_KNOWN_BITS else None


def _write(
    job: Job,
    question: Question,
    posterior: Posterior,
    futures: _Futures,
    c: Circumstances,
    ways: tuple[Way, ...],
    rows: tuple[EvidenceRow, ...],
    looks: tuple[LookValue, ...],
    trust: Trust,
) -> Plan:
    """Turn numbers into the document."""
    trap, units = futures.trap, job.preferences.units
    confidence = job.preferences.confidence
    stones = dates.milestones(trap, question.cone_on, confidence, robs=futures.robs)
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
    moved = dates.safe_day(trap, confidence)
    empty_day = question.cone_day + min(moved if moved is not None else 56, TRAP_DAYS - 1)
    ahead = question.year.sky[empty_day : empty_day + 30, Sky.COLD]
    further = reasons.look_rows(looks)
    missing = _missing_look(rows, further)
    first = () if missing is None else (steps.look_first(missing, course),)
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
        box_colony=quantities.box_colony(
            trap, min(moved if moved is not None else 56, TRAP_DAYS - 1)
        ),
        methods=method_rows(ways, units),
        steps=(*first, *steps.steps_for(best, c, course)),
        evidence=rows,
        looks=further,
        how_sure=_how_sure(question, rows, further),
        cautions=tuple(
            s for s in (cautions.stings(c), cautions.height(c), cautions.opening(c)) if s
        ),
        trust=trust,
    )

"""The running job: from an inspection and visits to how it stands and what to do next.

    job -> question and watch -> posterior -> strands of troubles -> progress

`make_progress` runs the whole of it; `progress_of` goes on from an inspection's posterior.
The same job, seed and number of colonies give the same answer, whatever order the visits
were written in.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.course import Trouble
from lastbee.forecast.clearance import emptiness, outlook
from lastbee.forecast.diagnosis import active_troubles, explanations
from lastbee.forecast.posterior import condition
from lastbee.forecast.prospects import foresee
from lastbee.forecast.runs import Seen
from lastbee.forecast.tracking import track
from lastbee.forecast.trapout import TRAP_DAYS, first_reached
from lastbee.jobs import closing, comeback, dates, explained, quantities, standing, story
from lastbee.jobs.assemble import assemble, circumstances_of, weights_of
from lastbee.jobs.assemble_visits import flight_at, watch_of
from lastbee.jobs.methods_table import method_rows
from lastbee.jobs.progress import SCHEMA, Progress
from lastbee.jobs.running_steps import Ahead, running_steps
from lastbee.jobs.sightings import found_nothing, seen_and_left
from lastbee.jobs.troubles import TOLD, TROUBLE_OF_KEY
from lastbee.jobs.trust import trust_of_visits
from lastbee.jobs.visit_looks import what_looks_tell
from lastbee.methods import cautions
from lastbee.methods.anew import Firm, decided_anew
from lastbee.methods.closeout import close_outs, left_by
from lastbee.methods.schedule import LATEST_DAYS, next_visit, suited_days
from lastbee.words import count_unit, mass_unit

if TYPE_CHECKING:
    from collections.abc import Callable

    from lastbee.evidence.scene import Scene
    from lastbee.forecast.posterior import Posterior
    from lastbee.forecast.runs import Runs
    from lastbee.forecast.tracking import Tracked
    from lastbee.forecast.trapout import TrapOut
    from lastbee.jobs.assemble import Question
    from lastbee.jobs.job import Job
    from lastbee.jobs.plan import MethodRow, Quantity
    from lastbee.jobs.progress import Clearance, CloseOutRow, NextVisit, TroubleRow
    from lastbee.jobs.visit_looks import Tells
    from lastbee.methods.circumstances import Circumstances
    from lastbee.methods.schedule import NextVisit as Choice

    Tell = Callable[[str, float], None]

FINDING = "Finding colonies that fit the inspection"
FOLLOWING = "Taking in the visits"
DECIDING = "Weighing what to do next"
# Running trap-outs that the answer is read off, and those that schedules are tried on.
RUNS, SCHEDULED_RUNS, LOOKED_AT = 2000, 600, 500
# A second trouble after a first, and one that comes back, are not modelled: where trouble is
# this likely, or something was put right with this chance of late, the wall is seen again
# within so many days (common practice, no source).
TROUBLED, MENDED, LATELY_DAYS, SOON_DAYS = 0.3, 0.3, 10, 7
# Checks are planned for this long after the last visit.
CHECKED_DAYS = 60


def make_progress(
    job: Job, *, seed: int = 1, colonies: int = 20_000, progress: Tell | None = None
) -> Progress:
    """Say how a running trap-out stands.

    Parameters
    ----------
    job
        A checked job with at least one visit.
    seed
        Start of all random numbers.
    colonies
        Number of colonies in the posterior.
    progress
        Called with the name of the stage and its fraction done.

    Returns
    -------
    The progress.

    Raises
    ------
    DegenerateWeights, NotConverged
        If no answer could be stood behind.
    ValueError
        If there is no visit.
    """
    tell = progress or (lambda _stage, _share: None)
    # The stream that `make_plan` finds the same colonies with.
    stream = np.random.default_rng(np.random.SeedSequence(seed).spawn(1)[0])
    question = assemble(job)
    tell(FINDING, 0.0)
    posterior = condition(
        question.items, question.founding, question.year.sky, colonies, stream,
        lambda share: tell(FINDING, share),
    )  # fmt: skip
    return progress_of(job, question, posterior, seed=seed, tell=tell)


def progress_of(
    job: Job, question: Question, posterior: Posterior, *, seed: int, tell: Tell
) -> Progress:
    """Go on from the posterior of the inspection; see `make_progress`."""
    if not job.visits:
        raise ValueError("a job without visits has no progress")
    rng = np.random.default_rng([seed, 1])
    watch = watch_of(job, question)
    tell(FOLLOWING, 0.0)
    tracked = track(posterior.cloud, watch, rng, lambda share: tell(FOLLOWING, share))
    tell(DECIDING, 0.0)
    told = _write(_now(job, question, tracked, rng), posterior, seed, rng)
    tell(DECIDING, 1.0)
    return told


@dataclass(frozen=True, slots=True)
class _Now:
    """A running trap-out after its last visit.

    `runs` leave out troubles that have not begun; `trap` follows them as things stand,
    `mended` with trouble put right at the next visit, None where no visit is needed.
    """

    job: Job
    question: Question
    circumstances: Circumstances
    tracked: Tracked
    runs: Runs
    trap: TrapOut
    choice: Choice | None
    mended: TrapOut | None

    @property
    def last_day(self) -> int:
        """Day index of the last visit."""
        return self.tracked.watch.visits[-1].day

    @property
    def few(self) -> Runs:
        """Every so manieth trap-out, enough to try looks and checks on."""
        return self.runs.take(np.arange(0, self.runs.size, self.runs.size // LOOKED_AT))

    def circumstances_on(self, day: int) -> Circumstances:
        """What is known around the colony, as of a day index."""
        question = self.question
        return self.circumstances.later(day - question.cone_day, day - question.year.inspection_day)

    def scene_of(self, runs: Runs, day: int) -> Scene:
        """What there is to look at on a day, with everything done so far."""
        cone_day = self.question.cone_day
        _, (scene,) = runs.views(self.question.year.sky, cone_day, cone_day, (Seen(day, (), day),))
        return scene


def _now(job: Job, question: Question, tracked: Tracked, rng: np.random.Generator) -> _Now:
    """Draw the running trap-outs and choose the next visit."""
    sky, cone_day, visits = question.year.sky, question.cone_day, tracked.watch.visits
    last = visits[-1].day
    runs = tracked.runs(len(visits), RUNS, rng, begun_by=last)
    open_ended = tracked.runs(len(visits), SCHEDULED_RUNS, rng)
    choice = next_visit(
        foresee(open_ended, sky, cone_day, last), suited_days(sky), weights_of(job),
        job.preferences.confidence, _within_days(job, runs, last),
    )  # fmt: skip
    mended = None
    if choice is not None:
        ended = replace(runs, courses=runs.courses.ended(choice.day + 1))
        mended = ended.followed(sky, cone_day)
    return _Now(
        job, question, circumstances_of(job, question), tracked, runs,
        runs.followed(sky, cone_day), choice, mended,
    )  # fmt: skip


def _within_days(job: Job, runs: Runs, last_day: int) -> int:
    """How soon the wall is seen again: soon after trouble, whatever the schedule says."""
    going_on = float((active_troubles(runs, last_day + 1) != Trouble.NONE).mean())
    is_soon = going_on >= TROUBLED or seen_and_left(job.visits[-1]) or _was_mended(runs, last_day)
    return SOON_DAYS if is_soon else LATEST_DAYS


def _was_mended(runs: Runs, last_day: int) -> bool:
    """Whether something has likely been put right of late."""
    mended = runs.courses.mended
    return float(((mended > last_day - LATELY_DAYS) & (mended <= last_day + 1)).mean()) >= MENDED


def _write(now: _Now, posterior: Posterior, seed: int, rng: np.random.Generator) -> Progress:
    """Turn numbers into the document."""
    job, question = now.job, now.question
    confidence, units = job.preferences.confidence, job.preferences.units
    told = story.chapters(now.tracked, question, confidence, rng)
    visits = story.visit_rows(job, now.tracked, told, rng)
    rows, tells = _troubles(now, rng)
    cleared = _clearance(now, rows)
    trap_days = now.last_day - question.cone_day
    waited = min(trap_days + standing.WORTH_WAITING_DAYS, TRAP_DAYS - 1)
    mended = None if now.mended is None else story.chapter(now.mended, question, confidence).empty
    standing_now = standing.Standing(
        trap_days=trap_days,
        rows=rows,
        last=visits[-1],
        clearance=cleared,
        first_empty=told[0].empty,
        empty=story.chapter(now.trap, question, confidence).empty,
        empty_if_mended=mended,
        soon=float(now.trap.empty_by[waited]),
        soon_days=waited - trap_days,
        seen=seen_and_left(job.visits[-1]),
        is_winter=question.crosses_winter,
    )
    kind = standing_now.kind
    next_row = None if kind in ("empty", "failed") else _next_visit(now, rows, tells)
    anew = _anew(now, rng) if kind == "failed" else ()
    way = next((row.label for row in anew if row.status == "recommended"), None)
    close_out, closing_list = _close_out(now)
    return Progress(
        schema=SCHEMA,
        title=job.title,
        client=job.client,
        place=job.site.place,
        prepared_by=job.prepared_by,
        cone_on=question.cone_on,
        as_of=job.visits[-1].at.date(),
        kind=kind,
        headline=standing.headline(standing_now),
        changed=standing.changes(standing_now),
        now=_contents(now),
        bands=dates.bands(now.trap, units),
        empty_by=tuple(float(p) for p in now.trap.empty_by),
        milestones=dates.trap_milestones(
            now.trap, question.cone_on, confidence, None, robs=False, opens=False
        ),
        visits=visits,
        troubles=rows,
        next_visit=next_row,
        clearance=cleared,
        close_out=close_out,
        closing_list=closing_list,
        methods=anew,
        steps=running_steps(
            Ahead(job.visits[-1].at.date(), standing_now, next_row, cleared, way),
            now.circumstances,
        ),
        cautions=tuple(
            s for s in (cautions.stings(now.circumstances), cautions.height(now.circumstances)) if s
        ),
        trust=trust_of_visits(
            now.tracked, question, visits[-1].surprise, len(posterior.cloud.z), seed
        ),
    )


def _troubles(now: _Now, rng: np.random.Generator) -> tuple[tuple[TroubleRow, ...], Tells]:
    """Explanations in words, and what each look would tell."""
    visit = now.tracked.watch.visits[-1]
    still = np.bincount(active_troubles(now.runs, now.last_day + 1), minlength=len(Trouble))
    day = now.last_day + 1 if now.choice is None else now.choice.day
    tells = what_looks_tell(now.scene_of(now.few, day), now.few, day, rng)
    explained_now = explanations(now.tracked, now.runs, visit.rates_day)
    rows = explained.trouble_rows(
        explained_now, still / now.runs.size, tells, now.job, now.circumstances
    )
    return rows, tells


def _next_visit(now: _Now, rows: tuple[TroubleRow, ...], tells: Tells) -> NextVisit | None:
    if now.choice is None:
        return None
    likeliest = max(rows, key=lambda r: r.still)
    is_soon = now.choice.day - now.last_day <= SOON_DAYS
    follows_up = is_soon and _was_mended(now.runs, now.last_day)
    chosen = comeback.Chosen(now.choice, TROUBLE_OF_KEY[likeliest.key], tells, follows_up)
    return comeback.next_visit_row(chosen, now.question, now.job, now.circumstances)


def _clearance(now: _Now, rows: tuple[TroubleRow, ...]) -> Clearance:
    """Whether it is empty, and the checks that could show it."""
    visit = now.job.visits[-1]
    sky, cone_day = now.question.year.sky, now.question.cone_day
    confidence = now.job.preferences.confidence
    days = range(now.last_day + 1, min(now.last_day + 1 + CHECKED_DAYS, len(sky)))
    ahead = outlook(
        now.few, sky, cone_day, days, confidence, closing.checks_here(now.circumstances)
    )
    strangers = next(r.still for r in rows if r.key == TOLD[Trouble.SECOND_COLONY].key)
    return closing.clearance(
        ahead, emptiness(now.runs, sky, cone_day, now.last_day), confidence,
        comeback.day_of(0, now.question), now.circumstances, strangers,
        was_looked_for=found_nothing(visit, flight_at(visit, now.job.site).activity),
    )  # fmt: skip


def _anew(now: _Now, rng: np.random.Generator) -> tuple[MethodRow, ...]:
    """Every way compared once more, for the bees that are behind the cone today."""
    job, preferences = now.job, now.job.preferences
    firm = Firm(weights_of(job), preferences.confidence, job.setup.rob_out, preferences.units)
    anew = decided_anew(
        now.runs, now.question.year.sky, now.question.cone_day, now.last_day,
        now.circumstances_on(now.last_day), firm, rng,
    )  # fmt: skip
    end = now.question.cone_on + timedelta(days=TRAP_DAYS)
    return method_rows(anew.ways, preferences.units, end)


def _close_out(now: _Now) -> tuple[tuple[CloseOutRow, ...], tuple[str, ...]]:
    """What to do with what is left, on the day it is likely empty, and the closing list."""
    job, sky, cone_day = now.job, now.question.year.sky, now.question.cone_day
    likely = first_reached(now.trap.empty_by, job.preferences.confidence)
    offset = max(now.last_day - cone_day, TRAP_DAYS - 1 if likely is None else likely)
    robbed = active_troubles(now.runs, now.last_day + 1) == Trouble.ROBBED
    left = left_by(now.trap, min(offset, TRAP_DAYS - 1), robbed.astype(np.float64))
    c = now.circumstances_on(cone_day + offset)
    days = sky[cone_day + offset :]
    ways = close_outs(left, days, c, weights_of(job), job.preferences.units)
    best = next((way.key for way in ways if way.status == "recommended"), None)
    rows = closing.close_out_rows(
        ways, left, days, now.question.cone_on + timedelta(days=offset), job.site.latitude_deg, c,
        job.preferences.units,
    )  # fmt: skip
    return rows, closing.closing_list(c, best)


def _contents(now: _Now) -> tuple[Quantity, ...]:
    """What is in the wall, on it and in the box on the day of the last visit."""
    scene = now.scene_of(now.runs, now.last_day)
    mass, bees = mass_unit(now.job.preferences.units), count_unit("bees", 50.0)
    return (
        quantities.quantity("bees_in_wall", "Bees in the wall", scene.adults, bees),
        quantities.quantity(
            "brood_in_wall", "Brood in the wall", scene.brood_cells, count_unit("cells", 50.0)
        ),
        quantities.quantity("honey_in_wall", "Honey in the wall", scene.honey_g / 1000.0, mass),
        quantities.quantity("bees_on_wall", "Bees hanging on the wall", scene.wall, bees),
        quantities.quantity("bees_in_box", "Bees in the box", scene.box, bees),
    )

"""Forecasts and diagnoses held against trap-outs of the other model.

    python -m verify.other_running

Two questions, each asked on jobs made of bees (`verify.other_jobs`):

1. Are forecasts honest and worth having? Jobs with troubles as often as the other model has
   them; two visits in the first two weeks, at which a sensible technician does the usual
   things. Coverage of the 50, 80 and 90 % ranges of the day from which it is empty, of the
   bees inside and of the honey left; and the continuous ranked probability score of that day
   against two rules of thumb: "four to six weeks, each day alike" and the median of the
   forecast before the first visit.
2. Is the trouble named? Every trouble in turn, begun before the second of weekly visits at
   which nothing is done, in a nest that is not empty before the third. How
   often the true one is first, and among the first two, after so many visits at which it
   was going on; and on sound jobs how often they are called sound.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.course import Trouble
from lastbee.colony.layout import Daily
from lastbee.forecast.diagnosis import active_troubles
from lastbee.forecast.posterior import condition
from lastbee.forecast.scores import crps, is_covered, places
from lastbee.forecast.tracking import track
from lastbee.forecast.trapout import TRAP_DAYS
from lastbee.jobs.assemble import assemble
from lastbee.jobs.assemble_visits import watch_of
from lastbee.jobs.troubles import TOLD, TROUBLE_OF_KEY
from verify.other_jobs import Truth, draw_job
from verify.other_visits import usual_deeds
from verify.workers import in_processes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.forecast.tracking import Tracked
    from lastbee.jobs.assemble import Question
    from lastbee.jobs.job import Job

    Array = NDArray[np.float64]

COVERED = (0.5, 0.8, 0.9)
QUANTITIES = ("clear_day", "bees_inside", "honey_left")
# The trade's four to six weeks, in days from the cone.
RULE_DAYS = np.arange(28.0, 43.0)
FORECAST_VISITS = (5, 15)
NAMING_VISITS = (3, 10, 17, 24)
FORECAST_RUNS = 400
SOUND = TOLD[Trouble.NONE].key
TROUBLES = tuple(TOLD[t].key for t in Trouble if t != Trouble.NONE)


@dataclass(frozen=True, slots=True)
class Forecast:
    """One job: place of the truth in each forecast (3,), and the scores of its clear day."""

    place: Array
    score: float
    rule_score: float
    prior_score: float
    clear_day: float


def _tracked(
    job: Job, seed: np.random.SeedSequence, colonies: int
) -> tuple[Question, Tracked, np.random.Generator]:
    rng = np.random.default_rng(seed)
    question = assemble(job)
    posterior = condition(question.items, question.founding, question.year.sky, colonies, rng)
    return question, track(posterior.cloud, watch_of(job, question), rng), rng


def forecast(seed: np.random.SeedSequence, colonies: int) -> Forecast:
    """Forecast one job of the other model after two visits."""
    job_seed, own_seed = seed.spawn(2)
    job, truth = draw_job(np.random.default_rng(job_seed), None, FORECAST_VISITS, usual_deeds)
    question, tracked, rng = _tracked(job, own_seed, colonies)
    visits = len(job.visits)
    now = tracked.runs(visits, FORECAST_RUNS, rng).followed(question.year.sky, question.cone_day)
    first = tracked.runs(0, FORECAST_RUNS, rng).followed(question.year.sky, question.cone_day)
    clear = float(TRAP_DAYS if truth.clear_day is None else truth.clear_day)
    last = FORECAST_VISITS[-1]
    clouds = np.array(
        [
            now.empty_day.astype(np.float64),
            now.records[:, last, Daily.NEST_BEES].astype(np.float64),
            now.honey_left_g,
        ]
    )
    truths = np.array([clear, float(truth.nest_bees[last]), truth.honey_left_g])

    def scored(days: Array) -> float:
        return float(crps(days, clear, horizon=TRAP_DAYS))

    return Forecast(
        places(clouds, truths, rng),
        scored(now.empty_day.astype(np.float64)),
        scored(RULE_DAYS),
        scored(np.array([np.median(first.empty_day)])),
        clear,
    )


@dataclass(frozen=True, slots=True)
class Naming:
    """One job with a trouble: its rank, from 0, after each visit at which it was going on."""

    key: str
    ranks: tuple[int, ...]
    days: tuple[int, ...]


def name(seed: np.random.SeedSequence, key: str, colonies: int) -> Naming:
    """Track one job with a trouble through weekly visits, and rank the true one each time."""
    job_seed, own_seed = seed.spawn(2)
    job, truth = _to_be_named(np.random.default_rng(job_seed), key)
    _, tracked, rng = _tracked(job, own_seed, colonies)
    ranks, days = [], []
    for k, day in enumerate(NAMING_VISITS):
        is_over = truth.clear_day is not None and truth.clear_day <= day
        if is_over or (key != SOUND and not truth.is_on(day)):
            continue
        runs = tracked.runs(k + 1, FORECAST_RUNS, rng)
        now = active_troubles(runs, tracked.watch.visits[k].rates_day)
        shares = np.bincount(now, minlength=len(Trouble))
        ranks.append(int((shares > shares[TROUBLE_OF_KEY[key]]).sum()))
        days.append(day if truth.onset is None else day - truth.onset)
    return Naming(key, tuple(ranks), tuple(days))


def _to_be_named(rng: np.random.Generator, key: str) -> tuple[Job, Truth]:
    """Draw jobs until the trouble is there to be named: begun early, with bees still inside."""
    while True:
        job, truth = draw_job(rng, "none" if key == SOUND else key, NAMING_VISITS)
        lasts = truth.clear_day is None or truth.clear_day > NAMING_VISITS[2]
        if lasts and (key == SOUND or truth.is_on(NAMING_VISITS[1])):
            return job, truth


def forecasts(jobs: int, colonies: int, seed: int, processes: int = 1) -> tuple[Forecast, ...]:
    """Forecast many jobs; the result does not depend on `processes`."""
    tasks = [(s, colonies) for s in np.random.SeedSequence(seed).spawn(jobs)]
    return tuple(in_processes(forecast, tasks, processes))


def namings(jobs: int, colonies: int, seed: int, processes: int = 1) -> tuple[Naming, ...]:
    """Name the trouble of many jobs of every trouble and of sound ones."""
    keys = [*TROUBLES, SOUND] * jobs
    seeds = np.random.SeedSequence(seed).spawn(len(keys))
    tasks = [(s, key, colonies) for s, key in zip(seeds, keys, strict=True)]
    return tuple(in_processes(name, tasks, processes))


def report_forecasts(found: tuple[Forecast, ...]) -> tuple[list[str], dict[str, float]]:
    """Print-ready lines and the figures behind them."""
    place = np.array([f.place for f in found])
    inside = is_covered(place[:, :, None], np.array(COVERED)).mean(axis=0)
    lines = [
        f"{len(found)} jobs, visits on days {FORECAST_VISITS}",
        "              50 %   80 %   90 %",
    ]
    figures: dict[str, float] = {"other_jobs": float(len(found))}
    for quantity, shares in zip(QUANTITIES, inside, strict=True):
        lines.append(f"{quantity:12s}" + "".join(f"{s:7.2f}" for s in shares))
        for level, share in zip(COVERED, shares, strict=True):
            figures[f"running_coverage{100 * level:.0f}_{quantity}"] = float(share)
    for level, share in zip(COVERED, inside[0], strict=True):
        figures[f"coverage{100 * level:.0f}"] = float(share)
    ours, rule, prior = (
        float(np.mean([getattr(f, field) for f in found]))
        for field in ("score", "rule_score", "prior_score")
    )
    lines.append(
        f"CRPS of the clear day: {ours:.2f} days; four to six weeks {rule:.2f}; "
        f"median before the visits {prior:.2f}"
    )
    figures |= {"crps_days": ours, "crps_vs_rule": ours / rule, "crps_vs_prior": ours / prior}
    return lines, figures


def report_namings(found: tuple[Naming, ...]) -> tuple[list[str], dict[str, float]]:
    """Print-ready lines and the figures behind them."""
    lines = ["trouble         jobs   first after 1, 2, 3 visits   first two after 1, 2, 3   days"]
    figures: dict[str, float] = {}
    after_two = []
    for key in (*TROUBLES, SOUND):
        mine = [n for n in found if n.key == key]
        first = [_share(mine, k, 0) for k in range(3)]
        two = [_share(mine, k, 1) for k in range(3)]
        until = [
            next((d for r, d in zip(n.ranks, n.days, strict=True) if r == 0), None) for n in mine
        ]
        named = [d for d in until if d is not None]
        days = f"{np.median(named):6.0f}" if named else "     -"
        lines.append(
            f"{key:15s}{len(mine):5d}   "
            + "".join(f"{s:7.2f}" for s in first)
            + "        "
            + "".join(f"{s:7.2f}" for s in two)
            + f"   {days}"
        )
        figures |= {f"first_{k + 1}_{key}": s for k, s in enumerate(first) if np.isfinite(s)}
        if key != SOUND:
            after_two.append(first[1])
    figures["trouble_first"] = float(np.nanmean(after_two))
    lines.append(
        f"the true trouble first after two visits, all troubles alike: "
        f"{figures['trouble_first']:.2f}"
    )
    return lines, figures


def _share(found: list[Naming], k: int, worst: int) -> float:
    ranks = [n.ranks[k] for n in found if len(n.ranks) > k]
    return float(np.mean([r <= worst for r in ranks])) if ranks else float("nan")


if __name__ == "__main__":
    for told in (
        report_forecasts(forecasts(100, 2200, seed=20260901, processes=2)),
        report_namings(namings(20, 2200, seed=20260902, processes=2)),
    ):
        print("\n".join(told[0]))

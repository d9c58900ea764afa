"""What planned visits save against a routine, on trap-outs of the other model.

    python -m verify.visits_saving --jobs 60

The same job (`verify.other_jobs`: same colony, weather, trouble, technician and luck) is
visited in three ways:

- *weekly*, on days 7, 14, 21, ... after the cone;
- *twice*, on days 14 and 35, and every three weeks after that if it is not over;
- *planned*: before the first visit and after each, lastbee takes in all that was seen and
  says when to come back.

The technician, and what he does about what he sees, are the same in all, and where he
hopes to be done (the visit before was silent; or the forecast gives it an even chance) he
stays for three counts instead of one. By a rule of the
trade the routines are over when on two visits running no bee leaves in a five-minute count,
none goes in elsewhere, nothing is heard and the cone is free; the planned way when
lastbee's probability of being empty reaches 95 %. So that dates can be told from closing
rules, `--told` adds the routines closed as the planned way is.

Too soon is a job closed while more than 50 bees and brood are left. More than 200, and
somebody has to come back for a colony (`lastbee.methods.loss.REMAIN`). Lost are bees that
drift off, leave the box, or die on the wall or in the cavity, of those that were in the wall
with their brood when the cone went on.

Before that comes a table of what the engine itself expects, of trap-outs of its own prior,
with no posterior to plan by after the first visit.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.founding import Cavity, Founding
from lastbee.errors import EngineError
from lastbee.forecast.clearance import emptiness
from lastbee.forecast.posterior import condition
from lastbee.forecast.prospects import foresee
from lastbee.forecast.runs import Watch
from lastbee.forecast.tracking import track
from lastbee.forecast.trapout import TRAP_DAYS
from lastbee.jobs.assemble import assemble
from lastbee.jobs.assemble_visits import watch_of
from lastbee.methods.loss import REMAIN, REMAINING_BEES, Weights
from lastbee.methods.schedule import expected_cost, next_visit, suited_days
from lastbee.methods.visits import Schedule
from lastbee.planning.sky import year_at
from verify.ages import BOX, LATITUDE_DEG, LONGITUDE_DEG, NORMALS
from verify.other_jobs import Running, start
from verify.other_trapout import EMPTY_BEES
from verify.other_visits import usual_deeds, usual_hour
from verify.workers import in_processes

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    from lastbee.forecast.posterior import Posterior
    from lastbee.jobs.assemble import Question
    from lastbee.jobs.visit import Visit

    Array = NDArray[np.float64]

COLONIES, RUNS = 2000, 600
CONFIDENCE = 0.95
LAST_DAY = 110
SILENT_VISITS, HOPEFUL_LOOKS, EVEN = 2, 3, 0.5
OWN_DATES = (date(2026, 6, 1), date(2026, 7, 1), date(2026, 8, 1))
WEIGHTS = Weights()
WAYS = ("weekly", "twice", "planned")
TOLD_WAYS = ("weekly, told", "twice, told")


@dataclass(frozen=True, slots=True)
class Course:
    """How a job went one way; days count from the cone, `left` are bees and brood at the end."""

    visits: int
    closed_on: int | None
    idle_days: int
    troubled_days: int
    share_lost: float
    left: int

    @property
    def too_soon(self) -> bool:
        """Whether it was closed with more bees left than make it empty."""
        return self.closed_on is not None and self.left > EMPTY_BEES

    @property
    def cost(self) -> float:
        """What it cost, in visits."""
        weeks = (LAST_DAY if self.closed_on is None else self.closed_on) / 7.0
        return (
            self.visits
            + WEIGHTS.week * weeks
            + WEIGHTS.bees_lost * self.share_lost
            + WEIGHTS.opening * (self.closed_on is None)
            + REMAIN * (self.closed_on is not None and self.left > REMAINING_BEES)
        )


@dataclass(slots=True)
class _Books:
    """Bees lost of a running job, kept hour by hour."""

    running: Running
    at_stake: int
    lost: float = 0.0

    def live_until(self, day: int, hour: int) -> None:
        """Live on, counting who dies on the wall and in the cavity."""
        t = self.running.trapout
        while (t.day, t.hour) < (day, hour):
            self._hour(t.day, t.hour + 1)

    def visit(self, day: int, looks: int) -> list[Visit]:
        """Visit at the technician's own hour, or for some hours from then on."""
        t, seen = self.running.trapout, []
        first = usual_hour(t, day)
        for hour in range(first, first + looks):
            self.live_until(day, hour)
            before, gone = t.dead_below, t.gone
            seen.append(self.running.visit(day, hour))
            self.lost += t.dead_below - before + t.gone - gone
        return seen

    def _hour(self, day: int, hour: int) -> None:
        t = self.running.trapout
        is_morning = t.hour == 0
        # In the morning three tenths of the dead that lie below are carried off.
        before, gone = t.dead_below * (0.7 if is_morning else 1.0), t.gone
        t.live_until(day, hour)
        self.lost += t.dead_below - before + t.gone - gone + t.corpses * is_morning


@dataclass(frozen=True, slots=True)
class _Answer:
    """Probability of being empty now, day after the cone to come back on, likely empty then."""

    is_empty: float
    come_back: int | None
    is_hopeful: bool


@dataclass(frozen=True, slots=True)
class _Forecast:
    """What lastbee is asked along the way of one job."""

    question: Question
    posterior: Posterior
    seed: int

    def ask(self, running: Running) -> _Answer:
        """Ask how it stands and when to come back."""
        question = self.question
        made, cone_day = running.job().visits, question.cone_day
        rng = np.random.default_rng([self.seed, len(made)])
        tracked = track(self.posterior.cloud, watch_of(running.job(), question), rng)
        runs = tracked.runs(len(made), RUNS, rng)
        last = question.year.index_of(made[-1].at.date()) if made else cone_day
        sky = question.year.sky
        prospects = foresee(runs, sky, cone_day, last)
        choice = next_visit(prospects, suited_days(sky), WEIGHTS, CONFIDENCE)
        is_empty = emptiness(runs, sky, cone_day, last) if made else 0.0
        if choice is None:
            return _Answer(is_empty, None, False)
        then = float((prospects.empty[:, -1] <= choice.day).mean())
        return _Answer(is_empty, choice.day - cone_day, then > EVEN)


def silent_visits(before: int, looks: list[Visit]) -> int:
    """Silent visits running, by the trade's rule: one that could not count does not break them."""
    if any(_lives(look) for look in looks):
        return 0
    return before + any(look.cone is not None and look.sky != "rain" for look in looks)


def _lives(seen: Visit) -> bool:
    """Whether anything comes out, goes in or is heard, or the cone is not free."""
    out = seen.cone is not None and bool(seen.cone.bees_out)
    elsewhere = seen.elsewhere is not None and bool(seen.elsewhere.is_seen)
    heard = seen.wall is not None and bool(seen.wall.hum_heard)
    return out or elsewhere or heard or seen.cone_state in {"partly blocked", "blocked"}


def routine(way: str) -> Iterator[int]:
    """Days after the cone of a routine."""
    first, step = ((7, 14), 7) if way.startswith("weekly") else ((14, 35), 21)
    yield from first
    yield from range(first[-1] + step, LAST_DAY + 1, step)


def course_of(seed: int, way: str, forecast: _Forecast) -> Course:
    """Play a job one way."""
    running = start(seed)
    t = running.trapout
    books = _Books(running, running.bees_at_cone + t.inside.cells)
    days = None if way == "planned" else routine(way)
    asks = way == "planned" or way.endswith("told")
    answer = forecast.ask(running) if asks else _Answer(0.0, None, False)
    went, silent, closed_on = 0, 0, None
    wanted = answer.come_back if days is None else next(days)
    while wanted is not None and wanted <= LAST_DAY:
        looks = HOPEFUL_LOOKS if answer.is_hopeful or silent else 1
        seen = books.visit(wanted, looks)
        went += 1
        silent = silent_visits(silent, seen)
        running.do(usual_deeds(seen[-1], wanted))
        answer = forecast.ask(running) if asks else answer
        if answer.is_empty >= CONFIDENCE if asks else silent >= SILENT_VISITS:
            closed_on = wanted
            break
        wanted = answer.come_back if days is None else next(days, None)
    return _ended(books, went, closed_on)


def _ended(books: _Books, went: int, closed_on: int | None) -> Course:
    """Read off what became of it, up to the evening on which it was closed."""
    t = books.running.trapout
    last = LAST_DAY if closed_on is None else closed_on
    books.live_until(last + 1, 0)
    left = np.array([e.nest + e.brood for e in t.evenings[: last + 1]])
    above = np.flatnonzero(left > EMPTY_BEES)
    clear = int(above[-1]) + 1 if len(above) else 0
    onset = last if t.fault.onset is None else t.fault.onset
    ended = last if t.fault.ended is None else t.fault.ended
    return Course(
        visits=went,
        closed_on=closed_on,
        idle_days=max(0, last - clear),
        troubled_days=max(0, min(ended, last) - onset),
        share_lost=books.lost / books.at_stake,
        left=int(left[-1]),
    )


def one_job(seed: int, ways: tuple[str, ...]) -> dict[str, Course] | None:
    """Play one job every way; None where lastbee stood behind no answer."""
    question = assemble(start(seed).job())
    try:
        posterior = condition(
            question.items, question.founding, question.year.sky, COLONIES,
            np.random.default_rng(seed),
        )  # fmt: skip
        forecast = _Forecast(question, posterior, seed)
        return {way: course_of(seed, way, forecast) for way in ways}
    except EngineError:
        return None


def compare(
    jobs: int, seed: int, processes: int = 1, ways: tuple[str, ...] = WAYS
) -> dict[str, tuple[Course, ...]]:
    """Play many jobs every way; the same place in each tuple is the same job."""
    seeds = np.random.SeedSequence(seed).generate_state(jobs, np.uint64) >> np.uint64(2)
    found = in_processes(one_job, [(int(s), ways) for s in seeds], processes)
    answered = [job for job in found if job is not None]
    return {way: tuple(job[way] for job in answered) for way in ways}


def report(found: dict[str, tuple[Course, ...]]) -> tuple[list[str], dict[str, float]]:
    """Lines of a table, and its figures by name."""
    jobs = len(found["planned"])
    lines = [
        f"{jobs} jobs; means a job, costs in visits",
        f"{'':14}{'visits':>8}{'weeks':>8}{'idle d':>8}{'trouble d':>11}{'lost %':>8}"
        f"{'too soon':>10}{'left':>7}{'unclosed':>10}{'cost':>8}{'of weekly':>16}",
    ]
    figures: dict[str, float] = {"saving_jobs": float(jobs)}
    weekly = np.array([c.cost for c in found["weekly"]])
    for way, courses in found.items():
        cost = np.array([c.cost for c in courses])
        low, high = _interval(cost, weekly)
        soon = [c.left for c in courses if c.too_soon]
        lines.append(
            f"{way:14}{_mean(c.visits for c in courses):8.2f}"
            f"{_mean((c.closed_on or LAST_DAY) / 7.0 for c in courses):8.2f}"
            f"{_mean(c.idle_days for c in courses):8.1f}"
            f"{_mean(c.troubled_days for c in courses):11.1f}"
            f"{100.0 * _mean(c.share_lost for c in courses):8.1f}{len(soon):10d}"
            f"{_mean(soon):7.0f}{sum(c.closed_on is None for c in courses):10d}"
            f"{cost.mean():8.2f}{cost.mean() / weekly.mean():7.2f} ({low:.2f}-{high:.2f})"
        )
        key = way.replace(", ", "_")
        figures |= {
            f"saving_{key}_cost": float(cost.mean()),
            f"saving_{key}_visits": _mean(c.visits for c in courses),
            f"saving_{key}_idle_days": _mean(c.idle_days for c in courses),
            f"saving_{key}_lost": _mean(c.share_lost for c in courses),
            f"saving_{key}_too_soon": len(soon) / jobs,
        }
    return lines, figures


def _mean(values: Iterable[float]) -> float:
    listed = list(values)
    return float(np.mean(listed)) if listed else 0.0


def _interval(cost: Array, weekly: Array) -> tuple[float, float]:
    """Nine tenths of the ratio of mean costs, jobs drawn again with replacement."""
    drawn = np.random.default_rng(1).integers(0, len(cost), (2000, len(cost)))
    ratio = cost[drawn].mean(axis=1) / weekly[drawn].mean(axis=1)
    return float(np.quantile(ratio, 0.05)), float(np.quantile(ratio, 0.95))


def own_table(seed: int = 1) -> list[str]:
    """Expected cost of the same schedules on trap-outs of our own prior, begun on three days."""
    lines = [
        f"{'':24}{'visits':>8}{'idle d':>8}{'trouble d':>11}{'lost %':>8}{'cost':>8}"
        f"{'avoidable':>11}"
    ]
    for inspected in OWN_DATES:
        year = year_at(LATITUDE_DEG, LONGITUDE_DEG, inspected, NORMALS, TRAP_DAYS + 2)
        founding = Founding(year.arrivals, year.swarm_share_so_far, Cavity(), BOX)
        cone = year.inspection_day + 1
        rng = np.random.default_rng(seed)
        prior = condition((), founding, year.sky, COLONIES, rng)
        tracked = track(prior.cloud, Watch(founding, year.sky, cone, (), (), ()), rng)
        prospects = foresee(tracked.runs(0, COLONIES, rng), year.sky, cone, cone)
        suited = suited_days(year.sky)
        chosen = next_visit(prospects, suited, WEIGHTS, CONFIDENCE)
        outlooks = {
            way: expected_cost(schedule, prospects, suited, WEIGHTS, CONFIDENCE)
            for way, schedule in (
                ("weekly", Schedule((cone + 7,), 7)),
                ("twice", Schedule((cone + 14, cone + 35), 21)),
            )
        }
        if chosen is not None:
            outlooks["planned"] = chosen.best
        lines += [
            f"{inspected:%d %b} {way:17}{o.cost.visits:8.2f}{o.days_idle:8.1f}"
            f"{o.days_troubled:11.1f}{100.0 * o.share_lost:8.1f}{o.cost.total:8.2f}"
            f"{o.cost.total - o.cost.unavoidable:11.2f}"
            for way, o in outlooks.items()
        ]
    return lines


def main() -> None:
    """Play and tell."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--jobs", type=int, default=60)
    parser.add_argument("--seed", type=int, default=20260801)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--told", action="store_true", help="close the routines by forecast too")
    asked = parser.parse_args()
    ways = WAYS + TOLD_WAYS * asked.told
    print(*own_table(), "", sep="\n", flush=True)
    found = compare(asked.jobs, asked.seed, asked.processes, ways)
    print(*report(found)[0], sep="\n")


if __name__ == "__main__":
    main()

"""Coverage of the plan's ranges on colonies that did not come from our model.

Jobs are made by `verify.other_colony`: a colony is founded, lives, is noticed and
inspected, and then really trapped out. Its readings have errors of their own kinds (dates
rounded to weeks, an eye that is off by a share, colours judged a step wrong). Then lastbee
plans from the readings alone, and each range is asked whether it held the truth.

Coverage near 50, 80 and 90 % says that the ranges are honest about more than our own
model. The last columns say which way the truth lay: how often below and how often above the
90 % range (5 % each if it is honest), and its mean place among the posterior, 0 to 1; above
0.5 the plan guesses too low.

Beside the middling world there are others, each off in one thing that a technician cannot
see: a rich and a poor country, and foragers that make nearly twice the trips.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.founding import Cavity, Founding
from lastbee.evidence import cues
from lastbee.evidence.comb import CombColour, CombSize
from lastbee.evidence.told import FirstSeen, SwarmSeen
from lastbee.evidence.traffic import TrafficCount
from lastbee.forecast import scores
from lastbee.forecast.posterior import condition
from lastbee.forecast.trapout import TRAP_DAYS, trap_out
from lastbee.planning.flying import flight_activity_at
from lastbee.planning.sky import year_at
from verify.ages import BOX, LATITUDE_DEG, LONGITUDE_DEG, NORMALS
from verify.other_colony import Colony, found_swarm, trap, weather_of, winter_over
from verify.workers import in_processes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.item import Item

QUANTITIES = ("age", "adults", "honey", "clearance", "honey_left")
COVERED = (0.5, 0.8, 0.9)
YEAR = 2026
CONE_AFTER_DAYS = 2
NOTICED_BEES = 800.0
FIRST_INSPECTION, LAST_INSPECTION = 135, 232
SWARM_SHARE, OLD_COMB_SHARE = 0.5, 0.12


@dataclass(frozen=True, slots=True)
class World:
    """What differs from place to place: nectar against the usual, trips an hour of flight."""

    bloom: float = 1.0
    trips_per_h: float = 0.6


WORLDS = {
    "middling": World(),
    "rich": World(bloom=1.7),
    "poor": World(bloom=0.6),
    "busy": World(trips_per_h=1.1),
}


@dataclass(frozen=True, slots=True)
class RealJob:
    """A colony at its inspection, what was read, and (after the cone) what came of it."""

    inspected: date
    cavity: Cavity
    items: tuple[Item, ...]
    truth: NDArray[np.float64]
    is_swarm: bool


@dataclass(frozen=True, slots=True)
class Coverage:
    """Place of the truth in each posterior, 0 to 1, shape (jobs, quantities)."""

    places: NDArray[np.float64]
    is_swarm: NDArray[np.bool_]

    def inside(self) -> NDArray[np.float64]:
        """Share of jobs inside each interval, shape (quantities, len(COVERED))."""
        return scores.is_covered(self.places[..., None], COVERED).mean(axis=0)


def real_job(rng: np.random.Generator, world: World) -> RealJob:
    """Live a colony that somebody called about, read it, and trap it out."""
    while True:
        weather = weather_of(
            NORMALS.high_degc, NORMALS.wet_day_share, LATITUDE_DEG, rng, world.bloom
        )
        inspection = int(rng.integers(FIRST_INSPECTION, LAST_INSPECTION))
        cavity = Cavity(0.37, float(rng.choice([0.09, 0.14, 0.2])), float(rng.uniform(1.2, 2.6)))
        litres = 1000.0 * cavity.width_m * cavity.depth_m * cavity.length_m  # type: ignore[operator]
        limit = litres / 0.35 * rng.uniform(0.65, 1.0)
        kind = rng.random()
        if kind < SWARM_SHARE + OLD_COMB_SHARE:
            arrived = int(rng.triangular(105, 142, 232))
            if arrived > inspection - 2:
                continue
            colony = found_swarm(arrived, weather, rng, limit, kind >= SWARM_SHARE)
        else:
            colony = winter_over(weather, rng, limit)
        while colony.day < inspection:
            colony.live_a_day()
        if colony.adults >= NOTICED_BEES:
            break
    is_swarm = kind < SWARM_SHARE + OLD_COMB_SHARE
    # An old nest counts from the start of its season, 15 February, as in the plan.
    age = colony.days_lived if is_swarm else inspection - 45
    inspected = date(YEAR, 1, 1) + timedelta(days=inspection)
    is_dark = not is_swarm or kind >= SWARM_SHARE
    items = _read(colony, world, inspected, age, is_swarm, is_dark, cavity, rng)
    seen = (float(age), colony.adults, colony.honey_g)
    for _ in range(CONE_AFTER_DAYS):
        colony.live_a_day()
    ended = trap(colony, TRAP_DAYS)
    truth = np.array([*seen, float(ended.empty_day), ended.honey_left_g])
    return RealJob(inspected, cavity, items, truth, is_swarm)


def _read(
    colony: Colony,
    world: World,
    inspected: date,
    age: int,
    is_swarm: bool,
    is_dark: bool,
    cavity: Cavity,
    rng: np.random.Generator,
) -> tuple[Item, ...]:
    """What a person might read off it; each sighting is made or not by chance."""
    items: list[Item] = []
    if rng.random() < 0.9:
        items.append(_count(colony, world, inspected, rng))
    if rng.random() < 0.5 and colony.comb_dm2 > 2.0:
        share = rng.beta(2.0, 2.0)
        area = max(1.0, round(share * colony.comb_dm2 * rng.normal(1.0, 0.2)))
        items.append(CombSize(float(area), is_area=True, is_whole=False))
        months = 18.0 if is_dark else age / 30.0
        shade = int(np.searchsorted([0.4, 1.5, 4.0, 12.0], months)) + int(rng.integers(-1, 2))
        items.append(CombColour(float(np.clip(shade, 0, 4))))
    if rng.random() < 0.85:
        noticed = age - rng.exponential(9.0) if is_swarm else rng.lognormal(np.log(45.0), 1.0)
        if rng.random() < 0.4:
            noticed = 7.0 * round(noticed / 7.0)
        items.append(FirstSeen(float(np.clip(round(noticed), 0, 390))))
    if is_swarm and rng.random() < 0.2:
        items.append(SwarmSeen(float(max(0, age + int(rng.integers(-1, 2))))))
    if rng.random() < 0.4:
        sheet = colony.brood_cells / 790.0 / 0.65 + 0.3 * min(colony.comb_dm2, colony.adults / 200)
        face = 0.35 * sheet / min(10.0 * (cavity.depth_m or 1.0), 2.5)
        items.append(cues.warm_area(float(max(1.0, round((face + 3.0) * rng.lognormal(0.0, 0.4))))))
    if rng.random() < 0.3:
        capped = float(colony.brood[9:].sum())
        items.append(cues.capped_brood_seen(float(rng.random() < capped / (capped + 1500.0))))
    if rng.random() < 0.5:
        larvae = float(colony.brood[3:9].sum())
        items.append(cues.pollen_carried(float(rng.random() < larvae / (larvae + 250.0)), 1.0))
    if rng.random() < 0.5:
        sees = rng.random() < colony.drones / (colony.drones + 90.0)
        items.append(cues.drones_flying(float(sees), 1.0))
    return tuple(items)


def _count(colony: Colony, world: World, inspected: date, rng: np.random.Generator) -> TrafficCount:
    """Five minutes at the exit on a fine afternoon."""
    foragers = 10.0 * float(colony.is_forager.sum())
    trips_per_h = rng.lognormal(np.log(world.trips_per_h), 0.3)
    busy = 0.85 * rng.lognormal(0.0, 0.25)
    rate = foragers * trips_per_h * busy / 60.0
    when = datetime(inspected.year, inspected.month, inspected.day, 19, tzinfo=UTC)
    flying = flight_activity_at(
        when, "UTC", 24.0, "sun", "calm", LATITUDE_DEG, LONGITUDE_DEG, NORMALS
    )
    count = rng.poisson(5.0 * rate * rng.lognormal(0.0, 0.2))
    return TrafficCount(float(count), 5.0, 1, flying.activity, flying.flight_hours)


def one_job(
    seed: np.random.SeedSequence, colonies: int, world: World
) -> tuple[NDArray[np.float64], bool]:
    """Place of the truth in the posterior of one job, and whether it was a swarm."""
    rng = np.random.default_rng(seed)
    job = real_job(rng, world)
    ahead = CONE_AFTER_DAYS + TRAP_DAYS + 1
    year = year_at(LATITUDE_DEG, LONGITUDE_DEG, job.inspected, NORMALS, ahead)
    founding = Founding(year.arrivals, year.swarm_share_so_far, job.cavity, BOX)
    posterior = condition(job.items, founding, year.sky, colonies, rng)
    cone = year.inspection_day + CONE_AFTER_DAYS
    future = trap_out(posterior.cloud, founding, year.sky, cone)
    nest = posterior.nest
    cloud = np.column_stack(
        [nest.age_days, nest.adults, nest.honey_g, future.empty_day, future.honey_left_g]
    )
    return scores.places(cloud.T, job.truth, rng), job.is_swarm


def cover(
    jobs: int, colonies: int, seed: int, processes: int = 1, world: str = "middling"
) -> Coverage:
    """Plan `jobs` real jobs and find the truth in each answer.

    Parameters
    ----------
    jobs
        Number of jobs.
    colonies
        Colonies in each posterior.
    seed
        Start of all random numbers; the result does not depend on `processes`.
    processes
        Processes to share the work.
    world
        One of WORLDS.

    Returns
    -------
    The coverage.
    """
    tasks = [(s, colonies, WORLDS[world]) for s in np.random.SeedSequence(seed).spawn(jobs)]
    places, swarms = zip(*in_processes(one_job, tasks, processes), strict=True)
    return Coverage(np.array(places), np.array(swarms))


def report(found: Coverage, world: str = "middling") -> tuple[list[str], dict[str, float]]:
    """Print-ready lines and the figures behind them, for all jobs and by kind."""
    lines: list[str] = []
    figures: dict[str, float] = {}
    kinds = {
        "": np.ones(len(found.places), dtype=bool),
        "_swarms": found.is_swarm,
        "_old_nests": ~found.is_swarm,
    }
    for mark, chosen in kinds.items():
        some = Coverage(found.places[chosen], found.is_swarm[chosen])
        title = mark.replace("_", " ").strip() or "all"
        lines.append(f"{world}, {title}: {len(some.places)} jobs")
        lines.append("quantity      50 %   80 %   90 %   below  above   mean place of truth")
        for name, shares, places in zip(QUANTITIES, some.inside(), some.places.T, strict=True):
            middle = float(places.mean())
            tails = (float((places < 0.05).mean()), float((places > 0.95).mean()))
            row = "".join(f"{s:7.2f}" for s in (*shares, *tails))
            lines.append(f"{name:11s}{row}{middle:14.2f}")
            figures[f"other_model_{world}_place{mark}_{name}"] = middle
            figures[f"other_model_{world}_below{mark}_{name}"] = tails[0]
            figures[f"other_model_{world}_above{mark}_{name}"] = tails[1]
            for level, share in zip(COVERED, shares, strict=True):
                key = f"other_model_{world}_coverage_{100 * level:.0f}{mark}_{name}"
                figures[key] = float(share)
    return lines, figures


if __name__ == "__main__":
    for each in WORLDS:
        for line in report(cover(200, 1500, seed=20260701, processes=2, world=each), each)[0]:
            print(line)

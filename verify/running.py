"""Simulation-based calibration of running trap-outs: inspection, visits, deeds, troubles.

As in `verify.calibration`, but the colony goes on through a trap-out with a trouble drawn
from the prior, is visited on a few days, and things are done there at random. Ranked are
what people read on the day of the last visit: age, adults, honey, and the day from which it
is empty; and how often troubles are as likely as they are said to be (Brier's score of the
probabilities against that of the prior's shares).

    python -m verify.running
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.course import PRIOR, Deed, DeedKind, Trouble
from lastbee.colony.founding import Founding
from lastbee.evidence import at_cone, cues, in_box, outside
from lastbee.evidence.item import SizeOrNone
from lastbee.forecast.diagnosis import active_troubles
from lastbee.forecast.posterior import condition, log_alive
from lastbee.forecast.runs import Seen, Watch
from lastbee.forecast.scores import is_covered, places, ranks, uniformity
from lastbee.forecast.tracking import track
from lastbee.planning.sky import year_at
from verify.ages import BOX, LATITUDE_DEG, LONGITUDE_DEG, NORMALS
from verify.calibration import CAVITIES, some_items
from verify.workers import in_processes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.item import Item
    from lastbee.evidence.scene import Scene
    from lastbee.forecast.runs import Runs

    Array = NDArray[np.float64]

QUANTITIES = ("age", "adults", "honey", "empty_day")
DRAWS = 19
COVERED = (0.5, 0.8, 0.9)
INSPECTED = (date(2026, 6, 12), date(2026, 7, 6), date(2026, 7, 30))
CONE_AFTER_DAYS, AHEAD_DAYS = 3, 200
VISIT_DAYS = ((3, 10), (7, 14, 24), (5,), (14, 28))
DEED_CHANCE = 0.3
_BATCH = 32
_UNREAD = float("nan")


@cache
def sites() -> tuple[tuple[Founding, Array], ...]:
    """Calendars of three dates, with sky enough for a whole trap-out."""
    found = []
    for day, cavity in zip(INSPECTED, CAVITIES, strict=True):
        year = year_at(LATITUDE_DEG, LONGITUDE_DEG, day, NORMALS, AHEAD_DAYS)
        found.append((Founding(year.arrivals, year.swarm_share_so_far, cavity, BOX), year.sky))
    return tuple(found)


def some_sightings(rng: np.random.Generator) -> tuple[Item[Scene], ...]:
    """Pick a random half of what a visit can see, unread."""
    activity = float(rng.choice([0.05, 0.5, 0.95]))
    hour = (activity, 9.0)
    items: tuple[Item[Scene], ...] = (
        at_cone.bees_out(_UNREAD, 5.0, *hour),
        at_cone.bees_back_in(_UNREAD, 5.0, *hour),
        at_cone.cone_state(_UNREAD),
        at_cone.dead_bees(_UNREAD),
        outside.going_in_elsewhere(_UNREAD, 10.0, *hour),
        outside.cluster_on_wall(_UNREAD),
        in_box.frames_of_bees(_UNREAD, activity),
        in_box.BoxGain(_UNREAD),
        in_box.eggs_in_box(_UNREAD),
        in_box.robbing_at_box(_UNREAD, activity),
        cues.hum_heard(_UNREAD),
        cues.warm_to_hand(_UNREAD),
    )
    return tuple(item for item in items if rng.random() < 0.5)


def some_deeds(visits: tuple[Seen, ...], rng: np.random.Generator) -> tuple[Deed, ...]:
    """Do something at some of the visits, whatever was seen."""
    kinds = list(DeedKind)
    return tuple(
        Deed(visit.day + 1, kinds[rng.integers(len(kinds))])
        for visit in visits
        if rng.random() < DEED_CHANCE
    )


def imagined_trap_out(rng: np.random.Generator) -> tuple[Watch, Runs]:
    """Draw one running trap-out of the prior, and all that was seen of it."""
    founding, sky = sites()[rng.integers(len(INSPECTED))]
    cone_day = founding.inspection_day + CONE_AFTER_DAYS
    days = VISIT_DAYS[rng.integers(len(VISIT_DAYS))]
    visits = tuple(Seen(cone_day + d, some_sightings(rng), cone_day + d) for d in days)
    watch = Watch(founding, sky, cone_day, some_items(rng), visits, some_deeds(visits, rng))
    trouble = Trouble(int(rng.choice(len(PRIOR), p=[PRIOR[t] for t in Trouble])))
    while True:
        z = rng.standard_normal((_BATCH, watch.dimensions))
        runs = watch.runs(z, rng.integers(0, 2**63, _BATCH, dtype=np.uint64), trouble)
        nest, scenes = runs.views(sky, founding.inspection_day, cone_day, visits)
        called = rng.random(_BATCH) < np.exp(log_alive(nest))
        readings = np.stack([item.draw(nest, rng) for item in watch.inspected])
        usable = np.flatnonzero(called & ~np.isnan(readings).any(axis=0))
        if len(usable):
            one = usable[:1]
            seen = tuple(
                replace(visit, items=_read(visit.items, scene.take(one), rng))
                for visit, scene in zip(visits, scenes, strict=True)
            )
            known = tuple(
                replace(item, value=float(value))  # type: ignore[type-var]
                for item, value in zip(watch.inspected, readings[:, one[0]], strict=True)
            )
            return replace(watch, inspected=known, visits=seen), runs.take(one)


def _read(
    items: tuple[Item[Scene], ...], scene: Scene, rng: np.random.Generator
) -> tuple[Item[Scene], ...]:
    return tuple(_with_reading(item, float(item.draw(scene, rng)[0])) for item in items)


def _with_reading(item: Item[Scene], value: float) -> Item[Scene]:
    if isinstance(item, SizeOrNone):
        return replace(item, measured=replace(item.measured, value=value))
    return replace(item, value=value)  # type: ignore[type-var]


def quantities_of(watch: Watch, runs: Runs) -> Array:
    """What people read on the day of the last visit, shape (n, len(QUANTITIES))."""
    last = watch.visits[-1]
    _, (scene,) = runs.views(watch.sky, watch.founding.inspection_day, watch.cone_day, (last,))
    empty = runs.followed(watch.sky, watch.cone_day).empty_day
    return np.column_stack([scene.age_days, scene.adults, scene.honey_g, empty])


@dataclass(frozen=True, slots=True)
class Case:
    """One imagined trap-out: truth (q,), draws of it (DRAWS, q), its place in the cloud (q,).

    `said` is the probability of each trouble on the day of the last visit, `is_so` the
    trouble that it was.
    """

    truth: Array
    draws: Array
    place: Array
    said: Array
    is_so: int


def one_case(seed: np.random.SeedSequence, colonies: int) -> Case:
    """Track one imagined trap-out."""
    rng = np.random.default_rng(seed)
    watch, true = imagined_trap_out(rng)
    posterior = condition(watch.inspected, watch.founding, watch.sky, colonies, rng)
    tracked = track(posterior.cloud, watch, rng)
    runs = tracked.runs(len(watch.visits), 400, rng)
    day = watch.visits[-1].rates_day
    truth, cloud = quantities_of(watch, true)[0], quantities_of(watch, runs)
    place = places(cloud.T, truth, rng)
    now = active_troubles(runs, day)
    said = np.bincount(now, minlength=len(Trouble)) / len(now)
    picked = cloud[rng.choice(len(cloud), DRAWS, replace=False)]
    return Case(truth, picked, place, said, int(active_troubles(true, day)[0]))


@dataclass(frozen=True, slots=True)
class Running:
    """All cases."""

    cases: tuple[Case, ...]

    def ranks(self, quantity: int, rng: np.random.Generator) -> NDArray[np.int64]:
        """Ranks of the truth among draws, ties broken at random, shape (cases,)."""
        draws = np.array([c.draws[:, quantity] for c in self.cases])
        return ranks(draws, np.array([c.truth[quantity] for c in self.cases]), rng)

    def coverage(self) -> Array:
        """Share of cases inside each central interval, shape (quantities, len(COVERED))."""
        place = np.array([c.place for c in self.cases])
        return np.asarray(is_covered(place[:, :, None], np.array(COVERED)).mean(axis=0))

    def brier(self) -> tuple[float, float]:
        """Brier's score of the troubles as told, and as expected if they are told rightly."""
        said = np.array([c.said for c in self.cases])
        was = np.eye(len(Trouble))[[c.is_so for c in self.cases]]
        return (
            float(((said - was) ** 2).sum(axis=1).mean()),
            float((said * (1.0 - said)).sum(axis=1).mean()),
        )


def calibrate(cases: int, colonies: int, seed: int, processes: int = 1) -> Running:
    """Track many imagined trap-outs; the result does not depend on `processes`."""
    tasks = [(s, colonies) for s in np.random.SeedSequence(seed).spawn(cases)]
    return Running(tuple(in_processes(one_case, tasks, processes)))


def report(found: Running) -> tuple[list[str], dict[str, float]]:
    """Print-ready lines and the figures behind them."""
    rng = np.random.default_rng(1)
    lines = [f"{len(found.cases)} trap-outs", "quantity   p (uniform ranks)   50 %   80 %   90 %"]
    figures = {"running_cases": float(len(found.cases))}
    for i, (name, shares) in enumerate(zip(QUANTITIES, found.coverage(), strict=True)):
        p = uniformity(found.ranks(i, rng), 10, DRAWS)
        lines.append(f"{name:10s}{p:12.3f}         " + "".join(f"{s:7.3f}" for s in shares))
        figures[f"running_p_{name}"] = p
        for level, share in zip(COVERED, shares, strict=True):
            figures[f"running_coverage_{100 * level:.0f}_{name}"] = float(share)
    score, expected = found.brier()
    lines.append(f"troubles: Brier score {score:.3f}, expected {expected:.3f}")
    figures |= {"running_brier": score, "running_brier_expected": expected}
    return lines, figures


if __name__ == "__main__":
    for line in report(calibrate(300, 2200, seed=20260801, processes=2))[0]:
        print(line)

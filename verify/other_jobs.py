"""Jobs of the other model: inspected, trapped out, visited, with the truth beside them.

    job, truth = draw_job(rng, trouble="leak", visit_days=(7, 14), deeds=usual_deeds)

or, to hold ways of visiting against each other on the same job, step by step:

    running = start(seed=7)
    seen = running.visit(day=7)
    running.do((Deed("gap closed"),))
    truth = running.truth()

The same seed gives the same weather, colony, trouble, technician and luck, whatever is
visited and done. Site, people and normals are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from lastbee.jobs.job import Building, Climate, Job, Setup, Site
from verify import other_weather
from verify.other_bees import Place
from verify.other_colony import found_swarm, winter_over
from verify.other_inspection import inspect
from verify.other_trapout import EMPTY_BEES, cone_on
from verify.other_visits import draw_technician, look, usual_hour
from verify.other_weather import hourly_weather

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from lastbee.jobs.job import BoxContents, Inspection
    from lastbee.jobs.visit import Deed, Visit
    from verify.other_colony import Colony
    from verify.other_trapout import Trapout
    from verify.other_visits import Technician
    from verify.other_weather import HourlyWeather

YEAR = 2026
FOLLOWED_DAYS = 120
NOTICED_BEES = 800.0
FIRST_CONE, LAST_CONE = 135, 218
FIRST_SWARM = 100
WIDTH_M = 0.37
WINTERED_SHARE, OLD_COMB_SHARE = 0.1, 0.12
BOXES: dict[BoxContents, float] = {
    "queenright nucleus": 0.65, "open brood": 0.2, "lure": 0.07, "empty comb": 0.08,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Truth:
    """What became of a trap-out.

    `onset` and `ended` are days after the cone on which the trouble began and was over (None
    if never; ask `is_on` what was going on on a day, for a trouble may come when the wall is
    empty already); `clear_day` counts the days after which at most 50 bees and brood remain in the
    nest for good, None if that does not come within 120. The arrays, shape (120,), hold the
    evenings from the cone's day; `honey_left_g` and `box_bees_then` are those of the last
    evening, or of the clear one.
    """

    trouble: str
    onset: int | None
    ended: int | None
    severity: float
    clear_day: int | None
    honey_left_g: float
    box_bees_then: int
    queen: str
    bees_at_cone: int
    nest_bees: NDArray[np.int64]
    brood: NDArray[np.int64]
    wall: NDArray[np.int64]
    box_bees: NDArray[np.int64]

    def is_on(self, day: int) -> bool:
        """Whether the trouble was going on that day."""
        ended = FOLLOWED_DAYS + 1 if self.ended is None else self.ended
        return self.onset is not None and self.onset <= day < ended


@dataclass(slots=True)
class Running:
    """A job on the run, to be visited and acted on; time goes only forward."""

    trapout: Trapout
    technician: Technician
    before: Job
    depth_m: float
    section_dm2: float
    bees_at_cone: int
    visits: list[Visit] = field(default_factory=list)

    @property
    def day(self) -> int:
        """Days since the cone went on."""
        return self.trapout.day

    @property
    def cone_on(self) -> date:
        """Date of day 0."""
        given = self.before.setup.cone_on
        assert given is not None  # noqa: S101
        return given

    def live_until(self, day: int, hour: int = 0) -> None:
        """Live every hour before this one."""
        self.trapout.live_until(day, hour)

    def visit(self, day: int, hour: int | None = None) -> Visit:
        """Go there, look, write it down.

        Parameters
        ----------
        day
            Days after the cone.
        hour
            Hour of the day, 0 to 22; the technician's own choice if None.

        Returns
        -------
        The visit, before anything is done.

        Raises
        ------
        ValueError
            If that hour is over.
        """
        hour = usual_hour(self.trapout, day) if hour is None else hour
        if (day, hour) < (self.trapout.day, self.trapout.hour):
            raise ValueError(f"day {day}, hour {hour} is over")
        self.trapout.live_until(day, hour + 1)
        seen = look(self.trapout, self.technician, self.cone_on, self.section_dm2, self.depth_m)
        self.visits.append(seen)
        return seen

    def do(self, deeds: tuple[Deed, ...]) -> None:
        """Do things at the visit that was just made."""
        if deeds:
            self.trapout.do(deeds)
            self.visits[-1] = replace(self.visits[-1], did=(*self.visits[-1].did, *deeds))

    def job(self) -> Job:
        """The job record with the visits so far."""
        return replace(self.before, visits=tuple(self.visits))

    def truth(self) -> Truth:
        """Live on to the end, with nothing more done, and tell what became of it."""
        t = self.trapout
        while t.day < FOLLOWED_DAYS and not _is_over(t):
            t.live_until(t.day + 1)
        nest, brood, wall, box = (
            _through([getattr(e, name) for e in t.evenings], stays)
            for name, stays in (("nest", 0), ("brood", 0), ("wall", 0), ("box", 1))
        )
        above = np.flatnonzero(nest + brood > EMPTY_BEES)
        days = 0 if len(above) == 0 else int(above[-1]) + 1
        last = t.evenings[min(days, len(t.evenings) - 1)]
        fault = t.fault
        began = fault.onset is not None and fault.onset < FOLLOWED_DAYS
        return Truth(
            fault.key, fault.onset if began else None, fault.ended, fault.severity,
            days if days < FOLLOWED_DAYS else None, float(last.honey_g), last.box,
            t.inside.queen_fate, self.bees_at_cone, nest, brood, wall, box,
        )  # fmt: skip


def draw_job(
    rng: np.random.Generator,
    trouble: str | None = None,
    visit_days: tuple[int, ...] = (),
    deeds: Callable[[Visit, int], tuple[Deed, ...]] | None = None,
) -> tuple[Job, Truth]:
    """Draw a whole job and its truth.

    Parameters
    ----------
    rng
        Gives the job's seed.
    trouble
        A key of `other_troubles.SHARES` ("none" for a sound one), or None to draw one.
    visit_days
        Days after the cone on which the technician comes, ascending.
    deeds
        What he does about a visit of a day; nothing if None.

    Returns
    -------
    The job with its visits, and the truth, with nothing done after the last visit.
    """
    running = start(int(rng.integers(2**62)), trouble)
    for day in visit_days:
        seen = running.visit(day)
        running.do(deeds(seen, day) if deeds else ())
    return running.job(), running.truth()


def start(seed: int, trouble: str | None = None, contents: BoxContents | None = None) -> Running:
    """Found a colony that somebody calls about, inspect it, put the cone on.

    Parameters
    ----------
    seed
        Fixes weather, colony, trouble, technician and luck.
    trouble
        A key of `other_troubles.SHARES`, or None to draw one.
    contents
        What the box holds, or None to draw it.

    Returns
    -------
    The job on the morning of the cone.
    """
    rng = np.random.default_rng(seed)
    drawn = str(rng.choice(list(BOXES), p=list(BOXES.values())))
    box: BoxContents = contents or drawn  # type: ignore[assignment]
    found = _somebody_calls(rng)
    colony, depth_m = found.colony, found.depth_m
    seen = inspect(
        colony, found.weather, _date(colony.day), depth_m, found.is_swarm, found.is_dark, rng
    )
    while colony.day < found.cone_day:
        colony.live_a_day()
    technician = draw_technician(rng)
    trapout = cone_on(colony, found.weather, seed, box, trouble)
    section_dm2, bees = 100.0 * WIDTH_M * depth_m, trapout.bees.count(Place.NEST)
    return Running(trapout, technician, _record(found, seen, box, seed), depth_m, section_dm2, bees)


def _record(found: _Found, seen: Inspection, box: BoxContents, seed: int) -> Job:
    """The job file of an invented site."""
    return Job(
        title=f"Bees in a wall, no. {seed % 100_000}",
        site=Site(
            "Tansy Hollow", other_weather.LATITUDE_DEG, other_weather.LONGITUDE_DEG,
            other_weather.TIME_ZONE,
            Climate(other_weather.HIGH_DEGC, other_weather.LOW_DEGC, other_weather.LOST_SHARE),
        ),
        inspection=seen,
        building=Building(
            "stud bay", WIDTH_M, found.depth_m, round(found.length_m, 2), "wood", "plasterboard"
        ),
        setup=Setup(_date(found.cone_day), box),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Found:
    """A colony on the day of its inspection."""

    colony: Colony
    weather: HourlyWeather
    cone_day: int
    depth_m: float
    length_m: float
    is_swarm: bool
    is_dark: bool


def _somebody_calls(rng: np.random.Generator) -> _Found:
    """Live colonies until one is such that somebody calls about it."""
    while True:
        weather = hourly_weather(rng, bloom=float(rng.lognormal(-0.2, 0.35)))
        by_day = weather.by_day()
        cone = int(rng.integers(FIRST_CONE, LAST_CONE))
        depth_m, length_m = float(rng.choice([0.09, 0.14, 0.2])), float(rng.uniform(1.2, 2.6))
        limit = 1000.0 * WIDTH_M * depth_m * length_m / 0.35 * rng.uniform(0.65, 1.0)
        age = int(7.0 * rng.triangular(1.5, 3.5, 10.0))
        kind = rng.random()
        is_swarm, is_dark = kind >= WINTERED_SHARE, kind < WINTERED_SHARE + OLD_COMB_SHARE
        # The technician picks the finest of the four days before the cone when he can.
        fine = weather.flight[cone - 4 : cone].sum(axis=1)
        inspected = cone - 4 + int(fine.argmax() if rng.random() < 0.7 else rng.integers(0, 4))
        if is_swarm and cone - age < FIRST_SWARM:
            continue
        colony = (
            found_swarm(cone - age, by_day, rng, limit, is_dark)
            if is_swarm
            else winter_over(by_day, rng, limit)
        )
        while colony.day < inspected:
            colony.live_a_day()
        if colony.adults >= NOTICED_BEES:
            return _Found(colony, weather, cone, depth_m, length_m, is_swarm, is_dark)


def _date(day: int) -> date:
    return date(YEAR, 1, 1) + timedelta(days=day)


def _is_over(t: Trapout) -> bool:
    """Nobody has been in the nest for five evenings."""
    last = t.evenings[-5:]
    return len(last) == 5 and not any(e.nest or e.brood for e in last)


def _through(values: list[int], stays: int) -> NDArray[np.int64]:
    """Evenings up to the last day followed; the last value stays, or nothing does."""
    filled = np.full(FOLLOWED_DAYS, stays * values[-1], dtype=np.int64)
    filled[: len(values)] = values[:FOLLOWED_DAYS]
    return filled

"""A whole trap-out with single bees: a stand-in for reality, apart from the engine.

Nothing is imported from the engine, and the rules differ from its on purpose. It knows
pools and rates a day; here each bee has an age, a body, wings that last so many hours, a
crop, a place, and what she has learnt. A colony is founded and grows by
`verify.other_colony` up to the cone's day; then its squads become bees that live by the
hour of `verify.other_weather`. The rules stand where they act:

- `other_flight`: thresholds for flying, first flights, the way home, gaps found alone or
  behind others, crops that run empty, looks into the box, the march at dusk;
- `other_nest`: brood in whole cells, a queen with patience and an answer of her own, a
  court that stays with her, bodies that age by whom they meet;
- `other_box`: reorientation, brood, robbers, heat, leaving;
- `other_troubles`: what goes wrong and what mends.

Published figures: total flight is fixed (Neukirch 1982), 28 foraging hours (Visscher &
Dukas 1997), days of rest (Tian et al. 2014), young larvae eaten without income (Schmickl &
Crailsheim 2001), brood losses (the same 2007), laden bees let in (Butler & Free 1952),
guards in dearth (Downs & Ratnieks 2000), the old site remembered (Robinson & Dyer 1993). A
crop of honey lasts a resting bee two days or more and a searching bee hours: computed from
11 mg of honey a day at rest (Rortais et al. 2005) and as much an hour aloft. Everything
else is assumed; no measured trap-out exists.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from verify import other_box, other_flight, other_nest, other_troubles
from verify.other_bees import Bees, Dice, Place, Throw

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.jobs.visit import Deed
    from verify.other_bees import Some
    from verify.other_box import Box
    from verify.other_colony import Colony
    from verify.other_nest import Habits, Inside
    from verify.other_troubles import Fault, Gear
    from verify.other_weather import HourlyWeather

EMPTY_BEES = 50
DUSK_HOUR = 20
SQUAD = 10
NAMES_A_DAY = 100_000


@dataclass(slots=True)
class Flow:
    """Bees of one hour: out by the cone, in by the gap, in by the tip."""

    cone_out: int = 0
    gap_in: int = 0
    tip_in: int = 0


@dataclass(frozen=True, slots=True)
class Evening:
    """What there was at the end of a day."""

    nest: int
    brood: int
    wall: int
    box: int
    box_brood: int
    honey_g: float


@dataclass(slots=True)
class Trapout:
    """One trap-out on the run; `day` counts from the cone, `hour` by the sun's clock.

    `entered`, `died` and `gone` keep the books: every bee that ever was is at a place,
    dead or gone. `today`, `eager` and `afternoon` are the rows that may fly and their
    chances; `dead_below` the dead that still lie under the wall.
    """

    weather: HourlyWeather
    dice: Dice
    cone_day: int
    bees: Bees
    inside: Inside
    habits: Habits
    box: Box
    gear: Gear
    fault: Fault
    day: int = 0
    hour: int = 0
    entered: int = 0
    died: int = 0
    gone: int = 0
    corpses: int = 0
    dead_below: float = 0.0
    flow: Flow = field(default_factory=Flow)
    evenings: list[Evening] = field(default_factory=list)
    deeds_done: dict[str, int] = field(default_factory=dict)
    today: Some = field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    eager: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0))
    afternoon: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0))

    @property
    def day_of_year(self) -> int:
        """Index into the weather."""
        return self.cone_day + self.day

    @property
    def clock(self) -> int:
        """Hours since the cone's midnight."""
        return 24 * self.day + self.hour

    def flight_h(self, day: int) -> float:
        """Flight hours of a day."""
        return float(self.weather.flight[self.cone_day + day].sum())

    def night_degc(self, day: int) -> float:
        """Coldest hour of a day."""
        return float(self.weather.temperature_degc[self.cone_day + day].min())

    def live_until(self, day: int, hour: int = 0) -> None:
        """Live every hour before this one."""
        while (self.day, self.hour) < (day, hour):
            self._live_hour()

    def do(self, deeds: tuple[Deed, ...]) -> None:
        """Do things at the wall, now."""
        for deed in deeds:
            other_troubles.do(self, deed)

    def _live_hour(self) -> None:
        if self.hour == 0:
            self._morning()
        activity = float(self.weather.flight[self.day_of_year, self.hour])
        self.flow = Flow()
        other_flight.come_home(self)
        if self.weather.light_w_m2[self.day_of_year, self.hour] > 0.0:
            other_flight.at_the_wall(self, activity)
            other_flight.fly_out(self, activity)
            other_box.learn_box(self, activity)
        if self.hour == DUSK_HOUR:
            other_flight.march_at_dusk(self)
        self.hour += 1
        if self.hour == 24:
            self._evening()

    def _morning(self) -> None:
        """What happens once a day."""
        self.bees.keep(self.bees.place < int(Place.GONE))
        if self.fault.onset == self.day:
            other_troubles.begin(self)
        other_troubles.strangers_and_robbers(self)
        other_nest.live_day(self)
        other_box.live_day(self)
        other_flight.who_flies_today(self)
        self.dead_below *= 0.7  # ants, birds, rain

    def _evening(self) -> None:
        dark = int(np.count_nonzero(self.weather.light_w_m2[self.day_of_year] <= 0.0))
        self.hour = 23
        other_flight.night_on_the_wall(self, float(dark))
        bees, inside = self.bees, self.inside
        self.evenings.append(
            Evening(
                bees.count(Place.NEST), inside.cells, bees.count(Place.WALL),
                bees.count(Place.BOX), int(self.box.brood.sum()), float(inside.honey_g),
            )
        )  # fmt: skip
        self.day, self.hour = self.day + 1, 0

    def die(self, rows: Some, outside: bool = False) -> None:
        """Die, at home or, `outside`, in the field."""
        self.bees.place[rows] = int(Place.DEAD)
        self.died += len(rows)

    def be_gone(self, rows: Some) -> None:
        """Go where nobody counts."""
        self.bees.place[rows] = int(Place.GONE)
        self.gone += len(rows)

    def enter_box(self, rows: Some) -> None:
        """Join the box."""
        self.bees.place[rows] = int(Place.BOX)
        self.bees.box_flights[rows] = 0
        self.bees.crop_mg[rows] = np.maximum(self.bees.crop_mg[rows], 10.0)

    def be_born(self, workers: int, drones: int, place: Place) -> None:
        """Emerge; names go by day, so that other days' births do not change them."""
        n = workers + drones
        first = (2 * self.day + 2 + (place == Place.BOX)) * NAMES_A_DAY
        name = np.arange(first, first + n, dtype=np.uint64)
        self._arrive(place, name, np.full(n, float(self.day)), np.arange(n) >= workers)

    def put_in_box(self, n: int, rng: np.random.Generator) -> None:
        """Bring bees from elsewhere, of all ages of a hive, in the box."""
        first = (1_000_000 + self.day + 1000 * sum(self.deeds_done.values())) * NAMES_A_DAY
        name = np.arange(first, first + n, dtype=np.uint64)
        born = self.day - rng.uniform(0.0, 25.0, n)
        self._arrive(Place.BOX, name, born, np.zeros(n, dtype=bool))

    def _arrive(
        self,
        place: Place,
        name: NDArray[np.uint64],
        born: NDArray[np.float64],
        drone: NDArray[np.bool_],
    ) -> None:
        """Add bees with onsets and wings of their own."""
        n = len(name)
        nature, spread = (_normal(self.dice.each(name, k, Throw.BORN)) for k in (0, 1))
        learnt = other_box.FLIGHTS_TO_LEARN if place == Place.BOX else 0
        self.bees.add(
            place, name=name, born=born, body=self.day - born, drone=drone,
            onset=20.0 + 4.0 * nature, wings_h=28.0 * np.exp(0.5 * spread),
            crop_mg=np.full(n, 8.0), box_flights=np.full(n, learnt),
        )  # fmt: skip
        self.entered += n


def _normal(uniform: NDArray[np.float64]) -> NDArray[np.float64]:
    """Roughly normal deviates from uniform ones (logistic, scaled)."""
    u = np.clip(uniform, 1e-6, 1.0 - 1e-6)
    return np.log(u / (1.0 - u)) / 1.702


def cone_on(
    colony: Colony, weather: HourlyWeather, seed: int, contents: str, trouble: str | None
) -> Trapout:
    """Put the cone on a colony that has grown by squads, and set the box beside it.

    Parameters
    ----------
    colony
        Colony on the morning of the cone; it is not changed.
    weather
        The hours it has lived in.
    seed
        Fixes everything that follows, whatever is done.
    contents
        What the box holds, a key of `other_box.CONTENTS`.
    trouble
        A key of `other_troubles.SHARES`, or None to draw one.

    Returns
    -------
    The trap-out before its first hour.
    """
    dice = Dice(seed)
    rng = dice.of(Throw.COLONY)
    inside = other_nest.Inside(
        queen=colony.queen, honey_g=colony.honey_g, pollen_g=colony.pollen_g,
        comb_dm2=colony.comb_dm2, brood=rng.poisson(colony.brood),
        drone_brood=rng.poisson(colony.drone_brood),
    )  # fmt: skip
    habits = other_nest.draw_habits(rng, colony.queen)
    box, box_bees = other_box.set_box(contents, dice.of(Throw.COLONY, 0, 1))
    t = Trapout(
        weather=weather, dice=dice, cone_day=colony.day, bees=Bees(), inside=inside,
        habits=habits, box=box, gear=other_troubles.sound_gear(dice.of(Throw.COLONY, 0, 2)),
        fault=other_troubles.draw_fault(dice.of(Throw.COLONY, 0, 3), trouble),
    )  # fmt: skip
    _move_in(t, colony, rng)
    t.put_in_box(box_bees, rng)
    box.kg_at_start = other_box.weight_kg(t)
    return t


def _move_in(t: Trapout, colony: Colony, rng: np.random.Generator) -> None:
    """Make ten bees of each squad, and drones."""
    n, drones = SQUAD * len(colony.age), int(rng.poisson(colony.drones))
    jitter = rng.uniform(-0.5, 0.5, n)
    of_each = {k: np.repeat(getattr(colony, k), SQUAD) for k in ("age", "body", "onset", "wings")}
    t.bees.add(
        Place.NEST,
        name=np.arange(n, dtype=np.uint64),
        born=-(of_each["age"] + jitter),
        body=of_each["body"] + jitter,
        onset=of_each["onset"] + rng.normal(0.0, 2.0, n),
        flown_h=np.repeat(colony.flown_h, SQUAD) * rng.uniform(0.7, 1.3, n),
        wings_h=of_each["wings"],
        crop_mg=np.full(n, 8.0),
    )
    t.bees.add(
        Place.NEST, name=np.arange(n, n + drones, dtype=np.uint64),
        born=-rng.uniform(0.0, 25.0, drones), drone=np.ones(drones, dtype=bool),
        wings_h=np.full(drones, 40.0), onset=np.full(drones, 1e6),
        crop_mg=np.full(drones, 8.0),
    )  # fmt: skip
    t.entered += n + drones

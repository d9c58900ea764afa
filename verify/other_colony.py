"""Another hidden colony, made of bees: written apart from the engine, on other rules.

The engine carries pools of bees that flow at rates. Here squads of ten bees live one life
each: a squad has an age, a bodily age that runs faster when foragers are few and slower
when they are many, a bodily age at which it takes to the field, hours flown, and hours
that its wings last. Nothing is imported from the engine.

What else is different, rule by rule: foragers die when their hours are used up (Neukirch
1982: total flight is fixed; 28 foraging hours, Visscher & Dukas 1997) and not at a rate;
bees inside die of age; the queen lays into warmed empty cells next to what she has and
not by a saturating law of food and nurses; comb is drawn in bursts that last for days;
nectar comes in blooms of a week or two and not along a curve; rain comes in spells. Behind
a cone, young bees on their first orienting flights are shut out too, and a queen has her
own way of answering the loss of income, from not at all to at once.

Figures without a source are assumed, some of them on purpose not those of the engine.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

SQUAD = 10
CELLS_PER_DM2 = 790.0
HONEY_CELL_G, POLLEN_CELL_G = 0.4, 0.2
REST_G, LARVA_G, WARM_CELL_G, FLIGHT_G_PER_H = 0.008, 0.011, 0.003, 0.011
NECTAR_G_PER_H, POLLEN_G_PER_H = 0.045, 0.008
FORAGERS_WANTED = 0.27
EMPTY_BEES = 50


@dataclass(frozen=True, slots=True)
class Weather:
    """Day by day from 1 January: flight hours and share of the best nectar."""

    flight_h: Array
    nectar: Array


def weather_of(
    high_degc: tuple[float, ...],
    wet_share: tuple[float, ...],
    latitude_deg: float,
    rng: np.random.Generator,
    bloom: float = 1.0,
    days: int = 420,
) -> Weather:
    """Draw a year of weather and bloom at a place with these monthly normals."""
    day = np.arange(days)
    month = np.minimum((day % 365) / 30.44, 11.99)
    middle = np.arange(12) + 0.5
    high, wet = (np.interp(month, middle, v, period=12.0) for v in (high_degc, wet_share))
    anomaly, raining = np.zeros(days), np.zeros(days, dtype=bool)
    for d in range(1, days):
        anomaly[d] = 0.65 * anomaly[d - 1] + 3.0 * rng.standard_normal()
        # Spells last two days and a half; their share of days is the month's.
        stays = 0.6 if raining[d - 1] else 0.0
        starts = 0.4 * wet[d] / (1.0 - wet[d])
        raining[d] = rng.random() < (stays if raining[d - 1] else starts)
    tilt = np.deg2rad(-23.44) * np.cos(2.0 * np.pi * (day + 10.0) / 365.0)
    cosine = np.clip(-np.tan(np.deg2rad(latitude_deg)) * np.tan(tilt), -1.0, 1.0)
    daylight = 24.0 / np.pi * np.arccos(cosine)
    warm = np.clip((high + anomaly - 12.0) / 10.0, 0.0, 1.0)
    hours = 0.72 * daylight * warm * np.where(raining, 0.2 * rng.random(days), 1.0)
    return Weather(hours, nectar_of(days, rng, bloom))


def nectar_of(days: int, rng: np.random.Generator, bloom: float = 1.0) -> Array:
    """Draw the nectar of each day from 1 January, share of the best: blooms of a week or two."""
    day = np.arange(days)
    nectar = np.zeros(days)
    for _ in range(9):
        centre, width = rng.triangular(100.0, 150.0, 285.0), rng.uniform(5.0, 13.0)
        nectar += rng.lognormal(-0.6, 0.5) * np.exp(-0.5 * ((day - centre) / width) ** 2)
    nectar *= rng.lognormal(0.0, 0.25)
    return bloom * np.minimum(nectar, 1.3)


@dataclass(slots=True)
class Queen:
    """One queen and her colony's habits."""

    most_eggs: float
    answers_income: float
    lays_from: int

    def season(self, day_of_year: int) -> float:
        """Share of her best by the calendar: straight lines, none in winter."""
        return float(np.interp(day_of_year, (35, 115, 185, 300), (0.0, 1.0, 1.0, 0.0)))


@dataclass(slots=True)
class Colony:
    """Squads, cells and stores; arrays of squads grow and shrink together."""

    rng: np.random.Generator
    weather: Weather
    queen: Queen
    day: int
    honey_g: float
    comb_dm2: float
    comb_limit_dm2: float
    build: float
    onset_days: float
    wings_h: float
    leak: float
    pollen_g: float = 150.0
    age: Array = field(default_factory=lambda: np.zeros(0))
    body: Array = field(default_factory=lambda: np.zeros(0))
    onset: Array = field(default_factory=lambda: np.zeros(0))
    flown_h: Array = field(default_factory=lambda: np.zeros(0))
    wings: Array = field(default_factory=lambda: np.zeros(0))
    brood: Array = field(default_factory=lambda: np.zeros(21))
    drone_brood: Array = field(default_factory=lambda: np.zeros(24))
    drones: float = 0.0
    gains: list[float] = field(default_factory=list)
    burst_days: int = 10
    days_lived: int = 0
    trapped: bool = False

    @property
    def adults(self) -> float:
        """Workers at home or out."""
        return float(SQUAD * len(self.age))

    @property
    def is_forager(self) -> NDArray[np.bool_]:
        """Which squads work outside."""
        return (self.body >= self.onset) & (self.age >= 6.0)

    @property
    def brood_cells(self) -> float:
        """Cells with worker or drone brood."""
        return float(self.brood.sum() + self.drone_brood.sum())

    def join(self, squads: int, ages: Array) -> None:
        """Add squads of the given ages."""
        self.age = np.concatenate([self.age, ages])
        self.body = np.concatenate([self.body, ages])
        self.onset = np.concatenate([self.onset, self.rng.normal(self.onset_days, 4.0, squads)])
        self.flown_h = np.concatenate([self.flown_h, np.zeros(squads)])
        self.wings = np.concatenate([self.wings, self.rng.gamma(4.0, self.wings_h / 4.0, squads)])

    def keep(self, staying: NDArray[np.bool_]) -> None:
        """Lose the other squads."""
        for name in ("age", "body", "onset", "flown_h", "wings"):
            setattr(self, name, getattr(self, name)[staying])

    def live_a_day(self) -> None:
        """One day, in the order in which it runs."""
        hours = float(self.weather.flight_h[self.day])
        nectar = float(self.weather.nectar[self.day])
        self._brood()
        gain = self._work(hours, nectar)
        self.gains = [*self.gains[-4:], gain]
        self._lay()
        if not self.trapped:
            self._build()
        self._grow_old()
        if self.trapped:
            self._leave(hours)
        self.day += 1
        self.days_lived += 1

    def _brood(self) -> None:
        """Age the brood; feed, warm and lose it; let bees emerge."""
        cells = self.brood_cells
        warmed = min(1.0, 5.0 * self.adults / max(cells, 1.0))
        demand = 0.022 * float(self.brood[3:9].sum())
        fed = min(1.0, self.pollen_g / demand) if demand > 0.0 else 1.0
        self.pollen_g = max(0.0, self.pollen_g - demand)
        keep = np.full(21, 0.999)
        keep[:3], keep[3:9] = 0.97, 0.99
        # Eaten first when pollen or nurses run short: the youngest (Schmickl & Crailsheim 2001).
        idle = 1.0 - self._income_felt() * self.queen.answers_income if self.trapped else 1.0
        keep[3:6] *= 1.0 - 0.45 * (1.0 - fed * idle)
        keep *= 1.0 - 0.3 * (1.0 - warmed)
        if self.honey_g <= 0.0:
            keep[3:9] *= 0.5
        aged = self.brood * keep
        born = aged[-1]
        self.brood = np.concatenate([[0.0], aged[:-1]])
        drones = self.drone_brood * 0.976
        self.drones = 0.95 * self.drones + drones[-1]
        self.drone_brood = np.concatenate([[0.0], drones[:-1]])
        squads = int(born / SQUAD + self.rng.random())
        self.join(squads, np.zeros(squads))

    def _income_felt(self) -> float:
        """How much a trapped colony misses its income, 0 to 1, over four days."""
        need = max(1.0, REST_G * self.adults)
        recent = np.mean(self.gains[-4:]) if self.gains else 0.0
        return float(np.clip(-recent / need, 0.0, 1.0))

    def _work(self, hours: float, nectar: float) -> float:
        """Fly, bring home, eat; return the day's gain of honey."""
        out = self.is_forager
        keen = 0.55 + 0.45 * min(1.0, nectar / 0.5)
        flown = np.where(
            out, np.minimum(hours, 7.0) * keen * self.rng.uniform(0.5, 1.0, len(out)), 0.0
        )
        self.flown_h += flown
        total = SQUAD * float(flown.sum())
        share = self.leak if self.trapped else 1.0
        used = self.brood_cells + self.honey_g / HONEY_CELL_G + self.pollen_g / POLLEN_CELL_G
        room_g = max(0.0, (self.comb_dm2 * CELLS_PER_DM2 - used) * HONEY_CELL_G)
        room_g += 0.03 * self.adults
        brought = min(room_g, total * NECTAR_G_PER_H * nectar * share)
        wanted = max(0.0, 6.0 * 0.022 * float(self.brood[:9].sum()) - self.pollen_g)
        self.pollen_g += min(wanted, total * POLLEN_G_PER_H * share)
        eaten = REST_G * (self.adults + self.drones) + FLIGHT_G_PER_H * total * 0.3
        eaten += LARVA_G * float(self.brood[3:9].sum()) + WARM_CELL_G * self.brood_cells
        gain = brought - eaten
        if self.honey_g + gain < 0.0:
            short = min(1.0, -(self.honey_g + gain) / max(eaten, 1e-9))
            self.keep(self.rng.random(len(self.age)) > 0.25 * short)
        self.honey_g = max(0.0, self.honey_g + gain)
        return gain

    def _lay(self) -> None:
        """Fill warmed empty cells, as season, pollen and income let her."""
        if self.days_lived < self.queen.lays_from or self.adults < 300.0:
            return
        used = self.brood_cells + self.honey_g / HONEY_CELL_G + self.pollen_g / POLLEN_CELL_G
        empty = 0.6 * max(0.0, self.comb_dm2 * CELLS_PER_DM2 - used)
        warmed = max(0.0, 1.7 * self.adults - self.brood_cells)
        eggs = min(self.queen.most_eggs * self.queen.season(self.day % 365), empty, warmed / 6.0)
        need = 0.022 * float(self.brood[3:9].sum())
        eggs *= min(1.0, self.pollen_g / (2.0 * need)) if need > 0.0 else 1.0
        if self.honey_g < 400.0:
            eggs *= self.honey_g / 400.0
        if self.trapped:
            eggs *= 1.0 - self.queen.answers_income * self._income_felt()
        self.brood[0] = self.rng.poisson(eggs)
        if 110 < self.day % 365 < 235 and self.days_lived > 20:
            self.drone_brood[0] = 0.05 * self.brood[0]

    def _build(self) -> None:
        """Draw comb in bursts: at founding, and when the comb is full in a flow."""
        used = self.brood_cells + self.honey_g / HONEY_CELL_G + self.pollen_g / POLLEN_CELL_G
        is_full = used > 0.8 * self.comb_dm2 * CELLS_PER_DM2
        if self.burst_days == 0 and is_full and np.mean(self.gains[-3:]) > 50.0:
            self.burst_days = int(self.rng.integers(3, 8))
        if self.burst_days == 0 or self.honey_g < 100.0:
            return
        self.burst_days -= 1
        builders = SQUAD * float((~self.is_forager).sum()) / 1000.0
        built = min(
            self.build * builders, self.comb_limit_dm2 - self.comb_dm2, self.honey_g / 120.0
        )
        built = max(0.0, built)
        self.comb_dm2 += built
        self.honey_g -= 65.0 * built

    def _grow_old(self) -> None:
        """Age, take to the field or hold back, and die of age, wear or a bird."""
        out = self.is_forager
        foragers = out.mean() if len(out) else 0.0
        pace = np.clip(1.0 + 1.6 * (FORAGERS_WANTED - foragers) / FORAGERS_WANTED, 0.35, 2.2)
        if self.honey_g < 500.0:
            pace *= 1.25
        self.age += 1.0
        self.body = self.body + np.where(out, 0.0, pace)
        chance = 0.0012 * np.exp(self.age / 20.0) + np.where(out, 0.03, 0.0)
        alive = (self.rng.random(len(chance)) > chance) & (self.flown_h < self.wings)
        self.keep(alive)

    def _leave(self, hours: float) -> None:
        """Fly out through the cone: foragers, first flights, and the last handful."""
        good = min(1.0, hours / 4.0)
        chance = np.where(self.is_forager, 0.85 * good * (1.0 - self.leak), 0.0)
        chance = np.where((self.age >= 6.0) & (chance == 0.0), 0.07 * good, chance)
        if self.adults < 500.0:
            chance = np.maximum(chance, 0.3 * good)
        gone = self.rng.random(len(self.age)) < chance
        self.honey_g = max(0.0, self.honey_g - 0.018 * SQUAD * float(gone.sum()))
        self.keep(~gone)


@dataclass(frozen=True, slots=True)
class Emptied:
    """How a trap-out ended: day offset of emptiness (its length if never), honey left."""

    empty_day: int
    honey_left_g: float


def trap(colony: Colony, days: int) -> Emptied:
    """Put the cone on and follow the colony, which is used up."""
    colony.trapped = True
    left = np.zeros(days)
    for d in range(days):
        colony.live_a_day()
        left[d] = colony.adults + colony.drones + colony.brood_cells
        colony.drones *= 0.5
    above = np.flatnonzero(left > EMPTY_BEES)
    return Emptied(0 if len(above) == 0 else int(above[-1]) + 1, colony.honey_g)


def found_swarm(
    day: int, weather: Weather, rng: np.random.Generator, comb_limit_dm2: float, old_comb: bool
) -> Colony:
    """Found a colony by a swarm, on bare boards or in comb of an earlier one."""
    bees = rng.lognormal(np.log(12_500.0), 0.3)
    comb = min(0.9 * comb_limit_dm2, rng.lognormal(np.log(40.0), 0.5)) if old_comb else 0.0
    stores = rng.lognormal(np.log(700.0), 0.8) if old_comb else 0.0
    # A quarter are led by a virgin, who lays after ten days or more (Winston 1987).
    waits = int(rng.integers(10, 20)) if rng.random() < 0.25 else int(rng.integers(2, 5))
    colony = _colony(day, weather, rng, comb_limit_dm2, 0.04 * bees + stores, comb, waits)
    squads = int(bees / SQUAD)
    # Swarms are young: most bees under three weeks.
    colony.join(squads, rng.gamma(2.5, 5.0, squads))
    return colony


def winter_over(weather: Weather, rng: np.random.Generator, comb_limit_dm2: float) -> Colony:
    """Take up a colony that has wintered, on 15 February."""
    comb = min(0.9 * comb_limit_dm2, rng.lognormal(np.log(90.0), 0.4))
    honey = min(0.6 * comb * CELLS_PER_DM2 * HONEY_CELL_G, rng.lognormal(np.log(10_000.0), 0.5))
    colony = _colony(45, weather, rng, comb_limit_dm2, honey, comb, 0)
    colony.pollen_g, colony.burst_days = 900.0, 0
    squads = int(rng.lognormal(np.log(8500.0), 0.3) / SQUAD)
    # Winter bees last: they count as young.
    colony.join(squads, rng.uniform(-15.0, 8.0, squads))
    return colony


def _colony(
    day: int,
    weather: Weather,
    rng: np.random.Generator,
    comb_limit_dm2: float,
    honey_g: float,
    comb_dm2: float,
    lays_from: int,
) -> Colony:
    queen = Queen(rng.normal(1750.0, 200.0), rng.uniform(0.3, 1.0), lays_from)
    return Colony(
        rng=rng,
        weather=weather,
        queen=queen,
        day=day,
        honey_g=honey_g,
        comb_dm2=comb_dm2,
        comb_limit_dm2=comb_limit_dm2,
        build=rng.lognormal(np.log(0.4), 0.3),
        onset_days=rng.normal(20.0, 2.0),
        wings_h=rng.lognormal(np.log(30.0), 0.2),
        leak=rng.beta(1.0, 40.0),
    )

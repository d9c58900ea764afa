"""What a person reads off a colony of the other model before the cone goes on.

The rules are those of `verify.other_model`, written into the record of a job file: dates
rounded to weeks, an eye that is off by a share, colours a step wrong; the count at the exit
is made in the weather of its hour.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, get_args

import numpy as np

from lastbee.jobs.job import CombColour, CombSeen, Inspection, Traffic
from verify.other_weather import told

if TYPE_CHECKING:
    from verify.other_colony import Colony
    from verify.other_weather import HourlyWeather

TRIPS_PER_H = 0.6
COLOURS = get_args(CombColour)


def inspect(
    colony: Colony,
    weather: HourlyWeather,
    on: date,
    depth_m: float,
    is_swarm: bool,
    is_dark: bool,
    rng: np.random.Generator,
) -> Inspection:
    """Read a colony on its day; each sighting is made or not by chance.

    `on` is the date of the colony's day; `is_swarm` says that it came this season, `is_dark`
    that its comb is older than that. The colony is not changed.
    """
    hour = int(rng.integers(11, 17))
    words = told(weather, colony.day, hour, rng)
    activity = float(weather.flight[colony.day, hour])
    # An old nest counts from the start of its season, 15 February, as in the plan.
    age = colony.days_lived if is_swarm else colony.day - 45
    traffic = _traffic(colony, activity, rng)
    comb = _comb(colony, age, is_dark, rng)
    noticed, swarmed = _tales(age, is_swarm, rng)
    patch, capped, pollen, drones = _cues(colony, depth_m, rng)
    made = rng.random(8) < (0.9, 0.5, 0.85, 0.2, 0.4, 0.3, 0.5, 0.5)
    return Inspection(
        at=datetime.combine(on, time(hour, 30)),
        temperature_degc=words.temperature_degc,
        sky=words.sky,
        wind=words.wind,
        traffic=traffic if made[0] else None,
        comb=comb if made[1] and colony.comb_dm2 > 2.0 else None,
        first_seen=on - timedelta(days=noticed) if made[2] else None,
        swarm_seen=on - timedelta(days=swarmed) if made[3] and is_swarm else None,
        warm_area_dm2=patch if made[4] else None,
        capped_brood_seen=capped if made[5] else None,
        pollen_carried=pollen if made[6] and activity > 0.3 else None,
        drones_flying=drones if made[7] and activity > 0.5 else None,
    )


def _traffic(colony: Colony, activity: float, rng: np.random.Generator) -> Traffic:
    """Five minutes at the exit; half of them count both ways."""
    foragers = 10.0 * float(colony.is_forager.sum())
    trips_per_h = rng.lognormal(np.log(TRIPS_PER_H), 0.3)
    rate = foragers * trips_per_h * activity * 0.85 * rng.lognormal(0.0, 0.25) / 60.0
    out, back = rng.poisson(5.0 * rate * rng.lognormal(0.0, 0.2), 2)
    return Traffic(5.0, int(out), int(back) if rng.random() < 0.5 else None)


def _comb(colony: Colony, age: int, is_dark: bool, rng: np.random.Generator) -> CombSeen:
    """A part of the comb in view."""
    area = max(1.0, round(rng.beta(2.0, 2.0) * colony.comb_dm2 * rng.normal(1.0, 0.2)))
    months = 18.0 if is_dark else age / 30.0
    shade = int(np.searchsorted([0.4, 1.5, 4.0, 12.0], months)) + int(rng.integers(-1, 2))
    return CombSeen("part", None, float(area), COLOURS[int(np.clip(shade, 0, 4))])


def _tales(age: int, is_swarm: bool, rng: np.random.Generator) -> tuple[int, int]:
    """Days since bees were first noticed, and since a swarm was seen going in."""
    noticed = age - rng.exponential(9.0) if is_swarm else rng.lognormal(np.log(45.0), 1.0)
    if rng.random() < 0.4:
        noticed = 7.0 * round(noticed / 7.0)
    return int(np.clip(round(noticed), 0, 390)), max(0, age + int(rng.integers(-1, 2)))


def _cues(
    colony: Colony, depth_m: float, rng: np.random.Generator
) -> tuple[float, bool, bool, bool]:
    """Warm patch [dm2], capped brood in view, pollen carried, drones at the exit."""
    sheet = colony.brood_cells / 790.0 / 0.65 + 0.3 * min(colony.comb_dm2, colony.adults / 200)
    face = 0.35 * sheet / min(10.0 * depth_m, 2.5)
    patch = float(max(1.0, round((face + 3.0) * rng.lognormal(0.0, 0.4))))
    capped, larvae = float(colony.brood[9:].sum()), float(colony.brood[3:9].sum())
    chances = (
        capped / (capped + 1500.0),
        larvae / (larvae + 250.0),
        colony.drones / (colony.drones + 90.0),
    )
    sees = rng.random(3) < chances
    return patch, bool(sees[0]), bool(sees[1]), bool(sees[2])

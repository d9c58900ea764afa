"""Weather by the hour at an invented place: what bees of another model fly in.

A day is lost (steady rain, or a gale), changeable (showers) or fair; lost days come in
spells and their share of a month is the normal's. Cold and warm days follow one another
(first-order persistence). The temperature swings between the morning's low and the
afternoon's high along half cosines, cloud takes light away, and bees fly as the scarcest
of warmth, light and calm lets them: the smallest of three shares, not their product.

Sources: bees fly from 12-14 degC at 300 W/m2 and not in rain or strong wind (Vicens & Bosch
2000); search little below 12 degC (Burrill & Dietz 1981); each rain cuts flight at once
and it resumes at the slightest improvement (Lundie 1925). All other figures are assumed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from verify.other_colony import Weather, nectar_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LATITUDE_DEG, LONGITUDE_DEG, TIME_ZONE = 43.0, -75.0, "Etc/GMT+5"
# Invented normals of a temperate inland place, January first; those of `verify.ages`.
HIGH_DEGC = (0.0, 2.0, 7.0, 14.0, 20.0, 25.0, 27.5, 26.5, 22.0, 15.0, 8.0, 2.0)
LOW_DEGC = (-8.0, -7.0, -3.0, 3.0, 8.5, 13.5, 16.0, 15.0, 11.0, 5.0, 0.5, -5.0)
LOST_SHARE = (0.4, 0.35, 0.35, 0.3, 0.25, 0.22, 0.2, 0.2, 0.22, 0.28, 0.35, 0.4)
SPELL_STAYS, GALE_SHARE, CHANGEABLE_SHARE = 0.6, 0.15, 0.3
WET_COOLER_DEGC = 2.5
LOWEST_HOUR, HIGHEST_HOUR = 5, 15
_HOURS = np.arange(24)
Sky = Literal["sun", "cloud", "rain"]
Wind = Literal["calm", "breeze", "strong"]


@dataclass(frozen=True, slots=True)
class HourlyWeather:
    """Hour by hour from 1 January, arrays (days, 24) by the sun's own clock.

    `cloud` is the share of sky covered, `light_w_m2` falls on level ground, `flight` is the
    share of bees that would fly if they meant to; `nectar` (days,) the share of the best.
    """

    temperature_degc: Array
    cloud: Array
    wind_m_s: Array
    is_raining: NDArray[np.bool_]
    light_w_m2: Array
    flight: Array
    nectar: Array

    def by_day(self) -> Weather:
        """The same weather as the daily colony knows it."""
        return Weather(self.flight.sum(axis=1), self.nectar)


@dataclass(frozen=True, slots=True)
class WeatherTold:
    """What a technician writes down about the weather of an hour."""

    temperature_degc: float | None
    sky: Sky
    wind: Wind


def hourly_weather(
    rng: np.random.Generator,
    bloom: float = 1.0,
    days: int = 420,
    latitude_deg: float = LATITUDE_DEG,
) -> HourlyWeather:
    """Draw a year of hours and its bloom.

    Parameters
    ----------
    rng
        Source of all that is drawn.
    bloom
        Nectar against the usual.
    days
        Days from 1 January.
    latitude_deg
        Where the sun is reckoned.

    Returns
    -------
    The weather.
    """
    day = np.arange(days)
    high, low, lost_share = (_by_day(v, day) for v in (HIGH_DEGC, LOW_DEGC, LOST_SHARE))
    is_lost = _spells(lost_share, rng)
    is_gale = is_lost & (rng.random(days) < GALE_SHARE)
    is_changeable = ~is_lost & (rng.random(days) < CHANGEABLE_SHARE)
    temperature = _temperatures(high, low, is_lost, lost_share, rng)
    raining = _rain(is_lost & ~is_gale, is_changeable, rng)
    covered = np.where(is_lost, 0.9, np.where(is_changeable, 0.6, 0.28))[:, None]
    cloud = np.clip(covered + _wander(days, 0.22, rng), 0.0, 1.0)
    cloud = np.where(raining, np.maximum(cloud, 0.9), cloud)
    windy = rng.lognormal(np.log(2.6), 0.4, days) * np.where(is_gale, 3.6, 1.0)
    by_hour = 0.65 + 0.65 * np.exp(-(((_HOURS - 14.0) / 5.0) ** 2))
    wind = windy[:, None] * by_hour * np.exp(_wander(days, 0.15, rng))
    light = sunlight(day, latitude_deg) * (1.0 - 0.7 * cloud**2.5)
    flight = flight_of(temperature, light, wind, raining)
    return HourlyWeather(
        temperature, cloud, wind, raining, light, flight, nectar_of(days, rng, bloom)
    )


def sunlight(day: NDArray[np.int64], latitude_deg: float) -> Array:
    """Light of a clear sky [W/m2], shape (days, 24), in the middle of each hour."""
    tilt = np.deg2rad(-23.44) * np.cos(2.0 * np.pi * (day + 10.0) / 365.0)[:, None]
    turn = np.deg2rad(15.0 * (_HOURS + 0.5 - 12.0))
    place = np.deg2rad(latitude_deg)
    height = np.sin(place) * np.sin(tilt) + np.cos(place) * np.cos(tilt) * np.cos(turn)
    return np.asarray(np.maximum(0.0, 990.0 * height - 30.0))


def flight_of(
    temperature_degc: Array, light_w_m2: Array, wind_m_s: Array, is_raining: NDArray[np.bool_]
) -> Array:
    """Share of willing bees that fly, 0 to 1: the scarcest of warmth, light and calm."""
    warm = np.clip((temperature_degc - 11.0) / 6.0, 0.0, 1.0)
    cool = np.clip((42.0 - temperature_degc) / 6.0, 0.0, 1.0)
    light = np.clip((light_w_m2 - 40.0) / 200.0, 0.0, 1.0)
    calm = np.clip((9.0 - wind_m_s) / 4.0, 0.0, 1.0)
    return np.where(is_raining, 0.0, np.minimum.reduce([warm, cool, light, calm]))


def told(weather: HourlyWeather, day: int, hour: int, rng: np.random.Generator) -> WeatherTold:
    """Words and a thermometer reading, as a hurried person gives them."""
    sunny = float(weather.cloud[day, hour]) + 0.12 * rng.standard_normal() < 0.6
    sky: Sky = "rain" if weather.is_raining[day, hour] else "sun" if sunny else "cloud"
    felt = float(weather.wind_m_s[day, hour]) * rng.lognormal(0.0, 0.25)
    # A thermometer that hangs in the sun reads high.
    too_warm = 2.5 if sunny and rng.random() < 0.25 else 0.0
    read = float(weather.temperature_degc[day, hour]) + too_warm + rng.standard_normal()
    temperature = float(round(read)) if rng.random() < 0.85 else None
    wind: Wind = "calm" if felt < 2.2 else "breeze" if felt < 7.0 else "strong"
    return WeatherTold(temperature, sky, wind)


def _by_day(monthly: tuple[float, ...], day: NDArray[np.int64]) -> Array:
    """Straight lines between the middles of months."""
    return np.interp((day % 365) / (365.0 / 12.0), np.arange(12) + 0.5, monthly, period=12.0)


def _spells(share: Array, rng: np.random.Generator) -> NDArray[np.bool_]:
    """Lost days in spells of two days and a half whose share of days is as given."""
    lost = np.zeros(len(share), dtype=bool)
    throw = rng.random(len(share))
    for d in range(1, len(share)):
        starts = (1.0 - SPELL_STAYS) * share[d] / (1.0 - share[d])
        lost[d] = throw[d] < (SPELL_STAYS if lost[d - 1] else starts)
    return lost


def _temperatures(
    high: Array,
    low: Array,
    is_lost: NDArray[np.bool_],
    lost_share: Array,
    rng: np.random.Generator,
) -> Array:
    """Temperature of each hour; lost days are cooler, and the rest as much warmer."""
    days = len(high)
    anomaly = np.zeros(days)
    for d in range(1, days):
        anomaly[d] = 0.7 * anomaly[d - 1] + 2.4 * rng.standard_normal()
    drier = WET_COOLER_DEGC * lost_share / (1.0 - lost_share)
    top = high + anomaly + np.where(is_lost, -WET_COOLER_DEGC, drier)
    bottom = np.minimum(low + 0.7 * anomaly + 0.8 * rng.standard_normal(days), top - 2.0)
    next_bottom, last_top = np.roll(bottom, -1), np.roll(top, 1)
    rise = 0.5 - 0.5 * np.cos(np.pi * (_HOURS - LOWEST_HOUR) / (HIGHEST_HOUR - LOWEST_HOUR))
    night_h = 24 - (HIGHEST_HOUR - LOWEST_HOUR)
    evening = 0.5 + 0.5 * np.cos(np.pi * (_HOURS - HIGHEST_HOUR) / night_h)
    morning = 0.5 + 0.5 * np.cos(np.pi * (_HOURS + 24 - HIGHEST_HOUR) / night_h)
    by_day = bottom[:, None] + (top - bottom)[:, None] * rise
    after = next_bottom[:, None] + (top - next_bottom)[:, None] * evening
    before = bottom[:, None] + (last_top - bottom)[:, None] * morning
    is_day = (_HOURS >= LOWEST_HOUR) & (_HOURS <= HIGHEST_HOUR)
    return np.where(is_day, by_day, np.where(_HOURS > HIGHEST_HOUR, after, before))


def _rain(
    is_wet: NDArray[np.bool_], is_changeable: NDArray[np.bool_], rng: np.random.Generator
) -> NDArray[np.bool_]:
    """Rain of each hour: long spells on a wet day, short showers on a changeable one."""
    starts = np.where(is_wet, 0.5, np.where(is_changeable, 0.06, 0.0))
    stays = np.where(is_wet, 0.9, np.where(is_changeable, 0.4, 0.0))
    throws = rng.random((24, len(is_wet)))
    raining = np.zeros((len(is_wet), 24), dtype=bool)
    now = throws[0] < starts
    for hour in _HOURS:
        now = throws[hour] < np.where(now, stays, starts)
        raining[:, hour] = now
    return raining


def _wander(days: int, spread: float, rng: np.random.Generator) -> Array:
    """Smooth noise over the hours of each day, shape (days, 24)."""
    knots = spread * rng.standard_normal((days, 7))
    place = np.linspace(0.0, 6.0, 24)
    left = np.minimum(place.astype(int), 5)
    part = place - left
    return np.asarray(knots[:, left] * (1.0 - part) + knots[:, left + 1] * part)

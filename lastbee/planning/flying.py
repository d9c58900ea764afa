"""Hours of flight in a day, and how busy an exit is at a given moment.

A flight hour is an hour of full flight in fine weather: flight activity, 0 to 1,
summed over the daylight of a day with a clear sky. Days are warmer or cooler than the
normals, and near the cold limit of flight the warm ones count for more, so the hours
are the mean over that spread. What rain and wind take away (`wet_day_share`) is left
to the caller.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple
from zoneinfo import ZoneInfo

import numpy as np

from lastbee.biology.flight import diel_temperature_degc, flight_activity
from lastbee.planning.climate import daily_normals
from lastbee.planning.sun import clear_sky_irradiance_w_m2, solar_hour, sun_arc

if TYPE_CHECKING:
    from datetime import date, datetime

    from numpy.typing import NDArray

    from lastbee.planning.climate import ClimateNormals, DailyNormals
    from lastbee.planning.sun import SunArc

__all__ = ["FlightNow", "Sky", "Wind", "flight_activity_at", "flight_hours"]

Sky = Literal["sun", "cloud", "rain"]
Wind = Literal["calm", "breeze", "strong"]

# Midpoints over the daylight of a day; these give the flight hours to about a minute.
_STEPS = 32
# Assumed: spread of a day's temperature about its normal, inward of 15 degrees of
# latitude and beyond 45. [degC]
_TROPICAL_SPREAD_DEGC = 1.5
_TEMPERATE_SPREAD_DEGC = 4.0
# Seven eighths of cloud: 1 - 0.75 (7/8)^3.4, Kasten & Czeplak, Solar Energy 24, 177-189, 1980.
CLOUDY_LIGHT_SHARE = 0.524
# Assumed middle of what people call by these words. [m/s]
WIND_M_S: dict[Wind, float] = {"calm": 1.0, "breeze": 4.0, "strong": 7.0}


class FlightNow(NamedTuple):
    """Activity at a moment and flight hours of that day."""

    activity: float
    flight_hours: float


def flight_hours(
    latitude_deg: float, longitude_deg: float, first: date, days: int, normals: ClimateNormals
) -> NDArray[np.float64]:
    """Fine-weather flight hours of each of many days.

    Parameters
    ----------
    latitude_deg, longitude_deg
        Site, north and east positive, latitude -66 to 66. [deg]
    first
        First day.
    days
        Number of days, >= 1.
    normals
        Monthly normals of the site.

    Returns
    -------
    Hours of full flight, 0 to the day's length, shape (days,). [h]

    Raises
    ------
    ValueError
        If the place is beyond its limits or `days` < 1.
    """
    arc = sun_arc(latitude_deg, longitude_deg, first, days)
    daily = daily_normals(normals, first, days)
    hours = np.zeros(days)
    for warmer, weight in _day_to_day(latitude_deg):
        hours += weight * _hours_of(arc, daily, warmer)
    return hours


def flight_activity_at(
    when: datetime,
    time_zone: str,
    temperature_degc: float | None,
    sky: Sky | None,
    wind: Wind | None,
    latitude_deg: float,
    longitude_deg: float,
    normals: ClimateNormals,
) -> FlightNow:
    """Say how busy the exit is at a moment, to read a traffic count by.

    Parameters
    ----------
    when
        Moment; without a time zone it is read in `time_zone`.
    time_zone
        IANA name of the site's zone.
    temperature_degc
        Temperature then, None where not measured. [degC]
    sky, wind
        As seen then; None is read as sun and as calm.
    latitude_deg, longitude_deg
        Site, latitude -66 to 66. [deg]
    normals
        Monthly normals of the site.

    Returns
    -------
    `activity`, 0 to 1 of full flight; and `flight_hours` of that day in fine weather, so
    that activity / flight_hours is the share of the day's flights made per hour just
    then. Either may be 0 (rain, night, cold): such a count says nothing of the colony.

    Raises
    ------
    ValueError
        If the place is beyond its limits or a word for sky or wind is not known.

    Notes
    -----
    Where the temperature was measured, the day's low and high are moved together so
    that the day's curve passes through it; where not, both numbers are means over the
    spread of days about the normals.
    """
    _check_words(sky, wind)
    moment = when if when.tzinfo is not None else when.replace(tzinfo=ZoneInfo(time_zone))
    day, hour = solar_hour(longitude_deg, moment)
    arc = sun_arc(latitude_deg, longitude_deg, day, 1)
    daily = daily_normals(normals, day, 1)
    usual = diel_temperature_degc(hour, daily.low_degc, daily.high_degc, arc.day_length_h())[0]
    light = clear_sky_irradiance_w_m2(arc.sin_elevation([[hour]]))[0, 0]
    if sky in {"cloud", "rain"}:
        light *= CLOUDY_LIGHT_SHARE
    spread = (
        _day_to_day(latitude_deg)
        if temperature_degc is None
        else [(temperature_degc - float(usual), 1.0)]
    )
    activity = hours = 0.0
    for warmer, weight in spread:
        activity += weight * float(
            flight_activity(usual + warmer, light, sky == "rain", WIND_M_S[wind or "calm"])
        )
        hours += weight * float(_hours_of(arc, daily, warmer)[0])
    return FlightNow(activity, hours)


def _check_words(sky: Sky | None, wind: Wind | None) -> None:
    if sky not in {None, "sun", "cloud", "rain"}:
        msg = f'sky must be "sun", "cloud" or "rain", got {sky!r}'
        raise ValueError(msg)
    if wind is not None and wind not in WIND_M_S:
        msg = f'wind must be "calm", "breeze" or "strong", got {wind!r}'
        raise ValueError(msg)


def _day_to_day(latitude_deg: float) -> list[tuple[float, float]]:
    """Five departures from normal and their weights, for a Gaussian spread."""
    spread = np.interp(
        abs(latitude_deg), [15.0, 45.0], [_TROPICAL_SPREAD_DEGC, _TEMPERATE_SPREAD_DEGC]
    )
    nodes, weights = np.polynomial.hermite_e.hermegauss(5)
    return list(zip((nodes * spread).tolist(), (weights / weights.sum()).tolist(), strict=True))


def _hours_of(arc: SunArc, daily: DailyNormals, warmer_degc: float) -> NDArray[np.float64]:
    """Sum activity over the daylight of each day by the midpoint rule."""
    length = arc.day_length_h()
    share = (np.arange(_STEPS) + 0.5) / _STEPS - 0.5
    hours = 12.0 + length[:, None] * share
    temperature = diel_temperature_degc(
        hours, daily.low_degc[:, None], daily.high_degc[:, None], length[:, None]
    )
    light = clear_sky_irradiance_w_m2(arc.sin_elevation(hours))
    activity = flight_activity(temperature + warmer_degc, light)
    total: NDArray[np.float64] = activity.mean(axis=1) * length
    return total

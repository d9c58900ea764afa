"""Where the sun stands: sunrise, noon, sunset, elevation, and day length for many days.

The positions come from `astral`. Over one day the sine of the sun's elevation is, to a
fraction of a minute, a constant plus a cosine of the hour by the sun; `sun_arc` reads
the two numbers off the library once a day, and day length and elevation at any hour of
many days follow in one array expression.

Beyond 66 degrees of latitude the sun does not rise and set every day and nothing here
answers; just inside it, a midsummer day may last the full 24 hours.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

if TYPE_CHECKING:
    from astral import Observer
    from numpy.typing import ArrayLike, NDArray

__all__ = [
    "LATITUDE_LIMIT_DEG",
    "SunArc",
    "SunTimes",
    "clear_sky_irradiance_w_m2",
    "day_length_h",
    "elevation_deg",
    "solar_hour",
    "sun_arc",
    "sun_times",
]

LATITUDE_LIMIT_DEG = 66.0
# Sunrise by the usual convention: 34' of refraction and 16' of the sun's radius.
HORIZON_DEG = -50.0 / 60.0


@dataclass(frozen=True, slots=True)
class SunTimes:
    """Sunrise, noon by the sun and sunset of one civil day, in the site's time zone."""

    sunrise: datetime
    noon: datetime
    sunset: datetime


@dataclass(frozen=True, slots=True)
class SunArc:
    """The sun's course on each day: sin(elevation) = middle + swing cos(hour angle).

    `middle` and `swing` have shape (days,) and no unit.
    """

    middle: NDArray[np.float64]
    swing: NDArray[np.float64]

    def day_length_h(self) -> NDArray[np.float64]:
        """Sunrise to sunset on each day, 0 to 24, shape (days,). [h]."""
        horizon = np.sin(np.radians(HORIZON_DEG))
        half_deg = np.degrees(np.arccos(np.clip((horizon - self.middle) / self.swing, -1.0, 1.0)))
        length: NDArray[np.float64] = half_deg * (2.0 / 15.0)
        return length

    def sin_elevation(self, solar_hours: ArrayLike) -> NDArray[np.float64]:
        """Sine of the elevation at given hours by the sun (noon = 12) of each day.

        Parameters
        ----------
        solar_hours
            Shape (days, k), or anything that broadcasts against (days, 1). [h]

        Returns
        -------
        Shape (days, k), -1 to 1, without refraction. [unitless]
        """
        angle = np.radians((np.asarray(solar_hours, dtype=np.float64) - 12.0) * 15.0)
        sine: NDArray[np.float64] = self.middle[:, None] + self.swing[:, None] * np.cos(angle)
        return sine


def sun_arc(latitude_deg: float, longitude_deg: float, first: date, days: int) -> SunArc:
    """Read the sun's course on each of many days.

    Parameters
    ----------
    latitude_deg, longitude_deg
        Site, north and east positive. [deg]
    first
        First day.
    days
        Number of days, >= 1.

    Returns
    -------
    The course, one entry a day; 800 days take a few hundredths of a second.

    Raises
    ------
    ValueError
        If the latitude is beyond 66 degrees, the longitude beyond 180, or `days` < 1.

    Notes
    -----
    Six hours either side of noon the cosine vanishes, so the mean of the two elevations
    gives `middle` for the sun's declination at noon, and noon itself the `swing`.
    """
    from astral.sun import elevation

    _check_place(latitude_deg, longitude_deg)
    if days < 1:
        msg = f"days must be 1 or more, got {days!r}"
        raise ValueError(msg)
    observer = _observer(latitude_deg, longitude_deg)
    quarter = timedelta(hours=6)
    degrees = np.empty((days, 3))
    for index in range(days):
        noon = _noon_utc(longitude_deg, first + timedelta(days=index))
        for column, moment in enumerate((noon - quarter, noon, noon + quarter)):
            degrees[index, column] = elevation(observer, moment, with_refraction=False)
    sines = np.sin(np.radians(degrees))
    middle = 0.5 * (sines[:, 0] + sines[:, 2])
    return SunArc(middle=middle, swing=sines[:, 1] - middle)


def day_length_h(
    latitude_deg: float, longitude_deg: float, first: date, days: int
) -> NDArray[np.float64]:
    """Sunrise to sunset on each of many days.

    Parameters
    ----------
    latitude_deg, longitude_deg
        Site, north and east positive. [deg]
    first
        First day.
    days
        Number of days, >= 1.

    Returns
    -------
    Day length, shape (days,). [h]

    Raises
    ------
    ValueError
        As `sun_arc`.
    """
    return sun_arc(latitude_deg, longitude_deg, first, days).day_length_h()


def sun_times(latitude_deg: float, longitude_deg: float, day: date, time_zone: str) -> SunTimes:
    """Sunrise, noon and sunset of a civil day.

    Parameters
    ----------
    latitude_deg, longitude_deg
        Site, north and east positive. [deg]
    day
        Date in the site's time zone.
    time_zone
        IANA name, for instance "Europe/Zurich".

    Returns
    -------
    The three moments, aware, in `time_zone`. Noon falls on `day`; where the clock runs
    far ahead of the sun, a northern midsummer sunset may fall after midnight.

    Raises
    ------
    ValueError
        If the latitude is beyond 66 degrees or the longitude beyond 180.
    """
    _check_place(latitude_deg, longitude_deg)
    zone = ZoneInfo(time_zone)
    # The civil date may run a day ahead of the sun's near the date line.
    candidates = [day + timedelta(days=shift) for shift in (0, -1, 1)]
    noons = {solar_day: _noon_utc(longitude_deg, solar_day) for solar_day in candidates}
    solar_day = next(d for d in candidates if noons[d].astimezone(zone).date() == day)
    noon = noons[solar_day]
    half = timedelta(hours=0.5 * float(day_length_h(latitude_deg, longitude_deg, solar_day, 1)[0]))
    return SunTimes(
        sunrise=(noon - half).astimezone(zone),
        noon=noon.astimezone(zone),
        sunset=(noon + half).astimezone(zone),
    )


def elevation_deg(latitude_deg: float, longitude_deg: float, when: datetime) -> float:
    """Elevation of the sun's centre, without refraction.

    Parameters
    ----------
    latitude_deg, longitude_deg
        Site, north and east positive. [deg]
    when
        Moment, with a time zone.

    Returns
    -------
    Elevation, negative below the horizon. [deg]

    Raises
    ------
    ValueError
        If `when` has no time zone, the latitude is beyond 66 degrees or the longitude
        beyond 180.
    """
    from astral.sun import elevation

    _check_place(latitude_deg, longitude_deg)
    _check_aware(when)
    observer = _observer(latitude_deg, longitude_deg)
    return float(elevation(observer, when.astimezone(UTC), with_refraction=False))


def solar_hour(longitude_deg: float, when: datetime) -> tuple[date, float]:
    """Day and hour by the sun.

    Parameters
    ----------
    longitude_deg
        East positive, -180 to 180. [deg]
    when
        Moment, with a time zone.

    Returns
    -------
    Date by local mean time, and the hour with noon = 12, about 0 to 24. [h]

    Raises
    ------
    ValueError
        If `when` has no time zone or the longitude is beyond 180.
    """
    _check_place(0.0, longitude_deg)
    _check_aware(when)
    moment = when.astimezone(UTC)
    day = (moment + timedelta(hours=longitude_deg / 15.0)).date()
    since_noon = moment - _noon_utc(longitude_deg, day)
    return day, 12.0 + since_noon / timedelta(hours=1)


def clear_sky_irradiance_w_m2(sin_elevation: ArrayLike) -> NDArray[np.float64]:
    """Global irradiance on the flat under a clear sky.

    Parameters
    ----------
    sin_elevation
        Sine of the sun's elevation, any shape. [unitless]

    Returns
    -------
    Irradiance, 0 with the sun down, same shape. [W/m2]

    Notes
    -----
    1098 s exp(-0.059 / s) with s = `sin_elevation` [1]_.

    References
    ----------
    .. [1] Haurwitz, B., "Insolation in relation to cloudiness and cloud density",
       Journal of Meteorology 2, 154-166, 1945.
    """
    # The formula underflows to nothing long before the sun touches the horizon.
    sine = np.maximum(np.asarray(sin_elevation, dtype=np.float64), 1e-3)
    irradiance: NDArray[np.float64] = 1098.0 * sine * np.exp(-0.059 / sine)
    return irradiance


def _noon_utc(longitude_deg: float, solar_day: date) -> datetime:
    """Moment of noon by the sun on a date by local mean time."""
    from astral.sun import noon

    return noon(_observer(0.0, longitude_deg), solar_day)


def _observer(latitude_deg: float, longitude_deg: float) -> Observer:
    from astral import Observer

    return Observer(latitude_deg, longitude_deg, 0.0)


def _check_place(latitude_deg: float, longitude_deg: float) -> None:
    if not -LATITUDE_LIMIT_DEG <= latitude_deg <= LATITUDE_LIMIT_DEG:
        msg = (
            f"latitude_deg must be from -66 to 66, got {latitude_deg!r}: "
            "beyond it the sun does not rise and set every day"
        )
        raise ValueError(msg)
    if not -180.0 <= longitude_deg <= 180.0:
        msg = f"longitude_deg must be from -180 to 180, got {longitude_deg!r}"
        raise ValueError(msg)


def _check_aware(when: datetime) -> None:
    if when.tzinfo is None:
        msg = f"when must carry a time zone, got {when!r}"
        raise ValueError(msg)

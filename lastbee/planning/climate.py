"""Daily normals of temperature and lost days from twelve monthly values.

Where a site's normals are not known, `zonal_normals` gives rough ones from latitude
alone. They are from memory and good to several degrees at best (height above the sea,
coast or interior and rainy seasons are not in them); whoever uses them says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

__all__ = ["ClimateNormals", "DailyNormals", "daily_normals", "zonal_normals"]

MONTHS = 12
# Middle of each month, day of a year of 365 days, 1 January = 1.
_MID_MONTH_DAY = (16.5, 46.0, 75.5, 106.0, 136.5, 167.0, 197.5, 228.5, 259.0, 289.5, 320.0, 350.5)

# From memory, lowland stations of settled places: latitude (north positive), mean of the
# year, half the range of the monthly means, mean daily range, share of days lost.
_ZONES = np.array(
    [
        (-66.0, -2.0, 6.0, 7.0, 0.30),
        (-50.0, 7.5, 4.5, 8.0, 0.30),
        (-40.0, 12.5, 5.0, 10.0, 0.22),
        (-30.0, 18.5, 5.5, 11.0, 0.18),
        (-20.0, 23.0, 4.0, 10.0, 0.20),
        (-10.0, 25.5, 1.5, 9.0, 0.30),
        (0.0, 26.5, 0.5, 8.0, 0.35),
        (10.0, 27.0, 2.0, 10.0, 0.30),
        (20.0, 25.5, 5.0, 11.0, 0.20),
        (30.0, 20.5, 8.5, 12.0, 0.18),
        (40.0, 13.0, 11.5, 11.0, 0.22),
        (50.0, 8.5, 10.0, 9.0, 0.28),
        (66.0, 2.0, 12.0, 8.0, 0.30),
    ]
)
# The warmest day trails the longest by about four weeks: 19 July and 18 January.
_WARMEST_DAY_NORTH = 200.0
_WARMEST_DAY_SOUTH = 17.5


@dataclass(frozen=True, slots=True)
class ClimateNormals:
    """Twelve monthly normals, January first.

    `high_degc` and `low_degc` are mean daily maximum and minimum [degC];
    `wet_day_share` the share of days lost to rain or strong wind, 0 to 1.

    Raises
    ------
    ValueError
        If a series has not twelve values, a low is above its high, or a share is not
        in 0 to 1.
    """

    high_degc: tuple[float, ...]
    low_degc: tuple[float, ...]
    wet_day_share: tuple[float, ...]
    is_assumed: bool = False

    def __post_init__(self) -> None:
        """Refuse normals that cannot be."""
        for name in ("high_degc", "low_degc", "wet_day_share"):
            values = getattr(self, name)
            if len(values) != MONTHS:
                msg = f"{name} must have 12 values, got {len(values)}"
                raise ValueError(msg)
        for low, high in zip(self.low_degc, self.high_degc, strict=True):
            if not low <= high:
                msg = f"low_degc must not be above high_degc, got {low!r} and {high!r}"
                raise ValueError(msg)
        for share in self.wet_day_share:
            if not 0.0 <= share <= 1.0:
                msg = f"wet_day_share must be from 0 to 1, got {share!r}"
                raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class DailyNormals:
    """Normals of consecutive days, each of shape (days,); units as `ClimateNormals`."""

    high_degc: NDArray[np.float64]
    low_degc: NDArray[np.float64]
    wet_day_share: NDArray[np.float64]


def daily_normals(normals: ClimateNormals, first: date, days: int) -> DailyNormals:
    """Spread monthly normals over days, smoothly and the same every year.

    Parameters
    ----------
    normals
        Monthly values, taken to hold at the middle of each month.
    first
        First day.
    days
        Number of days, >= 1.

    Returns
    -------
    One value a day.

    Raises
    ------
    ValueError
        If `days` < 1.

    Notes
    -----
    A periodic cubic through the mid-month values whose slope at each is that between
    its neighbours (Catmull-Rom); shares are held to 0 to 1 and a low to at most its high.
    """
    if days < 1:
        msg = f"days must be 1 or more, got {days!r}"
        raise ValueError(msg)
    phase = _month_phase(_days_of_year(first, days))
    high = _periodic_cubic(normals.high_degc, phase)
    return DailyNormals(
        high_degc=high,
        low_degc=np.minimum(_periodic_cubic(normals.low_degc, phase), high),
        wet_day_share=np.clip(_periodic_cubic(normals.wet_day_share, phase), 0.0, 1.0),
    )


def zonal_normals(latitude_deg: float) -> ClimateNormals:
    """Rough normals from latitude alone, for want of anything better.

    Parameters
    ----------
    latitude_deg
        Latitude, north positive, -66 to 66. [deg]

    Returns
    -------
    Normals with `is_assumed` set. From memory: lowland, neither coast nor desert; the
    north more continental than the south; good to several degrees at best.

    Raises
    ------
    ValueError
        If the latitude is beyond 66 degrees.
    """
    if not _ZONES[0, 0] <= latitude_deg <= _ZONES[-1, 0]:
        msg = f"latitude_deg must be from -66 to 66, got {latitude_deg!r}"
        raise ValueError(msg)
    mean, swing, daily_range, wet = (
        float(np.interp(latitude_deg, _ZONES[:, 0], _ZONES[:, column])) for column in range(1, 5)
    )
    warmest = _WARMEST_DAY_NORTH if latitude_deg >= 0.0 else _WARMEST_DAY_SOUTH
    angle = (np.array(_MID_MONTH_DAY) - warmest) * (2.0 * np.pi / 365.0)
    monthly = (mean + swing * np.cos(angle)).tolist()
    return ClimateNormals(
        high_degc=tuple(value + 0.5 * daily_range for value in monthly),
        low_degc=tuple(value - 0.5 * daily_range for value in monthly),
        wet_day_share=(wet,) * MONTHS,
        is_assumed=True,
    )


def _days_of_year(first: date, days: int) -> NDArray[np.float64]:
    dates = np.datetime64(first, "D") + np.arange(days)
    new_year = dates.astype("datetime64[Y]").astype("datetime64[D]")
    day: NDArray[np.float64] = (dates - new_year).astype(np.float64) + 1.0
    return day


def _month_phase(day_of_year: NDArray[np.float64]) -> NDArray[np.float64]:
    """Months since the middle of January, 0 to 12; 31 December of a leap year is day 366."""
    days = (_MID_MONTH_DAY[-1] - 365.0, *_MID_MONTH_DAY, _MID_MONTH_DAY[0] + 365.0)
    months = np.arange(-1.0, MONTHS + 1.0)
    phase: NDArray[np.float64] = np.mod(np.interp(day_of_year, days, months), float(MONTHS))
    return phase


def _periodic_cubic(monthly: tuple[float, ...], phase: NDArray[np.float64]) -> NDArray[np.float64]:
    values = np.asarray(monthly, dtype=np.float64)
    left = np.floor(phase).astype(np.intp) % MONTHS
    right = (left + 1) % MONTHS
    slope = 0.5 * (np.roll(values, -1) - np.roll(values, 1))
    t = phase - np.floor(phase)
    rise = values[right] - values[left]
    # Hermite form: value, slope at the left, and the two corrections that meet the right.
    second = 3.0 * rise - 2.0 * slope[left] - slope[right]
    third = slope[left] + slope[right] - 2.0 * rise
    result: NDArray[np.float64] = values[left] + t * (slope[left] + t * (second + t * third))
    return result

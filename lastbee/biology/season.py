"""The year of a colony: laying, forage and drones by day of year and latitude.

The laying curve is that of Schmickl & Crailsheim [1]_, written for the temperate north.
Two things are ours and assumed, because no published curve covers them: the southern
half of the world lives the same year half a year later, and the curve flattens toward
the tropics, where colonies rear some brood all year. The forage curve is assumed
altogether: its shape (spring rise, main flow, summer dearth, autumn flow) is common
practice, no source.

References
----------
.. [1] Schmickl, T. & Crailsheim, K., Ecological Modelling 204, 219-245, 2007.
.. [2] Allen, M. D., "Drone production in honey-bee colonies", Nature 199, 789-790, 1963.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

__all__ = [
    "SCHMICKL_CRAILSHEIM_2007",
    "LayingCurve",
    "dearth_share",
    "drone_season_share",
    "forage_share",
    "laying_share",
    "northern_day",
    "winter_floor",
]

DAYS_PER_YEAR = 365.0
HALF_YEAR_DAYS = 182.5

# Assumed: the full swing of the year at and beyond 45 degrees, half of it from 25 inward.
TEMPERATE_LATITUDE_DEG = 45.0
TROPICAL_LATITUDE_DEG = 25.0
TROPICAL_FLOOR = 0.5
# Assumed: across the equator the two halves' calendars are blended over this band.
EQUATOR_BLEND_DEG = 10.0

# Allen 1963: drones reared from 25 April to 28 August in the temperate north.
DRONE_FIRST_DAY = 115.0
DRONE_LAST_DAY = 240.0

# Assumed, common practice, no source: day of year in the temperate north and share of
# the best forage of the year. Straight lines join the points; the year closes on itself.
_FORAGE_DAYS = (60.0, 91.0, 121.0, 140.0, 181.0, 250.0, 265.0, 290.0, 310.0)
_FORAGE_SHARES = (0.0, 0.35, 0.7, 1.0, 1.0, 0.7, 0.6, 0.2, 0.0)
# The summer dearth, of uncertain depth, stands apart: 0 outside it, 1 at its height.
_DEARTH_DAYS = (181.0, 205.0, 230.0, 250.0)
_DEARTH_SHARES = (0.0, 1.0, 1.0, 0.0)


@dataclass(frozen=True, slots=True)
class LayingCurve:
    """The five constants of the seasonal laying curve of Schmickl & Crailsheim 2007.

    `x1`, `x3` are pure numbers; `x2`, `x4`, `x5` are days. Names are the paper's.
    """

    x1: float
    x2: float
    x3: float
    x4: float
    x5: float


SCHMICKL_CRAILSHEIM_2007 = LayingCurve(x1=385.0, x2=30.0, x3=36.0, x4=155.0, x5=30.0)
"""As printed on p. 221."""


def northern_day(day_of_year: ArrayLike) -> NDArray[np.float64]:
    """Day of the northern year that a southern day of year corresponds to.

    Parameters
    ----------
    day_of_year
        Day of year in the southern half, 1 January = 1. [d]

    Returns
    -------
    Day of year half a year away, in [0, 365), same shape as the input. [d]
    """
    return np.mod(np.asarray(day_of_year, dtype=np.float64) + HALF_YEAR_DAYS, DAYS_PER_YEAR)


def winter_floor(latitude_deg: float) -> float:
    """Share of the year's best that is left in the worst season, from latitude.

    Parameters
    ----------
    latitude_deg
        Latitude, north positive, -90 to 90. [deg]

    Returns
    -------
    0 at and beyond 45 degrees, rising in a straight line to 0.5 at 25 degrees and
    inward. Assumed. [unitless]

    Raises
    ------
    ValueError
        If the latitude is not in -90 to 90.
    """
    if not -90.0 <= latitude_deg <= 90.0:
        msg = f"latitude_deg must be from -90 to 90, got {latitude_deg!r}"
        raise ValueError(msg)
    return float(
        np.interp(
            abs(latitude_deg),
            [TROPICAL_LATITUDE_DEG, TEMPERATE_LATITUDE_DEG],
            [TROPICAL_FLOOR, 0.0],
        )
    )


def laying_share(
    day_of_year: ArrayLike,
    latitude_deg: float = 50.0,
    curve: LayingCurve = SCHMICKL_CRAILSHEIM_2007,
) -> NDArray[np.float64]:
    """Seasonal laying potential as a share of the queen's greatest rate.

    Parameters
    ----------
    day_of_year
        Day of year, 1 January = 1, any shape; fractions allowed. [d]
    latitude_deg
        Latitude, north positive. [deg]
    curve
        Constants of the curve.

    Returns
    -------
    Share in 0 to 1, same shape as `day_of_year`. [unitless]

    Raises
    ------
    ValueError
        If the latitude is not in -90 to 90.

    Notes
    -----
    For the temperate north this is 1 - season(t) with
    season = max(1 - 1/(1 + x1 exp(-2t/x2)), 1/(1 + x3 exp(-2(t - x4)/x5))) [1]_, left
    unscaled, so that its peak is 0.98 and not 1. Half-year shift, blend across the
    equator and the floor of `winter_floor` are assumed.

    References
    ----------
    .. [1] Schmickl & Crailsheim, Ecological Modelling 204, 219-245, 2007, p. 221.
    """

    def northern(day: NDArray[np.float64]) -> NDArray[np.float64]:
        rise = 1.0 - 1.0 / (1.0 + curve.x1 * np.exp(-2.0 * day / curve.x2))
        fall = 1.0 / (1.0 + curve.x3 * np.exp(-2.0 * (day - curve.x4) / curve.x5))
        share: NDArray[np.float64] = 1.0 - np.maximum(rise, fall)
        return share

    return _placed(day_of_year, latitude_deg, northern)


def forage_share(day_of_year: ArrayLike, latitude_deg: float = 50.0) -> NDArray[np.float64]:
    """Forage on offer as a share of the main flow, before any summer dearth.

    Parameters
    ----------
    day_of_year
        Day of year, 1 January = 1, any shape. [d]
    latitude_deg
        Latitude, north positive. [deg]

    Returns
    -------
    Share in 0 to 1, same shape as `day_of_year`. [unitless]

    Raises
    ------
    ValueError
        If the latitude is not in -90 to 90.

    Notes
    -----
    Assumed, common practice, no source. Temperate north: nothing before March, a rise
    to the main flow from 20 May to the end of June, a slow decline to an autumn flow at
    0.6 in September, nothing from early November. Real places differ by weeks; whoever
    uses the curve gives it a wide error.
    """

    def northern(day: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.interp(day, _FORAGE_DAYS, _FORAGE_SHARES, period=DAYS_PER_YEAR)

    return _placed(day_of_year, latitude_deg, northern)


def dearth_share(day_of_year: ArrayLike, latitude_deg: float = 50.0) -> NDArray[np.float64]:
    """How far into the summer dearth a day is: 0 outside, 1 at its height.

    Parameters
    ----------
    day_of_year
        Day of year, 1 January = 1, any shape. [d]
    latitude_deg
        Latitude, north positive; only its sign is used. [deg]

    Returns
    -------
    Share in 0 to 1, same shape as `day_of_year`. [unitless]

    Notes
    -----
    Assumed, common practice, no source: from the end of June to early September in the
    north, at its height from late July to mid August. Its depth differs by place and is
    a parameter of each colony's year.
    """
    day = np.asarray(day_of_year, dtype=np.float64)
    north = day if latitude_deg >= 0.0 else northern_day(day)
    share: NDArray[np.float64] = np.interp(north, _DEARTH_DAYS, _DEARTH_SHARES)
    return share


def drone_season_share(day_of_year: ArrayLike, latitude_deg: float = 50.0) -> NDArray[np.float64]:
    """Whether drones are being reared: 1 in season, 0 out of it.

    Parameters
    ----------
    day_of_year
        Day of year, 1 January = 1, any shape. [d]
    latitude_deg
        Latitude, north positive. [deg]

    Returns
    -------
    1 from 25 April to 28 August in the temperate north [1]_ and half a year later in
    the temperate south, else the floor of `winter_floor`, same shape. [unitless]

    Raises
    ------
    ValueError
        If the latitude is not in -90 to 90.

    References
    ----------
    .. [1] Allen, M. D., Nature 199, 789-790, 1963.
    """

    def northern(day: NDArray[np.float64]) -> NDArray[np.float64]:
        return ((day >= DRONE_FIRST_DAY) & (day < DRONE_LAST_DAY + 1.0)).astype(np.float64)

    return _placed(day_of_year, latitude_deg, northern)


def _placed(
    day_of_year: ArrayLike,
    latitude_deg: float,
    northern: Callable[[NDArray[np.float64]], NDArray[np.float64]],
) -> NDArray[np.float64]:
    """Shift a northern curve to the latitude's half of the world and raise its floor."""
    floor = winter_floor(latitude_deg)
    day = np.asarray(day_of_year, dtype=np.float64)
    north = float(np.clip(0.5 + latitude_deg / (2.0 * EQUATOR_BLEND_DEG), 0.0, 1.0))
    share = np.zeros_like(day)
    if north > 0.0:
        share = share + north * northern(day)
    if north < 1.0:
        share = share + (1.0 - north) * northern(northern_day(day))
    return floor + (1.0 - floor) * share

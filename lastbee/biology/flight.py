"""How much a colony flies in given weather, and the course of temperature in a day.

Activity is a share of full flight, 0 to 1, the product of four factors that are each
straight lines between published thresholds. The thresholds are sourced; that the
factors multiply and run straight between them is assumed, since the published
regressions do not carry over from one site to another.

- temperature: little search below 12 degC, rising to 20 degC [2]_; falling above about
  36 degC and none from 43 degC (from memory);
- light: honey bees are fully active at 300 W/m2 [1]_, in proportion below it. The
  decline above 460 W/m2 seen by [2]_ is left out: on bright days it goes with heat;
- rain: none in steady rain [3]_;
- wind: falling from 3.5 m/s to none at 8 m/s (from memory).

References
----------
.. [1] Vicens, N. & Bosch, J., "Weather-dependent pollinator activity in an apple orchard,
   with special reference to Osmia cornuta and Apis mellifera", Environmental Entomology
   29, 413-420, 2000.
.. [2] Burrill, R. M. & Dietz, A., "The response of honey bees to variations in solar
   radiation and temperature", Apidologie 12, 319-328, 1981.
.. [3] Lundie, A. E., "The flight activities of the honeybee", United States Department of
   Agriculture Bulletin 1328, 1925.
.. [4] Parton, W. J. & Logan, J. A., "A model for diurnal variation in soil and air
   temperature", Agricultural Meteorology 23, 205-216, 1981.
   doi:10.1016/0002-1571(81)90105-9
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["diel_temperature_degc", "flight_activity", "light_factor", "temperature_factor"]

# Burrill & Dietz 1981: rise over 12-20 degC.
COLD_STOP_DEGC = 12.0
FULL_FLIGHT_DEGC = 20.0
# From memory: decline above 35-38 degC, none at 43 degC and over.
HEAT_DECLINE_DEGC = 36.0
HEAT_STOP_DEGC = 43.0
# Vicens & Bosch 2000: fully active at 300 W/m2.
FULL_LIGHT_W_M2 = 300.0
# From memory: decline from 3-4 m/s, stop at 6.7-9.5 m/s.
WIND_DECLINE_M_S = 3.5
WIND_STOP_M_S = 8.0

# Parton & Logan 1981, air at 150 cm: hours from noon to the warmest hour, night-time
# decay, hours from sunrise to the coldest hour.
WARMEST_LAG_H = 1.86
NIGHT_DECAY = 2.20
COLDEST_LAG_H = -0.17


def temperature_factor(temperature_degc: ArrayLike) -> NDArray[np.float64]:
    """Share of full flight that air temperature allows.

    Parameters
    ----------
    temperature_degc
        Air temperature in the shade, any shape. [degC]

    Returns
    -------
    Share in 0 to 1, same shape; NaN where the temperature is NaN. [unitless]

    References
    ----------
    .. [1] Burrill & Dietz, Apidologie 12, 319-328, 1981 (12 to 20 degC). Above 36 degC
       from memory.
    """
    temperature = np.asarray(temperature_degc, dtype=np.float64)
    warm = (temperature - COLD_STOP_DEGC) / (FULL_FLIGHT_DEGC - COLD_STOP_DEGC)
    hot = (HEAT_STOP_DEGC - temperature) / (HEAT_STOP_DEGC - HEAT_DECLINE_DEGC)
    return np.clip(np.minimum(warm, hot), 0.0, 1.0)


def light_factor(irradiance_w_m2: ArrayLike) -> NDArray[np.float64]:
    """Share of full flight that daylight allows.

    Parameters
    ----------
    irradiance_w_m2
        Global irradiance on the flat, >= 0, any shape. [W/m2]

    Returns
    -------
    Share in 0 to 1, same shape. [unitless]

    References
    ----------
    .. [1] Vicens & Bosch, Environmental Entomology 29, 413-420, 2000 (300 W/m2).
    """
    irradiance = np.asarray(irradiance_w_m2, dtype=np.float64)
    return np.clip(irradiance / FULL_LIGHT_W_M2, 0.0, 1.0)


def flight_activity(
    temperature_degc: ArrayLike,
    irradiance_w_m2: ArrayLike | None = None,
    is_raining: ArrayLike = False,
    wind_m_s: ArrayLike = 0.0,
) -> NDArray[np.float64]:
    """Flight activity as a share of full flight.

    Parameters
    ----------
    temperature_degc
        Air temperature in the shade. [degC]
    irradiance_w_m2
        Global irradiance on the flat; None for full daylight in fine weather. [W/m2]
    is_raining
        Whether steady rain falls.
    wind_m_s
        Wind speed, >= 0. [m/s]

    Returns
    -------
    Share in 0 to 1, of the shape that the inputs broadcast to. [unitless]

    Notes
    -----
    Colony size, time of day and forage are left to the caller.

    Examples
    --------
    >>> flight_activity([10.0, 16.0, 25.0]).tolist()
    [0.0, 0.5, 1.0]
    """
    activity = temperature_factor(temperature_degc)
    if irradiance_w_m2 is not None:
        activity = activity * light_factor(irradiance_w_m2)
    wind = np.asarray(wind_m_s, dtype=np.float64)
    calm = np.clip((WIND_STOP_M_S - wind) / (WIND_STOP_M_S - WIND_DECLINE_M_S), 0.0, 1.0)
    dry = 1.0 - np.asarray(is_raining, dtype=np.float64)
    result: NDArray[np.float64] = np.asarray(activity * calm * dry)
    return result


def diel_temperature_degc(
    solar_hour: ArrayLike, low_degc: ArrayLike, high_degc: ArrayLike, day_length_h: ArrayLike
) -> NDArray[np.float64]:
    """Air temperature through the day between the day's low and high.

    Parameters
    ----------
    solar_hour
        Hour of the day by the sun, noon = 12; any value, taken modulo 24. [h]
    low_degc, high_degc
        Lowest and highest temperature of the day. [degC]
    day_length_h
        Sunrise to sunset, over 0 and under 24; held to 1 to 23. [h]

    Returns
    -------
    Temperature, of the shape that the inputs broadcast to. [degC]

    Notes
    -----
    The truncated sine by day and exponential fall by night of [1]_, with its constants
    for air at 150 cm: a = 1.86 h, b = 2.20, c = -0.17 h. Low and high of the one day
    serve for the night on both sides of it.

    References
    ----------
    .. [1] Parton & Logan, Agricultural Meteorology 23, 205-216, 1981.
    """
    hour = np.mod(np.asarray(solar_hour, dtype=np.float64), 24.0)
    low = np.asarray(low_degc, dtype=np.float64)
    span = np.asarray(high_degc, dtype=np.float64) - low
    day = np.clip(np.asarray(day_length_h, dtype=np.float64), 1.0, 23.0)
    coldest_hour = 12.0 - day / 2.0 + COLDEST_LAG_H
    sunset_hour = 12.0 + day / 2.0
    wave = np.pi / (day + 2.0 * (WARMEST_LAG_H - COLDEST_LAG_H))
    by_day = np.sin(wave * (hour - coldest_hour))
    at_sunset = np.sin(wave * (sunset_hour - coldest_hour))
    since_sunset = np.mod(hour - sunset_hour, 24.0)
    by_night = at_sunset * np.exp(-NIGHT_DECAY * since_sunset / (24.0 - day + COLDEST_LAG_H))
    is_day = (hour >= coldest_hour) & (hour <= sunset_hour)
    result: NDArray[np.float64] = np.asarray(low + span * np.where(is_day, by_day, by_night))
    return result

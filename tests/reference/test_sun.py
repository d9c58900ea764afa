"""The sun against pvlib, an independent implementation of the NREL position algorithm."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from pvlib import clearsky, solarposition

from lastbee.planning.sun import (
    LATITUDE_LIMIT_DEG,
    clear_sky_irradiance_w_m2,
    day_length_h,
    elevation_deg,
    solar_hour,
    sun_arc,
    sun_times,
)

PLACES = [
    (47.4, 8.5, "Europe/Zurich"),
    (34.0, -118.2, "America/Los_Angeles"),
    (60.2, 24.9, "Europe/Helsinki"),
    (1.3, 103.8, "Asia/Singapore"),
    (-33.9, 151.2, "Australia/Sydney"),
    (-45.9, 170.5, "Pacific/Auckland"),
    (-13.8, -171.8, "Pacific/Apia"),
    (64.8, -147.7, "America/Anchorage"),
]
DATES = [
    date(2025, 3, 20), date(2025, 6, 21), date(2025, 9, 1), date(2025, 12, 21), date(2024, 2, 29),
]  # fmt: skip


@pytest.mark.parametrize(("latitude_deg", "longitude_deg", "zone"), PLACES)
@pytest.mark.parametrize("day", DATES)
def test_sunrise_noon_sunset_agree_with_pvlib(
    latitude_deg: float, longitude_deg: float, zone: str, day: date
) -> None:
    """Tests the three times to 2 minutes against pvlib (SPA).

    2 minutes because refraction at the horizon alone moves the times by as much. For
    sunrise and sunset the sun's centre, by pvlib, must pass 50' below the horizon inside
    those 2 minutes; pvlib's own rise and set table goes by the day in UTC and is a day
    off in far zones, which at 65 degrees is 3 minutes. Noon is its transit, whole days
    apart being the same event (30 s a day at most).
    """
    times = sun_times(latitude_deg, longitude_deg, day, zone)
    assert times.noon.date() == day
    slack = timedelta(minutes=2)
    moments = [
        times.sunrise - slack, times.sunrise + slack, times.sunset + slack, times.sunset - slack,
    ]  # fmt: skip
    spa = solarposition.get_solarposition(
        pd.DatetimeIndex([m.astimezone(UTC) for m in moments]), latitude_deg, longitude_deg
    )["elevation"].to_numpy()
    horizon_deg = -50.0 / 60.0
    assert spa[0] < horizon_deg < spa[1]
    assert spa[2] < horizon_deg < spa[3]
    index = pd.DatetimeIndex([pd.Timestamp(times.noon)])
    transit = solarposition.sun_rise_set_transit_spa(index, latitude_deg, longitude_deg)["transit"]
    away_s = (pd.Timestamp(times.noon) - transit.iloc[0]).total_seconds()
    assert abs(away_s - 86400.0 * round(away_s / 86400.0)) <= 120.0


@pytest.mark.parametrize(("latitude_deg", "longitude_deg", "zone"), PLACES)
def test_elevation_agrees_with_pvlib(latitude_deg: float, longitude_deg: float, zone: str) -> None:
    """Tests elevation to 0.1 degree against pvlib (SPA, no refraction) through five days."""
    for day in DATES:
        start = datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone))
        moments = [start + timedelta(hours=hour) for hour in range(0, 24, 3)]
        spa = solarposition.get_solarposition(
            pd.DatetimeIndex([m.astimezone(UTC) for m in moments]), latitude_deg, longitude_deg
        )["elevation"]
        ours = [elevation_deg(latitude_deg, longitude_deg, moment) for moment in moments]
        np.testing.assert_allclose(ours, spa, atol=0.1)


@pytest.mark.parametrize(("latitude_deg", "longitude_deg", "zone"), PLACES)
def test_arc_gives_elevation_at_any_hour(
    latitude_deg: float, longitude_deg: float, zone: str
) -> None:
    """Tests the whole-day arc against pvlib to 0.25 degree.

    The arc holds the declination of noon all day, and it moves 0.2 degree in 12 hours.
    """
    arc = sun_arc(latitude_deg, longitude_deg, date(2025, 3, 1), 60)
    noon = datetime(2025, 4, 10, 12, tzinfo=UTC) - timedelta(hours=longitude_deg / 15.0)
    moments = [noon + timedelta(hours=hour) for hour in range(-10, 11)]
    hours = [solar_hour(longitude_deg, moment) for moment in moments]
    assert {day for day, _ in hours} == {date(2025, 4, 10)}
    row = np.degrees(np.arcsin(arc.sin_elevation([[hour for _, hour in hours]])))[40]
    spa = solarposition.get_solarposition(pd.DatetimeIndex(moments), latitude_deg, longitude_deg)[
        "elevation"
    ]
    np.testing.assert_allclose(row, spa, atol=0.25)


@pytest.mark.parametrize("latitude_deg", [-50.0, -20.0, 0.0, 38.0, 58.0])
def test_day_length_agrees_with_pvlib_all_year(latitude_deg: float) -> None:
    """Tests the vectorised day length to 2 minutes against pvlib (SPA), every tenth day."""
    ours = day_length_h(latitude_deg, 0.0, date(2025, 1, 1), 365)
    index = pd.date_range("2025-01-01 12:00", periods=365, tz="UTC")[::10]
    spa = solarposition.sun_rise_set_transit_spa(index, latitude_deg, 0.0)
    length = (spa["sunset"] - spa["sunrise"]).dt.total_seconds() / 3600.0
    np.testing.assert_allclose(ours[::10], length, atol=2.0 / 60.0)


def test_clear_sky_agrees_with_pvlib() -> None:
    """Tests Haurwitz 1945 against pvlib's implementation, to rounding; dark below the horizon."""
    elevation = np.array([-30.0, -1.0, 0.5, 5.0, 15.0, 30.0, 60.0, 90.0])
    theirs = clearsky.haurwitz(pd.Series(90.0 - elevation))["ghi"]
    ours = clear_sky_irradiance_w_m2(np.sin(np.radians(elevation)))
    np.testing.assert_allclose(ours, theirs, atol=1e-9)


def test_hour_by_the_sun_is_12_at_noon_and_runs_with_the_clock() -> None:
    """Tests that noon is 12 and three hours later is 15, to a minute, at the date line too."""
    for latitude_deg, longitude_deg, zone in PLACES:
        times = sun_times(latitude_deg, longitude_deg, date(2025, 5, 5), zone)
        day, hour = solar_hour(longitude_deg, times.noon)
        assert hour == pytest.approx(12.0, abs=1 / 60)
        later_day, later = solar_hour(longitude_deg, times.noon + timedelta(hours=3))
        assert later == pytest.approx(15.0, abs=1 / 60)
        assert later_day == day


def test_midsummer_at_the_limit_lasts_all_day_and_midwinter_does_not() -> None:
    """Tests 66 degrees: above 65.73 the upper limb stays up at midsummer (90 - 23.44 - 0.83)."""
    length = day_length_h(LATITUDE_LIMIT_DEG, 20.0, date(2025, 1, 1), 365)
    assert length.max() == 24.0
    assert 1.0 < length.min() < 3.0
    assert day_length_h(65.5, 20.0, date(2025, 6, 21), 1)[0] < 24.0
    times = sun_times(66.0, 20.0, date(2025, 6, 21), "Europe/Stockholm")
    assert times.sunrise < times.noon < times.sunset


def test_polar_and_impossible_places_are_refused() -> None:
    """Tests that the message names the argument, the value and the range."""
    with pytest.raises(ValueError, match="latitude_deg must be from -66 to 66, got 70"):
        sun_arc(70.0, 0.0, date(2025, 1, 1), 1)
    with pytest.raises(ValueError, match="longitude_deg must be from -180 to 180, got 200"):
        sun_times(40.0, 200.0, date(2025, 1, 1), "UTC")
    with pytest.raises(ValueError, match="days must be 1 or more, got 0"):
        day_length_h(40.0, 0.0, date(2025, 1, 1), 0)
    with pytest.raises(ValueError, match="when must carry a time zone"):
        elevation_deg(40.0, 0.0, datetime(2025, 1, 1))  # noqa: DTZ001

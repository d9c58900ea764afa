"""Normals, flight hours and the activity at a moment: limits, order, bad input."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import get_args

import numpy as np
import pytest

from lastbee.planning.climate import ClimateNormals, daily_normals, zonal_normals
from lastbee.planning.flying import WIND_M_S, Wind, flight_activity_at, flight_hours
from lastbee.planning.sun import day_length_h

# An invented temperate site.
SITE = (47.0, 8.0)
ZONE = "Europe/Zurich"
MILD = ClimateNormals(
    high_degc=(4.0, 6.0, 11.0, 15.0, 20.0, 23.0, 25.0, 25.0, 20.0, 15.0, 8.0, 5.0),
    low_degc=(-2.0, -1.0, 2.0, 5.0, 9.0, 13.0, 15.0, 14.0, 11.0, 7.0, 2.0, -1.0),
    wet_day_share=(0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.2, 0.2, 0.2, 0.2, 0.3, 0.3),
)
YEAR_START = date(2025, 1, 1)


def warmed(by_degc: float) -> ClimateNormals:
    """Give the mild normals moved by some degrees."""
    return ClimateNormals(
        high_degc=tuple(value + by_degc for value in MILD.high_degc),
        low_degc=tuple(value + by_degc for value in MILD.low_degc),
        wet_day_share=MILD.wet_day_share,
    )


def test_constant_normals_stay_constant() -> None:
    """Tests that twelve equal months give the same value on every day of a leap year."""
    flat = ClimateNormals((20.0,) * 12, (10.0,) * 12, (0.25,) * 12)
    daily = daily_normals(flat, date(2024, 1, 1), 366)
    np.testing.assert_allclose(daily.high_degc, 20.0)
    np.testing.assert_allclose(daily.low_degc, 10.0)
    np.testing.assert_allclose(daily.wet_day_share, 0.25)


def test_normals_pass_through_mid_months_and_keep_monthly_means() -> None:
    """Tests mid-month values exactly and monthly means to 0.5 degC (the cubic bends a little)."""
    daily = daily_normals(MILD, YEAR_START, 365)
    months = (np.datetime64(YEAR_START) + np.arange(365)).astype("datetime64[M]")
    for month, high in enumerate(MILD.high_degc):
        of_month = daily.high_degc[months == np.datetime64("2025-01") + month]
        assert of_month.mean() == pytest.approx(high, abs=0.5)
    # 16 July is day 197, half a day before the middle of a month of 31 days.
    assert daily.high_degc[196] == pytest.approx(25.0, abs=0.05)


def test_normals_are_smooth_and_the_same_every_year() -> None:
    """Tests periodicity over the new year and no step over 0.35 degC from day to day."""
    daily = daily_normals(MILD, YEAR_START, 3 * 365)
    np.testing.assert_allclose(daily.high_degc[:365], daily.high_degc[365:730])
    assert np.abs(np.diff(daily.high_degc)).max() < 0.35
    assert np.abs(np.diff(daily.high_degc, 2)).max() < 0.05
    assert (daily.low_degc <= daily.high_degc).all()


def test_shares_stay_shares_where_months_jump() -> None:
    """Tests that a sharp rainy season does not overshoot 0 or 1."""
    wet = (0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0)
    daily = daily_normals(ClimateNormals((30.0,) * 12, (20.0,) * 12, wet), YEAR_START, 365)
    assert daily.wet_day_share.min() == 0.0
    assert daily.wet_day_share.max() == 1.0


@pytest.mark.parametrize(
    ("latitude_deg", "july", "january"),
    [
        (47.4, (24.5, 14.0), (3.0, -2.0)),
        (33.7, (32.0, 21.5), (11.0, 1.5)),
        (-33.9, (17.5, 8.5), (26.5, 19.0)),
        (1.3, (31.5, 25.0), (30.5, 24.0)),
        (60.2, (21.5, 13.5), (-1.5, -7.0)),
    ],
)
def test_zonal_normals_are_near_known_stations(
    latitude_deg: float, july: tuple[float, float], january: tuple[float, float]
) -> None:
    """Tests highs and lows of five lowland cities (from memory) to 5 degC, as rough as stated."""
    normals = zonal_normals(latitude_deg)
    assert normals.is_assumed
    assert (normals.high_degc[6], normals.low_degc[6]) == pytest.approx(july, abs=5.0)
    assert (normals.high_degc[0], normals.low_degc[0]) == pytest.approx(january, abs=5.0)


@pytest.mark.parametrize(
    ("field", "values", "message"),
    [
        ("high_degc", (20.0,) * 11, "high_degc must have 12 values, got 11"),
        ("low_degc", (30.0,) * 12, "low_degc must not be above high_degc, got 30.0 and 20.0"),
        ("wet_day_share", (1.5,) * 12, "wet_day_share must be from 0 to 1, got 1.5"),
    ],
)
def test_impossible_normals_are_refused(
    field: str, values: tuple[float, ...], message: str
) -> None:
    """Tests that the message names the argument, the value and what it should be."""
    fields = {
        "high_degc": (20.0,) * 12,
        "low_degc": (10.0,) * 12,
        "wet_day_share": (0.2,) * 12,
        field: values,
    }
    with pytest.raises(ValueError, match=message):
        ClimateNormals(**fields)


def test_flight_hours_lie_between_zero_and_the_day() -> None:
    """Tests bounds all year at several latitudes, polar edge and both halves."""
    for latitude_deg in (-50.0, -20.0, 0.0, 30.0, 47.0, 66.0):
        hours = flight_hours(latitude_deg, 20.0, YEAR_START, 365, zonal_normals(latitude_deg))
        assert hours.shape == (365,)
        assert hours.min() >= 0.0
        assert (hours <= day_length_h(latitude_deg, 20.0, YEAR_START, 365)).all()


def test_flight_hours_follow_the_year() -> None:
    """Tests next to none in a temperate January, most in July, and the reverse in the south."""
    north = flight_hours(*SITE, YEAR_START, 365, MILD)
    assert north[14] < 0.1
    assert 9.0 < north[195] < 15.0
    south = flight_hours(-42.0, 170.0, YEAR_START, 365, zonal_normals(-42.0))
    assert south[14] > 3.0 * south[195]


def test_flight_hours_grow_with_warmth_until_it_is_hot() -> None:
    """Tests that each step of warmth adds hours to a spring day and 25 degC more takes them off."""
    spring = [
        flight_hours(*SITE, date(2025, 4, 15), 1, warmed(by_degc))[0]
        for by_degc in (-10.0, -4.0, 0.0, 4.0, 8.0)
    ]
    assert spring == sorted(spring)
    assert spring[0] < 0.2 < 5.0 < spring[-1]
    cool, hot = (flight_hours(*SITE, date(2025, 7, 15), 1, warmed(by))[0] for by in (0.0, 25.0))
    assert hot < 0.6 * cool


def test_flight_hours_of_many_days_are_those_of_each_day() -> None:
    """Tests the array against single days, leap day included."""
    many = flight_hours(*SITE, date(2024, 2, 20), 30, MILD)
    single = [
        flight_hours(*SITE, date(2024, 2, 20) + timedelta(days=day), 1, MILD)[0]
        for day in range(30)
    ]
    np.testing.assert_allclose(many, single)


def at(hour: float, **changes: object) -> tuple[float, float]:
    """Give activity and flight hours at an hour of 20 June on the mild site."""
    when = datetime(2025, 6, 20) + timedelta(hours=hour)  # noqa: DTZ001
    known = {"temperature_degc": 24.0, "sky": "sun", "wind": "calm", **changes}
    return flight_activity_at(
        when, ZONE, latitude_deg=SITE[0], longitude_deg=SITE[1], normals=MILD, **known
    )


def test_activity_is_full_on_a_fine_afternoon_and_nothing_at_night() -> None:
    """Tests full flight at 24 degC in sun at 14:00, none at 23:00 and none in rain."""
    activity, hours = at(14.0)
    assert activity == pytest.approx(1.0)
    assert 9.0 < hours < 15.0
    assert at(23.0)[0] == pytest.approx(0.0, abs=1e-9)
    assert at(14.0, sky="rain")[0] == 0.0


def test_activity_falls_with_wind_cloud_and_cold() -> None:
    """Tests the order of winds, of skies near evening, and of temperatures."""
    by_wind = [at(14.0, wind=word)[0] for word in ("calm", "breeze", "strong")]
    assert by_wind == sorted(by_wind, reverse=True)
    assert 0.0 < by_wind[-1] < by_wind[1] < by_wind[0]
    assert at(19.5, sky="cloud")[0] < at(19.5, sky="sun")[0]
    by_cold = [at(14.0, temperature_degc=value)[0] for value in (22.0, 17.0, 14.0, 11.0)]
    assert by_cold == sorted(by_cold, reverse=True)
    assert by_cold[-1] == 0.0


def test_measured_warmth_lengthens_the_day_that_it_was_measured_on() -> None:
    """Tests that flight hours of the day follow the thermometer, not the normals alone."""
    hours = [at(14.0, temperature_degc=value)[1] for value in (11.0, 15.0, 19.0, 24.0)]
    assert hours == sorted(hours)
    assert hours[0] < hours[-1]


def test_unknown_weather_is_the_usual_fine_day() -> None:
    """Tests that with nothing known the hours are those of `flight_hours` for that day."""
    activity, hours = at(14.0, temperature_degc=None, sky=None, wind=None)
    usual = flight_hours(*SITE, date(2025, 6, 20), 1, MILD)[0]
    assert hours == pytest.approx(usual)
    assert 0.9 < activity <= 1.0


def test_activity_over_the_day_sums_to_the_flight_hours() -> None:
    """Tests that activity / flight_hours is a share of the day: its sum over the day is 1.

    Quarter hours against the midpoint rule over daylight: 1 % apart at most.
    """
    pairs = [at(hour, temperature_degc=None) for hour in np.arange(0.125, 24.0, 0.25)]
    assert sum(activity / hours * 0.25 for activity, hours in pairs) == pytest.approx(1.0, rel=0.01)


def test_midday_plateau_is_as_flat_as_in_counts() -> None:
    """Tests 10:00 to 16:00 by the sun in June against hourly counts (Seeley 1995, p. 86).

    The counts, read off a figure by others, run from 0.9 to 1 of the day's peak over
    these hours; ours must not leave 0.85 to 1. The counts' later start and earlier end
    belong to that colony's forage and are not modelled.
    """
    for hour in range(10, 17):
        when = datetime(2025, 6, 28, hour, 30, tzinfo=UTC)
        activity, _ = flight_activity_at(when, "UTC", None, "sun", "calm", 42.4, 0.0, MILD)
        assert 0.85 <= activity <= 1.0


def test_a_time_zone_on_the_moment_wins() -> None:
    """Tests that a naive local time and the same moment in UTC give the same answer."""
    naive = at(9.0)
    aware = flight_activity_at(
        datetime(2025, 6, 20, 7, tzinfo=UTC), ZONE, 24.0, "sun", "calm", *SITE, MILD
    )
    assert tuple(aware) == pytest.approx(tuple(naive))


def test_unknown_words_are_refused() -> None:
    """Tests that every wind word has a speed and others are named in the message."""
    assert set(WIND_M_S) == set(get_args(Wind))
    with pytest.raises(ValueError, match='sky must be "sun", "cloud" or "rain", got \'fog\''):
        at(12.0, sky="fog")
    with pytest.raises(ValueError, match='wind must be "calm", "breeze" or "strong", got \'gale\''):
        at(12.0, wind="gale")

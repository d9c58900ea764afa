"""Flight thresholds and the course of temperature against the published figures."""

from __future__ import annotations

import math

import numpy as np
import pytest

from lastbee.biology.flight import (
    diel_temperature_degc,
    flight_activity,
    light_factor,
    temperature_factor,
)


@pytest.mark.parametrize(
    ("temperature_degc", "share"), [(5.0, 0.0), (12.0, 0.0), (16.0, 0.5), (20.0, 1.0), (30.0, 1.0)]
)
def test_flight_rises_from_12_to_20_degrees(temperature_degc: float, share: float) -> None:
    """Tests the range of rise of Burrill & Dietz 1981 (Apidologie 12:319), exact at the ends."""
    assert float(temperature_factor(temperature_degc)) == pytest.approx(share)


def test_flight_falls_in_heat_and_ends_at_43_degrees() -> None:
    """Tests full flight to 35, a decline by 38, none from 43 degC (from memory)."""
    at_35, at_38, at_41, at_43, at_50 = temperature_factor([35.0, 38.0, 41.0, 43.0, 50.0])
    assert at_35 == 1.0
    assert 0.0 < at_41 < at_38 < 1.0
    assert at_43 == at_50 == 0.0


def test_optimum_is_20_to_30_degrees() -> None:
    """Tests that the whole of the textbook optimum, 20 to 30 degC, is full flight (from memory)."""
    assert flight_activity(np.linspace(20.0, 30.0, 21)).min() == 1.0


@pytest.mark.parametrize(
    ("irradiance_w_m2", "share"), [(0.0, 0.0), (150.0, 0.5), (300.0, 1.0), (460.0, 1.0)]
)
def test_light_is_full_at_300_w_m2(irradiance_w_m2: float, share: float) -> None:
    """Tests 300 W/m2 of Vicens & Bosch 2000 (Environ. Entomol. 29:413), exact at the knots.

    460 W/m2, 0.66 langley a minute, is where Burrill & Dietz 1981 saw the most flight.
    """
    assert float(light_factor(irradiance_w_m2)) == pytest.approx(share)


def test_no_flight_in_rain_or_strong_wind() -> None:
    """Tests that rain ends flight at once (Lundie 1925) and wind of 8 m/s does (from memory)."""
    assert float(flight_activity(25.0, 500.0, is_raining=True)) == 0.0
    assert float(flight_activity(25.0, 500.0, wind_m_s=8.0)) == 0.0
    assert float(flight_activity(25.0, 500.0, wind_m_s=9.5)) == 0.0
    assert float(flight_activity(25.0, 500.0, wind_m_s=3.0)) == 1.0
    assert 0.0 < float(flight_activity(25.0, 500.0, wind_m_s=6.0)) < 1.0


def test_activity_broadcasts_and_multiplies() -> None:
    """Tests the product of factors on a grid: (18 degC -> 0.75) x (100 W/m2 -> 1/3)."""
    grid = flight_activity(np.array([[18.0], [25.0]]), np.array([100.0, 300.0]))
    np.testing.assert_allclose(grid, [[0.25, 0.75], [1.0 / 3.0, 1.0]])
    assert flight_activity(25.0).shape == ()
    assert math.isnan(float(flight_activity(math.nan)))


@pytest.mark.parametrize("day_length_h", [9.0, 12.0, 15.5])
def test_warmest_and_coldest_hours_are_parton_and_logans(day_length_h: float) -> None:
    """Tests Parton & Logan 1981 (Agric. Meteorol. 23:205), air at 150 cm, on a 0.01 h grid.

    Their constants put the warmest hour 1.86 h after noon and the coldest 0.17 h before
    sunrise; the high is reached exactly and the low exactly.
    """
    hours = np.arange(0.0, 24.0, 0.01)
    temperature = diel_temperature_degc(hours, 10.0, 24.0, day_length_h)
    assert hours[np.argmax(temperature)] == pytest.approx(13.86, abs=0.011)
    assert hours[np.argmin(temperature)] == pytest.approx(
        12.0 - day_length_h / 2.0 - 0.17, abs=0.011
    )
    assert temperature.max() == pytest.approx(24.0, abs=1e-4)
    assert temperature.min() == pytest.approx(10.0, abs=0.03)


def test_sunset_value_by_hand() -> None:
    """Tests a hand calculation of Parton & Logan 1981 with a 12 h day, 0 to 10 degC.

    Sunset is m = 12.17 h after the coldest hour; T = 10 sin(pi 12.17 / 16.06) = 6.896
    degC. Midnight is n = 6 h later; T = 6.896 exp(-2.2 x 6 / 11.83) = 2.260 degC.
    """
    assert float(diel_temperature_degc(18.0, 0.0, 10.0, 12.0)) == pytest.approx(6.896, abs=0.002)
    assert float(diel_temperature_degc(0.0, 0.0, 10.0, 12.0)) == pytest.approx(2.260, abs=0.002)


def test_temperature_stays_between_low_and_high() -> None:
    """Tests bounds over all hours and day lengths, sunless and nightless days included."""
    hours = np.arange(0.0, 24.0, 0.25)[:, None]
    temperature = diel_temperature_degc(hours, -3.0, 9.0, np.linspace(0.0, 24.0, 49))
    assert temperature.shape == (96, 49)
    assert temperature.min() >= -3.0 - 1e-9
    assert temperature.max() <= 9.0 + 1e-9

"""The seasonal curves against printed values and a second, independent curve."""

from __future__ import annotations

import numpy as np
import pytest

from lastbee.biology.season import (
    dearth_share,
    drone_season_share,
    forage_share,
    laying_share,
    northern_day,
    winter_floor,
)
from reference.laying import BECHER_2014, mclellan_eggs_per_day

YEAR = np.arange(1, 366)

# The curve of Schmickl & Crailsheim 2007 (Ecol. Model. 204:219-245, p. 221) with its
# constants and a greatest rate of 1,600 eggs a day (Becher et al. 2014), worked out by
# hand from the printed equation and rounded to whole eggs.
SCHMICKL_CRAILSHEIM_2007_EGGS = {
    60: 199,
    75: 445,
    90: 819,
    105: 1184,
    120: 1417,
    135: 1527,
    149: 1571,
    180: 1395,
    200: 1027,
    220: 513,
    240: 177,
    270: 27,
}
BECHER_2014_EGGS = {60: 384, 90: 1243, 120: 1559, 136: 1588}


@pytest.mark.parametrize(("day", "eggs"), SCHMICKL_CRAILSHEIM_2007_EGGS.items())
def test_curve_gives_printed_eggs(day: int, eggs: int) -> None:
    """Tests that 1,600 x share meets values rounded to whole eggs, hence 0.5 of an egg."""
    assert 1600.0 * float(laying_share(day)) == pytest.approx(eggs, abs=0.5)


@pytest.mark.parametrize(("day", "eggs"), BECHER_2014_EGGS.items())
def test_earlier_curve_gives_printed_eggs(day: int, eggs: int) -> None:
    """Tests x2 = 25 days (Becher et al. 2014) against values rounded to whole eggs."""
    assert 1600.0 * float(laying_share(day, curve=BECHER_2014)) == pytest.approx(eggs, abs=0.5)


def test_curves_peak_on_the_published_days() -> None:
    """Tests peak days 149 (Schmickl & Crailsheim 2007) and 136 (Becher et al. 2014), exact."""
    assert YEAR[np.argmax(laying_share(YEAR))] == 149
    assert YEAR[np.argmax(laying_share(YEAR, curve=BECHER_2014))] == 136


def test_mclellan_fit_peaks_as_its_own_calculus_says() -> None:
    """Tests the McLellan 1978 fit: peak at 4.98293/0.05287 = 94.25 d, 2,047 eggs (rounded)."""
    days = np.arange(0.0, 250.0, 0.01)
    eggs = mclellan_eggs_per_day(days)
    assert days[np.argmax(eggs)] == pytest.approx(4.98293 / 0.05287, abs=0.01)
    assert eggs.max() == pytest.approx(2047.0, abs=0.5)


def test_laying_season_is_as_long_as_in_an_independent_fit() -> None:
    """Tests the days above half of the peak against McLellan 1978 (J. Appl. Ecol. 15:155).

    The two were fitted to colonies in different countries, so only the shape is
    comparable: lengths agree within 30 %, and both rise to the peak over 45 to 60 % of it.
    """
    season = np.arange(1.0, 250.0)

    def half_season(share: np.ndarray, days: np.ndarray) -> tuple[float, float]:
        above = days[share >= 0.5 * share.max()]
        length = float(above[-1] - above[0])
        return length, float((days[np.argmax(share)] - above[0]) / length)

    ours, our_rise = half_season(laying_share(YEAR), YEAR.astype(float))
    theirs, their_rise = half_season(mclellan_eggs_per_day(season), season)
    assert ours == pytest.approx(theirs, rel=0.30)
    assert 0.40 < their_rise < 0.60
    assert 0.40 < our_rise < 0.60


def test_southern_year_is_the_northern_year_half_a_year_later() -> None:
    """Tests the shift of 182.5 days: the southern peak falls half a year from day 149."""
    peak = YEAR[np.argmax(laying_share(YEAR, latitude_deg=-50.0))]
    assert peak == pytest.approx(149 + 182.5, abs=0.5)
    days = np.array([10.0, 100.0, 300.0])
    np.testing.assert_allclose(
        laying_share(days, -50.0), laying_share(northern_day(days), 50.0), rtol=1e-12
    )
    np.testing.assert_allclose(northern_day(northern_day(days)), days)


def test_season_flattens_toward_the_equator() -> None:
    """Tests the assumed floor: 0 at 45 degrees, 0.25 at 35, 0.5 from 25 inward."""
    assert winter_floor(60.0) == 0.0
    assert winter_floor(-45.0) == 0.0
    assert winter_floor(35.0) == pytest.approx(0.25)
    assert winter_floor(-25.0) == 0.5
    assert winter_floor(0.0) == 0.5
    lows = [laying_share(YEAR, lat).min() for lat in (50.0, 40.0, 30.0, 20.0)]
    assert lows == sorted(lows)
    assert lows[-1] >= 0.5


def test_no_jump_across_the_equator() -> None:
    """Tests that a degree of latitude across the equator changes no share by more than 0.06."""
    north = laying_share(YEAR, 0.5)
    south = laying_share(YEAR, -0.5)
    assert np.abs(north - south).max() < 0.06


@pytest.mark.parametrize("latitude_deg", [60.0, 35.0, 10.0, 0.0, -20.0, -42.0])
def test_shares_stay_between_zero_and_one(latitude_deg: float) -> None:
    """Tests that each curve is a share and closes on itself (steepest slope 0.042 a day)."""
    for curve in (laying_share, forage_share, dearth_share, drone_season_share):
        share = curve(YEAR, latitude_deg)
        assert share.shape == YEAR.shape
        assert share.min() >= 0.0
        assert share.max() <= 1.0
        assert abs(share[-1] - share[0]) < 0.045


def test_forage_has_spring_main_flow_and_autumn() -> None:
    """Tests the order of the forage year before any dearth (common practice, no source)."""
    winter, spring, main, late_summer, autumn, late = forage_share([20, 100, 160, 215, 258, 330])
    assert winter == late == 0.0
    assert 0.0 < spring < main == 1.0
    assert 0.0 < autumn < late_summer < main


def test_dearth_is_at_its_height_in_late_summer() -> None:
    """Tests none in June and mid September, full from late July to mid August, south shifted."""
    np.testing.assert_allclose(
        dearth_share([160, 181, 193, 205, 220, 230, 250, 300]), [0, 0, 0.5, 1, 1, 1, 0, 0]
    )
    assert float(dearth_share(35, -40.0)) == 1.0
    assert float(dearth_share(217, -40.0)) == 0.0


def test_drone_season_is_allens() -> None:
    """Tests 25 April to 28 August (Allen 1963, Nature 199:789), both days included."""
    np.testing.assert_array_equal(
        drone_season_share([114, 115, 180, 240, 241]), [0.0, 1.0, 1.0, 1.0, 0.0]
    )
    # Half a year later: 24 October to 27 February, within the half day of the shift.
    np.testing.assert_array_equal(
        drone_season_share([200, 296, 299, 360, 10, 57, 60], -45.0),
        [0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 0.0],
    )


def test_latitude_out_of_range_is_refused() -> None:
    """Tests that an impossible latitude names itself."""
    with pytest.raises(ValueError, match="latitude_deg must be from -90 to 90, got 91"):
        laying_share(100, 91.0)

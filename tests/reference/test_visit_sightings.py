"""What a visit sees, against published sizes of bees, frames and counts."""

from __future__ import annotations

import numpy as np
import pytest
from scene_factory import scenes
from scipy import stats

from lastbee.biology.constants import BEES_PER_DM2_SHEET
from lastbee.evidence import in_box, outside
from lastbee.evidence.counts import (
    ACTIVITY_ERROR,
    CLUMPING,
    chance_of_any,
    clumping,
    count_log_density,
)

UNREAD = float("nan")


def cluster_dm2(bees: np.ndarray) -> np.ndarray:
    """Wall that so many hanging bees are expected to cover."""
    return outside.cluster_on_wall(UNREAD).measured.size.expected(scenes(wall=bees))


@pytest.mark.parametrize(("bees", "frames"), [(1400.0, 1.0), (5600.0, 4.0), (14_000.0, 10.0)])
def test_an_occupied_deep_frame_holds_1400_bees(bees: float, frames: float) -> None:
    """Tests Simpson 1969 (J. Apicultural Research 8:3-8, abstract), with nobody out flying."""
    size = in_box.frames_of_bees(UNREAD, 0.0).measured.size
    assert float(size.expected(scenes(box=bees))[0]) == pytest.approx(frames)


def test_a_frame_that_people_call_full_lies_between_the_published_counts() -> None:
    """Tests that the eye's error spans 1,100 to 1,900 bees on two faces of a deep frame.

    1,100 on a British comb (Simpson 1969), 1,900 in one close layer (Kauffeld via Burgett &
    Burikam 1985, J. Economic Entomology 78:1154-1156): both within one and a half spreads.
    """
    for bees in (1100.0, 1900.0):
        assert abs(np.log(bees / 1400.0)) < 1.5 * in_box.FRAMES_SPREAD


def test_foragers_out_at_full_flight_leave_the_frames() -> None:
    """Tests 0.25 foraging (Khoury et al. 2011: 0.21 to 0.30) of which over 60 % are out.

    Riessberger & Crailsheim 1997 (Apidologie 28:411, abstract), at noon in good weather:
    0.13 to 0.18 of all bees and over.
    """
    still, busy = (
        float(in_box.frames_of_bees(UNREAD, a).measured.size.expected(scenes())[0])
        for a in (0.0, 1.0)
    )
    assert 0.21 * 0.6 <= 1.0 - busy / still <= 0.30 * 0.6


def test_ten_thousand_bees_weigh_a_kilogram() -> None:
    """Tests 9,810 newly emerged to 11,370 mature workers a kilogram (Mitchell 1970).

    American Bee Journal 110, quoted second-hand. Bees that come with honey bring it in the
    honey's account, so that the engorged 7,700 a kilogram would count it twice.
    """
    row = scenes(box=np.array([4200.0, 14_200.0]), box_honey_g=2100.0, box_brood=0.0)
    none, gain_kg = in_box.BoxGain(UNREAD).expected(row)
    assert none == pytest.approx(0.0)
    assert 10_000.0 / 11_370.0 <= gain_kg <= 10_000.0 / 9_810.0


def test_honey_in_the_box_weighs_what_it_weighs() -> None:
    """Tests a deep frame of honey, 2.7 kg (common practice, no source), brought in."""
    row = scenes(box=4200.0, box_brood=0.0, box_honey_g=np.array([2100.0, 4800.0]))
    assert np.diff(in_box.BoxGain(UNREAD).expected(row))[0] == pytest.approx(2.7)


def test_a_hanging_cluster_is_never_thinner_than_a_close_layer() -> None:
    """Tests half of 215 bees a dm2 of sheet (Kauffeld via Burgett & Burikam 1985) from 50 bees."""
    bees = np.geomspace(50.0, 30_000.0, 40)
    layers = bees / cluster_dm2(bees) / (0.5 * BEES_PER_DM2_SHEET)
    assert (layers > 1.0).all()
    assert (np.diff(layers) > 0.0).all()


def test_a_swarm_covers_about_a_square_foot() -> None:
    """Tests 12,000 bees on about 9 dm2, to a half (common practice, no source).

    The size of a swarm: 11,800 (Fell et al. 1977, from memory).
    """
    assert float(cluster_dm2(np.array([11_800.0]))[0]) == pytest.approx(9.3, rel=0.5)


def test_ten_trips_in_twelve_hours_by_a_leak() -> None:
    """Tests 10 trips over 12 h = 0.01389 a forager and minute, if all come home by a leak.

    The identity behind the classroom formula for traffic (not peer-reviewed); ten trips:
    Winston 1987 and Ribbands 1953, from memory.
    """
    item = outside.going_in_elsewhere(UNREAD, 1.0, 1.0, 12.0)
    row = scenes(leak=1.0, foragers=np.array([0.0, 1.0]), trips_per_day=10.0)
    assert np.diff(item.expected(row))[0] == pytest.approx(0.01389, abs=5e-6)


def test_pollen_foragers_are_as_many_as_published() -> None:
    """Tests 1 to 33 % of foragers (Schmickl & Crailsheim 2007, second-hand)."""
    assert 0.01 <= outside.POLLEN_SHARE <= 0.33


def test_none_seen_obeys_the_rule_of_three() -> None:
    """Tests that three expected are missed once in twenty where bees pass at random.

    Hanley & Lippman-Hand 1983, J. American Medical Association 249:1743, from memory. Bees
    that fly in clumps are missed more often.
    """
    assert float(chance_of_any(np.array([3.0]), 1e9)[0]) == pytest.approx(0.95, abs=5e-4)
    assert float(chance_of_any(np.array([3.0]), clumping(1.0))[0]) < 0.92


@pytest.mark.parametrize("activity", [0.02, 0.1, 0.5, 1.0])
@pytest.mark.parametrize("mean", [0.05, 1.0, 30.0, 700.0])
def test_counts_against_the_statistics_library(mean: float, activity: float) -> None:
    """Tests law and chance of any against scipy's negative binomial, and its spread by hand.

    Relative variance of a gamma rate is 1/size: 1/5 of clumps and (0.1/activity)^2 of weather.
    """
    size = clumping(activity)
    law = stats.nbinom(size, size / (size + mean))
    at = np.array([mean])
    for count in (0, 1, 5, 60, 900):
        assert float(count_log_density(count, at, size)[0]) == pytest.approx(law.logpmf(count))
    assert float(chance_of_any(at, size)[0]) == pytest.approx(law.sf(0))
    relative = 1.0 / CLUMPING + (ACTIVITY_ERROR / activity) ** 2
    assert law.var() == pytest.approx(mean + relative * mean**2)

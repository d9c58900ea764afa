"""Comb geometry, honey, wax and bees against published figures and worked checks."""

from __future__ import annotations

import numpy as np
import pytest

from lastbee.biology.comb import (
    BEES_PER_DEEP_FRAME,
    comb_limit_dm2,
    nest_extent_m,
    nest_volume_l,
)
from lastbee.biology.constants import PARAMETERS, Column
from reference.comb import (
    BEES_PER_DEEP_FRAME_FULL,
    BEES_PER_DEEP_FRAME_LAYER,
    DEEP_FRAME_DM2,
    HONEY_G_PER_WAX_G,
    HONEY_KG_PER_L,
    SWARM_BEES_PER_KG,
    UNFED_BEES_PER_KG,
    bees_on_comb,
    cells_per_dm2,
    eggs_per_day_behind,
    honey_capacity_g_per_dm2,
    honey_comb_dm2,
    new_wax_g,
)


@pytest.mark.parametrize(
    ("width_mm", "both"),
    [
        (4.9, 962), (5.0, 924), (5.2, 854), (5.3, 822), (5.37, 801), (5.4, 792), (5.5, 763),
        (6.2, 601), (6.5, 547), (6.6, 530),
    ],
)  # fmt: skip
def test_cells_by_betts_formula(width_mm: float, both: int) -> None:
    """Tests 2.309 x (cells in a dm)^2 of Betts 1938 (Bee World, p. 106), rounded to cells.

    Her factor has four figures, so 0.02 % on top of the rounding of half a cell.
    """
    assert float(cells_per_dm2(width_mm)) == pytest.approx(both, abs=0.7)
    assert float(cells_per_dm2(width_mm)) == pytest.approx(2.309 * (100 / width_mm) ** 2, rel=2e-4)


@pytest.mark.parametrize(("width_mm", "cells"), [(5.37, 800), (5.13, 875), (5.5, 760)])
def test_cells_of_three_races(width_mm: float, cells: int) -> None:
    """Tests cells on both faces of a dm2 as listed for three European races, to 1 %.

    The list rounds to five cells and the widths to 0.01 mm (0.4 %).
    """
    assert float(cells_per_dm2(width_mm)) == pytest.approx(cells, rel=0.01)


def test_drone_cells_one_side() -> None:
    """Tests 2.73 drone cells in a cm2 of one face at 6.5 mm (Seeley 2019, Lives of Bees, notes)."""
    assert float(cells_per_dm2(6.5)) / 200.0 == pytest.approx(2.73, abs=0.005)


def test_hexagons_tile_the_face() -> None:
    """Tests by a hexagonal lattice laid out and counted on a wide face, to 1 % at the rim."""
    width, face = 5.2, 2000.0
    row_height = width * np.sqrt(3.0) / 2.0
    rows = np.arange(0.0, face, row_height)
    count = sum(
        np.arange(0.0 if index % 2 == 0 else width / 2.0, face, width).size
        for index in range(rows.size)
    )
    assert float(cells_per_dm2(width)) == pytest.approx(2.0 * count / (face / 100.0) ** 2, rel=0.01)


def test_mean_natural_nest() -> None:
    """Tests a nest of 23,400 cm2 counted on both faces, 117 dm2 of sheet.

    Seeley & Morse 1976 (Insectes Soc. 23:495; area via Winston 1987, from memory): about
    100,000 cells at 5.2 mm; in combs 35 mm apart it takes 41 L, near their usual 30 to
    60 L; 1.2 kg of wax worth 7.5 kg of honey (Seeley 1985). Figures to two digits: 1 %.
    """
    assert 117.0 * float(cells_per_dm2(5.2)) == pytest.approx(100_000, rel=0.01)
    assert float(nest_volume_l(117.0)) == pytest.approx(41.0, rel=0.01)
    assert float(comb_limit_dm2(41.0)) == pytest.approx(117.0, rel=0.01)
    wax = float(new_wax_g(117.0))
    assert wax == pytest.approx(1200.0, rel=0.01)
    assert wax * HONEY_G_PER_WAX_G == pytest.approx(7500.0, rel=0.01)
    assert pytest.approx(13.3, abs=0.15) == 117.0 / DEEP_FRAME_DM2


def test_nest_in_a_stud_bay() -> None:
    """Tests a bay of 368 x 89 mm: 32.8 L a metre, so 41 L of nest take 1.25 m (own arithmetic)."""
    section = 3.68 * 0.89
    assert section * 10.0 == pytest.approx(32.8, abs=0.05)
    assert float(nest_extent_m(117.0, section)) == pytest.approx(1.25, abs=0.005)


def test_new_wax_by_another_count() -> None:
    """Tests 35,000 cells to the pound of wax (common practice) against Seeley 1985, to 10 %."""
    sheet = 35_000.0 / float(cells_per_dm2(5.2))
    assert float(new_wax_g(sheet)) == pytest.approx(453.6, rel=0.10)


def test_honey_that_the_engine_spends_on_comb() -> None:
    """Tests 10.2 g of wax a dm2 at 6.25 g of honey a gram (Seeley 1985), to 1 %."""
    spent = float(new_wax_g(1.0)) * HONEY_G_PER_WAX_G
    assert pytest.approx(spent, rel=0.01) == PARAMETERS[Column.WAX_HONEY].median


@pytest.mark.parametrize(
    ("thickness_mm", "per_dm2", "frame_kg"),
    [
        (21, 256, 2.3), (22, 270, 2.4), (24, 297, 2.6), (25, 310, 2.7), (28, 351, 3.1),
        (30, 378, 3.3), (35, 445, 3.9),
    ],
)  # fmt: skip
def test_honey_by_thickness(thickness_mm: float, per_dm2: int, frame_kg: float) -> None:
    """Tests (thickness - 2 mm) x 1.42 kg/L x 0.95, worked by hand, rounded to grams.

    At 25 mm a deep frame holds 2.7 kg, as frames are said to (6 lb; common practice);
    350 g in a dm2 is the upper of a central European rule (from memory).
    """
    honey = float(honey_capacity_g_per_dm2(thickness_mm))
    assert honey == pytest.approx(per_dm2, abs=0.75)
    assert honey * DEEP_FRAME_DM2 / 1000.0 == pytest.approx(frame_kg, abs=0.051)


def test_a_sheet_thinner_than_its_wax_holds_nothing() -> None:
    """Tests the limit at 0 to 2 mm and that honey grows with thickness."""
    assert honey_capacity_g_per_dm2([0.0, 1.0, 2.0]).max() == 0.0
    assert (np.diff(honey_capacity_g_per_dm2(np.linspace(2.0, 50.0, 49))) > 0.0).all()


def test_worked_honey_amounts() -> None:
    """Tests worked amounts of honey and comb, own arithmetic, to their printed digits."""
    assert 20.0 * float(honey_capacity_g_per_dm2(25.0)) == pytest.approx(6200.0, abs=50.0)
    assert 20.0 * float(honey_capacity_g_per_dm2(30.0)) == pytest.approx(7600.0, abs=50.0)
    assert float(honey_comb_dm2(20_000.0)) == pytest.approx(64.5, abs=0.05)
    assert float(honey_comb_dm2(45_000.0)) == pytest.approx(145.0, abs=0.5)
    assert pytest.approx(31.7, abs=0.05) == 45.0 / HONEY_KG_PER_L


def test_half_a_square_metre_of_worker_comb() -> None:
    """Tests 50 dm2 of sheet at 5.2 mm: 42,700 cells, 0.51 kg of wax, 3.2 kg of honey spent."""
    assert 50.0 * float(cells_per_dm2(5.2)) == pytest.approx(42_700, abs=50)
    wax = float(new_wax_g(50.0))
    assert wax == pytest.approx(510.0, abs=5.0)
    assert wax * HONEY_G_PER_WAX_G == pytest.approx(3200.0, abs=50.0)


@pytest.mark.parametrize(
    ("per_frame", "per_side_dm2", "ten_frames"),
    [
        (BEES_PER_DEEP_FRAME, 79, 14_000),
        (BEES_PER_DEEP_FRAME_LAYER, 108, 19_000),
        (BEES_PER_DEEP_FRAME_FULL, 138, 24_300),
    ],
)
def test_bees_on_ten_deep_frames(per_frame: float, per_side_dm2: int, ten_frames: int) -> None:
    """Tests Simpson 1969, Kauffeld and Burgett & Burikam 1985 (the last from memory).

    177 dm2 of sides, ten frames of 8.83 dm2; printed to three digits: 0.5 %.
    """
    assert float(bees_on_comb(1.0, per_frame)) == pytest.approx(per_side_dm2, abs=0.7)
    assert float(bees_on_comb(177.0, per_frame)) == pytest.approx(ten_frames, rel=0.005)


def test_swarm_by_weight() -> None:
    """Tests Mitchell 1970 (Am. Bee J. 110): 2 kg are 15,400 swarm bees or 22,700 unfed ones."""
    assert pytest.approx(15_400, abs=50) == 2.0 * SWARM_BEES_PER_KG
    assert pytest.approx(22_700, abs=50) == 2.0 * UNFED_BEES_PER_KG
    assert pytest.approx(130.0, abs=0.5) == 1e6 / SWARM_BEES_PER_KG
    assert pytest.approx(88.0, abs=0.5) == 1e6 / UNFED_BEES_PER_KG


def test_laying_behind_capped_brood() -> None:
    """Tests 5 dm2 of one face capped at 5.3 mm: 2,055 cells, 171 eggs a day over 12 days."""
    cells = 5.0 * float(cells_per_dm2(5.3)) / 2.0
    assert cells == pytest.approx(2055, abs=1.5)
    assert float(eggs_per_day_behind(cells)) == pytest.approx(171.0, abs=0.5)


def test_room_and_comb_are_inverse_for_arrays() -> None:
    """Tests the round trip on arrays and that a wider pitch holds less comb."""
    comb = np.array([[5.0, 40.0], [117.0, 300.0]])
    np.testing.assert_allclose(comb_limit_dm2(nest_volume_l(comb, 38.0), 38.0), comb)
    assert (comb_limit_dm2(comb, 38.0) < comb_limit_dm2(comb, 35.0)).all()
    assert nest_extent_m(comb, np.array([3.0, 4.0])).shape == (2, 2)

"""Development times and brood survival behind the engine against published counts."""

from __future__ import annotations

import pytest

from lastbee.biology import constants
from reference import comb


def survival(stages: list[tuple[float, int]]) -> float:
    """Share that lives through stages of (loss a day, days)."""
    share = 1.0
    for loss, days in stages:
        share *= (1.0 - loss) ** days
    return share


WORKER_STAGES = [
    (constants.EGG_LOSS_PER_DAY, constants.EGG_DAYS),
    (constants.LARVA_LOSS_PER_DAY, constants.LARVA_DAYS),
    (constants.PUPA_LOSS_PER_DAY, constants.CAPPED_DAYS),
]


def test_worker_development_days() -> None:
    """Tests 3 + 6 + 12 = 21 days (Winston 1987 via Becher et al. 2014), exact.

    At constant laying eggs, open and capped brood stand as 1 : 2 : 4.
    """
    stages = (constants.EGG_DAYS, constants.LARVA_DAYS, constants.CAPPED_DAYS)
    assert stages == (3, 6, 12)
    assert constants.WORKER_DAYS == 21
    assert [days / stages[0] for days in stages] == [1, 2, 4]


def test_drone_development_days() -> None:
    """Tests out on day 24 (Jay 1963; Fukuda & Ohtani 1977), exact."""
    assert constants.DRONE_DAYS == 24


def test_worker_survival_by_stage() -> None:
    """Tests 0.913 x 0.941 x 0.988 = 0.849 (Schmickl & Crailsheim 2007, p. 230), to rounding."""
    shares = [survival([stage]) for stage in WORKER_STAGES]
    assert shares == pytest.approx([0.913, 0.941, 0.988], abs=5e-4)
    assert survival(WORKER_STAGES) == pytest.approx(0.849, abs=5e-4)


def test_worker_survival_agrees_with_counts() -> None:
    """Tests against 85.1 adults from 100 eggs (Fukuda & Sakagami 1968), to one in a hundred.

    A count of some hundred cells; two counts differ by more.
    """
    assert 100.0 * survival(WORKER_STAGES) == pytest.approx(85.1, abs=1.0)


def test_drone_survival_agrees_with_counts() -> None:
    """Tests 56 drones from 100 eggs (Fukuda & Ohtani 1977), to half a drone.

    The engine's one rate stands for the stages' 0.064, 0.044 and 0.005 a day over 3, 7
    and 14 days, which give 82 open, 60 sealed and 56 adults.
    """
    assert (pytest.approx(56.0, abs=0.5)) == 100.0 * (
        1.0 - constants.DRONE_BROOD_LOSS_PER_DAY
    ) ** constants.DRONE_DAYS
    stages = [(0.064, 3), (0.044, 7), (0.005, 14)]
    alive = [100.0 * survival(stages[: count + 1]) for count in range(3)]
    assert alive == pytest.approx([82.0, 60.0, 56.0], abs=0.5)


def test_comb_constants_of_the_engine_follow_from_geometry() -> None:
    """Tests cells, honey in a cell and bees on a sheet against the comb formulas, to 0.5 %."""
    cells = float(comb.cells_per_dm2(5.37))
    assert pytest.approx(cells, rel=0.005) == constants.CELLS_PER_DM2
    honey = float(comb.honey_capacity_g_per_dm2(25.0)) / cells
    assert pytest.approx(honey, rel=0.005) == constants.HONEY_PER_CELL_G
    layer = float(comb.bees_on_comb(2.0))
    assert pytest.approx(layer, rel=0.005) == constants.BEES_PER_DM2_SHEET


def test_honey_in_a_swarm_bee() -> None:
    """Tests 42 mg, what a swarm bee weighs more than an unfed one (Mitchell 1970), to 1 mg."""
    crop = 1000.0 / comb.SWARM_BEES_PER_KG - 1000.0 / comb.UNFED_BEES_PER_KG
    assert pytest.approx(crop, abs=0.001) == constants.SWARM_CROP_G

"""Khoury, Myerscough & Barron 2011 (PLoS ONE 6(4):e18491): tables and own integration.

The tables were worked out from the paper's printed equations and constants (L = 2000,
w = 27000, alpha = 0.25, sigma = 0.75) apart from this code and rounded to whole bees.
The right-hand side below is written again from the paper and solved by SciPy.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from reference.published import (
    KHOURY_2011,
    age_at_onset_days_2011,
    critical_loss_2011,
    rates_2011,
    rest_2011,
)

# loss a day: hive bees, foragers, all bees, forager share, age at first foraging, adult life.
TABLE = {
    0.05: (72710, 31787, 104497, 0.304, 45.75, 65.75),
    0.10: (31721, 12408, 44129, 0.281, 25.56, 35.56),
    0.15: (17591, 6253, 23844, 0.262, 18.76, 25.42),
    0.154: (16841, 5944, 22784, 0.261, 18.40, 24.89),
    0.20: (10261, 3352, 13613, 0.246, 15.31, 20.31),
    0.24: (6470, 1988, 8458, 0.235, 13.56, 17.73),
    0.25: (5697, 1725, 7422, 0.232, 13.21, 17.21),
    0.30: (2542, 718, 3260, 0.220, 11.80, 15.13),
    0.35: (209, 55, 264, 0.210, 10.77, 13.63),
}
START = (16000.0, 8000.0)


def printed_rates(_: float, state: np.ndarray, loss: float) -> tuple[float, float]:
    """Give the paper's two equations with its constants written out."""
    hive, field = state
    total = hive + field
    eclosion = 2000.0 * total / (27000.0 + total)
    recruited = hive * (0.25 - 0.75 * field / total)
    return eclosion - recruited, recruited - loss * field


def integrate(loss: float, days: float, start: tuple[float, float] = START) -> object:
    """Solve the printed equations to 1e-9, far below the tolerances used here."""
    return solve_ivp(
        printed_rates, (0.0, days), start, "LSODA", dense_output=True, args=(loss,),
        rtol=1e-9, atol=1e-7,
    )  # fmt: skip


@pytest.mark.parametrize(("loss", "row"), TABLE.items())
def test_rest_meets_the_table(loss: float, row: tuple[float, ...]) -> None:
    """Tests equilibria to half a bee, shares to 0.0005 and ages to 0.005 d: table rounding."""
    hive, field, total, share, onset, life = row
    rest = rest_2011(loss)
    assert rest is not None
    assert rest.hive_bees == pytest.approx(hive, abs=0.5)
    assert rest.foragers == pytest.approx(field, abs=0.5)
    assert rest.hive_bees + rest.foragers == pytest.approx(total, abs=0.5)
    assert rest.foragers / (rest.hive_bees + rest.foragers) == pytest.approx(share, abs=5.1e-4)
    assert age_at_onset_days_2011(loss) == pytest.approx(onset, abs=0.0051)
    assert age_at_onset_days_2011(loss) + 1.0 / loss == pytest.approx(life, abs=0.0051)


@pytest.mark.parametrize("loss", [0.10, 0.154, 0.24])
def test_integration_settles_on_the_closed_form(loss: float) -> None:
    """Tests that 3,000 days of SciPy integration end at the closed form, to 1e-4."""
    rest = rest_2011(loss)
    assert rest is not None
    end = integrate(loss, 3000.0).y[:, -1]
    np.testing.assert_allclose(end, (rest.hive_bees, rest.foragers), rtol=1e-4)


def test_rates_are_the_printed_equations() -> None:
    """Tests our rates against the equations written again here, to rounding, at 200 states."""
    rng = np.random.default_rng(2011)
    for hive, field, loss in rng.uniform((1, 1, 0.01), (50000, 20000, 1.0), (200, 3)):
        np.testing.assert_allclose(
            rates_2011(hive, field, loss), printed_rates(0.0, np.array([hive, field]), loss)
        )


def test_rest_is_where_the_rates_vanish() -> None:
    """Tests that both rates are 0 at the closed form, to 1e-8 bees a day."""
    for loss in TABLE:
        rest = rest_2011(loss)
        assert rest is not None
        assert rates_2011(rest.hive_bees, rest.foragers, loss) == pytest.approx(
            (0.0, 0.0), abs=1e-8
        )


def test_critical_loss() -> None:
    """Tests 0.35520 a day (2.815 d of foraging), from the printed equations, to 5 figures.

    There the forager share is 0.20854, since growth L/w must equal m F/N.
    """
    critical = critical_loss_2011()
    assert critical == pytest.approx(0.35520, abs=5e-6)
    assert 1.0 / critical == pytest.approx(2.815, abs=5e-4)
    near = rest_2011(critical - 1e-9)
    assert near is not None
    share = near.foragers / (near.hive_bees + near.foragers)
    assert share == pytest.approx(0.20854, abs=5e-6)
    assert critical * share == pytest.approx(2000.0 / 27000.0, rel=1e-6)


def test_no_colony_rests_beyond_the_critical_loss() -> None:
    """Tests either side of the edge by formula and by integration over 40 years.

    At 0.345 bees remain; at 0.365 fewer than one is left (from the paper's own start).
    """
    critical = critical_loss_2011()
    assert rest_2011(critical - 1e-6) is not None
    assert rest_2011(critical + 1e-6) is None
    assert rest_2011(0.40) is None
    assert integrate(0.345, 14600.0).y[:, -1].sum() > 100.0
    assert integrate(0.365, 14600.0).y[:, -1].sum() < 1.0


def test_generous_recruitment_cannot_be_killed_when_slow() -> None:
    """Tests that alpha <= L/w = 0.0741 a day has no critical loss (algebra of the model)."""
    slow = replace(KHOURY_2011, recruitment_per_day=2000.0 / 27000.0)
    assert critical_loss_2011(slow) == math.inf
    assert rest_2011(50.0, slow) is not None
    assert critical_loss_2011(replace(slow, recruitment_per_day=0.075)) < math.inf


@pytest.mark.parametrize(
    ("loss", "day", "hive", "field"),
    [
        (0.24, 30, 11832, 3691),
        (0.24, 100, 7910, 2441),
        (0.24, 400, 6486, 1992),
        (0.40, 10, 12153, 3169),
        (0.40, 30, 6688, 1722),
        (0.40, 60, 3555, 907),
        (0.40, 100, 1946, 493),
    ],
)
def test_transients(loss: float, day: int, hive: float, field: float) -> None:
    """Tests the way there from 16,000 hive bees and 8,000 foragers.

    The values come from Euler steps of 0.01 d, whose error here is under 3 bees.
    """
    state = solve_ivp(
        lambda _, y: rates_2011(y[0], y[1], loss), (0.0, day), START, rtol=1e-8, atol=1e-6
    ).y[:, -1]
    np.testing.assert_allclose(state, (hive, field), atol=3.0)


def test_failure_is_slow_and_steady() -> None:
    """Tests that at 0.40 a day fewer than 1,000 bees are left on day 183, not before 182.

    The day is from Euler steps of 0.01 d; the loss a day never exceeds 4 % after day 15.
    """
    days = np.arange(0.0, 400.0)
    total = integrate(0.40, 400.0).sol(days).sum(axis=0)
    assert int(days[np.argmax(total < 1000.0)]) == pytest.approx(183, abs=1)
    assert (np.diff(total) < 0.0).all()
    assert (-np.diff(total) / total[:-1])[15:].max() < 0.04


def test_more_loss_draws_bees_into_foraging_younger() -> None:
    """Tests the abstract's claim over all losses that a colony survives."""
    ages = [age_at_onset_days_2011(loss) for loss in np.linspace(0.02, 0.35, 60)]
    assert (np.diff(ages) < 0.0).all()


def test_foragers_turn_back_above_a_third() -> None:
    """Tests that recruitment is 0 at F/N = alpha/sigma = 1/3 and negative above."""
    assert rates_2011(2000.0, 1000.0, 0.0)[1] == pytest.approx(0.0, abs=1e-9)
    assert rates_2011(1000.0, 1000.0, 0.0)[1] < 0.0


def test_loss_of_nothing_is_refused() -> None:
    """Tests that the message names the argument and the value."""
    with pytest.raises(ValueError, match=r"loss_per_day must be above 0, got 0\.0"):
        rest_2011(0.0)

"""One number for how bad an outcome is, in visits' worth of trouble.

    loss = work + w_bees (1 - alive) + w_honey honey_kg + w_week weeks + w_open opening
           + ASK [leave to open is not known]
           + DAMAGE [honey above the limit behind a finished surface, twice the limit elsewhere]
           + REMAIN [living bees remain in the cavity]

The weights are the firm's (`Weights`); the three steps are ours and assumed. The loss
orders the ways that are not refused; it never overrides a refusal.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.methods.outcomes import Outcome

# Opening a ceiling that honey came through; coming back for a colony that stayed: assumed.
DAMAGE = 25.0
REMAIN = 12.0
REMAINING_BEES = 200.0
# Asking an owner who may say no: assumed.
ASK = 5.0


@dataclass(frozen=True, slots=True)
class Weights:
    """How a firm weighs outcomes; visits' worth of trouble per unit."""

    bees_lost: float = 20.0
    honey_left_per_kg: float = 1.0
    week: float = 0.5
    opening: float = 12.0
    honey_limit_kg: float = 5.0


def loss(
    outcome: Outcome, weights: Weights, *, limit_times: float, must_ask: bool = False
) -> NDArray[np.float64]:
    """Trouble of a way for each colony.

    Parameters
    ----------
    outcome
        What the way does to n colonies.
    weights
        The firm's weights.
    limit_times
        How many times the firm's limit of honey may stay before it does damage.
    must_ask
        Whether the way opens something that nobody has yet given leave to open.

    Returns
    -------
    Loss, shape (n,). [visits]
    """
    above = outcome.honey_left_kg > weights.honey_limit_kg * limit_times
    return np.asarray(
        outcome.work_visits
        + weights.bees_lost * (1.0 - outcome.alive)
        + weights.honey_left_per_kg * outcome.honey_left_kg
        + weights.week * outcome.weeks
        + weights.opening * outcome.opening
        + ASK * must_ask
        + DAMAGE * above
        + REMAIN * (outcome.bees_left > REMAINING_BEES)
    )

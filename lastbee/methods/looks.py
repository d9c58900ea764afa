"""Which further look is worth the climb: the expected value of sample information.

For each look, outcomes are imagined from the posterior; each outcome reweights the
colonies, and the best way is chosen again. The look is worth what the expected loss of
the best way falls by, on average, less nothing: its own cost is for the reader to weigh.
It is never negative, and near zero where no reading would change the decision.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.item import Item, NestT

IMAGINED_LOOKS = 300
COLONIES_FOR_LOOKS = 1500


@dataclass(frozen=True, slots=True)
class LookValue:
    """What a look is worth, in visits, and how often it would change the choice (0 to 1)."""

    key: str
    worth_visits: float
    changes_choice: float


def value_of_look(
    key: str,
    items: tuple[Item[NestT], ...],
    nest: NestT,
    losses: NDArray[np.float64],
    rng: np.random.Generator,
) -> LookValue:
    """Expected fall of the loss of the best way by taking a look first.

    Parameters
    ----------
    key
        Name of the look.
    items
        What the look reads, together; the readings they hold are ignored.
    nest
        Colonies of the posterior, equally weighted, n of them.
    losses
        Loss of each way for each colony, shape (n, ways). [visits]
    rng
        Source of all randomness.

    Returns
    -------
    The value.

    Raises
    ------
    ValueError
        If `losses` does not have a row for each colony.
    """
    if losses.shape[0] != nest.size:
        raise ValueError(f"losses must have {nest.size} rows, got {losses.shape[0]}")
    chosen = np.unique(rng.integers(0, nest.size, COLONIES_FOR_LOOKS))
    nest, losses = nest.take(chosen), losses[chosen]
    best_now = int(np.argmin(losses.mean(axis=0)))
    truths = rng.integers(0, nest.size, IMAGINED_LOOKS)
    readings = [item.draw(nest.take(truths), rng) for item in items]
    gains, changed = np.zeros(IMAGINED_LOOKS), np.zeros(IMAGINED_LOOKS, dtype=bool)
    for k in range(IMAGINED_LOOKS):
        log_w = np.zeros(nest.size)
        for item, values in zip(items, readings, strict=True):
            log_w += item.log_density(float(values[k]), nest)
        weight = np.exp(log_w - log_w.max())
        expected = weight @ losses / weight.sum()
        best = int(np.argmin(expected))
        gains[k] = expected[best_now] - expected[best]
        changed[k] = best != best_now
    return LookValue(key, float(gains.mean()), float(changed.mean()))

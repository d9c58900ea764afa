"""A running trap-out decided anew: going on with it is one way among the others.

The ways are those of `lastbee.methods.compare`, for the bees that are behind the cone today;
what has been spent on the trap-out so far counts no more.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.layout import Daily
from lastbee.forecast.anew import from_today
from lastbee.methods.closeout import ROB_DAYS, bars_to_robbing, honey_after_robbing
from lastbee.methods.compare import Simulated, Way, compare
from lastbee.methods.findings import findings_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.forecast.anew import FromToday
    from lastbee.forecast.runs import Runs
    from lastbee.methods.circumstances import Circumstances
    from lastbee.methods.loss import Weights
    from lastbee.methods.rules import Findings
    from lastbee.words import UnitSystem

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Firm:
    """How a firm decides: its weights, the confidence of its dates, whether it robs out."""

    weights: Weights
    confidence: float
    robs_out: bool
    system: UnitSystem


@dataclass(frozen=True, slots=True)
class Anew:
    """The ways compared as of today, what they rest on, and what rules asked for."""

    ways: tuple[Way, ...]
    simulated: Simulated
    findings: Findings


def decided_anew(
    runs: Runs,
    sky: Array,
    cone_day: int,
    today: int,
    c: Circumstances,
    firm: Firm,
    rng: np.random.Generator,
) -> Anew:
    """Compare every way as of the last visit.

    Parameters
    ----------
    runs
        Running trap-outs, equally weighted, as things stand.
    sky
        Daily drivers, reaching TRAP_DAYS + ROB_DAYS past the cone.
    cone_day, today
        Day indices of the cone's first day and of the last visit.
    c
        Circumstances as of today (`Circumstances.later`).
    firm
        How the firm decides.
    rng
        Source of randomness for the ways that are not simulated.

    Returns
    -------
    All ways; "trap-out" is going on with it.

    Raises
    ------
    ValueError
        If `today` is not one of the days that the forecast covers.
    """
    ahead = from_today(runs, sky, cone_day, today)
    f = findings_of(
        ahead.going_on, ahead.nest, c, firm.weights.honey_limit_kg, firm.confidence, firm.system,
        running_days=today - cone_day,
    )  # fmt: skip
    honey = _robbed(ahead, f.safe_day, sky[today:], c, firm)
    simulated = Simulated(ahead.nest, ahead.nest, ahead.going_on, honey, ahead.honey_if_left_g)
    return Anew(compare(simulated, c, f, firm.weights, rng), simulated, f)


def _robbed(ahead: FromToday, safe: int | None, days: Array, c: Circumstances, firm: Firm) -> Array:
    """Honey left after the rob-out that follows the safe day, where there is to be one."""
    trap = ahead.going_on
    if safe is None or not firm.robs_out or bars_to_robbing(c):
        return trap.honey_left_g
    box = trap.records[:, safe, Daily.BOX].astype(np.float64)
    return honey_after_robbing(trap.honey_left_g, box, days[safe + 1 : safe + 1 + ROB_DAYS])

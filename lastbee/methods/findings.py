"""What a trap-out's forecast tells the rules that refuse ways."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from lastbee.forecast.trapout import first_reached
from lastbee.methods.outcomes import SWARM_COMB_DM2
from lastbee.methods.rules import GO_ON_WEEKS, LONGEST_WEEKS, Findings
from lastbee.words import mass_unit, number, range_words

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest
    from lastbee.forecast.trapout import TrapOut
    from lastbee.methods.circumstances import Circumstances
    from lastbee.words import UnitSystem


def findings_of(
    trap: TrapOut,
    nest: Nest,
    c: Circumstances,
    honey_limit_kg: float,
    confidence: float,
    system: UnitSystem,
    running_days: int | None = None,
) -> Findings:
    """Probabilities that the rules ask for.

    Parameters
    ----------
    trap
        The trap-out from the cone's first day, or from today on.
    nest
        The colonies before it, or as they are today.
    c
        Circumstances, with offsets from the same day.
    honey_limit_kg
        The firm's limit of honey. [kg]
    confidence
        Chance of being empty that makes a day the safe one.
    system
        Units of the words.
    running_days
        Days since the cone of a trap-out that is decided anew; None before it.

    Returns
    -------
    The findings.
    """
    honey_kg, by = trap.honey_left_g / 1000.0, trap.empty_by
    limit_kg = honey_limit_kg * c.limit_times
    last = len(by) - 1
    weeks = LONGEST_WEEKS
    if running_days is not None:
        weeks = max(GO_ON_WEEKS, LONGEST_WEEKS - running_days // 7)
    return Findings(
        honey_over_limit=float((honey_kg > limit_kg).mean()),
        honey_words=kilos_words(honey_kg, system),
        limit_words=limit_words(limit_kg, system),
        empty_in_time=float(by[min(7 * weeks - 1, last)]),
        empty_by_deadline=None if c.gone_by is None else float(by[min(max(c.gone_by, 0), last)]),
        safe_day=first_reached(by, confidence),
        swarm_without_comb=float((nest.comb_dm2 < SWARM_COMB_DM2).mean()),
        is_running=running_days is not None,
        weeks_allowed=weeks,
    )


def kilos_words(kilos: NDArray[np.float64], system: UnitSystem) -> str:
    """A mass with its range, for instance "about 1.2 kg (up to 9.2)"."""
    low, median, high = (float(v) for v in np.quantile(kilos, (0.05, 0.5, 0.95)))
    return range_words(low, median, high, mass_unit(system))


def limit_words(limit_kg: float, system: UnitSystem) -> str:
    """A limit of mass, for instance "5 kg"."""
    unit = mass_unit(system)
    return f"{number(limit_kg / unit.size, 0.1)} {unit.sign}"

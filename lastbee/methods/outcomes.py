"""What each way of the trade does to each simulated colony, on the same axes.

The trap-out and "leave it" are simulated by the engine. The others act within a day, so
that a few stated shares describe them; no published figures exist for those shares, so
each is common practice, no source, drawn uniformly between its two numbers for every
colony. A way that can fail (repellent, smoke) leaves a failed colony where it was.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import expit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest
    from lastbee.forecast.trapout import TrapOut

    Array = NDArray[np.float64]

# Bees brought away alive by opening and cutting out; brood saved; honey smeared and missed.
CUT_OUT_ALIVE = (0.75, 0.95)
CUT_OUT_INSIDE_ALIVE = (0.7, 0.93)
CUT_OUT_HONEY_MISSED = (0.01, 0.05)
SWARM_ALIVE = (0.93, 1.0)
# Bees that a vacuum reaches through the exit and a few holes; share killed in it.
VACUUM_REACH = (0.3, 0.7)
VACUUM_KILLS = (0.05, 0.25)
# Bees of a cluster driven out that end in a box.
DRIVEN_ALIVE = (0.7, 0.95)
# Cut-out visits: the day itself and a return for stragglers.
CUT_OUT_VISITS = 2.0
# Hours of two people: an hour to start, three for under 0.6 m of comb, seven for a full
# bay or more (working figures of the trade, common practice, no source).
CUT_OUT_BASE_H = 1.0
CUT_OUT_H_PER_DM2 = 0.05
# Closing gaps and setting the cone is a day's half for two; opening an empty nest two hours.
SET_UP_WORK = 3.0
QUIET_OPENING_H = 2.0
# Honey that a quiet opening misses: common practice, no source.
OPENING_HONEY_MISSED = 0.03
# Comb above which a hanging swarm is a nest, in dm2 of sheet.
SWARM_COMB_DM2 = 2.0


@dataclass(frozen=True, slots=True)
class Outcome:
    """A way's result for each colony; every array has shape (n,).

    `alive` is the share of the bees that lives on in somebody's box; `bees_left` those
    still living in the cavity afterwards; `work_visits` labour in visits' worth (a visit is
    an hour of one technician at the wall); `opening` is 0 or 1.
    """

    alive: Array
    honey_left_kg: Array
    bees_left: Array
    weeks: Array
    visits: Array
    work_visits: Array
    opening: float


def _between(bounds: tuple[float, float], n: int, rng: np.random.Generator) -> Array:
    return rng.uniform(bounds[0], bounds[1], n)


def trap_out_outcome(
    trap: TrapOut, honey_left_g: Array, *, then_open: bool, is_running: bool = False
) -> Outcome:
    """Cone and box, then rob-out or a quiet opening; a visit a week and three at the ends.

    One that is running has been set up: two visits are left at its end.
    """
    weeks = trap.empty_day / 7.0
    bees_left = trap.expected_left[:, -1]
    visits = weeks + (2.0 if is_running else 3.0)
    work = visits + (0.0 if is_running else SET_UP_WORK)
    if then_open:
        honey = OPENING_HONEY_MISSED * trap.honey_left_g / 1000.0
        work = work + 2.0 * QUIET_OPENING_H
        return Outcome(trap.joined_share, honey, 0.0 * bees_left, weeks, visits, work, 1.0)
    return Outcome(
        trap.joined_share, honey_left_g / 1000.0, bees_left, weeks + 1.5, visits, work, 0.0
    )


def cut_out_outcome(nest: Nest, *, inside: bool, rng: np.random.Generator) -> Outcome:
    """Open, cut out, box, clean."""
    n = nest.size
    alive = _between(CUT_OUT_INSIDE_ALIVE if inside else CUT_OUT_ALIVE, n, rng)
    honey = _between(CUT_OUT_HONEY_MISSED, n, rng) * nest.honey_g / 1000.0
    hours = CUT_OUT_BASE_H + CUT_OUT_H_PER_DM2 * nest.comb_dm2
    return Outcome(
        alive,
        honey,
        np.zeros(n),
        np.full(n, 0.4),
        np.full(n, CUT_OUT_VISITS),
        2.0 * hours + 1.0,
        1.0,
    )


def swarm_capture_outcome(nest: Nest, rng: np.random.Generator) -> Outcome:
    """Take a hanging cluster; where there is a nest behind it, only its outside comes."""
    n = nest.size
    is_swarm = nest.comb_dm2 < SWARM_COMB_DM2
    alive = np.where(is_swarm, _between(SWARM_ALIVE, n, rng), 0.1)
    left = np.where(is_swarm, 0.0, 0.9 * nest.adults)
    visits = np.ones(n)
    # The honey of a bare cluster is in its crops and goes with it.
    honey = np.where(is_swarm, 0.0, nest.honey_g / 1000.0)
    return Outcome(alive, honey, left, np.full(n, 0.1), visits, visits, 0.0)


def driven_outcome(nest: Nest, *, smoke: bool, rng: np.random.Generator) -> Outcome:
    """Drive out with repellent or smoke: bees leave bare walls, not brood and stores."""
    n = nest.size
    brood = nest.brood_cells / (800.0 if smoke else 1500.0)
    stores = nest.comb_dm2 / (4.0 if smoke else 10.0)
    chance = expit((0.5 if smoke else 1.5) - brood - stores)
    succeeds = rng.random(n) < chance
    alive = np.where(succeeds, _between(DRIVEN_ALIVE, n, rng), 0.0)
    left = np.where(succeeds, 0.0, nest.adults)
    weeks = np.where(succeeds, 0.2, 0.5)
    visits = np.full(n, 2.0)
    return Outcome(alive, nest.honey_g / 1000.0, left, weeks, visits, visits, 0.0)


def vacuum_outcome(nest: Nest, rng: np.random.Generator) -> Outcome:
    """Vacuum what can be reached; brood, comb and mostly the queen stay."""
    n = nest.size
    reached = _between(VACUUM_REACH, n, rng)
    alive = reached * (1.0 - _between(VACUUM_KILLS, n, rng))
    left = (1.0 - reached) * nest.adults
    visits = np.full(n, 2.0)
    return Outcome(alive, nest.honey_g / 1000.0, left, np.full(n, 0.3), visits, visits, 0.0)


def eradication_outcome(nest: Nest) -> Outcome:
    """Kill in place by a licensed applicator; everything stays until somebody opens."""
    n = nest.size
    none, visits = np.zeros(n), np.full(n, 2.0)
    return Outcome(none, nest.honey_g / 1000.0, none, np.full(n, 0.5), visits, visits, 0.0)


def leave_outcome(nest: Nest, honey_later_g: Array) -> Outcome:
    """Do nothing: the colony lives on and stores; measured at the end of the forecast."""
    n = nest.size
    return Outcome(
        np.ones(n), honey_later_g / 1000.0, nest.adults, np.zeros(n), np.zeros(n), np.zeros(n), 0.0
    )

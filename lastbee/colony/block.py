"""Where each number of a block of colonies lies, as the compiled code reads it.

The kernel steps LANES colonies together. One flat array holds a block's state, another
its parameters: LANES numbers of one quantity, then LANES of the next, so that
`s[HOUSE + k]` is the house bees of the block's k-th colony. Queues of brood and of young
bees are flat too: `worker[age * LANES + k]`. A processor then does the same arithmetic
for several colonies in one instruction, which is worth a factor of six or more. The price
is paid in the processes of `brood`, `nest` and `trap`: a choice that depends on a
colony's numbers is written as a conditional expression and never as an early return.

The numbers of one lane never touch another's, so that a colony's result does not depend
on which colonies it shares a block with.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

from lastbee.biology import constants as bio
from lastbee.biology.constants import Column
from lastbee.colony.layout import Daily, Sky, State
from lastbee.colony.turns import TURNED, Gift

if TYPE_CHECKING:
    from typing import TypeAlias

    from numpy.typing import NDArray

    Array: TypeAlias = NDArray[np.float64]

# Colonies in a block: enough that one lane's sums hide the waiting of another's, few enough
# that a block's numbers (45 kB) stay near the processor.
LANES = 32

# Numba freezes module-level integers into the compiled code; enum members would be boxed.
(
    YOUNG, HOUSE, FORAGERS, DRONES, EGGS, LARVAE, CAPPED, DRONE_BROOD, HONEY, POLLEN, COMB,
    QUEEN, INCOME_MEMORY, WALL, BOX, BOX_HONEY, BOX_BROOD, LAID_TODAY, BORN, DRONES_BORN,
    DIED_INSIDE, DIED_AWAY, DRONES_GONE, DRIFTED, DIED_ON_WALL, DIED_IN_BOX, BOX_BORN,
    BOX_START, HONEY_IN, HONEY_EATEN, HONEY_TO_WAX, HONEY_CARRIED, DEAD_CAPPED,
    DEAD_IN_CAVITY, JOINED, SHUT_OUT, CONE_BEES, CONE_BROOD, ORIENTING, WORKERS_LAID,
    BROOD_LOST, BOX_GONE, BOX_LAID, BOX_BROOD_GIVEN, BOX_BROOD_LOST, BOX_HONEY_GIVEN, BOX_HONEY_IN,
    BOX_HONEY_EATEN, BOX_HONEY_ROBBED,
) = (int(row) * LANES for row in State)  # fmt: skip
N_STATE = len(State)
# Below the state stand the day's own numbers, handed from one process to the next: flight
# as a share of the reference day's, how well stores encourage laying (0 to 1), how much of
# their work nurses and queen still do, the shares of brood that live through the day, bees
# born, forager-days at work, bees shut out, gain of honey, eggs laid in the box, and
# a book as it stood in the morning.
(
    FLYING, WELL_STORED, ZEAL, KEEP_EGG, KEEP_YOUNG_LARVA, KEEP_OLD_LARVA, KEEP_CAPPED, KEEP_DRONE,
    BORN_TODAY, AT_WORK, OUT_TODAY, GAIN, BOX_LAID_TODAY, DIED_INSIDE_BEFORE,
) = ((N_STATE + row) * LANES for row in range(14))  # fmt: skip
STATE_SIZE = DIED_INSIDE_BEFORE + LANES
(
    START_DAY, START_BEES, START_HONEY, START_COMB, CAVITY_COMB, LAYING_DELAY, START_POLLEN,
    YOUNG_DAYS, QUEEN_LEAVES, BOX_BEES, BOX_LAYING_DELAY, LAY_MAX, CARE_HALF, FOOD_HALF,
    RECRUIT_MIN, RECRUIT_HUNGER, INHIBITION, FORAGER_LOSS, NEST_LOSS, INCOME, DEARTH_DEPTH,
    ADULT_NEED, BROOD_NEED, POLLEN_INCOME, LARVA_POLLEN, PROTEIN_RESERVE, BUILD, WAX_HONEY,
    DRONE_SHARE, COVER, LEAK, REENTRY, FLY, CARRY, LAY_COUPLING, DESERT, DESERT_HALF, JOIN,
    DRIFT, WALL_LOSS, PASSABLE, BOX_LEAVE, BOX_ROBBED, TRAPPED_PACE,
    BODY_PROTEIN, WARMING,
) = (int(column) * LANES for column in Column)  # fmt: skip
N_PARAMETERS = len(Column)
# One row of the sky is the same for every lane.
FLIGHT_H, WET, LAYING, FORAGE, DEARTH, COLD, DRONE_SEASON = (int(column) for column in Sky)
N_DAILY = len(Daily)
TURNED_ROWS = np.array([int(column) * LANES for column in TURNED])
GIFT_BOX_BEES, GIFT_BOX_BROOD, GIFT_BOX_HONEY, GIFT_WALL_BOXED, GIFT_BOX_GONE = map(int, Gift)

EGG_DAYS = bio.EGG_DAYS
CAPPED_FROM = bio.EGG_DAYS + bio.LARVA_DAYS
WORKER_DAYS = bio.WORKER_DAYS
DRONE_DAYS = bio.DRONE_DAYS
MAX_YOUNG_DAYS = bio.MAX_YOUNG_DAYS
_NURSED_CELLS = bio.BROOD_PER_NURSE
_FORAGER_NURSE = bio.FORAGER_NURSE_SHARE
_CELLS_A_G_HONEY = 1.0 / bio.HONEY_PER_CELL_G
_CELLS_A_G_POLLEN = 1.0 / bio.POLLEN_PER_CELL_G

# Division by zero gives infinity, as in NumPy: a test for it would keep lanes apart.
compiled = njit(error_model="numpy")


@compiled
def adults(s: Array, k: int) -> float:
    """Workers in the nest, and foragers. [bees]."""
    return s[YOUNG + k] + s[HOUSE + k] + s[FORAGERS + k]  # type: ignore[no-any-return]


@compiled
def brood_cells(s: Array, k: int) -> float:
    """Cells with brood of workers or drones."""
    return s[EGGS + k] + s[LARVAE + k] + s[CAPPED + k] + s[DRONE_BROOD + k]  # type: ignore[no-any-return]


@compiled
def filled_cells(s: Array, k: int) -> float:
    """Cells with brood, honey or pollen."""
    stores = s[HONEY + k] * _CELLS_A_G_HONEY + s[POLLEN + k] * _CELLS_A_G_POLLEN
    return brood_cells(s, k) + stores  # type: ignore[no-any-return]


@compiled
def nursed_cells(s: Array, k: int) -> float:
    """Brood cells that the nurses can look after."""
    nurses = s[YOUNG + k] + s[HOUSE + k] + _FORAGER_NURSE * s[FORAGERS + k]
    return nurses * _NURSED_CELLS  # type: ignore[no-any-return]


@compiled
def share_met(have: float, need: float) -> float:
    """Share of a need that is met, 1 where nothing is needed."""
    return min(1.0, have / need) if need > 0.0 else 1.0


@compiled
def aligned(count: int) -> Array:
    """`count` zeros that begin on a cache line, so that no lane straddles two."""
    room = np.zeros(count + 8)
    skip = (-room.ctypes.data // 8) % 8
    return room[skip : skip + count]

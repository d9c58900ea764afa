"""Names of the numbers that a simulated colony carries.

`State` is the kernel's own state, in the order of its columns; `Daily` is what is
recorded every day of a trap-out. Bees and cells are counts, stores are grams, comb is
dm2 of sheet. `STATE_UNITS` gives the unit of each state.
"""

from __future__ import annotations

from enum import IntEnum


class State(IntEnum):
    """Column of each quantity in a snapshot of shape (colonies, len(State))."""

    YOUNG = 0
    HOUSE = 1
    FORAGERS = 2
    DRONES = 3
    EGGS = 4
    LARVAE = 5
    CAPPED = 6
    DRONE_BROOD = 7
    HONEY = 8
    POLLEN = 9
    COMB = 10
    QUEEN = 11
    INCOME_MEMORY = 12
    WALL = 13
    BOX = 14
    BOX_HONEY = 15
    BOX_BROOD = 16
    LAID_TODAY = 17
    # Running totals: the books that must balance.
    BORN = 18
    DRONES_BORN = 19
    DIED_INSIDE = 20
    DIED_AWAY = 21
    DRONES_GONE = 22
    DRIFTED = 23
    DIED_ON_WALL = 24
    DIED_IN_BOX = 25
    BOX_BORN = 26
    BOX_START = 27
    HONEY_IN = 28
    HONEY_EATEN = 29
    HONEY_TO_WAX = 30
    HONEY_CARRIED = 31
    DEAD_CAPPED = 32
    DEAD_IN_CAVITY = 33
    JOINED = 34
    SHUT_OUT = 35
    CONE_BEES = 36
    CONE_BROOD = 37
    ORIENTING = 38
    WORKERS_LAID = 39
    BROOD_LOST = 40
    # The box's own books; BOX_START counts bees put into it at any time.
    BOX_GONE = 41
    BOX_LAID = 42
    BOX_BROOD_GIVEN = 43
    BOX_BROOD_LOST = 44
    BOX_HONEY_GIVEN = 45
    BOX_HONEY_IN = 46
    BOX_HONEY_EATEN = 47
    BOX_HONEY_ROBBED = 48


class Daily(IntEnum):
    """Column of each quantity recorded daily from the cone's first day."""

    NEST_BEES = 0
    BROOD = 1
    BOX = 2
    WALL = 3
    HONEY = 4
    QUEEN = 5
    LAID = 6
    OPEN_BROOD = 7
    EXITS = 8


class Sky(IntEnum):
    """Column of each daily driver in an environment of shape (days, len(Sky))."""

    FLIGHT_H = 0
    WET = 1
    LAYING = 2
    FORAGE = 3
    DEARTH = 4
    COLD = 5
    DRONES = 6


QUEEN_LEFT = 2.0
QUEEN_DIED = 3.0
NO_CONE = 10**6

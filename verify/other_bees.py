"""Single bees in arrays, and dice that fall the same whatever anybody does.

Every bee has a name, a number that she keeps. A throw of the dice is a hash (the mixer of
Steele et al. 2014) of the job's seed, her name, the hour and what is thrown for; so two
runs of the same job under other visits and deeds differ only by what these change.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from enum import IntEnum, auto
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Some = NDArray[np.intp]
    Array = NDArray[np.float32]
    Flags = NDArray[np.bool_]


class Place(IntEnum):
    """Where a bee is."""

    NEST = 0
    OUT = 1
    WALL = 2
    BOX = 3
    GONE = 4  # to other colonies, or nobody knows where
    DEAD = 5


class Throw(IntEnum):
    """What the dice are thrown for."""

    BORN = auto()
    FLIGHT_TODAY = auto()
    FLY = auto()
    LOAD = auto()
    KILLED = auto()
    HOMING = auto()
    GAP = auto()
    TIP = auto()
    VISIT = auto()
    STAY = auto()
    LEAVE_WALL = auto()
    STARVE = auto()
    OLD_AGE = auto()
    BOX_FLIGHT = auto()
    BOX_LOSS = auto()
    UNFED = auto()
    DUSK = auto()
    NATURE = auto()
    COLONY = auto()
    DEED = auto()
    PERSON = auto()
    VISITOR = auto()


@dataclass(frozen=True, slots=True)
class Dice:
    """Throws of one job."""

    seed: int

    def each(self, names: NDArray[np.uint64], when: int, what: Throw) -> NDArray[np.float64]:
        """One uniform number for each bee, shape (n,); `when` counts hours or days."""
        salt = (self.seed * 0x9E3779B97F4A7C15 + when * 1_000_003 + int(what)) % 2**64
        z = names * np.uint64(0xD1342543DE82EF95) + np.uint64(_mixed(salt))
        z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
        z = (z ^ (z >> np.uint64(31))) >> np.uint64(11)
        return z.astype(np.float64) * 2.0**-53

    def of(self, what: Throw, when: int = 0, which: int = 0) -> np.random.Generator:
        """A generator for what concerns no single bee."""
        return np.random.default_rng((self.seed, int(what), when, which))


def _mixed(z: int) -> int:
    """The mixer on one integer."""
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9 % 2**64
    z = (z ^ (z >> 27)) * 0x94D049BB133111EB % 2**64
    return z ^ (z >> 31)


def _none(kind: type) -> Any:
    """An array of no bees."""
    return np.zeros(0, dtype=kind)


@dataclass(slots=True)
class Bees:
    """Bees, one row each; every array has shape (n,).

    `born` is the day of emergence; `body` her bodily age, `onset` the one at which she takes
    to the field, `flown_h` hours flown and `wings_h` those that her wings last; `crop_mg` the
    honey she carries. She knows a `gap`, or how to come in by the cone's `tip`, or not;
    `box_visits` counts looks into the box, `box_flights` flights from it (she has learnt
    where it is after a few), `idle` the days she could have flown and did not. Those of the
    `court` keep to the queen.
    """

    name: NDArray[np.uint64] = field(default_factory=lambda: _none(np.uint64))
    place: NDArray[np.int8] = field(default_factory=lambda: _none(np.int8))
    born: Array = field(default_factory=lambda: _none(np.float32))
    body: Array = field(default_factory=lambda: _none(np.float32))
    onset: Array = field(default_factory=lambda: _none(np.float32))
    flown_h: Array = field(default_factory=lambda: _none(np.float32))
    wings_h: Array = field(default_factory=lambda: _none(np.float32))
    crop_mg: Array = field(default_factory=lambda: _none(np.float32))
    idle: NDArray[np.int16] = field(default_factory=lambda: _none(np.int16))
    box_visits: NDArray[np.int16] = field(default_factory=lambda: _none(np.int16))
    box_flights: NDArray[np.int16] = field(default_factory=lambda: _none(np.int16))
    gap: Flags = field(default_factory=lambda: _none(bool))
    tip: Flags = field(default_factory=lambda: _none(bool))
    court: Flags = field(default_factory=lambda: _none(bool))
    drone: Flags = field(default_factory=lambda: _none(bool))

    def __len__(self) -> int:
        return len(self.name)

    def add(self, place: Place, **given: NDArray[np.generic]) -> None:
        """Add bees at a place; arrays that are not given are zero."""
        n = len(given["name"])
        for f in fields(self):
            old = getattr(self, f.name)
            new = np.full(n, int(place)) if f.name == "place" else given.get(f.name, np.zeros(n))
            setattr(self, f.name, np.concatenate([old, np.asarray(new).astype(old.dtype)]))

    def keep(self, staying: Flags) -> None:
        """Forget the other rows."""
        for f in fields(self):
            setattr(self, f.name, getattr(self, f.name)[staying])

    def at(self, place: Place) -> Some:
        """Rows of the bees at a place."""
        return np.flatnonzero(self.place == int(place))

    def count(self, place: Place) -> int:
        """How many are at a place."""
        return int(np.count_nonzero(self.place == int(place)))

"""What the cone does: bees on the wall, the colony in the box, the queen's choice.

Every function takes a block of colonies (see `lastbee.colony.block`) and changes its
state in place.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.biology import constants as bio
from lastbee.colony.block import (
    ADULT_NEED,
    BOX,
    BOX_BEES,
    BOX_BORN,
    BOX_BROOD,
    BOX_HONEY,
    BOX_LAID,
    BOX_LAYING_DELAY,
    BOX_START,
    BROOD_NEED,
    CAPPED_FROM,
    CARE_HALF,
    COLD,
    CONE_BEES,
    CONE_BROOD,
    DEAD_IN_CAVITY,
    DEARTH,
    DEARTH_DEPTH,
    DIED_IN_BOX,
    DIED_INSIDE,
    DIED_INSIDE_BEFORE,
    DIED_ON_WALL,
    DRIFT,
    DRIFTED,
    DRONES,
    EGG_DAYS,
    FLYING,
    FORAGE,
    FORAGER_LOSS,
    FORAGERS,
    INCOME,
    JOIN,
    JOINED,
    LANES,
    LAY_MAX,
    LAYING,
    NEST_LOSS,
    QUEEN,
    QUEEN_LEAVES,
    REENTRY,
    SHUT_OUT,
    WALL,
    WALL_LOSS,
    WORKER_DAYS,
    adults,
    brood_cells,
    compiled,
)
from lastbee.colony.brood import EGG_KEPT, LARVA_KEPT, PUPA_KEPT
from lastbee.colony.layout import QUEEN_DIED, QUEEN_LEFT

if TYPE_CHECKING:
    from lastbee.colony.block import Array

_NURSED_CELLS = bio.BROOD_PER_NURSE
_DECIDES = bio.QUEEN_DECIDES_BEES
# A box pulls up to twice as hard as it fills, half of that gain at this many bees; at most
# this share of the wall moves in a day: assumed.
BOX_PULLS_HALF_BEES = 1000.0
MOST_LEAVE_WALL = 0.98
# A quarter of the box forages (Khoury et al. 2011: 0.21 to 0.30 at equilibrium).
BOX_FORAGES = 0.25
# No more of the box than this dies in a day, however wild the draw.
MOST_DIE_IN_BOX = 0.9
# Open brood among the box's brood, 9 of 21 days.
BOX_OPEN_BROOD = 0.4
# The box is set with half a gram of honey a bee: assumed.
BOX_HONEY_A_BEE_G = 0.5
# With this many bees or fewer a queen who would not leave dies: assumed.
QUEEN_DIES_BEES = 5.0


@compiled
def set_box(s: Array, p: Array) -> None:
    """Set the box on the cone's first morning, and count what is behind the cone."""
    for k in range(LANES):
        s[BOX + k] = p[BOX_BEES + k]
        s[BOX_START + k] = p[BOX_BEES + k]
        s[BOX_HONEY + k] = BOX_HONEY_A_BEE_G * p[BOX_BEES + k]
        s[CONE_BEES + k] = adults(s, k) + s[DRONES + k]
        s[CONE_BROOD + k] = brood_cells(s, k)


@compiled
def leave_wall(s: Array, p: Array, sky: Array, since_cone: int) -> None:
    """Shut-out bees join the box, walk back in, drift or die; box bees lay and die."""
    cold, laying = sky[COLD], sky[LAYING]
    for k in range(LANES):
        s[DEAD_IN_CAVITY + k] += s[DIED_INSIDE + k] - s[DIED_INSIDE_BEFORE + k]
        wall, box = s[WALL + k], s[BOX + k]
        join = p[JOIN + k] * (1.0 + box / (box + BOX_PULLS_HALF_BEES))
        die = p[WALL_LOSS + k] * (1.0 + cold)
        leave = join + p[REENTRY + k] + p[DRIFT + k] + die
        gone = wall * min(MOST_LEAVE_WALL, leave)
        per_rate = gone / leave
        joined = per_rate * join
        back = per_rate * p[REENTRY + k]
        drifted = per_rate * p[DRIFT + k]
        s[WALL + k] = wall - gone
        s[FORAGERS + k] += back
        s[SHUT_OUT + k] -= back
        s[DRIFTED + k] += drifted
        s[DIED_ON_WALL + k] += gone - joined - back - drifted
        s[JOINED + k] += joined
        loss = p[NEST_LOSS + k] + BOX_FORAGES * p[FORAGER_LOSS + k] * s[FLYING + k]
        died = box * min(MOST_DIE_IN_BOX, loss)
        s[BOX + k] = box + joined - died
        s[DIED_IN_BOX + k] += died
        laid = p[LAY_MAX + k] * laying * box / (box + p[CARE_HALF + k])
        laid = min(laid, box * _NURSED_CELLS / WORKER_DAYS)
        s[BOX_LAID + k] = laid if since_cone >= p[BOX_LAYING_DELAY + k] else 0.0


@compiled
def rear_box(s: Array, box_brood: Array, p: Array, sky: Array) -> None:
    """Advance the box's brood by a day and settle what the box eats and brings home."""
    forage_share, dearth = sky[FORAGE], sky[DEARTH]
    for k in range(LANES):
        born = box_brood[(WORKER_DAYS - 1) * LANES + k] * PUPA_KEPT
        total = s[BOX_LAID + k]
        for age in range(WORKER_DAYS - 1, 0, -1):
            keep = PUPA_KEPT
            if age <= EGG_DAYS:
                keep = EGG_KEPT
            elif age <= CAPPED_FROM:
                keep = LARVA_KEPT
            cells = box_brood[(age - 1) * LANES + k] * keep
            box_brood[age * LANES + k] = cells
            total += cells
        box_brood[k] = s[BOX_LAID + k]
        box = s[BOX + k] + born
        s[BOX + k] = box
        s[BOX_BROOD + k] = total
        s[BOX_BORN + k] += born
        offer = forage_share * (1.0 - p[DEARTH_DEPTH + k] * dearth)
        gain = p[INCOME + k] * BOX_FORAGES * box * s[FLYING + k] * offer - p[ADULT_NEED + k] * box
        gain -= p[BROOD_NEED + k] * BOX_OPEN_BROOD * total
        s[BOX_HONEY + k] = max(0.0, s[BOX_HONEY + k] + gain)


@compiled
def queen_decides(s: Array, p: Array) -> None:
    """With almost nobody left the queen goes with the last bees, or stays and dies."""
    for k in range(LANES):
        queen, bees = s[QUEEN + k], adults(s, k)
        stays = QUEEN_DIED if bees < QUEEN_DIES_BEES else queen
        fate = QUEEN_LEFT if p[QUEEN_LEAVES + k] > 0.5 else stays
        s[QUEEN + k] = fate if queen == 1.0 and bees < _DECIDES else queen

"""What the cone does: turns, bees on the wall, the colony in the box, the queen's choice.

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
    BOX_BROOD_GIVEN,
    BOX_BROOD_LOST,
    BOX_GONE,
    BOX_HONEY,
    BOX_HONEY_EATEN,
    BOX_HONEY_GIVEN,
    BOX_HONEY_IN,
    BOX_HONEY_ROBBED,
    BOX_LAID,
    BOX_LAID_TODAY,
    BOX_LAYING_DELAY,
    BOX_LEAVE,
    BOX_ROBBED,
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
    GIFT_BOX_BEES,
    GIFT_BOX_BROOD,
    GIFT_BOX_GONE,
    GIFT_BOX_HONEY,
    GIFT_WALL_BOXED,
    INCOME,
    JOIN,
    JOINED,
    LANES,
    LAY_MAX,
    LAYING,
    NEST_LOSS,
    PASSABLE,
    QUEEN,
    QUEEN_LEAVES,
    REENTRY,
    SHUT_OUT,
    TURNED_ROWS,
    WALL,
    WALL_LOSS,
    WORKER_DAYS,
    adults,
    brood_cells,
    compiled,
    share_met,
)
from lastbee.colony.brood import EGG_KEPT, LARVA_KEPT, PUPA_KEPT
from lastbee.colony.layout import NO_CONE, QUEEN_DIED, QUEEN_LEFT

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
# Box bees sit close on few combs: one tends this many cells at a pinch. Of brood beyond that,
# neither fed nor warm, this share dies in a day, whatever the weather: both assumed.
BOX_CELLS_A_BEE = 10.0
BOX_NEGLECT = 0.5
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
        s[BOX_HONEY_GIVEN + k] = s[BOX_HONEY + k]
        s[CONE_BEES + k] = adults(s, k) + s[DRONES + k]
        s[CONE_BROOD + k] = brood_cells(s, k)


@compiled
def _give(s: Array, box_brood: Array, gift: Array, k: int) -> None:
    """Let a share of the box's bees leave; then brush bees in and put in what is given."""
    left = s[BOX + k] * gift[GIFT_BOX_GONE]
    brushed = s[WALL + k] * gift[GIFT_WALL_BOXED]
    s[BOX + k] += brushed + gift[GIFT_BOX_BEES] - left
    s[BOX_GONE + k] += left
    s[WALL + k] -= brushed
    s[JOINED + k] += brushed
    s[BOX_START + k] += gift[GIFT_BOX_BEES]
    s[BOX_HONEY + k] += gift[GIFT_BOX_HONEY]
    s[BOX_HONEY_GIVEN + k] += gift[GIFT_BOX_HONEY]
    s[BOX_BROOD + k] += gift[GIFT_BOX_BROOD]
    s[BOX_BROOD_GIVEN + k] += gift[GIFT_BOX_BROOD]
    if gift[GIFT_BOX_BROOD] > 0.0:
        for age in range(CAPPED_FROM):
            box_brood[age * LANES + k] += gift[GIFT_BOX_BROOD] / CAPPED_FROM


@compiled
def take_turns(  # type: ignore[no-untyped-def]
    s, p, box_brood, rows, turns, taken, due, day
) -> int:
    """Take the turns of this morning; the day of the next one in the block, NO_CONE if none.

    `turns` are the arrays of a `Turns`; `taken` counts those behind each lane, and the next
    is not before its `due`.
    """
    days, rates, gifts = turns
    following = NO_CONE
    for k in range(LANES):
        if due[k] <= day:
            own, nth = rows[min(k, rows.shape[0] - 1)], taken[k]
            while nth < days.shape[1] and days[own, nth] <= day:
                for i in range(len(TURNED_ROWS)):
                    p[TURNED_ROWS[i] + k] = rates[own, nth, i]
                given = 0.0
                for i in range(gifts.shape[2]):
                    given += gifts[own, nth, i]
                if given > 0.0:
                    _give(s, box_brood, gifts[own, nth], k)
                nth += 1
            taken[k] = nth
            due[k] = days[own, nth] if nth < days.shape[1] else NO_CONE
        following = min(following, due[k])
    return following


@compiled
def leave_wall(s: Array, p: Array, sky: Array, since_cone: int) -> None:
    """Shut-out bees join the box, walk back in, drift or die; box bees lay and die."""
    cold, laying = sky[COLD], sky[LAYING]
    for k in range(LANES):
        s[DEAD_IN_CAVITY + k] += s[DIED_INSIDE + k] - s[DIED_INSIDE_BEFORE + k]
        wall, box = s[WALL + k], s[BOX + k]
        join = p[JOIN + k] * (1.0 + box / (box + BOX_PULLS_HALF_BEES))
        die = p[WALL_LOSS + k] * (1.0 + cold)
        walk_back = p[REENTRY + k] * p[PASSABLE + k]
        leave = join + walk_back + p[DRIFT + k] + die
        gone = wall * min(MOST_LEAVE_WALL, leave)
        per_rate = gone / leave
        joined = per_rate * join
        back = per_rate * walk_back
        drifted = per_rate * p[DRIFT + k]
        s[WALL + k] = wall - gone
        s[FORAGERS + k] += back
        s[SHUT_OUT + k] -= back
        s[DRIFTED + k] += drifted
        s[DIED_ON_WALL + k] += gone - joined - back - drifted
        s[JOINED + k] += joined
        loss = p[NEST_LOSS + k] + BOX_FORAGES * p[FORAGER_LOSS + k] * s[FLYING + k]
        died = box * min(MOST_DIE_IN_BOX, loss)
        left = (box - died) * min(1.0, p[BOX_LEAVE + k])
        s[BOX + k] = box + joined - died - left
        s[DIED_IN_BOX + k] += died
        s[BOX_GONE + k] += left
        laid = p[LAY_MAX + k] * laying * box / (box + p[CARE_HALF + k])
        laid = min(laid, box * _NURSED_CELLS / WORKER_DAYS)
        s[BOX_LAID_TODAY + k] = laid if since_cone >= p[BOX_LAYING_DELAY + k] else 0.0


@compiled
def rear_box(s: Array, box_brood: Array, p: Array, sky: Array) -> None:
    """Advance the box's brood by a day and settle what the box eats and brings home."""
    forage_share, dearth = sky[FORAGE], sky[DEARTH]
    for k in range(LANES):
        before = s[BOX_BROOD + k]
        tended = 1.0 - BOX_NEGLECT * (1.0 - share_met(BOX_CELLS_A_BEE * s[BOX + k], before))
        born = box_brood[(WORKER_DAYS - 1) * LANES + k] * (PUPA_KEPT * tended)
        laid = s[BOX_LAID_TODAY + k]
        total = laid
        for age in range(WORKER_DAYS - 1, 0, -1):
            keep = PUPA_KEPT * tended
            if age <= EGG_DAYS:
                keep = EGG_KEPT * tended
            elif age <= CAPPED_FROM:
                keep = LARVA_KEPT * tended
            cells = box_brood[(age - 1) * LANES + k] * keep
            box_brood[age * LANES + k] = cells
            total += cells
        box_brood[k] = laid
        s[BOX + k] += born
        s[BOX_BROOD + k] = total
        s[BOX_BORN + k] += born
        s[BOX_LAID + k] += laid
        s[BOX_BROOD_LOST + k] += before + laid - born - total
        offer = forage_share * (1.0 - p[DEARTH_DEPTH + k] * dearth)
        income = p[INCOME + k] * BOX_FORAGES * s[BOX + k] * s[FLYING + k] * offer
        need = p[ADULT_NEED + k] * s[BOX + k] + p[BROOD_NEED + k] * BOX_OPEN_BROOD * total
        held = s[BOX_HONEY + k] + income
        eaten = min(need, held)
        robbed = (held - eaten) * p[BOX_ROBBED + k]
        s[BOX_HONEY + k] = held - eaten - robbed
        s[BOX_HONEY_IN + k] += income
        s[BOX_HONEY_EATEN + k] += eaten
        s[BOX_HONEY_ROBBED + k] += robbed


@compiled
def queen_decides(s: Array, p: Array) -> None:
    """With almost nobody left the queen goes with the last bees, or stays and dies.

    She only goes by the cone.
    """
    for k in range(LANES):
        queen, bees = s[QUEEN + k], adults(s, k)
        stays = QUEEN_DIED if bees < QUEEN_DIES_BEES else queen
        leaves = p[QUEEN_LEAVES + k] > 0.5 and p[PASSABLE + k] > 0.0
        fate = QUEEN_LEFT if leaves else stays
        s[QUEEN + k] = fate if queen == 1.0 and bees < _DECIDES else queen

"""Laying, rearing and emergence: what becomes of an egg, a day at a time.

Every function takes a block of colonies (see `lastbee.colony.block`) and changes its
state in place. Workers are queued by age, 0 to 20 days, drones 0 to 23, young bees by
days since they emerged.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.biology import constants as bio
from lastbee.colony.block import (
    BODY_PROTEIN,
    BORN,
    BORN_TODAY,
    BROOD_LOST,
    CAPPED,
    CAPPED_FROM,
    CARE_HALF,
    COLD,
    COMB,
    COVER,
    DEAD_CAPPED,
    DIED_INSIDE,
    DRONE_BROOD,
    DRONE_DAYS,
    DRONE_SEASON,
    DRONE_SHARE,
    DRONES,
    DRONES_BORN,
    EGG_DAYS,
    EGGS,
    HONEY,
    HOUSE,
    KEEP_CAPPED,
    KEEP_DRONE,
    KEEP_EGG,
    KEEP_OLD_LARVA,
    KEEP_YOUNG_LARVA,
    LAID_TODAY,
    LANES,
    LARVA_POLLEN,
    LARVAE,
    LAY_MAX,
    LAYING,
    LAYING_DELAY,
    MAX_YOUNG_DAYS,
    NEST_LOSS,
    ORIENTING,
    POLLEN,
    QUEEN,
    START_DAY,
    WARMING,
    WELL_STORED,
    WORKER_DAYS,
    WORKERS_LAID,
    YOUNG,
    YOUNG_DAYS,
    ZEAL,
    adults,
    brood_cells,
    compiled,
    filled_cells,
    nursed_cells,
    share_met,
)

if TYPE_CHECKING:
    from lastbee.colony.block import Array

EGG_KEPT = 1.0 - bio.EGG_LOSS_PER_DAY
LARVA_KEPT = 1.0 - bio.LARVA_LOSS_PER_DAY
PUPA_KEPT = 1.0 - bio.PUPA_LOSS_PER_DAY
DRONE_KEPT = 1.0 - bio.DRONE_BROOD_LOSS_PER_DAY
_CELLS = bio.CELLS_PER_DM2
_YOUNG_NEGLECT = bio.YOUNG_LARVA_NEGLECT
_OLD_NEGLECT = bio.OLD_LARVA_NEGLECT
_CHILL = bio.CHILL_PER_DAY
# A queen finds only part of scattered free cells in a day: assumed.
FOUND_FREE_CELLS = 0.5
# Larvae younger than three days are the ones eaten (Schmickl & Crailsheim 2001).
OLD_LARVA_FROM = EGG_DAYS + 3


@compiled
def lay(s: Array, p: Array, sky: Array, day: int, trapped: bool) -> None:
    """Worker eggs laid today: season, food, nurses, free cells, protein, income."""
    laying = sky[LAYING]
    for k in range(LANES):
        house = s[YOUNG + k] + s[HOUSE + k]
        eggs = p[LAY_MAX + k] * laying * s[WELL_STORED + k] * house / (house + p[CARE_HALF + k])
        eggs = min(eggs, nursed_cells(s, k) * (1.0 / WORKER_DAYS))
        free = s[COMB + k] * _CELLS - filled_cells(s, k)
        eggs = min(eggs, max(0.0, FOUND_FREE_CELLS * free))
        # The eggs are among the mouths: without pollen none are laid, larvae or no larvae,
        # but for those that bees rear from their own bodies.
        fed = share_met(s[POLLEN + k], (s[LARVAE + k] + eggs) * p[LARVA_POLLEN + k])
        eggs *= max(fed, p[BODY_PROTEIN + k]) if trapped else fed
        eggs *= s[ZEAL + k]
        is_laying = s[QUEEN + k] == 1.0 and day - p[START_DAY + k] >= p[LAYING_DELAY + k]
        eggs = eggs if is_laying else 0.0
        s[LAID_TODAY + k] = eggs
        s[WORKERS_LAID + k] += eggs


@compiled
def tend(s: Array, p: Array, sky: Array, trapped: bool) -> None:
    """Feed and warm the brood: the share of each stage that lives through the day."""
    chill = _CHILL * sky[COLD]
    for k in range(LANES):
        brood = brood_cells(s, k)
        demand = s[LARVAE + k] * p[LARVA_POLLEN + k]
        fed = share_met(s[POLLEN + k], demand)
        fed = max(fed, p[BODY_PROTEIN + k]) if trapped else fed
        fed *= share_met(nursed_cells(s, k), brood)
        fed = fed * s[ZEAL + k] if s[HONEY + k] > 0.0 else 0.0
        s[POLLEN + k] = max(0.0, s[POLLEN + k] - demand)
        wanted = p[COVER + k] * brood + p[WARMING + k]
        warm = 1.0 - chill * (1.0 - share_met(adults(s, k), wanted))
        spared = 1.0 - _OLD_NEGLECT * (1.0 - fed)
        s[KEEP_EGG + k] = EGG_KEPT * warm
        s[KEEP_YOUNG_LARVA + k] = LARVA_KEPT * warm * (1.0 - _YOUNG_NEGLECT * (1.0 - fed))
        s[KEEP_OLD_LARVA + k] = LARVA_KEPT * warm * spared
        s[KEEP_CAPPED + k] = PUPA_KEPT * warm
        s[KEEP_DRONE + k] = DRONE_KEPT * warm * spared


@compiled
def rear_workers(s: Array, worker: Array, trapped: bool) -> None:
    """Advance the workers' brood by a day, lose some, and let the oldest emerge."""
    for k in range(LANES):
        before = s[EGGS + k] + s[LARVAE + k] + s[CAPPED + k]
        keep = s[KEEP_CAPPED + k]
        born = worker[(WORKER_DAYS - 1) * LANES + k] * keep
        capped = 0.0
        for age in range(WORKER_DAYS - 1, CAPPED_FROM, -1):
            cells = worker[(age - 1) * LANES + k] * keep
            worker[age * LANES + k] = cells
            capped += cells
        # Capped brood that dies stays in its cell; younger brood is eaten.
        s[DEAD_CAPPED + k] += s[CAPPED + k] - born - capped if trapped else 0.0
        keep = s[KEEP_OLD_LARVA + k]
        newly_capped = worker[(CAPPED_FROM - 1) * LANES + k] * keep
        worker[CAPPED_FROM * LANES + k] = newly_capped
        larvae = 0.0
        for age in range(CAPPED_FROM - 1, OLD_LARVA_FROM, -1):
            cells = worker[(age - 1) * LANES + k] * keep
            worker[age * LANES + k] = cells
            larvae += cells
        keep = s[KEEP_YOUNG_LARVA + k]
        for age in range(OLD_LARVA_FROM, EGG_DAYS, -1):
            cells = worker[(age - 1) * LANES + k] * keep
            worker[age * LANES + k] = cells
            larvae += cells
        keep = s[KEEP_EGG + k]
        hatched = worker[(EGG_DAYS - 1) * LANES + k] * keep
        worker[EGG_DAYS * LANES + k] = hatched
        eggs = s[LAID_TODAY + k]
        for age in range(EGG_DAYS - 1, 0, -1):
            cells = worker[(age - 1) * LANES + k] * keep
            worker[age * LANES + k] = cells
            eggs += cells
        worker[k] = s[LAID_TODAY + k]
        s[EGGS + k] = eggs
        s[LARVAE + k] = larvae + hatched
        s[CAPPED + k] = capped + newly_capped
        after = s[EGGS + k] + s[LARVAE + k] + s[CAPPED + k]
        s[BROOD_LOST + k] += before + s[LAID_TODAY + k] - born - after
        s[BORN_TODAY + k] = born


@compiled
def rear_drones(s: Array, drone: Array, p: Array, sky: Array) -> None:
    """Advance the drones' brood by a day; their eggs are a share of the workers' in season."""
    season = sky[DRONE_SEASON]
    for k in range(LANES):
        keep = s[KEEP_DRONE + k]
        born = drone[(DRONE_DAYS - 1) * LANES + k] * keep
        brood = 0.0
        for age in range(DRONE_DAYS - 1, 0, -1):
            cells = drone[(age - 1) * LANES + k] * keep
            drone[age * LANES + k] = cells
            brood += cells
        laid = s[LAID_TODAY + k] * p[DRONE_SHARE + k] * season
        drone[k] = laid
        s[DRONE_BROOD + k] = brood + laid
        s[DRONES + k] += born
        s[DRONES_BORN + k] += born


@compiled
def emerge(s: Array, young: Array, p: Array) -> None:
    """Queue the newly emerged; those past the youngest foraging age are to join the house bees."""
    for k in range(LANES):
        born = s[BORN_TODAY + k]
        days = p[YOUNG_DAYS + k]
        keep = 1.0 - p[NEST_LOSS + k]
        s[BORN + k] += born
        s[DIED_INSIDE + k] += p[NEST_LOSS + k] * s[YOUNG + k]
        grown = born if days == 0.0 else 0.0
        newest = 0.0 if days == 0.0 else born
        total = newest
        for age in range(MAX_YOUNG_DAYS, 0, -1):
            bees = young[(age - 1) * LANES + k] * keep
            grown = bees if age == days else grown
            bees = 0.0 if age == days else bees
            young[age * LANES + k] = bees
            total += bees
        young[k] = newest
        s[YOUNG + k] = total
        s[ORIENTING + k] = grown

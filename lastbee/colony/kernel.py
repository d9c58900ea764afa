"""The colony engine: each colony stepped a day at a time in compiled code.

Idea. A hidden colony is a handful of pools (young bees by age, house bees, foragers,
drones, honey, pollen, comb) and two queues of brood (workers by age 0-20 days, drones
0-23). Each `_step` is one process of the model page, in the order in which a day runs:
weather, laying, brood, recruitment, income and meals, trap, box, comb. The recruitment
and loss of foragers take `SUBSTEPS` explicit Euler steps a day; explicit steps keep the
fixed points of the published equations exactly, whatever their length.

Every colony is computed alone from its own parameters and its own weather stream (a
counter-based hash of its seed and the day), so that the result does not depend on how
many threads share the work. A NumPy twin in the tests repeats the arithmetic.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit, prange

from lastbee.biology import constants as bio
from lastbee.biology.constants import Column
from lastbee.colony.layout import NO_CONE, QUEEN_DIED, QUEEN_LEFT, Daily, Sky, State

if TYPE_CHECKING:
    from numpy.typing import NDArray

SUBSTEPS = 2
# No flow may take more than this share of a pool in one sub-step, however wild the draw.
_GREATEST_STEP = 0.6

# Numba freezes module-level integers into the compiled code; enum members would be boxed.
(
    YOUNG, HOUSE, FORAGERS, DRONES, EGGS, LARVAE, CAPPED, DRONE_BROOD, HONEY, POLLEN, COMB,
    QUEEN, INCOME_MEMORY, WALL, BOX, BOX_HONEY, BOX_BROOD, LAID_TODAY, BORN, DRONES_BORN,
    DIED_INSIDE, DIED_AWAY, DRONES_GONE, DRIFTED, DIED_ON_WALL, DIED_IN_BOX, BOX_BORN,
    BOX_START, HONEY_IN, HONEY_EATEN, HONEY_TO_WAX, HONEY_CARRIED, DEAD_CAPPED,
    DEAD_IN_CAVITY, JOINED, SHUT_OUT, CONE_BEES, CONE_BROOD, ORIENTING, WORKERS_LAID,
    BROOD_LOST,
) = (int(s) for s in State)  # fmt: skip
(
    START_DAY, START_BEES, START_HONEY, START_COMB, CAVITY_COMB, LAYING_DELAY, START_POLLEN,
    YOUNG_DAYS, QUEEN_LEAVES, BOX_BEES, BOX_LAYING_DELAY, LAY_MAX, CARE_HALF, FOOD_HALF,
    RECRUIT_MIN, RECRUIT_HUNGER, INHIBITION, FORAGER_LOSS, NEST_LOSS, INCOME, P_DEARTH,
    ADULT_NEED, BROOD_NEED, POLLEN_INCOME, LARVA_POLLEN, PROTEIN_RESERVE, BUILD, WAX_HONEY,
    DRONE_SHARE, COVER, LEAK, REENTRY, FLY, CARRY, LAY_COUPLING, DESERT, DESERT_HALF, JOIN,
    DRIFT, WALL_LOSS,
) = (int(c) for c in Column)  # fmt: skip
FLIGHT_H, WET, LAYING, FORAGE, DEARTH, COLD, DRONE_SEASON = (int(s) for s in Sky)

N_STATE = len(State)
N_DAILY = len(Daily)
CAPPED_FROM = bio.EGG_DAYS + bio.LARVA_DAYS
WORKER_DAYS = bio.WORKER_DAYS
DRONE_DAYS = bio.DRONE_DAYS
_KEEP_EGG = 1.0 - bio.EGG_LOSS_PER_DAY
_KEEP_LARVA = 1.0 - bio.LARVA_LOSS_PER_DAY
_KEEP_PUPA = 1.0 - bio.PUPA_LOSS_PER_DAY
_KEEP_DRONE = 1.0 - bio.DRONE_BROOD_LOSS_PER_DAY
_REFERENCE_H = bio.REFERENCE_FLIGHT_H
_WET_SHARE = bio.WET_DAY_FLIGHT_SHARE
# A swarm draws comb at once until it can sit on most of it: assumed.
_ROOMY = 0.8
_CELLS = bio.CELLS_PER_DM2
_HONEY_CELL = bio.HONEY_PER_CELL_G
_POLLEN_CELL = bio.POLLEN_PER_CELL_G
_NURSE_CAP = bio.BROOD_PER_NURSE
_FORAGER_NURSE = bio.FORAGER_NURSE_SHARE
_CROP = bio.SWARM_CROP_G
_COVER_SHEET = bio.BEES_PER_DM2_SHEET
_DRONE_LOSS = bio.DRONE_LOSS_PER_DAY
_YOUNG_NEGLECT = bio.YOUNG_LARVA_NEGLECT
_OLD_NEGLECT = bio.OLD_LARVA_NEGLECT
_CHILL = bio.CHILL_PER_DAY
_STARVE = bio.STARVE_PER_DAY
_DECIDES = bio.QUEEN_DECIDES_BEES


@njit(cache=True, inline="always")
def _unit_hash(seed: np.uint64, day: int) -> float:
    """Uniform number in [0, 1) of a seed and a day: SplitMix64 (Steele et al. 2014)."""
    z = seed + np.uint64(day + 1) * np.uint64(0x9E3779B97F4A7C15)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    z = z ^ (z >> np.uint64(31))
    return np.float64(z >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@njit(cache=True)
def _found(s, young, p):  # type: ignore[no-untyped-def]
    """Set the first day's bees and stores; a third are too young to forage, a fifth forage."""
    s[:] = 0.0
    bees = p[START_BEES]
    days = int(p[YOUNG_DAYS])
    share = 0.33 if days > 0 else 0.0
    for a in range(days):
        young[a] = share * bees / days
    s[YOUNG] = share * bees
    s[FORAGERS] = 0.2 * bees
    s[HOUSE] = bees - s[YOUNG] - s[FORAGERS]
    s[HONEY] = p[START_HONEY]
    s[POLLEN] = p[START_POLLEN]
    s[COMB] = p[START_COMB]
    s[QUEEN] = 1.0
    s[INCOME_MEMORY] = 1.0


@njit(cache=True)
def _lay(s, p, sky, age, trapped):  # type: ignore[no-untyped-def]
    """Worker eggs laid today: season, food, nurses, free cells, protein, income."""
    s[LAID_TODAY] = 0.0
    if s[QUEEN] != 1.0 or age < p[LAYING_DELAY]:
        return
    house = s[YOUNG] + s[HOUSE]
    honey2 = s[HONEY] * s[HONEY]
    food = honey2 / (honey2 + p[FOOD_HALF] * p[FOOD_HALF])
    eggs = p[LAY_MAX] * sky[LAYING] * food * house / (house + p[CARE_HALF])
    nurses = house + _FORAGER_NURSE * s[FORAGERS]
    eggs = min(eggs, nurses * _NURSE_CAP / WORKER_DAYS)
    brood = s[EGGS] + s[LARVAE] + s[CAPPED] + s[DRONE_BROOD]
    free = s[COMB] * _CELLS - brood - s[HONEY] / _HONEY_CELL - s[POLLEN] / _POLLEN_CELL
    # A queen finds only part of scattered free cells in a day (assumed: half).
    eggs = min(eggs, max(0.0, 0.5 * free))
    demand = s[LARVAE] * p[LARVA_POLLEN]
    if demand > 0.0:
        eggs *= min(1.0, s[POLLEN] / demand)
    if trapped:
        eggs *= 1.0 - p[LAY_COUPLING] * (1.0 - s[INCOME_MEMORY])
    s[LAID_TODAY] = eggs
    s[WORKERS_LAID] += eggs


@njit(cache=True)
def _rear(s, young, worker, drone, p, sky, trapped):  # type: ignore[no-untyped-def]
    """Advance all brood by a day; feed, warm, lose, and let the oldest emerge."""
    house = s[YOUNG] + s[HOUSE]
    brood = s[EGGS] + s[LARVAE] + s[CAPPED] + s[DRONE_BROOD]
    demand = s[LARVAE] * p[LARVA_POLLEN]
    protein = 1.0
    if demand > 0.0:
        protein = min(1.0, s[POLLEN] / demand)
    s[POLLEN] = max(0.0, s[POLLEN] - demand)
    nursing = 1.0
    covered = 1.0
    if brood > 0.0:
        nurses = house + _FORAGER_NURSE * s[FORAGERS]
        nursing = min(1.0, nurses * _NURSE_CAP / brood)
        covered = min(1.0, (house + s[FORAGERS]) / (p[COVER] * brood))
    fed = protein * nursing
    if s[HONEY] <= 0.0:
        fed = 0.0
    if trapped:
        # Nurses slacken on the first day without income, stores or not
        # (Riessberger & Crailsheim 1997; Schmickl & Crailsheim 2001).
        fed *= 1.0 - p[LAY_COUPLING] * (1.0 - s[INCOME_MEMORY])
    warm = 1.0 - _CHILL * sky[COLD] * (1.0 - covered)
    keep_egg = _KEEP_EGG * warm
    keep_young = _KEEP_LARVA * warm * (1.0 - _YOUNG_NEGLECT * (1.0 - fed))
    keep_old = _KEEP_LARVA * warm * (1.0 - _OLD_NEGLECT * (1.0 - fed))
    keep_capped = _KEEP_PUPA * warm

    before = s[EGGS] + s[LARVAE] + s[CAPPED]
    born = worker[WORKER_DAYS - 1] * keep_capped
    capped = 0.0
    for a in range(WORKER_DAYS - 1, CAPPED_FROM, -1):
        worker[a] = worker[a - 1] * keep_capped
        capped += worker[a]
    capped_lost = (s[CAPPED] - born - capped) if trapped else 0.0
    worker[9] = worker[8] * keep_old
    worker[8] = worker[7] * keep_old
    worker[7] = worker[6] * keep_old
    worker[6] = worker[5] * keep_young
    worker[5] = worker[4] * keep_young
    worker[4] = worker[3] * keep_young
    worker[3] = worker[2] * keep_egg
    worker[2] = worker[1] * keep_egg
    worker[1] = worker[0] * keep_egg
    worker[0] = s[LAID_TODAY]
    s[CAPPED] = capped + worker[9]
    s[LARVAE] = worker[3] + worker[4] + worker[5] + worker[6] + worker[7] + worker[8]
    s[EGGS] = worker[0] + worker[1] + worker[2]
    after = s[EGGS] + s[LARVAE] + s[CAPPED]
    s[BROOD_LOST] += before + s[LAID_TODAY] - born - after
    s[DEAD_CAPPED] += capped_lost

    keep_drone = _KEEP_DRONE * warm * (1.0 - _OLD_NEGLECT * (1.0 - fed))
    drones_born = drone[DRONE_DAYS - 1] * keep_drone
    drone_brood = 0.0
    for a in range(DRONE_DAYS - 1, 0, -1):
        drone[a] = drone[a - 1] * keep_drone
        drone_brood += drone[a]
    drone[0] = s[LAID_TODAY] * p[DRONE_SHARE] * sky[DRONE_SEASON]
    s[DRONE_BROOD] = drone_brood + drone[0]
    s[DRONES] += drones_born
    s[DRONES_BORN] += drones_born
    _emerge(s, young, p, born)


@njit(cache=True)
def _emerge(s, young, p, born):  # type: ignore[no-untyped-def]
    """Queue the newly emerged; those past the youngest foraging age join the house bees."""
    s[BORN] += born
    days = int(p[YOUNG_DAYS])
    if days == 0:
        s[HOUSE] += born
        return
    keep = 1.0 - p[NEST_LOSS]
    s[DIED_INSIDE] += p[NEST_LOSS] * s[YOUNG]
    grown = young[days - 1] * keep
    total = born
    for a in range(days - 1, 0, -1):
        young[a] = young[a - 1] * keep
        total += young[a]
    young[0] = born
    s[YOUNG] = total
    s[HOUSE] += grown
    s[ORIENTING] = grown


@njit(cache=True)
def _forage(s, p, flight, trapped):  # type: ignore[no-untyped-def]
    """Recruit, lose and (behind a cone) shut out foragers; returns forager-days at work."""
    dt = 1.0 / SUBSTEPS
    gate = min(1.0, flight)
    honey2 = s[HONEY] * s[HONEY]
    half2 = p[FOOD_HALF] * p[FOOD_HALF]
    urge = p[RECRUIT_MIN] + p[RECRUIT_HUNGER] * half2 / (half2 + honey2)
    at_work = 0.0
    shut_out = 0.0
    # Deaths inside add to the trap's toll only while the cone keeps undertakers in.
    died_inside = 0.0
    for _ in range(SUBSTEPS):
        house = s[HOUSE]
        foragers = s[FORAGERS]
        adults = s[YOUNG] + house + foragers
        rate = 0.0
        if adults > 0.0:
            rate = urge - p[INHIBITION] * foragers / adults
        moved = min(rate * dt, _GREATEST_STEP) * (house * gate if rate > 0.0 else house)
        lost = p[FORAGER_LOSS] * flight * foragers * dt
        at_work += foragers * flight * dt
        out = 0.0
        if trapped:
            flown = min(0.95, p[FLY] * flight * dt) * (foragers - lost)
            out = flown * (1.0 - p[LEAK])
            tiny = p[DESERT] * p[DESERT_HALF] / (p[DESERT_HALF] + adults) * gate * dt
            deserting = min(tiny, 1.0 - _GREATEST_STEP - 0.1) * house
            s[HOUSE] -= deserting
            shut_out += deserting
        inside = p[NEST_LOSS] * dt * house
        moved = max(moved, -(foragers - lost - out))
        s[HOUSE] = max(0.0, s[HOUSE] - inside - moved)
        s[FORAGERS] = foragers + moved - lost - out
        s[DIED_AWAY] += lost
        died_inside += inside
        shut_out += out
    s[DIED_INSIDE] += died_inside
    drones_gone = s[DRONES] * _DRONE_LOSS
    if trapped:
        drones_gone += (s[DRONES] - drones_gone) * min(0.95, p[FLY] * flight)
        s[DEAD_IN_CAVITY] += died_inside + p[NEST_LOSS] * s[YOUNG]
        s[SHUT_OUT] += shut_out
        s[WALL] += shut_out
        carried = min(s[HONEY], p[CARRY] * shut_out)
        s[HONEY] -= carried
        s[HONEY_CARRIED] += carried
        s[BOX_HONEY] += 0.5 * carried
    s[DRONES] -= drones_gone
    s[DRONES_GONE] += drones_gone
    return at_work


@njit(cache=True)
def _stores(s, p, sky, at_work, trapped):  # type: ignore[no-untyped-def]
    """Bring home nectar and pollen, eat, and starve when there is nothing left."""
    yield_ = sky[FORAGE] * (1.0 - p[P_DEARTH] * sky[DEARTH])
    share = p[LEAK] if trapped else 1.0
    brood = s[EGGS] + s[LARVAE] + s[CAPPED] + s[DRONE_BROOD]
    adults = s[YOUNG] + s[HOUSE] + s[FORAGERS]
    demand = s[LARVAE] * p[LARVA_POLLEN]
    wanted = max(0.0, p[PROTEIN_RESERVE] * (demand + 0.3 * s[EGGS] * p[LARVA_POLLEN]) - s[POLLEN])
    room = (s[COMB] * _CELLS - brood - s[POLLEN] / _POLLEN_CELL) * _HONEY_CELL
    s[POLLEN] += min(wanted, p[POLLEN_INCOME] * at_work * min(1.0, yield_ + 0.3) * share)
    room = max(0.0, room + _CROP * adults - s[HONEY])
    income = min(room, p[INCOME] * at_work * yield_ * share)
    need = p[ADULT_NEED] * (adults + s[DRONES]) + p[BROOD_NEED] * (s[LARVAE] + s[EGGS])
    # Held and eaten are subtracted whole, so that a bare larder holds exactly nothing.
    held = s[HONEY] + income
    eaten = min(need, held)
    s[HONEY] = held - eaten
    s[HONEY_IN] += income
    s[HONEY_EATEN] += eaten
    if need > eaten:
        dying = _STARVE * (need - eaten) / need
        s[DIED_INSIDE] += dying * (s[HOUSE] + s[FORAGERS])
        if trapped:
            s[DEAD_IN_CAVITY] += dying * (s[HOUSE] + s[FORAGERS])
        s[HOUSE] -= dying * s[HOUSE]
        s[FORAGERS] -= dying * s[FORAGERS]
    # A day's memory of three days: laying answers to how income stands against need.
    ratio = 1.0
    if need > 0.0:
        ratio = min(1.0, income / need)
    s[INCOME_MEMORY] += (ratio - s[INCOME_MEMORY]) / 3.0
    return income - eaten


@njit(cache=True)
def _build(s, p, gain):  # type: ignore[no-untyped-def]
    """Build comb: the cluster needs room, or the comb is filling while nectar comes in."""
    if s[COMB] >= p[CAVITY_COMB] or s[HONEY] <= 0.0:
        return
    adults = s[YOUNG] + s[HOUSE] + s[FORAGERS]
    gate = 0.0
    if s[COMB] < _ROOMY * adults / _COVER_SHEET:
        gate = 1.0
    elif gain > 0.0:
        brood = s[EGGS] + s[LARVAE] + s[CAPPED] + s[DRONE_BROOD]
        used = brood + s[HONEY] / _HONEY_CELL + s[POLLEN] / _POLLEN_CELL
        # Pratt 2004: comb starts when the comb at hand is filled past a threshold.
        gate = min(1.0, max(0.0, (used / (s[COMB] * _CELLS) - 0.5) / 0.3))
    left = p[CAVITY_COMB] - s[COMB]
    built = gate * p[BUILD] * 0.001 * (s[YOUNG] + s[HOUSE]) * min(1.0, 5.0 * left / p[CAVITY_COMB])
    built = min(built, left, 0.3 * s[HONEY] / p[WAX_HONEY])
    s[COMB] += built
    s[HONEY] -= built * p[WAX_HONEY]
    s[HONEY_TO_WAX] += built * p[WAX_HONEY]


@njit(cache=True)
def _box(s, box_brood, p, sky, flight, since_cone):  # type: ignore[no-untyped-def]
    """Shut-out bees join the box, walk back in, drift or die; the box lives on."""
    wall = s[WALL]
    join = p[JOIN] * (1.0 + s[BOX] / (s[BOX] + 1000.0))
    die = p[WALL_LOSS] * (1.0 + sky[COLD])
    leave = join + p[REENTRY] + p[DRIFT] + die
    gone = wall * min(0.98, leave)
    joined = gone * join / leave
    back = gone * p[REENTRY] / leave
    drifted = gone * p[DRIFT] / leave
    s[WALL] = wall - gone
    s[FORAGERS] += back
    s[SHUT_OUT] -= back
    s[DRIFTED] += drifted
    s[DIED_ON_WALL] += gone - joined - back - drifted
    s[JOINED] += joined
    # A quarter of the box forages (Khoury et al. 2011: 0.21 to 0.30 at equilibrium).
    died = s[BOX] * min(0.9, p[NEST_LOSS] + 0.25 * p[FORAGER_LOSS] * flight)
    born = box_brood[WORKER_DAYS - 1] * _KEEP_PUPA
    total = 0.0
    for a in range(WORKER_DAYS - 1, 0, -1):
        keep = _KEEP_PUPA
        if a <= bio.EGG_DAYS:
            keep = _KEEP_EGG
        elif a <= CAPPED_FROM:
            keep = _KEEP_LARVA
        box_brood[a] = box_brood[a - 1] * keep
        total += box_brood[a]
    laid = 0.0
    if since_cone >= p[BOX_LAYING_DELAY]:
        bees = s[BOX]
        laid = p[LAY_MAX] * sky[LAYING] * bees / (bees + p[CARE_HALF])
        laid = min(laid, bees * _NURSE_CAP / WORKER_DAYS)
    box_brood[0] = laid
    s[BOX_BROOD] = total + laid
    s[BOX] += joined + born - died
    s[BOX_BORN] += born
    s[DIED_IN_BOX] += died
    yield_ = sky[FORAGE] * (1.0 - p[P_DEARTH] * sky[DEARTH])
    gain = p[INCOME] * 0.25 * s[BOX] * flight * yield_ - p[ADULT_NEED] * s[BOX]
    s[BOX_HONEY] = max(0.0, s[BOX_HONEY] + gain - p[BROOD_NEED] * 0.4 * s[BOX_BROOD])


@njit(cache=True)
def _queen_decides(s, p):  # type: ignore[no-untyped-def]
    """With almost nobody left the queen goes with the last bees, or stays and dies."""
    adults = s[YOUNG] + s[HOUSE] + s[FORAGERS]
    if s[QUEEN] == 1.0 and adults < _DECIDES:
        if p[QUEEN_LEAVES] > 0.5:
            s[QUEEN] = QUEEN_LEFT
        elif adults < 5.0:
            s[QUEEN] = QUEEN_DIED


@njit(cache=True)
def _live_one(p, seed, sky, cone_day, snap_day, snap, daily):  # type: ignore[no-untyped-def]
    """Live one colony from its start; fill its snapshot and, from the cone on, its days."""
    s = np.zeros(N_STATE)
    worker = np.zeros(WORKER_DAYS)
    drone = np.zeros(DRONE_DAYS)
    box_brood = np.zeros(WORKER_DAYS)
    young = np.zeros(bio.MAX_YOUNG_DAYS)
    start = int(p[START_DAY])
    _found(s, young, p)
    last = snap_day if cone_day >= NO_CONE else cone_day + daily.shape[0]
    for day in range(start, max(snap_day, last)):
        if day == snap_day:
            snap[:] = s
        trapped = day >= cone_day
        if day == cone_day:
            s[BOX] = p[BOX_BEES]
            s[BOX_START] = p[BOX_BEES]
            s[BOX_HONEY] = 0.5 * p[BOX_BEES]
            s[CONE_BEES] = s[YOUNG] + s[HOUSE] + s[FORAGERS] + s[DRONES]
            s[CONE_BROOD] = s[EGGS] + s[LARVAE] + s[CAPPED] + s[DRONE_BROOD]
        today = sky[day]
        flight = today[FLIGHT_H] / _REFERENCE_H
        if _unit_hash(seed, day) < today[WET]:
            flight *= _WET_SHARE
        shut_before = s[SHUT_OUT]
        _lay(s, p, today, day - start, trapped)
        _rear(s, young, worker, drone, p, today, trapped)
        at_work = _forage(s, p, flight, trapped)
        gain = _stores(s, p, today, at_work, trapped)
        if trapped:
            _box(s, box_brood, p, today, flight, day - cone_day)
            _queen_decides(s, p)
            if daily.shape[0] > day - cone_day:
                row = daily[day - cone_day]
                row[0] = s[YOUNG] + s[HOUSE] + s[FORAGERS] + s[DRONES]
                row[1] = s[EGGS] + s[LARVAE] + s[CAPPED] + s[DRONE_BROOD]
                row[2] = s[BOX]
                row[3] = s[WALL]
                row[4] = s[HONEY]
                row[5] = s[QUEEN]
                row[6] = s[LAID_TODAY]
                row[7] = s[EGGS] + s[LARVAE]
                row[8] = s[SHUT_OUT] - shut_before
        else:
            _build(s, p, gain)
    if max(snap_day, last) <= snap_day or snap_day >= last:
        snap[:] = s
    return s


@njit(cache=True, parallel=True, error_model="numpy")
def _live_all(params, seeds, sky, cone_day, snap_day, snaps, daily, final):  # type: ignore[no-untyped-def]
    for i in prange(params.shape[0]):
        final[i] = _live_one(params[i], seeds[i], sky, cone_day, snap_day, snaps[i], daily[i])


def live(
    params: NDArray[np.float64],
    seeds: NDArray[np.uint64],
    sky: NDArray[np.float64],
    *,
    snap_day: int,
    cone_day: int | None = None,
    trap_days: int = 0,
) -> tuple[NDArray[np.float64], NDArray[np.float32], NDArray[np.float64]]:
    """Live many colonies from their own starts to `snap_day`, then through a trap-out.

    Parameters
    ----------
    params
        One row of `Column` values a colony, shape (n, len(Column)).
    seeds
        Weather stream of each colony, shape (n,).
    sky
        Daily drivers, shape (days, len(Sky)); must cover every day lived.
    snap_day
        Day index (morning) on which the state is taken.
    cone_day
        Day index on which the cone goes on, not before `snap_day`; None for no cone.
    trap_days
        Days to record from the cone's first day; 0 with no cone.

    Returns
    -------
    Snapshots of shape (n, len(State)); daily records (n, trap_days, len(Daily)), evening
    values; and the final state (n, len(State)).

    Raises
    ------
    ValueError
        If shapes disagree, or a day asked for lies outside `sky`.
    """
    n = params.shape[0]
    if params.shape[1] != len(Column) or seeds.shape != (n,) or sky.shape[1] != len(Sky):
        raise ValueError(f"shapes {params.shape}, {seeds.shape}, {sky.shape} do not fit the model")
    last = snap_day if cone_day is None else cone_day + trap_days
    if (cone_day is not None and cone_day < snap_day) or max(last, snap_day) > sky.shape[0]:
        raise ValueError(
            f"snap_day {snap_day}, cone_day {cone_day} and trap_days {trap_days} must be in "
            f"order and within the {sky.shape[0]} days of sky"
        )
    if n and (
        params[:, Column.START_DAY].min() < 0 or params[:, Column.START_DAY].max() > snap_day
    ):
        raise ValueError(f"start days must lie in 0..{snap_day}, the snapshot day")
    snaps = np.zeros((n, N_STATE))
    daily = np.zeros((n, trap_days if cone_day is not None else 0, N_DAILY), dtype=np.float32)
    final = np.zeros((n, N_STATE))
    _live_all(
        np.ascontiguousarray(params), seeds, np.ascontiguousarray(sky),
        NO_CONE if cone_day is None else cone_day, snap_day, snaps, daily, final,
    )  # fmt: skip
    return snaps, daily, final

"""The colony model again, in plain NumPy over many colonies at once.

Written from the equations rather than from the compiled loops: one array a quantity and
one row a day of brood age, each row one number a colony. Tests hold the kernel against
it, and the benchmark measures it as what a careful author would have without a compiler.

Colonies founded on different days are put in order of founding, so that those alive on a
day are the leading part of every array: whatever is not founded yet costs nothing. A block
of colonies is followed at a time, so that its arrays stay in the processor's cache.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology import constants as bio
from lastbee.biology.constants import Column as P
from lastbee.colony.layout import QUEEN_DIED, QUEEN_LEFT, Daily, Sky
from lastbee.colony.layout import State as S
from lastbee.colony.turns import TURNED, Gift, Turns

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

STEPS_A_DAY = 2
GREATEST_SHARE = 0.6
# Best of 2,048 to 20,000 on a machine with 1 MB of second-level cache a core.
BLOCK = 8192

EGG, OPEN, CAPPED = bio.EGG_DAYS, bio.EGG_DAYS + bio.LARVA_DAYS, bio.WORKER_DAYS
YOUNG_LARVA = 6


@dataclass(slots=True)
class Colonies:
    """Parameters (len(P), n), state (len(S), n) and brood and young bees by age (days, n)."""

    p: Array
    s: Array
    worker: Array
    drone: Array
    boxed: Array
    young: Array
    young_days: NDArray[np.int64]

    def leading(self, count: int) -> Colonies:
        """Views of the first `count` colonies."""
        return Colonies(
            self.p[:, :count], self.s[:, :count], self.worker[:, :count], self.drone[:, :count],
            self.boxed[:, :count], self.young[:, :count], self.young_days[:count],
        )  # fmt: skip


def live_twin(
    params: Array,
    seeds: NDArray[np.uint64],
    sky: Array,
    *,
    snap_days: tuple[int, ...],
    cone_day: int | None = None,
    trap_days: int = 0,
    turns: Turns | None = None,
    block: int = BLOCK,
) -> tuple[Array, NDArray[np.float32], Array]:
    """Live many colonies as `lastbee.colony.kernel.live` does, argument for argument.

    Parameters
    ----------
    params, seeds, sky, snap_days, cone_day, trap_days, turns
        As for the kernel.
    block
        Colonies followed at a time; has no bearing on the result.

    Returns
    -------
    Snapshots (n, len(snap_days), len(State)), daily records (n, trap_days, len(Daily)),
    final states.
    """
    n = len(params)
    days = 0 if cone_day is None else trap_days
    turns = Turns.none(n) if turns is None else turns
    snaps, final = np.zeros((n, len(snap_days), len(S))), np.zeros((n, len(S)))
    daily = np.zeros((n, days, len(Daily)), dtype=np.float32)
    order = np.argsort(params[:, P.START_DAY], kind="stable")
    for first in range(0, n, block):
        rows = order[first : first + block]
        snaps[rows], daily[rows], final[rows] = _live_block(
            params[rows], seeds[rows], sky, snap_days, cone_day, days,
            Turns(turns.days[rows], turns.rates[rows], turns.gifts[rows]),
        )  # fmt: skip
    return snaps, daily, final


def _live_block(
    params: Array,
    seeds: NDArray[np.uint64],
    sky: Array,
    snap_days: tuple[int, ...],
    cone_day: int | None,
    trap_days: int,
    turns: Turns,
) -> tuple[Array, Array, Array]:
    """Live colonies that are in order of founding."""
    n = len(params)
    every = Colonies(
        np.ascontiguousarray(params.T), np.zeros((len(S), n)), np.zeros((bio.WORKER_DAYS, n)),
        np.zeros((bio.DRONE_DAYS, n)), np.zeros((bio.WORKER_DAYS, n)),
        np.zeros((bio.MAX_YOUNG_DAYS + 1, n)), params[:, P.YOUNG_DAYS].astype(np.int64),
    )  # fmt: skip
    start = params[:, P.START_DAY].astype(np.int64)
    daily = np.zeros((n, trap_days, len(Daily)))
    snaps = np.zeros((n, len(snap_days), len(S)))
    last = max(*snap_days, 0 if cone_day is None else cone_day + trap_days)
    known = 0
    for day in range(int(start[0]), last + 1):
        alive = int(np.searchsorted(start, day, side="right"))
        _found(every, known, alive)
        known = alive
        snaps[:, np.array(snap_days) == day] = every.s.T[:, None]
        if day == last:
            break
        if cone_day is not None and day >= cone_day:
            if day == cone_day:
                _set_box(every)
            _turn(every, turns, day)
        now = every.leading(alive)
        wet = uniform_of(seeds[:alive], day) < sky[day, Sky.WET]
        flight = sky[day, Sky.FLIGHT_H] / bio.REFERENCE_FLIGHT_H
        flying = np.where(wet, flight * bio.WET_DAY_FLIGHT_SHARE, flight)
        since_cone = None if cone_day is None or day < cone_day else day - cone_day
        row = _day(now, sky[day], flying, day - start[:alive], since_cone)
        if since_cone is not None and since_cone < trap_days:
            daily[:, since_cone] = row.T
    return snaps, daily, every.s.T


def uniform_of(seeds: NDArray[np.uint64], day: int) -> Array:
    """Number in [0, 1) of each seed and a day: output `day` + 1 of SplitMix64."""
    z = seeds + np.uint64((day + 1) * 0x9E3779B97F4A7C15 % 2**64)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    z = z ^ (z >> np.uint64(31))
    return np.asarray((z >> np.uint64(11)) * 2.0**-53)


def _found(c: Colonies, first: int, end: int) -> None:
    """Found colonies first..end - 1."""
    p, s = c.p[:, first:end], c.s[:, first:end]
    days, bees = c.young_days[first:end], p[P.START_BEES]
    young = np.where(days > 0, 0.33, 0.0) * bees
    ages = np.arange(len(c.young))[:, None]
    c.young[:, first:end] = np.where(ages < days, young / np.maximum(days, 1), 0.0)
    s[S.YOUNG], s[S.FORAGERS] = young, 0.2 * bees
    s[S.HOUSE] = bees - s[S.YOUNG] - s[S.FORAGERS]
    s[S.HONEY], s[S.POLLEN], s[S.COMB] = p[P.START_HONEY], p[P.START_POLLEN], p[P.START_COMB]
    s[S.QUEEN] = s[S.INCOME_MEMORY] = 1.0


def _set_box(c: Colonies) -> None:
    p, s = c.p, c.s
    s[S.BOX] = s[S.BOX_START] = p[P.BOX_BEES]
    s[S.BOX_HONEY] = s[S.BOX_HONEY_GIVEN] = 0.5 * p[P.BOX_BEES]
    s[S.CONE_BEES] = _adults(s) + s[S.DRONES]
    s[S.CONE_BROOD] = _brood(s)


def _turn(c: Colonies, turns: Turns, day: int) -> None:
    """Take the turns of one morning, first column first."""
    s = c.s
    for nth in range(turns.days.shape[1]):
        due = turns.days[:, nth] == day
        c.p[np.ix_([int(column) for column in TURNED], due)] = turns.rates[due, nth].T
        gifts = np.where(due[:, None], turns.gifts[:, nth], 0.0).T
        gone, brushed = s[S.BOX] * gifts[Gift.BOX_GONE], s[S.WALL] * gifts[Gift.WALL_BOXED]
        s[S.BOX_GONE] += gone
        s[S.WALL] -= brushed
        s[S.JOINED] += brushed
        s[S.BOX] += brushed + gifts[Gift.BOX_BEES] - gone
        s[S.BOX_START] += gifts[Gift.BOX_BEES]
        s[S.BOX_HONEY] += gifts[Gift.BOX_HONEY]
        s[S.BOX_HONEY_GIVEN] += gifts[Gift.BOX_HONEY]
        c.boxed[:OPEN] += gifts[Gift.BOX_BROOD] / OPEN
        s[S.BOX_BROOD] = c.boxed.sum(axis=0)
        s[S.BOX_BROOD_GIVEN] += gifts[Gift.BOX_BROOD]


def _day(
    c: Colonies, sky: Array, flying: Array, age: NDArray[np.int64], since_cone: int | None
) -> Array | None:
    """One day of all colonies; the daily record (len(Daily), n) if there is a cone."""
    s, trapped = c.s, since_cone is not None
    shut_out, died_inside = s[S.SHUT_OUT].copy(), s[S.DIED_INSIDE].copy()
    # Nurses and queen slacken as income falls behind need.
    zeal = 1.0 - c.p[P.LAY_COUPLING] * (1.0 - s[S.INCOME_MEMORY]) if trapped else np.ones(())
    _lay(c, sky, age, zeal, trapped=trapped)
    _rear(c, sky, zeal, trapped=trapped)
    at_work = _forage(c, flying, trapped=trapped)
    gain = _stores(c, sky, at_work, trapped=trapped)
    if since_cone is None:
        _build(c, gain)
        return None
    s[S.DEAD_IN_CAVITY] += s[S.DIED_INSIDE] - died_inside
    put_out = s[S.SHUT_OUT] - shut_out
    _box(c, sky, flying, since_cone)
    _queen_decides(c)
    return np.stack(
        [
            _adults(s) + s[S.DRONES], _brood(s), s[S.BOX], s[S.WALL], s[S.HONEY], s[S.QUEEN],
            s[S.LAID_TODAY], s[S.EGGS] + s[S.LARVAE], put_out,
        ]
    )  # fmt: skip


def _adults(s: Array) -> Array:
    return s[S.YOUNG] + s[S.HOUSE] + s[S.FORAGERS]


def _brood(s: Array) -> Array:
    return s[S.EGGS] + s[S.LARVAE] + s[S.CAPPED] + s[S.DRONE_BROOD]


def _nursed(s: Array) -> Array:
    """Cells that the nurses can look after."""
    nurses = s[S.YOUNG] + s[S.HOUSE] + bio.FORAGER_NURSE_SHARE * s[S.FORAGERS]
    return nurses * bio.BROOD_PER_NURSE


def _share(have: Array, need: Array) -> Array:
    """Share of a need that is met, 1 where nothing is needed."""
    return np.minimum(1.0, np.divide(have, need, out=np.ones_like(need), where=need > 0.0))


def _lay(c: Colonies, sky: Array, age: NDArray[np.int64], zeal: Array, *, trapped: bool) -> None:
    p, s = c.p, c.s
    house, honey2 = s[S.YOUNG] + s[S.HOUSE], s[S.HONEY] ** 2
    fed = honey2 / (honey2 + p[P.FOOD_HALF] ** 2)
    eggs = p[P.LAY_MAX] * sky[Sky.LAYING] * fed * (house / (house + p[P.CARE_HALF]))
    eggs = np.minimum(eggs, _nursed(s) / bio.WORKER_DAYS)
    free = s[S.COMB] * bio.CELLS_PER_DM2 - _brood(s)
    free -= s[S.HONEY] / bio.HONEY_PER_CELL_G + s[S.POLLEN] / bio.POLLEN_PER_CELL_G
    eggs = np.minimum(eggs, np.maximum(0.0, 0.5 * free))
    fed = _share(s[S.POLLEN], (s[S.LARVAE] + eggs) * p[P.LARVA_POLLEN])
    eggs *= (np.maximum(fed, p[P.BODY_PROTEIN]) if trapped else fed) * zeal
    eggs *= (s[S.QUEEN] == 1.0) & (age >= p[P.LAYING_DELAY])
    s[S.LAID_TODAY] = eggs
    s[S.WORKERS_LAID] += eggs


def _rear(c: Colonies, sky: Array, zeal: Array, *, trapped: bool) -> None:
    p, s = c.p, c.s
    demand, brood = s[S.LARVAE] * p[P.LARVA_POLLEN], _brood(s)
    fed = _share(s[S.POLLEN], demand)
    fed = np.maximum(fed, p[P.BODY_PROTEIN]) if trapped else fed
    fed = fed * _share(_nursed(s), brood) * zeal * (s[S.HONEY] > 0.0)
    s[S.POLLEN] = np.maximum(0.0, s[S.POLLEN] - demand)
    bare = 1.0 - _share(_adults(s), p[P.COVER] * brood + p[P.WARMING])
    warm = 1.0 - bio.CHILL_PER_DAY * sky[Sky.COLD] * bare
    keep_egg = (1.0 - bio.EGG_LOSS_PER_DAY) * warm
    larva = (1.0 - bio.LARVA_LOSS_PER_DAY) * warm
    keep_young = larva * (1.0 - bio.YOUNG_LARVA_NEGLECT * (1.0 - fed))
    spared = 1.0 - bio.OLD_LARVA_NEGLECT * (1.0 - fed)
    keep_capped = (1.0 - bio.PUPA_LOSS_PER_DAY) * warm
    keep_drone = (1.0 - bio.DRONE_BROOD_LOSS_PER_DAY) * warm * spared

    was = s[S.EGGS] + s[S.LARVAE] + s[S.CAPPED]
    was_capped = s[S.CAPPED].copy()
    old = c.worker.copy()
    np.multiply(old[: EGG - 1], keep_egg, out=c.worker[1:EGG])
    np.multiply(old[EGG - 1], keep_egg, out=c.worker[EGG])
    np.multiply(old[EGG:YOUNG_LARVA], keep_young, out=c.worker[EGG + 1 : YOUNG_LARVA + 1])
    np.multiply(old[YOUNG_LARVA:OPEN], larva * spared, out=c.worker[YOUNG_LARVA + 1 : OPEN + 1])
    np.multiply(old[OPEN:-1], keep_capped, out=c.worker[OPEN + 1 :])
    born = old[-1] * keep_capped
    c.worker[0] = s[S.LAID_TODAY]
    s[S.EGGS] = c.worker[:EGG].sum(axis=0)
    s[S.LARVAE] = c.worker[EGG:OPEN].sum(axis=0)
    s[S.CAPPED] = c.worker[OPEN:].sum(axis=0)
    now = s[S.EGGS] + s[S.LARVAE] + s[S.CAPPED]
    s[S.BROOD_LOST] += was + s[S.LAID_TODAY] - born - now
    if zeal.ndim:
        s[S.DEAD_CAPPED] += was_capped - born - c.worker[OPEN + 1 :].sum(axis=0)

    drones_born = c.drone[-1] * keep_drone
    c.drone[1:] = c.drone[:-1] * keep_drone
    c.drone[0] = s[S.LAID_TODAY] * p[P.DRONE_SHARE] * sky[Sky.DRONES]
    s[S.DRONE_BROOD] = c.drone.sum(axis=0)
    s[S.DRONES] += drones_born
    s[S.DRONES_BORN] += drones_born
    _emerge(c, born)


def _emerge(c: Colonies, born: Array) -> None:
    """Age the young bees; row `young_days` after the shift are those now of age.

    They join the house bees in the course of the day.
    """
    p, s = c.p, c.s
    s[S.BORN] += born
    s[S.DIED_INSIDE] += p[P.NEST_LOSS] * s[S.YOUNG]
    oldest = int(c.young_days.max(initial=0))
    c.young[1 : oldest + 1] = c.young[:oldest] * (1.0 - p[P.NEST_LOSS])
    c.young[0] = born
    every = np.arange(born.size)
    grown = c.young[c.young_days, every]
    c.young[c.young_days, every] = 0.0
    s[S.YOUNG] = c.young[: oldest + 1].sum(axis=0)
    s[S.ORIENTING] = grown


def _forage(c: Colonies, flying: Array, *, trapped: bool) -> Array:
    """Forager-days at work; recruits, loses and, behind a cone, shuts out foragers."""
    p, s = c.p, c.s
    dt = 1.0 / STEPS_A_DAY
    gate = np.minimum(1.0, flying)
    half2 = p[P.FOOD_HALF] ** 2
    urge = p[P.RECRUIT_MIN] + p[P.RECRUIT_HUNGER] * (half2 / (half2 + s[S.HONEY] ** 2))
    if trapped:
        urge = urge * p[P.TRAPPED_PACE]
    # Some know the leak; the others must leave by what is free of the cone.
    by_cone = (1.0 - p[P.LEAK]) * p[P.PASSABLE]
    abroad = np.minimum(1.0, p[P.LEAK] + by_cone) if trapped else 1.0
    at_work = np.zeros_like(gate)
    shut_out = np.zeros_like(gate)
    for _ in range(STEPS_A_DAY):
        house, foragers, adults = s[S.HOUSE].copy(), s[S.FORAGERS].copy(), _adults(s)
        has_bees = adults > 0.0
        field = np.divide(foragers, adults, out=np.zeros_like(adults), where=has_bees)
        rate = np.where(has_bees, urge - p[P.INHIBITION] * field, 0.0)
        moved = np.minimum(rate * dt, GREATEST_SHARE) * house * np.where(rate > 0.0, gate, 1.0)
        out_h = flying * dt
        lost = p[P.FORAGER_LOSS] * foragers * out_h * abroad
        at_work += foragers * out_h
        staying = foragers - lost
        if trapped:
            out = np.minimum(0.95, p[P.FLY] * out_h) * staying * by_cone
            tiny = p[P.DESERT] * p[P.DESERT_HALF] / (p[P.DESERT_HALF] + adults) * gate * dt
            deserting = np.minimum(tiny, 0.3) * house * p[P.PASSABLE]
            shut_out += out + deserting
            staying -= out
            s[S.HOUSE] -= deserting
        inside = p[P.NEST_LOSS] * dt * house
        moved = np.maximum(moved, -staying)
        s[S.HOUSE] = np.maximum(0.0, s[S.HOUSE] + s[S.ORIENTING] * dt - inside - moved)
        s[S.FORAGERS] = staying + moved
        s[S.DIED_AWAY] += lost
        s[S.DIED_INSIDE] += inside
    drones_gone = s[S.DRONES] * bio.DRONE_LOSS_PER_DAY
    if trapped:
        flown = np.minimum(0.95, p[P.FLY] * flying) * p[P.PASSABLE]
        drones_gone += (s[S.DRONES] - drones_gone) * flown
        carried = np.minimum(s[S.HONEY], p[P.CARRY] * shut_out)
        s[S.SHUT_OUT] += shut_out
        s[S.WALL] += shut_out
        s[S.HONEY] -= carried
        s[S.HONEY_CARRIED] += carried
        s[S.BOX_HONEY] += 0.5 * carried
    s[S.DRONES] -= drones_gone
    s[S.DRONES_GONE] += drones_gone
    return at_work


def _yield(c: Colonies, sky: Array) -> Array:
    """Forage on offer as a share of the main flow, with the colony's own dearth."""
    return sky[Sky.FORAGE] * (1.0 - c.p[P.DEARTH] * sky[Sky.DEARTH])


def _stores(c: Colonies, sky: Array, at_work: Array, *, trapped: bool) -> Array:
    """Gain of honey; foragers bring, all eat, and too little kills."""
    p, s = c.p, c.s
    offer, entering = _yield(c, sky), at_work * (p[P.LEAK] if trapped else 1.0)
    adults = _adults(s)
    cells = s[S.COMB] * bio.CELLS_PER_DM2
    free = cells - _brood(s) - s[S.POLLEN] / bio.POLLEN_PER_CELL_G
    room = np.minimum(free, 0.75 * cells) * bio.HONEY_PER_CELL_G
    room = np.maximum(0.0, room + bio.SWARM_CROP_G * adults - s[S.HONEY])
    wished = p[P.PROTEIN_RESERVE] * p[P.LARVA_POLLEN] * (s[S.LARVAE] + 0.3 * s[S.EGGS])
    s[S.POLLEN] += np.minimum(
        np.maximum(0.0, np.maximum(250.0, wished) - s[S.POLLEN]),
        p[P.POLLEN_INCOME] * entering * np.minimum(1.0, offer + 0.3),
    )
    income = np.minimum(room, p[P.INCOME] * entering * offer)
    need = p[P.ADULT_NEED] * (adults + s[S.DRONES]) + p[P.BROOD_NEED] * (s[S.LARVAE] + s[S.EGGS])
    held = s[S.HONEY] + income
    eaten = np.minimum(need, held)
    s[S.HONEY] = held - eaten
    s[S.HONEY_IN] += income
    s[S.HONEY_EATEN] += eaten
    unmet = np.divide(need - eaten, need, out=np.zeros_like(need), where=need > eaten)
    dying = bio.STARVE_PER_DAY * unmet
    s[S.DIED_INSIDE] += dying * (s[S.HOUSE] + s[S.FORAGERS])
    s[S.HOUSE] -= dying * s[S.HOUSE]
    s[S.FORAGERS] -= dying * s[S.FORAGERS]
    s[S.INCOME_MEMORY] += (_share(income, need) - s[S.INCOME_MEMORY]) / 3.0
    return income - eaten


def _build(c: Colonies, gain: Array) -> None:
    p, s = c.p, c.s
    house, left = s[S.YOUNG] + s[S.HOUSE], p[P.CAVITY_COMB] - s[S.COMB]
    is_crowded = s[S.COMB] < 0.8 * _adults(s) / bio.BEES_PER_DM2_SHEET
    used = _brood(s) + s[S.HONEY] / bio.HONEY_PER_CELL_G + s[S.POLLEN] / bio.POLLEN_PER_CELL_G
    cells = s[S.COMB] * bio.CELLS_PER_DM2
    full = np.divide(used, cells, out=np.ones_like(cells), where=cells > 0.0)
    filling = np.where(gain > 0.0, np.clip((full - 0.5) / 0.3, 0.0, 1.0), 0.0)
    will = np.where(is_crowded, 1.0, filling) * ((left > 0.0) & (s[S.HONEY] > 0.0))
    built = will * p[P.BUILD] * house / 1000.0 * np.minimum(1.0, 5.0 * left / p[P.CAVITY_COMB])
    affordable = 0.3 * s[S.HONEY] / p[P.WAX_HONEY]
    built = np.maximum(0.0, np.minimum(np.minimum(built, left), affordable))
    s[S.COMB] += built
    s[S.HONEY] -= built * p[P.WAX_HONEY]
    s[S.HONEY_TO_WAX] += built * p[P.WAX_HONEY]


def _box(c: Colonies, sky: Array, flying: Array, since_cone: int) -> None:
    p, s = c.p, c.s
    box, wall = s[S.BOX].copy(), s[S.WALL].copy()
    join = p[P.JOIN] * (1.0 + box / (box + 1000.0))
    die = p[P.WALL_LOSS] * (1.0 + sky[Sky.COLD])
    walk_back = p[P.REENTRY] * p[P.PASSABLE]
    leave = join + walk_back + p[P.DRIFT] + die
    per_rate = wall * np.minimum(0.98, leave) / leave
    joined, back, drifted = per_rate * join, per_rate * walk_back, per_rate * p[P.DRIFT]
    s[S.WALL] -= per_rate * leave
    s[S.JOINED] += joined
    s[S.DRIFTED] += drifted
    s[S.DIED_ON_WALL] += per_rate * die
    s[S.FORAGERS] += back
    s[S.SHUT_OUT] -= back

    died = box * np.minimum(0.9, p[P.NEST_LOSS] + 0.25 * p[P.FORAGER_LOSS] * flying)
    staying = box - died
    gone = staying * np.minimum(1.0, p[P.BOX_LEAVE])
    s[S.BOX] = staying - gone + joined
    s[S.BOX_GONE] += gone
    s[S.DIED_IN_BOX] += died
    was = c.boxed.sum(axis=0)
    alone = 1.0 - _share(10.0 * s[S.BOX], was)
    kept = np.repeat(
        [1.0 - bio.EGG_LOSS_PER_DAY, 1.0 - bio.LARVA_LOSS_PER_DAY, 1.0 - bio.PUPA_LOSS_PER_DAY],
        [bio.EGG_DAYS, bio.LARVA_DAYS, bio.CAPPED_DAYS],
    )
    aged = c.boxed * kept[:, None] * (1.0 - 0.5 * alone)
    born, c.boxed[1:] = aged[-1], aged[:-1]
    laid = p[P.LAY_MAX] * sky[Sky.LAYING] * (box / (box + p[P.CARE_HALF]))
    laid = np.minimum(laid, box * bio.BROOD_PER_NURSE / bio.WORKER_DAYS)
    c.boxed[0] = laid * (since_cone >= p[P.BOX_LAYING_DELAY])
    s[S.BOX_BROOD] = c.boxed.sum(axis=0)
    s[S.BOX] += born
    s[S.BOX_BORN] += born
    s[S.BOX_LAID] += c.boxed[0]
    s[S.BOX_BROOD_LOST] += was + c.boxed[0] - born - s[S.BOX_BROOD]
    _box_stores(c, flying * _yield(c, sky))


def _box_stores(c: Colonies, offer: Array) -> None:
    """Income, meals and robbing of the box."""
    p, s = c.p, c.s
    income = p[P.INCOME] * 0.25 * s[S.BOX] * offer
    need = p[P.ADULT_NEED] * s[S.BOX] + p[P.BROOD_NEED] * 0.4 * s[S.BOX_BROOD]
    eaten = np.minimum(need, s[S.BOX_HONEY] + income)
    left = s[S.BOX_HONEY] + income - eaten
    robbed = p[P.BOX_ROBBED] * left
    s[S.BOX_HONEY] = left - robbed
    s[S.BOX_HONEY_IN] += income
    s[S.BOX_HONEY_EATEN] += eaten
    s[S.BOX_HONEY_ROBBED] += robbed


def _queen_decides(c: Colonies) -> None:
    s, adults = c.s, _adults(c.s)
    undecided = (s[S.QUEEN] == 1.0) & (adults < bio.QUEEN_DECIDES_BEES)
    leaves = (c.p[P.QUEEN_LEAVES] > 0.5) & (c.p[P.PASSABLE] > 0.0)
    s[S.QUEEN, undecided & leaves] = QUEEN_LEFT
    s[S.QUEEN, undecided & ~leaves & (adults < 5.0)] = QUEEN_DIED

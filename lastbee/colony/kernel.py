"""The colony engine: each colony stepped a day at a time in compiled code.

Idea. A hidden colony is a handful of pools (young bees by age, house bees, foragers,
drones, honey, pollen, comb) and two queues of brood (workers by age 0-20 days, drones
0-23). `_live_day` calls one function for each process of the model page, in the order in
which a day runs: weather, laying, brood, recruitment, income and meals, trap, box, comb.
Behind a cone a colony may take turns (see `lastbee.colony.turns`), each on its own morning.

Colonies are put in order of founding and stepped in blocks (see `lastbee.colony.block`).
Every colony is computed alone from its own parameters and its own weather stream (a
counter-based hash of its seed and the day), so that the result does not depend on its
neighbours, nor on how many threads share the work. A NumPy twin in `reference` repeats
the arithmetic.
"""

from __future__ import annotations

from contextlib import contextmanager
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numba import get_num_threads, njit, prange, set_num_threads

from lastbee.biology import constants as bio
from lastbee.biology.constants import Column
from lastbee.colony import block, brood, layout, nest, trap, turns
from lastbee.colony.block import (
    BOX,
    COMB,
    DIED_INSIDE,
    DIED_INSIDE_BEFORE,
    DRONE_DAYS,
    DRONES,
    EGGS,
    FLIGHT_H,
    FLYING,
    FOOD_HALF,
    FORAGERS,
    HONEY,
    HOUSE,
    INCOME_MEMORY,
    LAID_TODAY,
    LANES,
    LARVAE,
    LAY_COUPLING,
    MAX_YOUNG_DAYS,
    N_DAILY,
    N_PARAMETERS,
    N_STATE,
    OUT_TODAY,
    POLLEN,
    QUEEN,
    START_BEES,
    START_COMB,
    START_DAY,
    START_HONEY,
    START_POLLEN,
    STATE_SIZE,
    WALL,
    WELL_STORED,
    WET,
    WORKER_DAYS,
    YOUNG,
    YOUNG_DAYS,
    ZEAL,
    adults,
    aligned,
    brood_cells,
    compiled,
)
from lastbee.colony.brood import emerge, lay, rear_drones, rear_workers, tend
from lastbee.colony.layout import NO_CONE, Sky
from lastbee.colony.nest import build, carry_out, forage, gather_and_eat, lose_drones
from lastbee.colony.trap import leave_wall, queen_decides, rear_box, set_box, take_turns
from lastbee.colony.turns import TURNED, Gift, Turns

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from lastbee.colony.block import Array

    Seeds = NDArray[np.uint64]
    Days = NDArray[np.int64]

# Of a founding swarm, a third are too young to forage and a fifth forage: assumed.
YOUNG_AT_START = 0.33
FORAGERS_AT_START = 0.2
_REFERENCE_H = bio.REFERENCE_FLIGHT_H
_WET_SHARE = bio.WET_DAY_FLIGHT_SHARE
# Up to so many colonies one thread is soonest done, above all on a busy machine: measured.
ALONE_COLONIES = 3000
# Of what a turn sets and gives, these are shares.
_TURNED_SHARES = tuple(
    TURNED.index(column)
    for column in (
        Column.LEAK,
        Column.PASSABLE,
        Column.LAY_COUPLING,
        Column.BOX_ROBBED,
        Column.BODY_PROTEIN,
    )
)
_GIFT_SHARES = (Gift.WALL_BOXED, Gift.BOX_GONE)


@compiled
def unit_hash(seed: np.uint64, day: int) -> float:
    """Uniform number in [0, 1) of a seed and a day: SplitMix64 (Steele et al. 2014)."""
    z = seed + np.uint64(day + 1) * np.uint64(0x9E3779B97F4A7C15)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    z = z ^ (z >> np.uint64(31))
    return np.float64(z >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@compiled
def _found(s: Array, young: Array, p: Array, k: int) -> None:
    """Set the first day's bees and stores of one lane."""
    bees = p[START_BEES + k]
    days = int(p[YOUNG_DAYS + k])
    share = YOUNG_AT_START if days > 0 else 0.0
    for age in range(days):
        young[age * LANES + k] = share * bees / days
    s[YOUNG + k] = share * bees
    s[FORAGERS + k] = FORAGERS_AT_START * bees
    s[HOUSE + k] = bees - s[YOUNG + k] - s[FORAGERS + k]
    s[HONEY + k] = p[START_HONEY + k]
    s[POLLEN + k] = p[START_POLLEN + k]
    s[COMB + k] = p[START_COMB + k]
    s[QUEEN + k] = 1.0
    s[INCOME_MEMORY + k] = 1.0


@compiled
def _wake(s: Array, p: Array, seeds: Seeds, sky: Array, day: int, trapped: bool) -> None:
    """Weather of the day, and what the morning's books and spirits are."""
    fine = sky[FLIGHT_H] / _REFERENCE_H
    for k in range(LANES):
        s[FLYING + k] = fine * _WET_SHARE if unit_hash(seeds[k], day) < sky[WET] else fine
    for k in range(LANES):
        # Nurses slacken as income fails, stores or not (from its first day: Riessberger &
        # Crailsheim 1997; Schmickl & Crailsheim 2001), and so does the queen; the memory
        # of income makes it from the second day here.
        slack = p[LAY_COUPLING + k] * (1.0 - s[INCOME_MEMORY + k])
        honey2 = s[HONEY + k] * s[HONEY + k]
        s[WELL_STORED + k] = honey2 / (honey2 + p[FOOD_HALF + k] * p[FOOD_HALF + k])
        s[ZEAL + k] = 1.0 - slack if trapped else 1.0
        s[DIED_INSIDE_BEFORE + k] = s[DIED_INSIDE + k]


@compiled
def _live_day(  # type: ignore[no-untyped-def]
    s, worker, drone, box_brood, young, p, seeds, sky, day, cone_day
) -> None:
    """Live one day of a block, from morning to evening."""
    trapped = day >= cone_day
    _wake(s, p, seeds, sky, day, trapped)
    lay(s, p, sky, day, trapped)
    tend(s, p, sky, trapped)
    rear_workers(s, worker, trapped)
    rear_drones(s, drone, p, sky)
    emerge(s, young, p)
    forage(s, p, trapped)
    lose_drones(s, p, trapped)
    if trapped:
        carry_out(s, p)
    gather_and_eat(s, p, sky, trapped)
    if trapped:
        leave_wall(s, p, sky, day - cone_day)
        rear_box(s, box_brood, p, sky)
        queen_decides(s, p)
    else:
        build(s, p)


@compiled
def _record(s: Array, rows: NDArray[np.int64], daily: NDArray[np.float32], since: int) -> None:
    """Write the evening's numbers of each lane into its own row of `daily`."""
    for k in range(rows.shape[0]):
        row = daily[rows[k], since]
        row[0] = adults(s, k) + s[DRONES + k]
        row[1] = brood_cells(s, k)
        row[2] = s[BOX + k]
        row[3] = s[WALL + k]
        row[4] = s[HONEY + k]
        row[5] = s[QUEEN + k]
        row[6] = s[LAID_TODAY + k]
        row[7] = s[EGGS + k] + s[LARVAE + k]
        row[8] = s[OUT_TODAY + k]


@compiled
def _copy_out(s: Array, rows: NDArray[np.int64], out: Array) -> None:
    for k in range(rows.shape[0]):
        state = out[rows[k]]
        for row in range(N_STATE):
            state[row] = s[row * LANES + k]


@compiled
def _found_today(s: Array, young: Array, p: Array, day: int) -> None:
    for k in range(LANES):
        if int(p[START_DAY + k]) == day:
            _found(s, young, p, k)


@compiled
def _live_block(  # type: ignore[no-untyped-def]
    rows, params, seeds, sky, cone_day, turns, snap_days, last, snaps, daily, final
) -> None:
    """Live the colonies `rows`, in order of founding; unfounded lanes are empty and stay so."""
    s, p = aligned(STATE_SIZE), aligned(N_PARAMETERS * LANES)
    worker, drone = aligned(WORKER_DAYS * LANES), aligned(DRONE_DAYS * LANES)
    box_brood, young = aligned(WORKER_DAYS * LANES), aligned((MAX_YOUNG_DAYS + 1) * LANES)
    own, due = np.zeros(LANES, np.uint64), np.full(LANES, cone_day)
    taken = np.zeros(LANES, np.int64)
    for k in range(LANES):
        # Lanes left over in the last block repeat its last colony and are never read.
        colony = rows[min(k, rows.shape[0] - 1)]
        own[k] = seeds[colony]
        for column in range(N_PARAMETERS):
            p[column * LANES + k] = params[colony, column]
    taken_snaps, next_turn = 0, cone_day
    for day in range(int(p[START_DAY]), last + 1):
        _found_today(s, young, p, day)
        while taken_snaps < len(snap_days) and snap_days[taken_snaps] == day:
            _copy_out(s, rows, snaps[:, taken_snaps])
            taken_snaps += 1
        if day == last:
            break
        if day == cone_day:
            set_box(s, p)
        if day >= next_turn:
            next_turn = take_turns(s, p, box_brood, rows, turns, taken, due, day)
        _live_day(s, worker, drone, box_brood, young, p, own, sky[day], day, cone_day)
        if 0 <= day - cone_day < daily.shape[1]:
            _record(s, rows, daily, day - cone_day)
    if final.shape[0]:
        _copy_out(s, rows, final)


@cache
def _live_all() -> Callable[..., None]:
    """Make the compiled loop over blocks, once a process; on disk it is kept between runs.

    Numba keeps compiled code for as long as the function's own file is unchanged. Constants
    and processes live in other files: their digest stands in the closure, and so in the key
    of what is kept, so that no change of theirs leaves an old kernel in use.
    """
    sources = (bio, layout, turns, block, brood, nest, trap)
    text = b"".join(Path(str(module.__file__)).read_bytes() for module in sources)
    digest = int.from_bytes(sha256(text).digest()[:4])

    @njit(cache=True, parallel=True, error_model="numpy")
    def live_all(  # type: ignore[no-untyped-def]
        order, params, seeds, sky, cone_day, turns, snap_days, last, snaps, daily, final, threads
    ) -> None:
        _ = digest
        blocks = (order.shape[0] + LANES - 1) // LANES
        # Blocks are dealt out one by one, so that each thread gets long and short lives.
        for thread in prange(threads):
            for i in range(thread, blocks, threads):
                rows = order[i * LANES : (i + 1) * LANES]
                _live_block(
                    rows, params, seeds, sky, cone_day, turns, snap_days, last, snaps, daily, final
                )

    return live_all


def _check(
    params: Array, seeds: Seeds, sky: Array, snap_days: Days, cone_day: int, last: int
) -> None:
    """Refuse what would read or write beyond an array."""
    n = params.shape[0]
    if params.shape[1] != len(Column) or seeds.shape != (n,) or sky.shape[1] != len(Sky):
        raise ValueError(f"shapes {params.shape}, {seeds.shape}, {sky.shape} do not fit the model")
    if not len(snap_days) or (np.diff(snap_days) < 0).any():
        raise ValueError(f"snap_days {snap_days.tolist()} must be days in order, at least one")
    if last > sky.shape[0]:
        raise ValueError(f"the last day {last} must lie within the {sky.shape[0]} days of sky")
    first = min(int(snap_days[0]), cone_day)
    start, young = params[:, Column.START_DAY], params[:, Column.YOUNG_DAYS]
    if n and not (start.min() >= 0 and start.max() <= first):
        raise ValueError(f"start days must lie in 0..{first}, the first snapshot or the cone")
    if n and not (young.min() >= 0 and young.max() <= bio.MAX_YOUNG_DAYS):
        raise ValueError(f"youngest foraging ages must lie in 0..{bio.MAX_YOUNG_DAYS} days")


def _check_turns(turns: Turns, colonies: int, cone_day: int) -> None:
    """Refuse turns that do not fit the colonies, come before the cone, or make no sense."""
    shape = (colonies, turns.days.shape[-1])
    wanted = (shape, (*shape, len(TURNED)), (*shape, len(Gift)))
    found = (turns.days.shape, turns.rates.shape, turns.gifts.shape)
    if found != wanted or turns.days.dtype != np.int64:
        raise ValueError(f"turns of shapes {found} do not fit {colonies} colonies")
    if not turns.days.size:
        return
    if turns.days.min() < cone_day or (np.diff(turns.days, axis=1) < 0).any():
        raise ValueError("turns must come in order of day, and none before the cone")
    for values, shares in ((turns.rates, _TURNED_SHARES), (turns.gifts, _GIFT_SHARES)):
        if not (values.min() >= 0.0 and values.max() < np.inf):
            raise ValueError("rates and gifts of turns must be numbers, none below 0")
        if max(values[..., column].max() for column in shares) > 1.0:
            raise ValueError("shares among the rates and gifts of turns must not exceed 1")


def _threads_for(colonies: int) -> int:
    """Threads worth waking: few colonies are done before the others have come."""
    return 1 if colonies <= ALONE_COLONIES else get_num_threads()


@contextmanager
def _so_many_threads(count: int) -> Iterator[None]:
    """Work with so many of the engine's threads."""
    before = get_num_threads()
    set_num_threads(count)
    try:
        yield
    finally:
        set_num_threads(before)


def live(
    params: NDArray[np.float64],
    seeds: NDArray[np.uint64],
    sky: NDArray[np.float64],
    *,
    snap_days: tuple[int, ...],
    cone_day: int | None = None,
    trap_days: int = 0,
    turns: Turns | None = None,
) -> tuple[NDArray[np.float64], NDArray[np.float32], NDArray[np.float64]]:
    """Live many colonies from their own starts, without a cone or through a trap-out.

    Parameters
    ----------
    params
        One row of `Column` values a colony, shape (n, len(Column)).
    seeds
        Weather stream of each colony, shape (n,).
    sky
        Daily drivers, shape (days, len(Sky)); must cover every day lived.
    snap_days
        Day indices in order, at least one, on whose mornings the state is taken: before
        anything of that day happens, cone and turns included. They may lie after the cone.
    cone_day
        Day index on which the cone goes on; None for no cone.
    trap_days
        Days to record from the cone's first day; 0 with no cone.
    turns
        How each colony's trap-out changes course, none before the cone; None for no turns.

    Returns
    -------
    Snapshots of shape (n, len(snap_days), len(State)); daily records (n, trap_days,
    len(Daily)), evening values; and the final state (n, len(State)), on the morning of the
    last day asked for: the last of `snap_days` or the one after the last record.

    Raises
    ------
    ValueError
        If shapes disagree, days are out of order, one asked for lies outside `sky`, a colony
        starts after the first snapshot or the cone, or a turn's values make no sense.
    """
    n, cone = params.shape[0], NO_CONE if cone_day is None else cone_day
    days = 0 if cone_day is None else trap_days
    mornings = np.array(snap_days, dtype=np.int64)
    last = max((*snap_days, 0 if cone_day is None else cone + days))
    turns = Turns.none(n) if turns is None else turns
    _check(params, seeds, sky, mornings, cone, last)
    _check_turns(turns, n, cone)
    snaps = np.zeros((n, len(mornings), N_STATE))
    # The last snapshot is the final state unless the trap-out is followed beyond it.
    final = np.zeros((n if last > mornings[-1] else 0, N_STATE))
    daily = np.zeros((n, days, N_DAILY), dtype=np.float32)
    threads = _threads_for(n)
    with _so_many_threads(threads):
        _live_all()(
            np.argsort(params[:, Column.START_DAY], kind="stable"), np.ascontiguousarray(params),
            np.ascontiguousarray(seeds), np.ascontiguousarray(sky), cone,
            tuple(map(np.ascontiguousarray, (turns.days, turns.rates, turns.gifts))),
            mornings, last, snaps, daily, final, threads,
        )  # fmt: skip
    return snaps, daily, final if last > mornings[-1] else snaps[:, -1]

"""The box of the other model: bees that learn where it is, brood, honey, heat, robbers.

A bee that joins flies back to the old exit by mistake at first (Robinson & Dyer 1993: bees
keep the old site in mind) and has learnt the new one after three flights. A box that gets
hot in the sun makes bees hang out and, in the trouble of that kind, leave it; robbers take
honey and kill, and when it is gone the bees go too. Figures are assumed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from verify.other_bees import Place, Throw
from verify.other_nest import ADULT_G, LARVA_G, WORKER_KEPT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from verify.other_trapout import Trapout

FLIGHTS_TO_LEARN = 3
BOX_EGGS = 1500.0
FRAME_CELLS = 5500.0
HOT_DEGC = 38.0
# What the box holds: bees, brood cells, honey g, frames, queen lays from day, share that stays.
CONTENTS: dict[str, tuple[int, int, float, int, int | None, float]] = {
    "queenright nucleus": (4000, 5000, 2500.0, 8, 0, 0.8),
    "open brood": (1300, 2600, 1500.0, 8, 27, 0.62),
    "lure": (0, 0, 0.0, 8, None, 0.35),
    "empty comb": (0, 0, 0.0, 8, None, 0.25),
}


@dataclass(slots=True)
class Box:
    """What stands beside the exit; `pull` is the share of admitted bees that stays.

    `hot` says whether the afternoon's heat is too much for it; `kg_at_start` its weight of
    honey, brood and bees on the cone's day.
    """

    contents: str
    brood: NDArray[np.int64]
    honey_g: float
    frames: int
    lays_from: int | None
    pull: float
    laid: int = 0
    hot: bool = False
    kg_at_start: float = 0.0


def set_box(contents: str, rng: np.random.Generator) -> tuple[Box, int]:
    """Draw a box and the number of bees in it."""
    bees, cells, honey_g, frames, lays_from, pull = CONTENTS[contents]
    size = rng.lognormal(0.0, 0.2)
    brood = np.zeros(21, dtype=np.int64)
    if cells:
        ages = slice(0, 21) if contents == "queenright nucleus" else slice(0, 8)
        brood[ages] = rng.poisson(size * cells / len(brood[ages]), len(brood[ages]))
    if lays_from and rng.random() > 0.75:
        lays_from = None
    return Box(contents, brood, size * honey_g, frames, lays_from, pull), int(size * bees)


def weight_kg(t: Trapout) -> float:
    """Honey, brood and bees in the box."""
    bees = 0.11 * t.bees.count(Place.BOX)
    return (t.box.honey_g + 0.14 * float(t.box.brood.sum()) + bees) / 1000.0


def stay_in_box(t: Trapout, box_bees: int) -> float:
    """Share of admitted bees that stays: by contents, company and what spoils it."""
    company = 0.15 if box_bees > 500 else 0.0
    spoilt = (0.3 if t.box.hot else 1.0) * (0.4 if t.gear.robbers > 100.0 else 1.0)
    return min(0.97, (t.box.pull + company) * t.gear.box_pleases * spoilt)


def learn_box(t: Trapout, activity: float) -> None:
    """Fly out of the box for the first times; some land at the old exit."""
    bees = t.bees
    rows = np.flatnonzero(
        (bees.place == int(Place.BOX)) & (bees.box_flights < FLIGHTS_TO_LEARN) & ~bees.drone
    )
    if len(rows) == 0 or activity < 0.3:
        return
    throw = t.dice.each(bees.name[rows], t.clock, Throw.BOX_FLIGHT)
    flies = throw < 0.25 * activity
    flown, u = rows[flies], throw[flies] / (0.25 * activity)
    errs = u < 0.35 * 0.5 ** bees.box_flights[flown]
    bees.place[flown[errs]] = int(Place.WALL)
    bees.crop_mg[flown[errs]] = 12.0
    bees.box_flights[flown[~errs]] += 1


def live_day(t: Trapout) -> None:
    """One day of the box: brood, queen, foragers, age, wasps, robbers, heat."""
    box = t.box
    rows = t.bees.at(Place.BOX)
    rng = t.dice.of(Throw.BOX_LOSS, t.day)
    _rear(t, len(rows), rng)
    _work_and_age(t)
    _robbed(t)
    high = float(t.weather.temperature_degc[t.day_of_year].max())
    sun = 1.0 - float(t.weather.cloud[t.day_of_year, 11:17].mean())
    inner = high + (1.5 if t.gear.is_shaded else 7.0) * sun + (3.0 if t.gear.is_heat else 0.0)
    box.hot = len(rows) > 300 and inner > HOT_DEGC
    _leave(t, rng)


def _rear(t: Trapout, bees: int, rng: np.random.Generator) -> None:
    """Age the brood, be born, lay."""
    box = t.box
    cover = min(1.0, 4.0 * bees / max(int(box.brood.sum()), 1))
    aged = rng.binomial(box.brood, WORKER_KEPT * (0.6 + 0.4 * cover))
    box.brood = np.concatenate([[0], aged[:-1]])
    t.be_born(int(aged[-1]), 0, Place.BOX)
    box.laid = 0
    if box.lays_from is None or t.day < box.lays_from or bees < 200:
        return
    cells = float(box.brood.sum())
    free = 0.5 * max(0.0, FRAME_CELLS * box.frames - cells - box.honey_g / 0.4)
    warmed = max(0.0, 1.5 * bees - cells)
    most = BOX_EGGS * t.inside.queen.season(t.day_of_year % 365)
    box.laid = int(rng.poisson(max(0.0, min(most, free, warmed / 6.0))))
    box.brood[0] = box.laid


def _work_and_age(t: Trapout) -> None:
    """Fly, bring home, eat, wear out, die of age, fall to wasps."""
    bees, box = t.bees, t.box
    rows = bees.at(Place.BOX)
    out = (bees.body[rows] >= bees.onset[rows]) & (bees.box_flights[rows] >= FLIGHTS_TO_LEARN)
    hours = min(7.0, t.flight_h(t.day)) * 0.55
    bees.flown_h[rows[out]] += hours
    age = t.day - bees.born[rows]
    wasps = 0.004 if t.day_of_year % 365 > 205 else 0.0
    chance = (
        0.0012 * np.exp(np.minimum(age, 120.0) / 20.0) + wasps + np.where(out, 0.004 * hours, 0.0)
    )
    dead = t.dice.each(bees.name[rows], t.day, Throw.OLD_AGE) < chance
    dead |= bees.flown_h[rows] > bees.wings_h[rows]
    bees.body[rows] += np.where(out, 0.0, 1.0)
    t.die(rows[dead])
    nectar = float(t.weather.nectar[t.day_of_year])
    income = 0.03 * hours * nectar * float(np.count_nonzero(out))
    room_g = max(0.0, 0.4 * (FRAME_CELLS * box.frames - float(box.brood.sum())) - box.honey_g)
    eaten = ADULT_G * len(rows) + LARVA_G * float(box.brood[3:9].sum())
    box.honey_g = max(0.0, box.honey_g + min(room_g, income) - eaten)


def _robbed(t: Trapout) -> None:
    """Lose honey and bees to robbers, and the rest when the honey is gone."""
    robbers = t.gear.robbers
    if robbers <= 0.0 or t.flight_h(t.day) < 2.0:
        return
    rows = t.bees.at(Place.BOX)
    t.box.honey_g = max(0.0, t.box.honey_g - 0.35 * robbers)
    killed = 0.12 * robbers / (robbers + len(rows) + 1.0)
    throw = t.dice.each(t.bees.name[rows], t.day, Throw.BOX_LOSS)
    t.die(rows[throw < killed])
    if t.box.honey_g <= 0.0:
        gone = (throw >= killed) & (throw < killed + 0.25)
        _send_away(t, rows[gone], 0.4)
        t.box.brood = t.box.brood // 2


def _leave(t: Trapout, rng: np.random.Generator) -> None:
    """Leave the box in a body: on a hot day, or on any fine one if something else is wrong."""
    hours = t.flight_h(t.day)
    throw = rng.random()
    if t.fault.key != "box_left" or not t.fault.is_on(t.day) or hours < 4.0:
        return
    high = float(t.weather.temperature_degc[t.day_of_year].max())
    chance = np.clip((high - 20.0) / 10.0, 0.05, 0.8) if t.gear.is_heat else 0.4
    if throw > chance:
        return
    rows = t.bees.at(Place.BOX)
    share = 0.55 + 0.42 * t.fault.severity
    goes = t.dice.each(t.bees.name[rows], t.day, Throw.BOX_LOSS) < share
    _send_away(t, rows[goes], 0.25)
    # The queen goes with them, and brood without bees dies.
    t.box.lays_from = None
    t.box.pull = min(t.box.pull, 0.5)
    t.box.brood = (t.box.brood * (1.0 - share)).astype(np.int64)


def _send_away(t: Trapout, rows: NDArray[np.intp], to_wall: float) -> None:
    """Some of the bees that leave a box land at the old exit, the others are gone."""
    back = t.dice.each(t.bees.name[rows], t.day, Throw.HOMING) < to_wall
    t.bees.place[rows[back]] = int(Place.WALL)
    t.bees.crop_mg[rows[back]] = 15.0
    t.be_gone(rows[~back])

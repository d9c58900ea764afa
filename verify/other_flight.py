"""An hour outside, in the other model: out by the cone, home to a closed door, the wall, the box.

A forager flies on a day whose news (nectar, want) passes a threshold of her own; each day
that she sits at home makes her readier. Young bees fly for the first time on a warm
afternoon. A bee that comes home lands at the old exit. If she knows a gap she takes it;
else she searches, and finds it alone by luck or behind others that go in. Shut out, she
lives on her crop, shares it with her neighbours, looks into the box, is let in (laden
bees walk in, Butler & Free 1952; in dearth guards refuse, Downs & Ratnieks 2000), and stays
or not. An empty crop kills within a night or two. Figures are assumed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from verify.other_bees import Place, Throw
from verify.other_box import stay_in_box
from verify.other_nest import YOUNGEST_FORAGER_DAYS
from verify.other_troubles import cone_lets_through, drones_and_dead_stick

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from verify.other_bees import Some
    from verify.other_trapout import Trapout

FLYING_H_AN_HOUR = 0.7
KILLED_AN_HOUR = 0.005
FULL_CROP_MG = 28.0
REST_MG_AN_HOUR, SEARCH_MG_AN_HOUR = 0.4, 0.5
TRIPS_AN_HOUR = 2.0
POLLEN_LOAD_G = 0.006
LOOKS_AN_HOUR = 0.11
FOLLOWED = 80.0


def who_flies_today(t: Trapout) -> None:
    """Choose in the morning who of the nest will try to fly, and how eager each is."""
    bees, day = t.bees, t.day_of_year
    nest = bees.at(Place.NEST)
    age = t.day - bees.born[nest]
    worker = ~bees.drone[nest] & ~bees.court[nest]
    forager = worker & (bees.body[nest] >= bees.onset[nest]) & (age >= YOUNGEST_FORAGER_DAYS)
    news = 0.4 + 0.5 * min(1.0, float(t.weather.nectar[day]) / 0.4) + t.habits.keenness
    bees_at_home = max(1, len(nest))
    news += 0.4 if t.inside.honey_g < 0.1 * bees_at_home else 0.0
    news -= 0.2 if t.inside.honey_g > 1.2 * bees_at_home else 0.0
    if t.fault.key == "stalled" and t.fault.is_on(t.day):
        news -= 0.55 + 0.35 * t.fault.severity
    threshold = t.dice.each(bees.name[nest], 0, Throw.NATURE)
    goes = forager & (threshold < news + t.habits.restless * bees.idle[nest])
    today = t.dice.each(bees.name[nest], t.day, Throw.FLIGHT_TODAY)
    goes &= today > 0.22  # a day of rest: Tian et al. 2014
    if t.flight_h(t.day) > 2.0:
        bees.idle[nest] = np.where(forager & ~goes, bees.idle[nest] + 1, 0)
    first = worker & ~forager & (age >= 5.0) & (today < t.habits.first_flights)
    workers = int(np.count_nonzero(~bees.drone[nest]))
    deserts = workers < t.habits.deserts_below or t.inside.honey_g <= 0.0
    leaves = worker & (today < 0.3) & deserts
    drones = bees.drone[nest] & (age >= 8.0)
    eager = np.where(goes | leaves, 0.45, 0.0)
    afternoon = np.where(first, 0.45, np.where(drones, 0.5, 0.0))
    chosen = (eager > 0.0) | (afternoon > 0.0)
    t.today, t.eager, t.afternoon = nest[chosen], eager[chosen], afternoon[chosen]


def fly_out(t: Trapout, activity: float) -> None:
    """Leave the nest, by the cone or by a gap, as far as the cone lets them through."""
    bees = t.bees
    if activity <= 0.05 or len(t.today) == 0:
        return
    eager = t.eager
    if 12 <= t.hour <= 16 and activity > 0.5:
        eager = np.maximum(eager, t.afternoon)
    throw = t.dice.each(bees.name[t.today], t.clock, Throw.FLY)
    go = (bees.place[t.today] == int(Place.NEST)) & (throw < eager * activity)
    going, order = t.today[go], throw[go]
    if len(going) == 0:
        return
    through = ~bees.gap[going] | (order > 0.5 * eager[go] * activity)
    wanted, limit = int(through.sum()), int(cone_lets_through(t))
    if wanted > limit:
        # Whoever comes to the cone when it is full stays in and tries again.
        at_cone = np.flatnonzero(through)
        late = at_cone[np.argsort(t.dice.each(bees.name[going[at_cone]], t.clock, Throw.LOAD))]
        stays = np.zeros(len(going), dtype=bool)
        stays[late[limit:]] = True
        going, through = going[~stays], through[~stays]
    t.flow.cone_out = int(through.sum())
    bees.place[going] = int(Place.OUT)
    load = t.dice.each(bees.name[going], t.clock, Throw.LOAD)
    carried = np.where(bees.drone[going], 6.0, 6.0 + 14.0 * load)
    taken = min(t.inside.honey_g, 1e-3 * float((carried - bees.crop_mg[going]).clip(0.0).sum()))
    bees.crop_mg[going] = carried if taken > 0.0 else bees.crop_mg[going]
    t.inside.honey_g -= taken
    drones_and_dead_stick(t, int(bees.drone[going].sum()))


def come_home(t: Trapout) -> None:
    """Land after an hour out: worn out or caught, in by a known way, or on the wall."""
    bees = t.bees
    out = bees.at(Place.OUT)
    if len(out) == 0:
        return
    bees.flown_h[out] += FLYING_H_AN_HOUR
    lost = bees.flown_h[out] > bees.wings_h[out]
    lost |= t.dice.each(bees.name[out], t.clock, Throw.KILLED) < KILLED_AN_HOUR
    t.die(out[lost], outside=True)
    back = out[~lost]
    load = t.dice.each(bees.name[back], t.clock, Throw.HOMING)
    nectar = float(t.weather.nectar[t.day_of_year])
    gain = np.where(bees.drone[back], -3.0, 22.0 * min(1.0, nectar) * load - 2.0)
    bees.crop_mg[back] = np.clip(bees.crop_mg[back] + gain, 0.0, FULL_CROP_MG)
    bees.place[back] = int(Place.WALL)
    knows_gap = back[bees.gap[back]]
    if t.gear.gap_ease > 0.0 and len(knows_gap):
        _enter(t, knows_gap[: int(t.gear.gap_per_h)], by_gap=True)
    knows_tip = back[bees.tip[back] & (bees.place[back] == int(Place.WALL))]
    if len(knows_tip):
        _enter(t, knows_tip, by_gap=False)


def at_the_wall(t: Trapout, activity: float) -> None:
    """An hour of those shut out."""
    bees = t.bees
    wall = bees.at(Place.WALL)
    if len(wall) == 0:
        return
    _live_on_crop(t, wall, 1.0, activity)
    wall = wall[bees.place[wall] == int(Place.WALL)]
    if activity <= 0.05 or len(wall) == 0:
        return
    wall = _search(t, wall, activity)
    wall = _look_into_box(t, wall, activity)
    throw = t.dice.each(bees.name[wall], t.clock, Throw.LEAVE_WALL)
    away = 0.006 + 0.05 * t.gear.strangers / (t.gear.strangers + 1500.0)
    drifts = throw < np.where(bees.drone[wall], 0.15, away) * activity
    t.be_gone(wall[drifts])
    # Those with an empty crop may still fetch a load of nectar.
    hungry = ~drifts & (bees.crop_mg[wall] < 8.0) & (throw > 0.85) & ~bees.drone[wall]
    if t.weather.nectar[t.day_of_year] > 0.15:
        bees.place[wall[hungry]] = int(Place.OUT)


def night_on_the_wall(t: Trapout, hours: float) -> None:
    """Live through the dark, in a cluster or alone."""
    wall = t.bees.at(Place.WALL)
    if len(wall):
        _live_on_crop(t, wall, hours, 0.0)


def march_at_dusk(t: Trapout) -> None:
    """A cluster may walk into the box in a body, if the box pleases."""
    wall = t.bees.at(Place.WALL)
    rng = t.dice.of(Throw.DUSK, t.day)
    first, share = rng.random(), rng.uniform(0.3, 0.95)
    pleases = stay_in_box(t, t.bees.count(Place.BOX)) * min(1.0, t.gear.box_near)
    if len(wall) > 120 and first < 0.45 * max(0.0, pleases - 0.15):
        throw = t.dice.each(t.bees.name[wall], t.clock, Throw.DUSK)
        t.enter_box(wall[(throw < share) & ~t.bees.drone[wall]])


def _enter(t: Trapout, rows: Some, by_gap: bool) -> None:
    """Go back into the nest and unload; those who know the box only rob a nest that is dead."""
    bees = t.bees
    if by_gap:
        t.flow.gap_in += len(rows)
        bees.gap[rows] = True
    else:
        t.flow.tip_in += len(rows)
        bees.tip[rows] = True
    if t.inside.queen_fate != "in the nest" and t.inside.cells < 50:
        robs = rows[bees.box_visits[rows] > 0]
        taken_g = min(t.inside.honey_g, 1e-3 * FULL_CROP_MG * TRIPS_AN_HOUR * len(robs))
        t.inside.honey_g -= taken_g
        t.box.honey_g += taken_g
        bees.place[robs] = int(Place.BOX)
        rows = rows[bees.place[rows] != int(Place.BOX)]
    bees.place[rows] = int(Place.NEST)
    honey_g = 1e-3 * TRIPS_AN_HOUR * float(np.maximum(0.0, bees.crop_mg[rows] - 5.0).sum())
    room_g = max(0.0, t.inside.comb_dm2 * 790.0 * 0.4 * 0.8 - t.inside.honey_g)
    t.inside.honey_g += min(room_g, honey_g)
    t.inside.income_g += honey_g
    wanted_g = 6.0 * 0.022 * float(t.inside.brood[:9].sum()) - t.inside.pollen_g
    t.inside.pollen_g += min(max(0.0, wanted_g), POLLEN_LOAD_G * len(rows))
    bees.crop_mg[rows] = np.minimum(bees.crop_mg[rows], 6.0)


def _search(t: Trapout, wall: Some, activity: float) -> Some:
    """Find the gap or the tip, alone or behind others; return who is still shut out."""
    bees, gear = t.bees, t.gear
    for by_gap, ease, already in (
        (True, gear.gap_ease, t.flow.gap_in),
        (False, gear.tip_ease, t.flow.tip_in),
    ):
        room = int(gear.gap_per_h) - already if by_gap else 10_000
        if ease <= 0.0 or room <= 0:
            continue
        follows = 0.3 * min(1.0, 30.0 * ease) * already / (already + FOLLOWED)
        what = Throw.GAP if by_gap else Throw.TIP
        throw = t.dice.each(bees.name[wall], t.clock, what)
        finds = wall[throw < (ease + follows) * activity]
        _enter(t, finds[:room], by_gap)
        wall = wall[bees.place[wall] == int(Place.WALL)]
    return wall


def _look_into_box(t: Trapout, wall: Some, activity: float) -> Some:
    """Look into the box, be let in or not, stay or not; return who is still outside."""
    bees = t.bees
    looks = LOOKS_AN_HOUR * t.gear.box_near * np.where(bees.box_visits[wall] > 0, 2.0, 1.0)
    if t.gear.is_reduced:
        looks = 0.7 * looks
    throw = t.dice.each(bees.name[wall], t.clock, Throw.VISIT)
    inside = wall[(throw < looks * activity) & ~bees.drone[wall]]
    bees.box_visits[inside] += 1
    box_bees = t.bees.count(Place.BOX)
    # Guards of a real colony let unladen strangers pass less often in dearth.
    dearth = t.weather.nectar[t.day_of_year] < 0.12 and box_bees > 300
    stays = np.full(len(inside), stay_in_box(t, box_bees))
    stays *= np.where(dearth & (bees.crop_mg[inside] < 8.0), 0.45, 1.0)
    joins = t.dice.each(bees.name[inside], t.clock, Throw.STAY) < stays
    t.enter_box(inside[joins])
    return np.asarray(wall[bees.place[wall] == int(Place.WALL)])


def _live_on_crop(t: Trapout, wall: NDArray[np.intp], hours: float, activity: float) -> None:
    """Burn honey, share it out, and starve when it is gone."""
    bees = t.bees
    cold = max(0.0, 18.0 - t.night_degc(t.day)) / 20.0 if activity == 0.0 else 0.0
    # A cluster of some size keeps itself warm at less cost.
    alone = 0.3 if len(wall) > 200 else 1.0
    crop = bees.crop_mg[wall] - hours * (
        REST_MG_AN_HOUR * (1.0 + alone * cold) + SEARCH_MG_AN_HOUR * activity
    )
    crop += min(1.0, 0.12 * hours) * (float(crop.mean()) - crop)
    starved = crop <= 0.0
    throw = t.dice.each(bees.name[wall], t.clock, Throw.STARVE)
    dies = starved & (throw < 1.0 - 0.93**hours)
    bees.crop_mg[wall] = np.maximum(crop, 0.0)
    t.die(wall[dies])
    t.dead_below += int(dies.sum())

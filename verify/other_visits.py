"""What a technician sees at a trap-out of the other model, and writes down.

He is one person with ways of his own: he sees a share of the bees that fly, judges frames
high or low, opens the box often or seldom, forgets to walk round the house, takes a bee that
vanishes behind a board for one that goes in, owns a balance or does not. What he notes are
the records of `lastbee.jobs.visit`; how he errs is drawn by rules of this module alone, not
by the likelihoods of the engine. All shares are assumed, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

import numpy as np

from lastbee.jobs.visit import BoxSeen, ConeCount, Deed, Elsewhere, Visit, WallSensed
from verify.other_bees import Place, Throw
from verify.other_box import weight_kg
from verify.other_weather import told

if TYPE_CHECKING:
    from datetime import date

    from lastbee.jobs.visit import ConeState, DeadBees
    from verify.other_trapout import Trapout

COUNT_MINUTES = 5.0
BEES_A_FRAME = 1650.0
BEES_A_DM2 = 120.0


@dataclass(frozen=True, slots=True)
class Technician:
    """One person: shares of bees seen and judged, how often he looks, what he owns."""

    sees: float
    judges: float
    walks_round: float
    finds: float
    opens: float
    listens: float
    has_scale: bool
    has_camera: bool


def draw_technician(rng: np.random.Generator) -> Technician:
    """Draw a person."""
    return Technician(
        sees=0.9 * rng.lognormal(0.0, 0.2),
        judges=rng.lognormal(0.0, 0.2),
        walks_round=rng.beta(17.0, 3.0),
        finds=rng.lognormal(0.0, 0.5),
        opens=rng.uniform(0.25, 0.9),
        listens=rng.uniform(0.4, 0.95),
        has_scale=bool(rng.random() < 0.3),
        has_camera=bool(rng.random() < 0.25),
    )


def usual_hour(t: Trapout, day: int) -> int:
    """Hour at which he comes on a day: between ten and five, mostly early afternoon."""
    rng = t.dice.of(Throw.PERSON, day)
    return int(np.clip(round(rng.normal(13.5, 1.8)), 10, 16))


def look(t: Trapout, who: Technician, cone_on: date, section_dm2: float, depth_m: float) -> Visit:
    """Visit in the hour just lived.

    Parameters
    ----------
    t
        The trap-out; nothing in it changes.
    who
        The technician.
    cone_on
        Date of day 0.
    section_dm2, depth_m
        Cross-section and depth of the cavity, for spans of hum and warm patches.

    Returns
    -------
    What he wrote down, before he did anything.
    """
    if t.hour == 0:
        raise ValueError("a visit needs an hour of its day lived")
    hour = t.hour - 1
    rng = t.dice.of(Throw.VISITOR, t.clock)
    at = datetime.combine(cone_on + timedelta(days=t.day), time(hour, 5 * int(rng.integers(0, 12))))
    activity = float(t.weather.flight[t.day_of_year, hour])
    words = told(t.weather, t.day_of_year, hour, rng)
    cluster = _cluster_dm2(t, rng)
    return Visit(
        at=at,
        temperature_degc=words.temperature_degc,
        sky=words.sky,
        wind=words.wind,
        cone=_count_at_cone(t, who, words.sky == "rain", rng),
        cone_state=_cone_state(t, rng),
        elsewhere=_walk_round(t, who, activity, rng),
        cluster_dm2=cluster if rng.random() < 0.88 else None,
        dead_bees=_dead(t, rng),
        box=_box(t, who, hour, rng),
        wall=_wall(t, who, hour, section_dm2, depth_m, rng),
    )


def usual_deeds(seen: Visit, day: int) -> tuple[Deed, ...]:
    """What a sensible technician does at once about what he saw.

    Parameters
    ----------
    seen
        His own visit.
    day
        Days since the cone; not used by this one.

    Returns
    -------
    Deeds.
    """
    did: list[Deed] = []
    if seen.cone_state in ("partly blocked", "blocked"):
        did.append(Deed("cone cleared"))
    if seen.cone is not None and (seen.cone.bees_back_in or 0) >= 3:
        did.append(Deed("cone refitted"))
    if seen.elsewhere is not None and seen.elsewhere.is_seen:
        did.append(Deed("gap closed"))
    if (seen.cluster_dm2 or 0.0) >= 5.0:
        did += [Deed("cluster brushed in"), Deed("box moved closer")]
    if seen.box is not None:
        if seen.box.is_robbed:
            did.append(Deed("entrance reduced"))
        if seen.box.hangs_out:
            did.append(Deed("box shaded"))
        if seen.box.frames_of_bees is not None and seen.box.frames_of_bees < 1.0:
            did.append(Deed("brood given", 1.0))
    return tuple(did)


def _count_at_cone(
    t: Trapout, who: Technician, rains: bool, rng: np.random.Generator
) -> ConeCount | None:
    """Five minutes at the cone: bees come in bursts, and some are missed."""
    forgets, burst = rng.random(), rng.gamma(6.0, 1.0 / 6.0)
    watches_back = rng.random() < 0.75
    out = rng.poisson(t.flow.cone_out * COUNT_MINUTES / 60.0 * who.sees * burst)
    searching = min(1.0, t.bees.count(Place.WALL) / 600.0)
    back = rng.poisson(t.flow.tip_in * COUNT_MINUTES / 60.0 * who.sees + 0.25 * searching)
    if forgets < (0.5 if rains else 0.06):
        return None
    return ConeCount(COUNT_MINUTES, int(out), int(back) if watches_back else None)


def _cone_state(t: Trapout, rng: np.random.Generator) -> ConeState | None:
    """Judged from below; a cone that is all but closed may look open, and the other way."""
    looked = t.gear.plug + 0.1 * rng.standard_normal() + (0.35 if rng.random() < 0.03 else 0.0)
    if rng.random() < 0.15:
        return None
    return "clear" if looked < 0.2 else "partly blocked" if looked < 0.7 else "blocked"


def _walk_round(
    t: Trapout, who: Technician, activity: float, rng: np.random.Generator
) -> Elsewhere | None:
    """Look for bees that go in elsewhere: the busier, the likelier found."""
    if rng.random() > who.walks_round:
        return None
    own = t.flow.gap_in * COUNT_MINUTES / 60.0
    strange = 1.2 * t.gear.strangers * activity * COUNT_MINUTES / 60.0
    counts, mistaken, found = rng.random() < 0.6, rng.random() < 0.04, rng.random()
    pollen_throw = rng.random()
    minutes = COUNT_MINUTES if counts else None
    if found < 1.0 - np.exp(-(own + strange) * who.finds / 3.0):
        seen = max(1, int(rng.poisson((own + strange) * who.sees)))
        rears = strange > own or t.inside.brood[3:9].sum() > 300
        pollen = bool(pollen_throw < (0.75 if rears else 0.15) * min(1.0, seen / 8.0))
        return Elsewhere(minutes, seen if counts else None, True, pollen)
    if mistaken:
        return Elsewhere(minutes, int(rng.integers(1, 4)) if counts else None, True, False)
    return Elsewhere(minutes, 0 if counts else None, False, None)


def _cluster_dm2(t: Trapout, rng: np.random.Generator) -> float:
    """Area of the bees that hang at the wall; small bunches are not called a cluster."""
    bees = t.bees.count(Place.WALL)
    layers = 1.0 + bees / 2500.0
    judged = bees / BEES_A_DM2 / layers * rng.lognormal(0.0, 0.35)
    return float(round(judged)) if judged >= 1.0 else 0.5 if judged > 0.4 else 0.0


def _dead(t: Trapout, rng: np.random.Generator) -> DeadBees | None:
    """Dead bees on the ground, if he looks down and the grass is short."""
    lying = t.dead_below * rng.lognormal(0.0, 0.5)
    if rng.random() < 0.4:
        return None
    return "none" if lying < 15.0 else "some" if lying < 150.0 else "many"


def _box(t: Trapout, who: Technician, hour: int, rng: np.random.Generator) -> BoxSeen:
    """Glance at the entrance; sometimes lift the lid, sometimes go through the frames."""
    warm = t.weather.temperature_degc[t.day_of_year, hour] > 14.0
    dry = not t.weather.is_raining[t.day_of_year, hour]
    opens = bool(rng.random() < who.opens and warm and dry)
    lifts = bool(rng.random() < 0.25)
    bees = t.bees.count(Place.BOX)
    by_day = 0.85 if 10 <= hour <= 17 else 1.0
    frames = by_day * bees / BEES_A_FRAME * who.judges
    judged = round(2.0 * frames * rng.lognormal(0.0, 0.12)) / 2.0
    peeped = float(round(frames * rng.lognormal(0.0, 0.35)))
    goes_through, egg, queen = opens and rng.random() < 0.6, rng.random(), rng.random()
    lays = t.box.laid > 0
    robbed, glance, hang = rng.random(), rng.random(), rng.random()
    fights = 1.0 - np.exp(-t.gear.robbers / 150.0)
    crowded = bees > 2500.0 * t.box.frames
    hangs = 0.85 if t.box.hot and hour >= 12 else 0.5 if crowded else 0.02
    gain = weight_kg(t) - t.box.kg_at_start + 0.4 * rng.standard_normal()
    weighs = who.has_scale and rng.random() < 0.8
    return BoxSeen(
        frames_of_bees=judged if opens else peeped if lifts else None,
        gain_kg=round(float(gain), 1) if weighs else None,
        eggs_seen=bool(egg < (0.8 if lays else 0.03)) if goes_through else None,
        queen_seen=bool(queen < (0.35 if lays else 0.02)) if goes_through else None,
        is_robbed=bool(robbed < max(0.04, 0.9 * fights)) if glance < 0.85 else None,
        hangs_out=bool(hang < hangs) if glance < 0.85 else None,
    )


def _wall(
    t: Trapout,
    who: Technician,
    hour: int,
    section_dm2: float,
    depth_m: float,
    rng: np.random.Generator,
) -> WallSensed | None:
    """Ear, hand, camera, now and then a small hole."""
    listens, feels, measures, films, peeps = rng.random(5)
    hear, warm, see = rng.random(3)
    noise = rng.lognormal(0.0, 0.4, 2)
    bees, cells = t.bees.count(Place.NEST), t.inside.cells
    hums = 1.0 - np.exp(-(bees + 0.6 * t.gear.strangers) / 500.0)
    heat = 1.0 - np.exp(-(cells + 0.5 * bees + 0.5 * t.gear.strangers) / 4000.0)
    sun = 1.0 - float(t.weather.cloud[t.day_of_year, hour])
    sheet = cells / 790.0 / 0.65 + 0.3 * min(t.inside.comb_dm2, bees / 200.0)
    patch = (0.35 * sheet / min(10.0 * depth_m, 2.5) + 3.0) * noise[0]
    span = 0.35 * bees / 200.0 / section_dm2 / 10.0 * noise[1] + 0.1
    heard = bool(hear < max(0.04, 0.95 * hums))
    sensed = WallSensed(
        hum_heard=heard if listens < who.listens else None,
        hum_span_m=round(float(span), 1)
        if heard and listens < who.listens and measures < 0.25
        else None,
        warm_to_hand=bool(warm < max(0.03 + 0.2 * sun, 0.9 * heat)) if feels < 0.6 else None,
        warm_area_dm2=_seen_warm(patch, cells + bees, warm)
        if films < 0.8 * who.has_camera
        else None,
        bees_seen_inside=bool(see < 1.0 - np.exp(-bees / 400.0)) if peeps < 0.06 else None,
    )
    nothing = WallSensed(None, None, None, None, None)
    return None if sensed == nothing else sensed


def _seen_warm(patch_dm2: float, living: int, throw: float) -> float:
    """Area of a warm patch; a handful of bees makes none."""
    return float(max(1.0, round(patch_dm2))) if throw < 1.0 - np.exp(-living / 400.0) else 0.0

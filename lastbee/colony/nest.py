"""Foragers, stores and comb: what the grown bees of a nest do in a day.

Every function takes a block of colonies (see `lastbee.colony.block`) and changes its
state in place.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.biology import constants as bio
from lastbee.colony.block import (
    ADULT_NEED,
    AT_WORK,
    BOX_HONEY,
    BROOD_NEED,
    BUILD,
    CARRY,
    CAVITY_COMB,
    COMB,
    DEARTH,
    DEARTH_DEPTH,
    DESERT,
    DESERT_HALF,
    DIED_AWAY,
    DIED_INSIDE,
    DRONES,
    DRONES_GONE,
    EGGS,
    FLY,
    FLYING,
    FORAGE,
    FORAGER_LOSS,
    FORAGERS,
    GAIN,
    HONEY,
    HONEY_CARRIED,
    HONEY_EATEN,
    HONEY_IN,
    HONEY_TO_WAX,
    HOUSE,
    INCOME,
    INCOME_MEMORY,
    INHIBITION,
    LANES,
    LARVA_POLLEN,
    LARVAE,
    LEAK,
    NEST_LOSS,
    ORIENTING,
    OUT_TODAY,
    PASSABLE,
    POLLEN,
    POLLEN_INCOME,
    PROTEIN_RESERVE,
    RECRUIT_HUNGER,
    RECRUIT_MIN,
    SHUT_OUT,
    TRAPPED_PACE,
    WALL,
    WAX_HONEY,
    WELL_STORED,
    YOUNG,
    adults,
    brood_cells,
    compiled,
    filled_cells,
)

if TYPE_CHECKING:
    from lastbee.colony.block import Array

SUBSTEPS = 2
# No flow may take more than these shares of the house bees in one sub-step, however wild
# the draw: recruits, and deserters.
MOST_RECRUITED = 0.6
MOST_DESERTING = 0.3
# However often they fly, a few foragers or drones stay in: of a sub-step's, assumed.
MOST_OUT = 0.95
# A swarm draws comb at once until it can sit on most of it: assumed.
ROOMY = 0.8
# Comb starts when the comb at hand is filled past a threshold (Pratt 2004): none below
# half, in full from eight tenths.
FILLED_FROM, FILLED_SPAN = 0.5, 0.3
# Honey goes above, brood below (Seeley & Morse 1976): bees keep part of the comb free of
# honey. The share is assumed; with none kept, one established colony in ten stores itself
# out of brood and dies in summer, where 97 % live through it (Seeley 2017).
MOST_HONEY_IN_COMB = 0.75
# Bees try to hold this much pollen, brood or no brood (Becher et al. 2014). [g]
LEAST_POLLEN_G = 250.0
# Eggs count by this share among the larvae that pollen is gathered for; bees still find
# this much pollen where no nectar flows; half of what is carried out reaches the box; a
# day's building takes at most this share of the honey; building slows over the last fifth
# of the cavity: all assumed.
EGG_POLLEN_SHARE = 0.3
LEAST_POLLEN_OFFER = 0.3
CARRIED_TO_BOX = 0.5
MOST_HONEY_TO_WAX = 0.3
CAVITY_SLOWS = 5.0
# Laying answers to a memory of three days of how income stands against need: assumed.
MEMORY_DAYS = 3.0
_CELLS = bio.CELLS_PER_DM2
_HONEY_CELL = bio.HONEY_PER_CELL_G
_HONEY_A_POLLEN = bio.HONEY_PER_CELL_G / bio.POLLEN_PER_CELL_G
_CROP = bio.SWARM_CROP_G
_COVER_SHEET = bio.BEES_PER_DM2_SHEET
_DRONE_LOSS = bio.DRONE_LOSS_PER_DAY
_STARVE = bio.STARVE_PER_DAY


@compiled
def forage(s: Array, p: Array, trapped: bool) -> None:
    """Take in today's new house bees; recruit, lose and (behind a cone) shut out foragers.

    Explicit steps in which everything flows at once keep the fixed points of the
    published equations exactly, whatever their length. Behind a cone those who know the leak
    go and come by it; the others can only get out by what is free of the cone.
    """
    dt = 1.0 / SUBSTEPS
    for k in range(LANES):
        flight = s[FLYING + k]
        gate = min(1.0, flight)
        urge = p[RECRUIT_MIN + k] + p[RECRUIT_HUNGER + k] * (1.0 - s[WELL_STORED + k])
        urge *= p[TRAPPED_PACE + k] if trapped else 1.0
        young, house, foragers = s[YOUNG + k], s[HOUSE + k], s[FORAGERS + k]
        grown = s[ORIENTING + k]
        leak, free = p[LEAK + k], p[PASSABLE + k]
        away = p[FORAGER_LOSS + k] * flight
        away *= free + (1.0 - free) * leak if trapped else 1.0
        at_work = shut_out = died_away = died_inside = 0.0
        for _ in range(SUBSTEPS):
            bees = young + house + foragers
            held_back = p[INHIBITION + k] * foragers / bees if bees > 0.0 else urge
            rate = urge - held_back
            moved = min(rate * dt, MOST_RECRUITED) * house * (gate if rate > 0.0 else 1.0)
            lost = away * foragers * dt
            at_work += foragers * flight * dt
            out = deserting = 0.0
            if trapped:
                flown = min(MOST_OUT, p[FLY + k] * flight * dt) * (foragers - lost)
                out = flown * ((1.0 - leak) * free)
                tiny = p[DESERT + k] * p[DESERT_HALF + k] / (p[DESERT_HALF + k] + bees)
                deserting = min(tiny * gate * dt, MOST_DESERTING) * house * free
            inside = p[NEST_LOSS + k] * dt * house
            moved = max(moved, -(foragers - lost - out))
            house = max(0.0, house + grown * dt - deserting - inside - moved)
            foragers = foragers + moved - lost - out
            died_away += lost
            died_inside += inside
            shut_out += out + deserting
        s[HOUSE + k] = house
        s[FORAGERS + k] = foragers
        s[DIED_AWAY + k] += died_away
        s[DIED_INSIDE + k] += died_inside
        s[AT_WORK + k] = at_work
        s[OUT_TODAY + k] = shut_out


@compiled
def lose_drones(s: Array, p: Array, trapped: bool) -> None:
    """Lose drones to age and, behind a cone, to the outside."""
    for k in range(LANES):
        gone = s[DRONES + k] * _DRONE_LOSS
        flown = min(MOST_OUT, p[FLY + k] * s[FLYING + k]) if trapped else 0.0
        gone += (s[DRONES + k] - gone) * flown * p[PASSABLE + k]
        s[DRONES + k] -= gone
        s[DRONES_GONE + k] += gone


@compiled
def carry_out(s: Array, p: Array) -> None:
    """Put those shut out today on the wall, with the honey they carry."""
    for k in range(LANES):
        shut_out = s[OUT_TODAY + k]
        carried = min(s[HONEY + k], p[CARRY + k] * shut_out)
        s[SHUT_OUT + k] += shut_out
        s[WALL + k] += shut_out
        s[HONEY + k] -= carried
        s[HONEY_CARRIED + k] += carried
        s[BOX_HONEY + k] += CARRIED_TO_BOX * carried


@compiled
def gather_and_eat(s: Array, p: Array, sky: Array, trapped: bool) -> None:
    """Bring home nectar and pollen, eat, and starve when there is nothing left."""
    forage_share, dearth = sky[FORAGE], sky[DEARTH]
    for k in range(LANES):
        offer = forage_share * (1.0 - p[DEARTH_DEPTH + k] * dearth)
        entering = s[AT_WORK + k] * (p[LEAK + k] if trapped else 1.0)
        bees = adults(s, k)
        pollen = s[POLLEN + k]
        # Room for honey in free cells and in crops. [g]
        cells = s[COMB + k] * _CELLS
        room = (cells - brood_cells(s, k)) * _HONEY_CELL - pollen * _HONEY_A_POLLEN
        room = min(room, MOST_HONEY_IN_COMB * cells * _HONEY_CELL)
        room = max(0.0, room + _CROP * bees - s[HONEY + k])
        hungry = (s[LARVAE + k] + EGG_POLLEN_SHARE * s[EGGS + k]) * p[LARVA_POLLEN + k]
        wanted = max(0.0, max(LEAST_POLLEN_G, p[PROTEIN_RESERVE + k] * hungry) - pollen)
        found = p[POLLEN_INCOME + k] * entering * min(1.0, offer + LEAST_POLLEN_OFFER)
        s[POLLEN + k] = pollen + min(wanted, found)
        income = min(room, p[INCOME + k] * entering * offer)
        need = p[ADULT_NEED + k] * (bees + s[DRONES + k])
        need += p[BROOD_NEED + k] * (s[LARVAE + k] + s[EGGS + k])
        # What is eaten is taken from the whole, so that a bare larder holds exactly nothing.
        held = s[HONEY + k] + income
        eaten = min(need, held)
        s[HONEY + k] = held - eaten
        s[HONEY_IN + k] += income
        s[HONEY_EATEN + k] += eaten
        per_need = 1.0 / need if need > 0.0 else 0.0
        dying = _STARVE * (need - eaten) * per_need
        s[DIED_INSIDE + k] += dying * (s[HOUSE + k] + s[FORAGERS + k])
        s[HOUSE + k] -= dying * s[HOUSE + k]
        s[FORAGERS + k] -= dying * s[FORAGERS + k]
        covered = min(1.0, income * per_need) if need > 0.0 else 1.0
        s[INCOME_MEMORY + k] += (covered - s[INCOME_MEMORY + k]) * (1.0 / MEMORY_DAYS)
        s[GAIN + k] = income - eaten


@compiled
def build(s: Array, p: Array) -> None:
    """Build comb: the cluster needs room, or the comb is filling while nectar comes in."""
    for k in range(LANES):
        comb, honey = s[COMB + k], s[HONEY + k]
        left = p[CAVITY_COMB + k] - comb
        filled = filled_cells(s, k) / (comb * _CELLS) if comb > 0.0 else 1.0
        filling = min(1.0, max(0.0, (filled - FILLED_FROM) * (1.0 / FILLED_SPAN)))
        filling = filling if s[GAIN + k] > 0.0 else 0.0
        is_crowded = comb * _COVER_SHEET < ROOMY * adults(s, k)
        gate = 1.0 if is_crowded else filling
        slowed = min(1.0, CAVITY_SLOWS * left / p[CAVITY_COMB + k])
        built = gate * p[BUILD + k] * 0.001 * (s[YOUNG + k] + s[HOUSE + k]) * slowed
        built = min(built, min(left, MOST_HONEY_TO_WAX * honey / p[WAX_HONEY + k]))
        built = max(0.0, built)
        wax_honey = built * p[WAX_HONEY + k]
        s[COMB + k] = comb + built
        s[HONEY + k] = honey - wax_honey
        s[HONEY_TO_WAX + k] += wax_honey

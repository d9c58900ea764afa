"""Colonies, seeds and skies that several tests of the engine share; all drawn by seed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.constants import Column
from lastbee.colony.founding import DIMENSIONS, Box, Cavity, Deviate, Founding, draw_colonies
from lastbee.colony.layout import NO_CONE, Sky
from lastbee.colony.turns import TURNED, Gift, Turns
from lastbee.planning.climate import ClimateNormals
from lastbee.planning.sky import year_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.planning.sky import Year

# Invented normals of a temperate inland place.
NORMALS = ClimateNormals(
    high_degc=(0.0, 2.0, 7.0, 14.0, 20.0, 25.0, 27.5, 26.5, 22.0, 15.0, 8.0, 2.0),
    low_degc=(-8.0, -7.0, -3.0, 3.0, 8.5, 13.5, 16.0, 15.0, 11.0, 5.0, 0.5, -5.0),
    wet_day_share=(0.4, 0.35, 0.35, 0.3, 0.25, 0.22, 0.2, 0.2, 0.22, 0.28, 0.35, 0.4),
)
BOX = Box(4200.0, 0.0, 1.3)
# Deviates that put every colony among the new swarms, or among the established.
NEW_SWARM = -8.0
ESTABLISHED = 8.0


@dataclass(frozen=True, slots=True)
class Case:
    """What `live` wants: parameters (n, len(Column)), seeds (n,), sky, two days, and turns."""

    params: NDArray[np.float64]
    seeds: NDArray[np.uint64]
    sky: NDArray[np.float64]
    snap_day: int
    cone_day: int
    turns: Turns | None = None


def season(inspected: date, days_ahead: int = 130, latitude_deg: float = 43.0) -> Year:
    """Give the year at the invented place, up to some days past an inspection."""
    return year_at(latitude_deg, -75.0, inspected, NORMALS, days_ahead)


def mixed_case(count: int, seed: int, spread: float = 1.0, young_days: int | None = None) -> Case:
    """Draw colonies of all three hypotheses, inspected on 1 July, the cone two days later.

    `spread` widens every deviate. Youngest foraging ages run from 0 to 14 days unless
    `young_days` sets one for all.
    """
    year = season(date(2026, 7, 1))
    day = year.inspection_day
    founding = Founding(year.arrivals, year.swarm_share_so_far, Cavity(), BOX)
    rng = np.random.default_rng(seed)
    params = draw_colonies(spread * rng.standard_normal((count, DIMENSIONS)), founding).params
    ages = rng.integers(0, 15, count) if young_days is None else young_days
    params[:, Column.YOUNG_DAYS] = ages
    # Some are founded on the very day of the snapshot, some have a box that lays late.
    params[3::11, Column.START_DAY] = day
    params[1::3, Column.BOX_LAYING_DELAY] = 28.0
    return Case(params, rng.integers(0, 2**63, count, dtype=np.uint64), year.sky, day, day + 2)


def swarms(year: Year, arrived: date, count: int, seed: int, spread: float = 1.0) -> Case:
    """Draw swarms that arrived on one day on bare comb; the cone goes on at the inspection."""
    arrivals = np.zeros(year.inspection_day)
    arrivals[year.index_of(arrived)] = 1.0
    rng = np.random.default_rng(seed)
    z = spread * rng.standard_normal((count, DIMENSIONS))
    z[:, Deviate.HYPOTHESIS] = NEW_SWARM
    params = draw_colonies(z, Founding(arrivals, 1.0, Cavity(), BOX)).params
    seeds = rng.integers(0, 2**63, count, dtype=np.uint64)
    return Case(params, seeds, year.sky, year.inspection_day, year.inspection_day)


def steady_sky(days: int, flight_h: float = 10.0) -> NDArray[np.float64]:
    """Give days that are all alike: full season and forage, no wet days, no cold, no dearth."""
    sky = np.zeros((days, len(Sky)))
    sky[:, Sky.FLIGHT_H] = flight_h
    sky[:, [Sky.LAYING, Sky.FORAGE, Sky.DRONES]] = 1.0
    return sky


def settled_case(count: int, seed: int, spread: float = 0.7) -> Case:
    """Draw colonies with more comb than they can fill, left alone for 300 equal days."""
    rng = np.random.default_rng(seed)
    z = spread * rng.standard_normal((count, DIMENSIONS))
    z[:, Deviate.HYPOTHESIS] = ESTABLISHED
    params = draw_colonies(z, Founding(np.ones(60), 0.5, Cavity(), BOX)).params
    params[:, [Column.START_COMB, Column.CAVITY_COMB]] = 5000.0
    params[:, Column.START_HONEY] = 100_000.0
    seeds = rng.integers(0, 2**63, count, dtype=np.uint64)
    return Case(params, seeds, steady_sky(400), 300, 300)


# Bees, cells and grams of a large gift; shares come from 0 to 1.
GIFT_SIZES = {Gift.BOX_BEES: 5000.0, Gift.BOX_BROOD: 6000.0, Gift.BOX_HONEY: 3000.0}
TURNED_SHARES = (
    Column.LEAK,
    Column.PASSABLE,
    Column.LAY_COUPLING,
    Column.BOX_ROBBED,
    Column.BODY_PROTEIN,
)


def turns_of(
    case: Case,
    day: int,
    rates: dict[Column, float] | None = None,
    gifts: dict[Gift, float] | None = None,
) -> Turns:
    """Give every colony one turn, on one day, to some rates; the others stay as drawn."""
    n = len(case.params)
    turned = case.params[:, None, list(TURNED)].copy()
    given = np.zeros((n, 1, len(Gift)))
    for column, rate in (rates or {}).items():
        turned[:, :, TURNED.index(column)] = rate
    for gift, amount in (gifts or {}).items():
        given[:, :, gift] = amount
    return Turns(np.full((n, 1), day), turned, given)


def one_after_the_other(*turns: Turns) -> Turns:
    """Join turns of the same colonies, the earlier first."""
    return Turns(
        np.concatenate([t.days for t in turns], axis=1),
        np.concatenate([t.rates for t in turns], axis=1),
        np.concatenate([t.gifts for t in turns], axis=1),
    )


def wild_turns(case: Case, most: int, span_days: int, rng: np.random.Generator) -> Turns:
    """Draw up to `most` turns a colony from the cone on: any day, any rate, any gift.

    Some colonies have none, some two on one morning, some one on the very day of the cone.
    """
    n = len(case.params)
    days = case.cone_day + rng.integers(0, span_days + 1, (n, most))
    days[1::5, :1] = case.cone_day
    days[2::5, :] = days[2::5, :1]
    days[rng.random((n, most)) < 0.2] = NO_CONE
    rates = case.params[:, None, list(TURNED)] * np.exp(
        rng.normal(0.0, 1.0, (n, most, len(TURNED)))
    )
    rates[rng.random(rates.shape) < 0.1] = 0.0
    for column in TURNED_SHARES:
        share = np.clip(rng.normal(0.5, 0.6, (n, most)), 0.0, 1.0)
        rates[:, :, TURNED.index(column)] = share
    rates[:, :, TURNED.index(Column.BOX_LEAVE)] = rng.choice([0.0, 0.1, 3.0], (n, most))
    gifts = np.clip(rng.normal(0.3, 0.5, (n, most, len(Gift))), 0.0, 1.0)
    for gift, size in GIFT_SIZES.items():
        gifts[:, :, gift] *= size
    gifts[rng.random(gifts.shape) < 0.5] = 0.0
    return Turns(np.sort(days, axis=1), rates, gifts)

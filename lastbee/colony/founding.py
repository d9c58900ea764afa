"""How a colony came to be there: three hypotheses, and the prior over all of them.

Every uncertain number of a colony is a transform of one standard normal deviate, so a
colony is a point `z` in a space where the prior is N(0, I). That keeps the sampler free
of bounds and lets it jump between hypotheses: even "which hypothesis" is a threshold on
a deviate. `draw_colonies` maps points to kernel parameters.

Hypotheses: a swarm of this season on bare comb; a swarm of this season in comb left by
an earlier colony; a colony established before this season.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import expit, logit, ndtr

from lastbee.biology import constants as bio
from lastbee.biology.comb import comb_limit_dm2
from lastbee.biology.constants import PARAMETERS, Column

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Shares of hypotheses over a whole season, before the calendar speaks: assumed. Wild
# colonies live 5-6 years once established (Seeley 2017), so old nests are common.
ESTABLISHED_SHARE = 0.4
OLD_COMB_SHARE_OF_SWARMS = 0.25
# Swarm season in the temperate north: April to July, peak in late May; a tenth in late
# summer. Centre and spread in days of year: assumed, common practice.
SWARM_PEAK_DAY = 146.0
SWARM_SPREAD_DAYS = 27.0
LATE_SWARM_DAY = 228.0
LATE_SWARM_SPREAD_DAYS = 14.0
LATE_SWARM_SHARE = 0.1
# Swarms come earlier toward the equator: days per degree below 45, assumed.
SWARM_EARLIER_DAYS_PER_DEG = 1.5

# Medians and log spreads. Swarms: 11,800 (Fell et al. 1977) to 16,000 (Winston 1980),
# both from memory; wintered colonies and left-over comb and stores: assumed.
SWARM_BEES, SWARM_BEES_SPREAD = 12_000.0, 0.35
WINTERED_BEES, WINTERED_BEES_SPREAD = 8_000.0, 0.35
WINTERED_HONEY_G, WINTERED_HONEY_SPREAD = 10_000.0, 0.5
WINTERED_COMB_DM2, WINTERED_COMB_SPREAD = 85.0, 0.4
OLD_COMB_DM2, OLD_COMB_SPREAD = 45.0, 0.5
OLD_STORES_G, OLD_STORES_SPREAD = 800.0, 1.0
# 117 dm2 of comb sheet in the mean natural nest (Seeley & Morse 1976 via Winston 1987).
NEST_COMB_DM2, NEST_COMB_SPREAD = 117.0, 0.45
# "Up to 100 lb" of honey in an established nest (Mussen 2012, from memory) is 145 dm2 of
# comb at 25 mm; with brood and pollen beside it: assumed.
MOST_COMB_DM2, MOST_COMB_SPREAD = 190.0, 0.3
# Share of a measured cavity that combs fill: assumed.
FILL_MEDIAN, FILL_SPREAD = 0.85, 0.12
# Length of a framed bay when nobody could measure it: assumed.
BAY_LENGTH_M, BAY_LENGTH_SPREAD = 1.6, 0.4
# Three swarms in ten are led by a virgin queen, who lays after one to three weeks.
AFTERSWARM_SHARE = 0.3
# Chance that the queen leaves with the last bees; guidance of a century says she seldom
# does (Phillips 1911), the trade says more often.
QUEEN_LEAVES_SHARE = 0.35
# Youngest foragers: from 5 days (Perry et al. 2015) or 7 (Robinson 1992); top assumed.
YOUNGEST_FORAGING_AGES_DAYS = (5, 8)


class Hypothesis(IntEnum):
    """How the colony was founded."""

    NEW_SWARM = 0
    OLD_COMB = 1
    ESTABLISHED = 2


class Deviate(IntEnum):
    """Structural deviates; one for each varying `Parameter` follows them."""

    HYPOTHESIS = 0
    ARRIVAL = 1
    BEES = 2
    HONEY = 3
    COMB = 4
    CAVITY = 5
    LAYING_DELAY = 6
    YOUNG_DAYS = 7
    QUEEN = 8
    BAY_LENGTH = 9
    TRIPS = 10


_VARYING = tuple(i for i, p in enumerate(PARAMETERS) if p.kind in ("lognormal", "logit"))
DIMENSIONS = len(Deviate) + len(_VARYING)


@dataclass(frozen=True, slots=True)
class Cavity:
    """What is known of the cavity, in metres; None where nobody measured."""

    width_m: float | None = None
    depth_m: float | None = None
    length_m: float | None = None


@dataclass(frozen=True, slots=True)
class Box:
    """What stands beside the exit: bees in it, days until a queen lays, pull on bees."""

    bees: float
    laying_delay_days: float
    pull: float


@dataclass(frozen=True, slots=True)
class Founding:
    """The calendar of one site, as the prior sees it.

    `arrivals` is the relative number of swarms on each day index before the inspection,
    shape (inspection_day,); `swarm_share_so_far` the share of the season's swarms that
    have flown by then.
    """

    arrivals: NDArray[np.float64]
    swarm_share_so_far: float
    cavity: Cavity
    box: Box

    @property
    def inspection_day(self) -> int:
        """Day index of the inspection."""
        return len(self.arrivals)

    @property
    def established_probability(self) -> float:
        """Prior probability that the colony is older than this season."""
        swarms = (1.0 - ESTABLISHED_SHARE) * self.swarm_share_so_far
        return ESTABLISHED_SHARE / (ESTABLISHED_SHARE + swarms)


@dataclass(frozen=True, slots=True)
class Colonies:
    """Points of the prior turned into kernel parameters.

    `params` has shape (n, len(Column)); `hypothesis` (n,); `cavity_section_dm2` (n,) is
    the cross-section along which the nest grows; `trips` (n,) the foraging trips a
    forager makes a day.
    """

    params: NDArray[np.float64]
    hypothesis: NDArray[np.int64]
    cavity_section_dm2: NDArray[np.float64]
    cavity_depth_dm: float
    trips: NDArray[np.float64]


def swarm_density(northern_day: NDArray[np.float64], latitude_deg: float) -> NDArray[np.float64]:
    """Relative number of swarms on each day of the northern year, integrating to one."""
    shift = SWARM_EARLIER_DAYS_PER_DEG * max(0.0, 45.0 - abs(latitude_deg))
    spread = SWARM_SPREAD_DAYS + 0.5 * shift
    prime = _normal(northern_day, SWARM_PEAK_DAY - shift, spread)
    late = _normal(northern_day, LATE_SWARM_DAY, LATE_SWARM_SPREAD_DAYS)
    return (1.0 - LATE_SWARM_SHARE) * prime + LATE_SWARM_SHARE * late


def _normal(x: NDArray[np.float64], mean: float, sd: float) -> NDArray[np.float64]:
    return np.asarray(np.exp(-0.5 * ((x - mean) / sd) ** 2) / (sd * np.sqrt(2.0 * np.pi)))


def draw_colonies(z: NDArray[np.float64], founding: Founding) -> Colonies:
    """Turn standard normal deviates into colonies.

    Parameters
    ----------
    z
        Points of the prior, shape (n, DIMENSIONS).
    founding
        The calendar, cavity and box of the site.

    Returns
    -------
    The colonies, one a row of `z`.

    Raises
    ------
    ValueError
        If `z` does not have DIMENSIONS columns.
    """
    if z.ndim != 2 or z.shape[1] != DIMENSIONS:
        raise ValueError(f"z must have shape (n, {DIMENSIONS}), got {z.shape}")
    params = np.zeros((z.shape[0], len(Column)))
    for j, i in enumerate(_VARYING):
        parameter = PARAMETERS[i]
        deviate = parameter.spread * z[:, len(Deviate) + j]
        if parameter.kind == "lognormal":
            params[:, i] = parameter.median * np.exp(deviate)
        else:
            params[:, i] = expit(logit(parameter.median) + deviate)
    uniform = {d: ndtr(z[:, d]) for d in _UNIFORM}
    hypothesis, start = _arrival(uniform[Deviate.HYPOTHESIS], uniform[Deviate.ARRIVAL], founding)
    params[:, Column.START_DAY] = start
    section, depth_dm = _cavity(params, z, founding.cavity)
    _furnish(params, z, hypothesis, uniform[Deviate.LAYING_DELAY])
    low, high = YOUNGEST_FORAGING_AGES_DAYS
    ages = low + np.floor((high - low + 1) * uniform[Deviate.YOUNG_DAYS])
    params[:, Column.YOUNG_DAYS] = np.minimum(ages, high)
    params[:, Column.QUEEN_LEAVES] = uniform[Deviate.QUEEN] < QUEEN_LEAVES_SHARE
    params[:, Column.BOX_BEES] = founding.box.bees
    params[:, Column.BOX_LAYING_DELAY] = founding.box.laying_delay_days
    params[:, Column.JOIN] *= founding.box.pull
    # A trap-out begins without trouble: the cone is free, nobody leaves or robs the box.
    params[:, Column.PASSABLE] = 1.0
    params[:, [Column.BOX_LEAVE, Column.BOX_ROBBED]] = 0.0
    # 3.5 trips a day (Perry et al. 2015) to 10 (Winston 1987): the widest doubt in counts.
    trips = 6.0 * np.exp(0.35 * z[:, Deviate.TRIPS])
    return Colonies(params, hypothesis, section, depth_dm, trips)


_UNIFORM = (
    Deviate.HYPOTHESIS, Deviate.ARRIVAL, Deviate.LAYING_DELAY, Deviate.YOUNG_DAYS, Deviate.QUEEN,
)  # fmt: skip


def _arrival(
    u_hypothesis: NDArray[np.float64], u_arrival: NDArray[np.float64], founding: Founding
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Hypothesis and start day of each colony; established ones start with the season."""
    established = founding.established_probability
    new = (1.0 - established) * (1.0 - OLD_COMB_SHARE_OF_SWARMS)
    hypothesis = (u_hypothesis > new).astype(np.int64) + (u_hypothesis > 1.0 - established)
    cumulative = np.cumsum(founding.arrivals)
    start = np.searchsorted(cumulative, u_arrival * cumulative[-1], side="left")
    start = np.minimum(start, founding.inspection_day - 1)
    return hypothesis, np.where(hypothesis == Hypothesis.ESTABLISHED, 0, start)


def _cavity(
    params: NDArray[np.float64], z: NDArray[np.float64], cavity: Cavity
) -> tuple[NDArray[np.float64], float]:
    """Fill in how much comb the cavity holds; return its cross-section and its depth."""
    depth_dm = 10.0 * cavity.depth_m if cavity.depth_m is not None else 1.5
    n = z.shape[0]
    if cavity.width_m is None or cavity.depth_m is None:
        limit = NEST_COMB_DM2 * np.exp(NEST_COMB_SPREAD * z[:, Deviate.CAVITY])
        # A mean natural nest is 156 cm tall on 42 L (Seeley & Morse 1976): 2.7 dm2 across.
        section = np.full(n, 2.7)
    else:
        section = np.full(n, 100.0 * cavity.width_m * cavity.depth_m)
        if cavity.length_m is None:
            length_m = BAY_LENGTH_M * np.exp(BAY_LENGTH_SPREAD * z[:, Deviate.BAY_LENGTH])
        else:
            length_m = np.full(n, cavity.length_m)
        fill = np.minimum(1.0, FILL_MEDIAN * np.exp(FILL_SPREAD * z[:, Deviate.CAVITY]))
        limit = comb_limit_dm2(section * 10.0 * length_m) * fill
        # However large the cavity, nests seldom grow past a size.
        limit = np.minimum(limit, MOST_COMB_DM2 * np.exp(MOST_COMB_SPREAD * z[:, Deviate.CAVITY]))
    params[:, Column.CAVITY_COMB] = np.maximum(limit, 2.0)
    return section, depth_dm


def _furnish(
    params: NDArray[np.float64],
    z: NDArray[np.float64],
    hypothesis: NDArray[np.int64],
    u_delay: NDArray[np.float64],
) -> None:
    """Set bees, stores, comb and the queen's start by hypothesis, in place."""
    is_swarm = hypothesis != Hypothesis.ESTABLISHED
    is_old = hypothesis == Hypothesis.OLD_COMB
    bees = np.where(
        is_swarm,
        SWARM_BEES * np.exp(SWARM_BEES_SPREAD * z[:, Deviate.BEES]),
        WINTERED_BEES * np.exp(WINTERED_BEES_SPREAD * z[:, Deviate.BEES]),
    )
    limit = params[:, Column.CAVITY_COMB]
    comb = np.where(
        is_swarm,
        np.where(is_old, OLD_COMB_DM2 * np.exp(OLD_COMB_SPREAD * z[:, Deviate.COMB]), 0.0),
        WINTERED_COMB_DM2 * np.exp(WINTERED_COMB_SPREAD * z[:, Deviate.COMB]),
    )
    comb = np.minimum(comb, 0.95 * limit)
    crops = bio.SWARM_CROP_G * bees * np.exp(0.2 * z[:, Deviate.HONEY])
    stores = np.where(
        is_swarm,
        np.where(is_old, OLD_STORES_G * np.exp(OLD_STORES_SPREAD * z[:, Deviate.HONEY]), 0.0),
        WINTERED_HONEY_G * np.exp(WINTERED_HONEY_SPREAD * z[:, Deviate.HONEY]),
    )
    # Stores fit in two thirds of the comb there is; the rest is brood nest and pollen.
    stores = np.minimum(stores, 0.67 * comb * bio.CELLS_PER_DM2 * bio.HONEY_PER_CELL_G)
    late = (u_delay - (1.0 - AFTERSWARM_SHARE)) / AFTERSWARM_SHARE
    delay = np.where(late > 0.0, 7.0 + 14.0 * late, 1.0 + 3.0 * u_delay)
    params[:, Column.START_BEES] = bees
    params[:, Column.START_COMB] = comb
    params[:, Column.START_HONEY] = stores + np.where(is_swarm, crops, 0.0)
    params[:, Column.START_POLLEN] = np.where(is_swarm, 100.0, 1000.0)
    params[:, Column.LAYING_DELAY] = np.where(is_swarm, delay, 0.0)

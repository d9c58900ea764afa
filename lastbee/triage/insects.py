"""What a call about "bees" may be about, and how often in which season.

The prior is the share of calls that each insect makes in a month, as an office that is
known for taking bees out of buildings may have them. Shapes follow published seasons;
levels are a guess, so that a firm that logs its calls has something better soon.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lastbee.triage.sources import (
    ARKANSAS,
    FELL,
    GILLEY,
    IOWA_BUMBLE,
    MARYLAND,
    NC_STATE,
    PRACTICE,
    TREE_BUMBLE,
    UC_WASPS,
    UMN_CONFUSED,
    both,
)

InsectKey = Literal[
    "honey-bee-nest", "swarm", "bumblebees", "solitary-bees", "wasps", "something-else"
]

MONTHS = 12
# Degrees of latitude up to which the year is taken to have no seasons, and from which it has
# them in full: assumed.
_NO_SEASONS_DEG = 10.0
_FULL_SEASONS_DEG = 35.0


@dataclass(frozen=True, slots=True)
class Insect:
    """One thing that a call may be about.

    Attributes
    ----------
    key
        Short stable name.
    name
        Name for a person, with its article where it has one.
    calls
        Calls about it in each month, January first, north of the tropics; only the ratios
        between insects within a month count.
    source
        Where the course of the year comes from.
    """

    key: InsectKey
    name: str
    calls: tuple[float, ...]
    source: str


INSECTS: tuple[Insect, ...] = (
    Insect(
        "honey-bee-nest",
        "a honey bee nest",
        (55, 55, 50, 38, 32, 32, 32, 28, 27, 35, 46, 52),
        both("nests live through winter", PRACTICE),
    ),
    Insect(
        "swarm",
        "a swarm of honey bees",
        (0.5, 1, 5, 18, 28, 20, 11, 6, 4, 2, 1, 0.5),
        both(GILLEY, FELL),
    ),
    Insect(
        "bumblebees",
        "bumblebees",
        (1, 2, 5, 8, 12, 16, 15, 9, 5, 3, 1, 1),
        both(IOWA_BUMBLE, TREE_BUMBLE),
    ),
    Insect(
        "solitary-bees",
        "solitary or carpenter bees",
        (2, 4, 15, 24, 18, 10, 6, 4, 3, 2, 2, 2),
        both(NC_STATE, MARYLAND, ARKANSAS),
    ),
    Insect(
        "wasps",
        "wasps or hornets",
        (8, 7, 6, 5, 5, 13, 27, 45, 54, 46, 25, 12),
        both(UC_WASPS, UMN_CONFUSED),
    ),
    Insect(
        "something-else",
        "something else",
        (20, 18, 14, 7, 5, 8, 8, 8, 7, 9, 14, 18),
        PRACTICE,
    ),
)

INSECT_KEYS: tuple[InsectKey, ...] = tuple(insect.key for insect in INSECTS)


def name_of(key: InsectKey) -> str:
    """Name of an insect for a person."""
    return INSECTS[INSECT_KEYS.index(key)].name


def prior_shares(month: int, latitude_deg: float | None) -> dict[InsectKey, float]:
    """Shares of calls in a month, before anything is asked.

    Parameters
    ----------
    month
        1 to 12.
    latitude_deg
        Where the building stands, north positive; None where not known. [deg]

    Returns
    -------
    One share for each insect, summing to 1. South of the equator the year is turned by six
    months; towards it, and where the place is not known, the year's mean takes its place.

    Raises
    ------
    ValueError
        If the month is not 1 to 12.
    """
    if not 1 <= month <= MONTHS:
        raise ValueError(f"month is {month!r}; it must be 1 to 12")
    seasons = _seasons(latitude_deg)
    here = season_month(month, latitude_deg)
    monthly = [_shares_in(each) for each in range(1, MONTHS + 1)]
    return {
        key: seasons * monthly[here - 1][at]
        + (1.0 - seasons) * sum(shares[at] for shares in monthly) / MONTHS
        for at, key in enumerate(INSECT_KEYS)
    }


def season_month(month: int, latitude_deg: float | None) -> int:
    """The month of the same season north of the equator."""
    south = latitude_deg is not None and latitude_deg < 0.0
    return (month + 5) % MONTHS + 1 if south else month


def _seasons(latitude_deg: float | None) -> float:
    """How far the year has seasons, 0 to 1."""
    if latitude_deg is None:
        return 0.0
    beyond = (abs(latitude_deg) - _NO_SEASONS_DEG) / (_FULL_SEASONS_DEG - _NO_SEASONS_DEG)
    return min(1.0, max(0.0, beyond))


def _shares_in(month: int) -> tuple[float, ...]:
    calls = [insect.calls[month - 1] for insect in INSECTS]
    return tuple(call / sum(calls) for call in calls)

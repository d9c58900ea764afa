"""What stays in the wall, and what it will do there, by season and by wall.

Where no source is named, times are common practice, no source. Wax: plastic at 32 to 35 degC
(trade encyclopaedias), melting at 62 to 64 degC. Honey above 60 % humidity takes up water
(White 1975), and ferments from about 17 % of it (Lochhead, in USDA Agriculture Handbook 335).
Unattended brood and honey: University of California pest note on bees in walls (Mussen 2012).
Small hive beetle: USDA-ARS, 23 to 39 days from egg to adult.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.season import northern_day
from lastbee.colony.founding import swarm_density
from lastbee.colony.layout import Sky
from lastbee.methods.circumstances import STRUCTURAL_COVERINGS
from lastbee.methods.closeout import SMELLING_G
from lastbee.words import Unit, mass_unit, number, short_day_words

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.methods.circumstances import Circumstances
    from lastbee.words import UnitSystem

# Where the month after emptiness is warmer than this on the cold scale, comb will sag.
HOT_COLD_INDEX = 0.65
HOT_DAYS = 30
# Less honey than this does no harm worth a sentence: assumed.
NOTABLE_HONEY_KG = 0.5
# Swarms are about while they come at this share of their best days or more: assumed.
SWARMS_ABOUT = 0.2


def is_hot(days: NDArray[np.float64]) -> bool:
    """Whether comb will sag within a month of the first of these days, shape (days, len(Sky))."""
    return bool((days[:HOT_DAYS, Sky.COLD] < HOT_COLD_INDEX).any())


def next_swarms(on: date, latitude_deg: float) -> date:
    """First day from `on` on which swarms look for a home."""
    days = [on + timedelta(days=i) for i in range(366)]
    of_year = np.array([day.timetuple().tm_yday for day in days], dtype=np.float64)
    northern = of_year if latitude_deg >= 0.0 else northern_day(of_year)
    swarms = swarm_density(northern, latitude_deg)
    return days[int(np.argmax(swarms >= SWARMS_ABOUT * swarms.max()))]


def consequences(
    honey_high_kg: float, c: Circumstances, system: UnitSystem, *, comb_stays: bool, hot: bool
) -> tuple[str, ...]:
    """What stays behind and what it will do, by season and by wall.

    `honey_high_kg` is the upper end of the honey left; `comb_stays` whether the comb does
    too; `hot` whether warm weather lies ahead.
    """
    found = _honey(honey_high_kg, c)
    if not comb_stays:
        fill = "wash, dry and fill the cavity" if c.cavity != "chimney" else "have the flue swept"
        return (*found, f"What little is missed draws ants, moths and scouts: {fill}.")
    return (
        *found,
        _sagging(system, hot=hot),
        "Dead brood smells for days to weeks; moths, beetles and mice follow the comb, and it "
        "draws the next swarm: the exit must stay closed for good.",
    )


def closed_over(
    honey_high_kg: float,
    dead_brood_high_g: float,
    c: Circumstances,
    system: UnitSystem,
    *,
    hot: bool,
    swarms_from: date,
) -> tuple[str, ...]:
    """What comb does that a wall is closed over, in this season and in this wall.

    `honey_high_kg` and `dead_brood_high_g` are the upper ends of what stays, `hot` says
    whether warm weather lies ahead, `swarms_from` is the next day on which swarms look for a
    home.
    """
    honey = _honey(honey_high_kg, c)
    return (
        *honey,
        *((_in_this_wall(c),) if honey else ()),
        _sagging(system, hot=hot),
        *_smell(dead_brood_high_g, system),
        _followers(hot=hot),
        f"Swarms look for a home from about {short_day_words(swarms_from)} on, and old comb calls "
        "them: a hole of 3/16 in (5 mm) is enough for them to move in again.",
    )


def _honey(honey_high_kg: float, c: Circumstances) -> tuple[str, ...]:
    """What honey does, where there may be enough of it."""
    if honey_high_kg <= NOTABLE_HONEY_KG:
        return ()
    where = "the inner face" if c.is_finished_inside else "the open cavity"
    return (
        "Honey takes up water, ferments and runs down to the first ledge: stains and smell at "
        f"{where} within weeks to months.",
    )


def _smell(dead_brood_high_g: float, system: UnitSystem) -> tuple[str, ...]:
    """What dead brood does, where there may be enough of it."""
    if dead_brood_high_g <= SMELLING_G:
        return ()
    unit = mass_unit(system) if system == "us" else Unit("g", 0.001, 10.0)
    amount = number(dead_brood_high_g / 1000.0 / unit.size, unit.smallest)
    return (f"Up to {amount} {unit.sign} of dead brood rots: a smell within days, for weeks.",)


def _sagging(system: UnitSystem, *, hot: bool) -> str:
    """What heat does to comb."""
    if not hot:
        return "Cold keeps comb and honey firm until the first hot days of next year; then it sags."
    soft, gives, melts = ("95 °F", "105 °F", "144 to 147 °F") if system == "us" else (
        "35 °C", "40 °C", "62 to 64 °C",
    )  # fmt: skip
    return (
        "With no bees to fan it, comb sags in the first hot spell: wax softens from about "
        f"{soft}, gives way from about {gives} and melts at {melts}; walls and roofs in the sun "
        "get hot enough."
    )


def _in_this_wall(c: Circumstances) -> str:
    """Where honey goes in a wall of this kind."""
    if c.cavity == "chimney":
        return (
            "In a chimney it runs down the flue to the hearth, and its smell comes into the room."
        )
    if c.covering in STRUCTURAL_COVERINGS:
        return (
            f"Behind {c.covering} it runs to the foot of the cavity or out at the weep holes: "
            "nothing is seen for long, and nothing is reached without taking the wall down."
        )
    if c.inside_finish in ("plasterboard", "plaster"):
        return (
            f"It comes through {c.inside_finish} as a stain that bleeds through paint; soaked "
            "board or plaster is cut out, not painted over."
        )
    if c.inside_finish == "open":
        return "It drips where it can be seen and wiped up: look after the first hot days."
    return "It soaks into boards, which stay sticky and may rot."


def _followers(*, hot: bool) -> str:
    """Who follows the comb, and when."""
    if hot:
        return (
            "In warm weather wax moths ruin unguarded brood comb within two to four weeks; where "
            "small hive beetles live, their larvae make honey run within about five weeks; ants "
            "come at once."
        )
    return "Mice look for such places in autumn; moths, beetles and ants follow with the warmth."

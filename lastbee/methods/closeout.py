"""What to do with what is left once it is empty: rob out, open and clean, or close as it is.

Like `lastbee.methods.compare`: each way has an outcome, refusals, cautions and a loss, and
the open way with the smallest expected loss is recommended. Nobody lives inside any more, so
that only work, weeks, opening and what stays count. Beyond `lastbee.methods.loss`,

    loss += SMELL [more than SMELLING_G of dead brood stays behind a finished surface]

Every way ends with the same closing, whose work is left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.comb import BEES_PER_DEEP_FRAME
from lastbee.biology.constants import (
    PARAMETERS,
    REFERENCE_FLIGHT_H,
    WET_DAY_FLIGHT_SHARE,
    Column,
)
from lastbee.colony.layout import Daily, Sky
from lastbee.colony.robout import rob_out
from lastbee.methods import cautions, rules
from lastbee.methods.compare import Way, with_best
from lastbee.methods.findings import kilos_words, limit_words
from lastbee.methods.loss import loss
from lastbee.methods.outcomes import OPENING_HONEY_MISSED, QUIET_OPENING_H, Outcome
from lastbee.methods.rules import LEAST_FLIGHT_H, TOO_LIKELY, Refusal
from lastbee.words import days_words

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.forecast.trapout import TrapOut
    from lastbee.methods.circumstances import Circumstances, YesNo
    from lastbee.methods.loss import Weights
    from lastbee.words import UnitSystem

    Array = NDArray[np.float64]

# Robbing out takes a week or longer (University of Delaware extension guidance), and is
# given up after two. A dearth is waited for no longer than three weeks: assumed.
LEAST_ROB_DAYS, ROB_DAYS, LONGEST_WAIT_DAYS = 7, 14, 21
# Bees turn to robbing where no more than this share of the best forage is in flower: assumed.
DEARTH_FORAGE = 0.6
# A colony strong enough to rob and to hold its own box; "strong" is all that guidance says
# (University of Delaware extension), the number is common practice, no source.
STRONG_FRAMES = 5.0
# Opening the exit, looking after two days and at the end: common practice, no source.
ROB_VISITS = 3.0
# Coming back for a smell; a thousand dead cells behind a finished surface make one: assumed.
SMELL, SMELLING_G = 4.0, 140.0
ROB_OUT, OPEN, CLOSE = "rob out", "open and clean", "close as it is"


@dataclass(frozen=True, slots=True)
class Left:
    """An empty cavity and the box beside it, of n trap-outs; every array has shape (n,).

    `is_robbed` is 1 where others rob the box; `box_is_sick` what is known of its brood.
    """

    honey_g: Array
    comb_dm2: Array
    dead_brood_g: Array
    box_bees: Array
    is_robbed: Array
    box_is_sick: YesNo = "unknown"


def left_by(trap: TrapOut, day: int, is_robbed: Array, box_is_sick: YesNo = "unknown") -> Left:
    """What a trap-out leaves, with the box as it stands `day` days after the cone."""
    return Left(
        trap.honey_left_g, trap.comb_left_dm2, trap.dead_brood_g,
        trap.records[:, day, Daily.BOX].astype(np.float64), is_robbed, box_is_sick,
    )  # fmt: skip


def forage_on_offer(days: Array) -> Array:
    """Share of the best forage of the year that a typical place offers, shape (days,)."""
    dearth = PARAMETERS[Column.DEARTH].median * days[:, Sky.DEARTH]
    return np.asarray(days[:, Sky.FORAGE] * (1.0 - dearth))


def honey_after_robbing(honey_g: Array, box_bees: Array, days: Array) -> Array:
    """Honey left after robbing over the drivers of some days (days, len(Sky)), shape (n,)."""
    flown = 1.0 - days[:, Sky.WET] * (1.0 - WET_DAY_FLIGHT_SHARE)
    flight = days[:, Sky.FLIGHT_H] / REFERENCE_FLIGHT_H * flown
    return rob_out(honey_g, box_bees, flight, forage_on_offer(days))[:, -1]


def dearth_from(days: Array) -> int | None:
    """Days until a dearth that lasts, in flying weather; None if it is too far off.

    Parameters
    ----------
    days
        Daily drivers from the day on which the cavity is empty, shape (days, len(Sky)).
    """
    fit = (forage_on_offer(days) <= DEARTH_FORAGE) & (days[:, Sky.FLIGHT_H] >= LEAST_FLIGHT_H)
    for first in range(min(LONGEST_WAIT_DAYS + 1, len(days) - LEAST_ROB_DAYS + 1)):
        if fit[first : first + LEAST_ROB_DAYS].all():
            return first
    return None


def close_outs(
    left: Left, days: Array, c: Circumstances, weights: Weights, system: UnitSystem
) -> tuple[Way, ...]:
    """Compare what can be done with what is left.

    Parameters
    ----------
    left
        What is left, of n trap-outs.
    days
        Daily drivers from the day on which the cavity is empty, shape (days, len(Sky)).
    c
        Circumstances as of that day.
    weights
        The firm's weights.
    system
        Units of the words.

    Returns
    -------
    The three ways in a fixed order; exactly one is recommended unless all are refused.
    """
    ways = [
        _rob_out(left, days, c, weights, system),
        _open(left, c, weights),
        _close(left, c, weights, system),
    ]
    return with_best(ways)


def bars_to_robbing(c: Circumstances) -> tuple[Refusal, ...]:
    """What bars letting other bees at comb and honey, whatever the box and the season."""
    found = []
    if c.exposing_comb == "barred":
        found.append(
            Refusal("The law here bars exposing comb to other bees.", "A law that allows it.")
        )
    if c.is_treated:
        found.append(
            Refusal(
                "The nest was sprayed, and treated honey must not reach bees.",
                "Proof of what was sprayed, and that it does no harm to bees.",
            )
        )
    return tuple(found)


def _rob_out(
    left: Left, days: Array, c: Circumstances, weights: Weights, system: UnitSystem
) -> Way:
    """Open the exit wide beside the box, and let its bees carry the honey home."""
    wait = dearth_from(days)
    honey_g = left.honey_g
    if wait is not None:
        honey_g = honey_after_robbing(honey_g, left.box_bees, days[wait : wait + ROB_DAYS])
    refusals = (
        *bars_to_robbing(c), *_ask_first(c), *_dearth(wait), *_box(left), *_flue(c),
        *_much_honey(honey_g, c, weights, system),
    )  # fmt: skip
    soon = "" if not wait else f", from the dearth on that begins in about {days_words(wait)}"
    weeks = ((wait or 0) + ROB_DAYS) / 7.0
    healthy = "Only with a box whose brood was looked over and is healthy." * (
        left.box_is_sick == "unknown"
    )
    return _way(
        ROB_OUT, "Rob out, then close",
        "With the exit opened wide, the box carries the honey home for a week or longer, until "
        f"traffic stops{soon}; brood, wax and pollen stay.",
        _outcome(honey_g, weeks, ROB_VISITS, ROB_VISITS, 0.0),
        refusals,
        (cautions.robbing(), healthy, cautions.stings(c), cautions.height(c, brief=True)),
        left, c, weights,
    )  # fmt: skip


def _open(left: Left, c: Circumstances, weights: Weights) -> Way:
    """Open the cavity, now that it is quiet."""
    work = 1.0 + 2.0 * QUIET_OPENING_H
    return _way(
        OPEN, "Open and clean, then close",
        "Comb, honey and dead brood come out, and the cavity is scraped, washed and dried.",
        _outcome(OPENING_HONEY_MISSED * left.honey_g, 0.4, 1.0, work, 1.0),
        rules.refuse_opening_empty(c),
        (
            cautions.opening(c), cautions.dust(), cautions.overhead(c),
            cautions.height(c, brief=True, both_hands=True), cautions.heat(), cautions.treated(c),
            cautions.stings(c, brief=True),
        ),
        left, c, weights,
    )  # fmt: skip


def _close(left: Left, c: Circumstances, weights: Weights, system: UnitSystem) -> Way:
    """Close the wall over what is left."""
    return _way(
        CLOSE, "Close as it is",
        "All stays where it is, behind a wall that is closed for good.",
        _outcome(left.honey_g, 0.0, 0.0, 0.0, 0.0),
        (*_flue(c), *_much_honey(left.honey_g, c, weights, system)),
        (
            cautions.stings(c, brief=True), cautions.height(c, brief=True), cautions.scraping(c),
            cautions.vents(),
        ),
        left, c, weights,
    )  # fmt: skip


def _outcome(honey_g: Array, weeks: float, visits: float, work: float, opening: float) -> Outcome:
    ones = np.ones(len(honey_g))
    return Outcome(
        ones, honey_g / 1000.0, 0.0 * ones, weeks * ones, visits * ones, work * ones, opening
    )


def _way(
    key: str,
    label: str,
    note: str,
    outcome: Outcome,
    refusals: tuple[Refusal, ...],
    said: tuple[str, ...],
    left: Left,
    c: Circumstances,
    weights: Weights,
) -> Way:
    """Weigh a way: what it costs, what it leaves, and the smell of dead brood that stays."""
    opens = outcome.opening > 0.0
    must_ask = opens and "yes" not in (c.may_open_outside, c.may_open_inside)
    trouble = loss(outcome, weights, limit_times=c.limit_times, must_ask=must_ask)
    if c.is_finished_inside and not opens:
        trouble = trouble + SMELL * (left.dead_brood_g > SMELLING_G)
    return Way(
        key, label, note, outcome, refusals, tuple(s for s in said if s), trouble,
        "refused" if refusals else "possible",
    )  # fmt: skip


def _ask_first(c: Circumstances) -> tuple[Refusal, ...]:
    if c.exposing_comb != "unknown":
        return ()
    return (
        Refusal(
            "Nobody has asked yet whether the law here lets other bees at comb and honey.",
            "An answer from the apiary inspector, or whoever answers for bee health here, that "
            "it does.",
        ),
    )


def _dearth(wait: int | None) -> tuple[Refusal, ...]:
    if wait is not None:
        return ()
    return (
        Refusal(
            f"No dearth in flying weather begins within {LONGEST_WAIT_DAYS} days: while flowers "
            "yield, bees leave old honey alone.",
            "A dearth, seen by bees that nose about other hives and boxes.",
        ),
    )


def _box(left: Left) -> tuple[Refusal, ...]:
    """Refuse to rob out with a weak box, a robbed one or a sick one."""
    found = []
    weak = float((left.box_bees < STRONG_FRAMES * BEES_PER_DEEP_FRAME).mean())
    if weak >= 0.5:
        found.append(
            Refusal(
                f"The box is too weak to rob: most likely under {STRONG_FRAMES:g} frames of bees.",
                f"{STRONG_FRAMES:g} frames of bees or more in the box.",
            )
        )
    if float(left.is_robbed.mean()) >= TOO_LIKELY:
        found.append(
            Refusal(
                "The box is being robbed itself, most likely.",
                "A box that has held its own for a week behind a narrowed entrance.",
            )
        )
    if left.box_is_sick == "yes":
        found.append(
            Refusal(
                "The brood in the box is sick: robbing carries foulbrood from hive to hive.",
                "A bee inspector's word that it is not foulbrood.",
            )
        )
    return tuple(found)


def _flue(c: Circumstances) -> tuple[Refusal, ...]:
    """Refuse to leave comb in a flue: common practice, no source."""
    if c.cavity != "chimney":
        return ()
    return (
        Refusal(
            "Comb left in a flue can block its draught and burn, and a flue that may serve a fire "
            "is never closed.",
            "A chimney sweep's word that the flue is out of use for good.",
        ),
    )


def _much_honey(
    honey_g: Array, c: Circumstances, weights: Weights, system: UnitSystem
) -> tuple[Refusal, ...]:
    """Refuse to leave more honey than the firm's limit."""
    kilos, limit_kg = honey_g / 1000.0, weights.honey_limit_kg * c.limit_times
    return rules.refuse_much_honey(
        c, float((kilos > limit_kg).mean()), kilos_words(kilos, system),
        limit_words(limit_kg, system), is_empty=True,
    )  # fmt: skip

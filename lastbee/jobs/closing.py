"""Whether it is empty, what to do with what is left, and the list for closing, in words."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from lastbee.forecast.clearance import (
    APART_DAYS,
    CHECKS,
    CONE_MINUTES,
    LISTEN,
    LOOK_INSIDE,
    WALL_MINUTES,
    WATCH,
    WATCH_TWICE,
)
from lastbee.jobs.progress import Clearance, ClearanceCheck, CloseOutRow
from lastbee.jobs.quantities import quantity
from lastbee.jobs.reasons import LOOKS
from lastbee.jobs.remains import closed_over, consequences, is_hot, next_swarms
from lastbee.jobs.steps import MOVE_AWAY, REACH
from lastbee.methods import cautions
from lastbee.methods.closeout import OPEN, ROB_OUT
from lastbee.methods.outcomes import SWARM_COMB_DM2
from lastbee.words import chance_words, day_words, mass_unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.forecast.clearance import Check, CheckAhead, Outlook
    from lastbee.methods.circumstances import Circumstances
    from lastbee.methods.closeout import Left
    from lastbee.methods.compare import Way
    from lastbee.words import UnitSystem

# A second colony at the wall is named from this probability on: assumed.
NAMED_SECOND_COLONY = 0.1
# Hollows that must stay open, and what is done instead of filling them.
_FILLED = {
    "chimney": "A sweep cleans the flue; it is never filled",
    "soffit": "Shut it off with mesh, for it must stay aired",
    "roof void": "Shut the place off with mesh, for the roof must stay aired",
}
# Mesh that holds bees: 1/8 in is the pitch, the clear hole is smaller (common practice).
MESH = "mesh of 1/8 in (3 mm) or finer"

LABELS = {
    WATCH.key: f"Watch the cone for {CONE_MINUTES:g} minutes and the wall round it for "
    f"{WALL_MINUTES:g}, on a good flying day: no bee out, nobody going in elsewhere",
    LISTEN.key: f"Watch the cone for {CONE_MINUTES:g} minutes and the wall for "
    f"{WALL_MINUTES:g}, then put an ear and a hand to the wall: no bee, no hum, no warmth",
    LOOK_INSIDE.key: "Look inside through a small hole or with an inspection camera: no living "
    "bees",
    WATCH_TWICE.key: f"Watch on two good flying days, {APART_DAYS} days apart (the date is "
    "that of the second): nothing on either",
}


def checks_here(c: Circumstances) -> tuple[Check, ...]:
    """Checks that may be made here: nothing is drilled where opening is not allowed."""
    may_drill = "yes" in (c.may_open_outside, c.may_open_inside)
    return tuple(check for check in CHECKS if may_drill or not check.looks_inside)


def clearance(
    outlook: Outlook,
    probability: float,
    confidence: float,
    first: date,
    c: Circumstances,
    second_colony: float,
    *,
    was_looked_for: bool,
) -> Clearance:
    """Put into words whether the cavity may be called empty, and how to make sure.

    Parameters
    ----------
    outlook
        Emptiness ahead, and what each check can do.
    probability, confidence
        Probability of being empty as of the last visit, and the one that is asked for.
    first
        Date of day index 0.
    c
        Circumstances.
    second_colony
        Probability that another colony flies at the same wall.
    was_looked_for
        Whether the last visit looked for bees and found none: no wall is closed on a model
        alone.

    Returns
    -------
    The record.
    """
    checks = tuple(_check(ahead, first, c) for ahead in outlook.checks)
    is_clear = probability >= confidence and was_looked_for
    last = first + timedelta(days=outlook.days[-1])
    words = _clearance_words(probability, checks, last, is_clear=is_clear)
    if second_colony >= NAMED_SECOND_COLONY:
        words += " Bees of a second colony may fly at this wall: close nothing that they use."
    return Clearance(probability, confidence, is_clear, words, checks)


def _check(ahead: CheckAhead, first: date, c: Circumstances) -> ClearanceCheck:
    key = ahead.check.key
    return ClearanceCheck(
        key=key,
        label=LABELS[key],
        on=None if ahead.day is None else first + timedelta(days=ahead.day),
        chance=ahead.chance,
        confidence_then=ahead.confidence,
        caution=_check_caution(ahead.check, c),
    )


def _check_caution(check: Check, c: Circumstances) -> str:
    if check.looks_inside:
        return cautions.joined(LOOKS["hole"][1], cautions.height(c, brief=True))
    at_the_wall = cautions.height(c, brief=True) if check.listens else ""
    return cautions.joined(LOOKS["count"][1], at_the_wall)


def _clearance_words(
    probability: float, checks: tuple[ClearanceCheck, ...], last: date, *, is_clear: bool
) -> str:
    chance = chance_words(probability)
    if is_clear:
        return f"The chance that it is empty is {chance}: enough to close."
    said = f"The chance that it is empty is {chance}: not enough to close without a check."
    fastest = checks[0] if checks else None
    if fastest is None or fastest.on is None:
        return f"{said} No check can make sure by {day_words(last)}."
    return (
        f"{said} The fastest way to be sure, on {day_words(fastest.on)}: "
        f"{fastest.label[0].lower()}{fastest.label[1:]}. The chance to find nothing then is "
        f"{chance_words(fastest.chance)}."
    )


def close_out_rows(
    ways: tuple[Way, ...],
    left: Left,
    days: NDArray[np.float64],
    on: date,
    latitude_deg: float,
    c: Circumstances,
    system: UnitSystem,
) -> tuple[CloseOutRow, ...]:
    """Rows for a person, the recommended way first.

    Parameters
    ----------
    ways
        What can be done with what is left (`close_outs`).
    left
        What is left.
    days
        Daily drivers from `on` on, shape (days, len(Sky)).
    on
        The day on which the cavity is empty.
    latitude_deg
        Latitude of the site, north positive. [deg]
    c
        Circumstances.
    system
        Units of the words.

    Returns
    -------
    The rows.
    """
    order = ("recommended", "possible", "refused")
    ordered = sorted(ways, key=lambda way: (order.index(way.status), way.expected_loss))
    dead_g = float(np.quantile(left.dead_brood_g, 0.95))
    has_comb = float(np.median(left.comb_dm2)) > SWARM_COMB_DM2
    hot, swarms_from = is_hot(days), next_swarms(on, latitude_deg)

    def effects(way: Way) -> tuple[str, ...]:
        high_kg = float(np.quantile(way.outcome.honey_left_kg, 0.95))
        if way.key == OPEN or not has_comb:
            return consequences(high_kg, c, system, comb_stays=False, hot=hot)
        return closed_over(high_kg, dead_g, c, system, hot=hot, swarms_from=swarms_from)

    return tuple(
        CloseOutRow(
            key=way.key,
            label=way.label,
            status=way.status,
            honey_left=quantity(
                "honey_left", "Honey left", way.outcome.honey_left_kg, mass_unit(system)
            ),
            consequences=(way.note, *effects(way)),
            risks=way.cautions,
            forbidden_by=tuple(r.reason for r in way.refusals),
            would_change=tuple(r.would_change for r in way.refusals),
        )
        for way in ordered
    )


def closing_list(c: Circumstances, way: str | None) -> tuple[str, ...]:
    """What must be done before leaving for good, in order, each with its caution.

    Parameters
    ----------
    c
        Circumstances.
    way
        Key of what is done with what is left; None where every way is refused.

    Returns
    -------
    One thing to do in each, its cautions after it.
    """
    if way is None:
        return (
            "Close nothing yet: every way to deal with what is left is refused. Settle that first "
            "with the client; the cone stays on.",
        )
    if way == ROB_OUT:
        opened: tuple[str, ...] = (_rob_out(c), _box_away(c))
    elif way == OPEN:
        opened = (_box_away(c), _cone_off(c), _open_and_clean(c))
    else:
        opened = (_box_away(c), _cone_off(c))
    return (*opened, *_shut(c, way), *_told(way))


def _line(what: str, *said: str) -> str:
    """A thing to do, and its cautions after it."""
    return " ".join(filter(None, (f"{what}.", cautions.joined(*said))))


def _box_away(c: Circumstances) -> str:
    return _line(
        f"After dusk, with all bees in, close, strap and move the box at least {MOVE_AWAY} away; "
        "come back the next evening with a small box for those left outside",
        cautions.stings(c), cautions.height(c, brief=True), cautions.lifting(),
    )  # fmt: skip


def _cone_off(c: Circumstances) -> str:
    return _line(
        "The next day take the cone off and look in with a torch; living bees mean that cone and "
        "box go back. An open exit calls robbers and swarms: it is closed the same day",
        cautions.stings(c, brief=True), cautions.height(c),
    )  # fmt: skip


def _rob_out(c: Circumstances) -> str:
    return _line(
        "In a dearth take the cone off and open the exit wide beside the box. Stop as soon as "
        "strange bees or wasps join; go on to the next point when traffic has stopped, a week or "
        "longer",
        cautions.robbing(), cautions.stings(c), cautions.height(c),
    )  # fmt: skip


def _open_and_clean(c: Circumstances) -> str:
    return _line(
        "Open the cavity; take out comb, honey and dead brood; scrape, wash and dry it. "
        + _FILLED.get(c.cavity, "Fill it so that no hollow is left"),
        cautions.opening(c), cautions.dust(), cautions.overhead(c),
        cautions.height(c, both_hands=True), cautions.heat(), cautions.treated(c),
    )  # fmt: skip


def _shut(c: Circumstances, way: str) -> tuple[str, ...]:
    """The exit, every other closure, and what is never closed."""
    up, paint = cautions.height(c, brief=True), cautions.scraping(c)
    gap = "the opened side" if way == OPEN else "the gap behind it as deep as it can be reached"
    if c.cavity == "chimney":
        gap = "a gap in the masonry, never the flue"
    vents = f"Screen vents within {REACH} with {MESH}, cleaned once a year; never seal one"
    if c.cavity == "chimney":
        vents += (
            ". A flue is never closed, filled or meshed while a fire may burn below it: its cap "
            "is a chimney sweep's work"
        )
    return (
        _line(f"Close the exit: fill {gap}, {MESH} over it, sealant or flashing on top", up, paint),
        _line(
            f"Replace every temporary closure within {REACH}, indoors too (tape, foam, rags), by "
            "a lasting one",
            up, paint,
        ),
        _line(vents, cautions.vents()),
    )  # fmt: skip


def _told(way: str) -> tuple[str, ...]:
    """Photographs, who was told, the waiver where comb stays, and the day from which it counts."""
    waiver = () if way == OPEN else (
        _line("Comb stays: get it in writing that the client knows what it may do and chose to "
              "leave it"),
    )  # fmt: skip
    return (
        _line("Photograph every closed gap, near and from afar, with the day on the picture"),
        _line("Write down who was told that it is closed and what stays: client, tenant, "
              "neighbours within sight, and whoever registers hives here for the box"),
        *waiver,
        _line("Write down the day it was closed: a warranty runs from then"),
    )  # fmt: skip

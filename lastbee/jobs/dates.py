"""The dated events of the chosen way, and the daily bands of a trap-out."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.layout import Daily
from lastbee.forecast.trapout import EMPTY_BEES, TRAP_DAYS, TrapOut, first_reached
from lastbee.jobs.plan import Band, Milestone
from lastbee.methods.closeout import LEAST_ROB_DAYS, ROB_DAYS
from lastbee.words import day_words, mass_unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.words import UnitSystem

# Milestones give an early date that one trap-out in ten beats.
EARLY = 0.1
# An opened nest is cleaned, dried and filled, stragglers gone, within: common practice.
CLEANING_DAYS = 3


class Calendar:
    """Day offsets from the cone's first day, as dates."""

    def __init__(self, cone_on: date) -> None:
        self.cone_on = cone_on

    def at(self, offset: float | None) -> date | None:
        """Date of an offset; None past the end of the forecast."""
        if offset is None or offset >= TRAP_DAYS:
            return None
        return self.cone_on + timedelta(days=int(offset))


def event(
    key: str,
    label: str,
    days: NDArray[np.int64],
    calendar: Calendar,
    confidence: float,
    note: str,
) -> Milestone:
    """One event from the day it happens in each colony."""
    early, likely, safe = np.quantile(days, (EARLY, 0.5, confidence), method="higher")
    return Milestone(key, label, calendar.at(early), calendar.at(likely), calendar.at(safe), note)


def curve_event(
    key: str,
    label: str,
    probability: NDArray[np.float64],
    calendar: Calendar,
    confidence: float,
    note: str,
) -> Milestone:
    """One event from the probability that it has happened by each day."""
    early, likely, safe = (
        calendar.at(first_reached(probability, level)) for level in (EARLY, 0.5, confidence)
    )
    return Milestone(key, label, early, likely, safe, note)


def trap_milestones(
    trap: TrapOut, cone_on: date, confidence: float, safe: int | None, *, robs: bool, opens: bool
) -> tuple[Milestone, ...]:
    """Dated events of a trap-out and of what follows it, in the order in which they come.

    `safe` is the day offset on which emptiness reaches the firm's confidence; `robs` and
    `opens` say whether the empty nest is then robbed out, or opened and cleaned.

    Early, likely and safe are the days on which the chance that it has happened reaches
    one tenth, one half and the firm's confidence.
    """
    calendar = Calendar(cone_on)
    nine = calendar.at(first_reached(trap.empty_by, 0.9))
    nine_words = "" if nine is None else f"; nine chances in ten by {day_words(nine)}"
    found = [
        event(
            "no_laying", "Laying stops", trap.no_laying_day, calendar, confidence,
            "fewer than five eggs a day; the last are not reared",
        ),
        event(
            "no_brood", "Last brood is out", trap.no_brood_day, calendar, confidence,
            "what has not emerged by then is dead",
        ),
        curve_event(
            "empty", "Empty of bees", trap.empty_by, calendar, confidence,
            f"at most {EMPTY_BEES} bees left, too few to hold a nest{nine_words}",
        ),
        curve_event(
            "last_bee", "The last bee is out", trap.last_bee_by, calendar, confidence,
            "the very last straggler",
        ),
    ]  # fmt: skip
    if safe is not None:
        found += _after_empty(cone_on + timedelta(days=safe), robs=robs, opens=opens)
    return tuple(found)


def _after_empty(empty_on: date, *, robs: bool, opens: bool) -> list[Milestone]:
    """Opening or rob-out, and closing, counted from the day it is taken as empty."""
    first = empty_on + timedelta(days=1)
    close_on = first
    found = []
    if opens:
        found.append(_fixed("opening", "Open and clean", first, "with the bees gone"))
        close_on = empty_on + timedelta(days=CLEANING_DAYS)
    elif robs:
        found.append(
            Milestone(
                "rob_out", "Rob-out window", first, empty_on + timedelta(days=LEAST_ROB_DAYS),
                empty_on + timedelta(days=ROB_DAYS),
                "open the exit only in a dearth; a week or longer, until traffic stops",
            )
        )  # fmt: skip
        close_on = empty_on + timedelta(days=ROB_DAYS + 1)
    found.append(
        _fixed("close", "Close for good", close_on, "when the count says empty, never before")
    )
    return found


def at_once_milestones(label: str, on: date) -> tuple[Milestone, ...]:
    """The day of a way that acts at once, and the day on which the wall is closed."""
    return (
        _fixed("work", label, on, "in flying weather"),
        _fixed("close", "Close for good", on + timedelta(days=CLEANING_DAYS), "no bees left"),
    )


def _fixed(key: str, label: str, on: date, note: str) -> Milestone:
    return Milestone(key, label, on, on, on, note)


def bands(trap: TrapOut, system: UnitSystem) -> tuple[Band, ...]:
    """Daily bands of everything that can be watched."""
    mass = mass_unit(system)
    kilo, weight = 0.001 / mass.size, mass.sign
    wanted = (
        ("bees_in_wall", "Bees in the wall", "bees", Daily.NEST_BEES, 1.0),
        ("brood_in_wall", "Brood in the wall", "cells", Daily.BROOD, 1.0),
        ("bees_in_box", "Bees in the box", "bees", Daily.BOX, 1.0),
        ("bees_shut_out", "Bees shut out on the wall", "bees", Daily.WALL, 1.0),
        ("honey_in_wall", "Honey in the wall", weight, Daily.HONEY, kilo),
        ("exits", "Bees shut out that day", "bees/day", Daily.EXITS, 1.0),
    )
    found = []
    for key, label, unit, column, scale in wanted:
        found.append(band(key, label, unit, trap.band(column) * scale))
    return tuple(found)


def band(key: str, label: str, unit: str, rows: NDArray[np.float64]) -> Band:
    """A daily band of five rows of quantiles, shape (5, days)."""
    return Band(key, label, unit, *(tuple(float(v) for v in row) for row in rows))

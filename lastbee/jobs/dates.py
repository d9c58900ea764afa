"""The dated events of a trap-out, and its daily bands, from a simulated trap-out."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from lastbee.colony.layout import Daily
from lastbee.forecast.trapout import EMPTY_BEES, TRAP_DAYS, TrapOut, first_reached
from lastbee.jobs.plan import Band, Milestone
from lastbee.words import day_words

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.words import UnitSystem

# Milestones give an early date that one trap-out in ten beats.
EARLY = 0.1
# Rob-out takes a week or longer (University of Delaware extension guidance).
ROB_FIRST_DAYS, ROB_LAST_DAYS = 7, 14


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


def milestones(
    trap: TrapOut, cone_on: date, confidence: float, safe: int | None, *, robs: bool
) -> tuple[Milestone, ...]:
    """All dated events, in the order in which they come.

    `safe` is the day offset on which emptiness reaches the firm's confidence.

    Early, likely and safe are the days on which the chance that it has happened reaches
    one tenth, one half and the firm's confidence.
    """
    calendar = Calendar(cone_on)
    nine = calendar.at(first_reached(trap.empty_by, 0.9))
    nine_words = "" if nine is None else f"; nine chances in ten by {day_words(nine)}"
    found = [
        event(
            "no_laying", "Laying stops", trap.no_laying_day, calendar, confidence,
            "fewer than five eggs a day",
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
    closing = safe
    if robs and safe is not None:
        found.append(
            Milestone(
                "rob_out", "Rob-out window", calendar.at(safe + 1),
                calendar.at(safe + ROB_FIRST_DAYS), calendar.at(safe + ROB_LAST_DAYS),
                "open the exit only in a dearth; a week or longer, until traffic stops",
            )
        )  # fmt: skip
        closing = safe + ROB_LAST_DAYS
    closing_on = calendar.at(None if closing is None else closing + 1)
    found.append(
        Milestone(
            "close", "Close for good", closing_on, closing_on, closing_on,
            "when the count says empty, never before",
        )
    )  # fmt: skip
    return tuple(found)


def bands(trap: TrapOut, system: UnitSystem) -> tuple[Band, ...]:
    """Daily bands of everything that can be watched."""
    kilo = 1.0 / 1000.0 if system == "metric" else 1.0 / 453.59237
    weight = "kg" if system == "metric" else "lb"
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
        rows = trap.band(column) * scale
        found.append(Band(key, label, unit, *(tuple(float(v) for v in row) for row in rows)))
    return tuple(found)

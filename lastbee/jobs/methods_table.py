"""Every way of the trade as a row for a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.jobs.plan import MethodRow
from lastbee.jobs.quantities import quantity
from lastbee.words import Unit, day_words, mass_unit

if TYPE_CHECKING:
    from datetime import date

    from lastbee.methods.compare import Way
    from lastbee.words import UnitSystem

PERCENT = Unit("%", 1.0, 1.0)
WEEKS = Unit("weeks", 1.0, 0.5)
VISITS = Unit("visits", 1.0, 1.0)


def method_rows(ways: tuple[Way, ...], system: UnitSystem, last_day: date) -> tuple[MethodRow, ...]:
    """Rows with the recommended way first; what is left alone is told for `last_day`."""
    ordered = sorted(
        ways,
        key=lambda w: (("recommended", "possible", "refused").index(w.status), w.expected_loss),
    )
    return tuple(_row(way, system, last_day) for way in ordered)


def _row(way: Way, system: UnitSystem, last_day: date) -> MethodRow:
    o = way.outcome
    when = (
        f" Honey is told for {day_words(last_day)}."
        if way.key == "leave" and o.honey_left_kg.any()
        else ""
    )
    return MethodRow(
        key=way.key,
        label=way.label,
        status=way.status,
        bees_alive_pct=quantity("bees_alive", "Bees saved", 100.0 * o.alive, PERCENT),
        honey_left=quantity("honey_left", "Honey left", o.honey_left_kg, mass_unit(system)),
        weeks=quantity("weeks", "Weeks", o.weeks, WEEKS),
        visits=quantity("visits", "Visits", o.visits, VISITS),
        note=way.note + when,
        forbidden_by=tuple(r.reason for r in way.refusals),
        would_change=tuple(r.would_change for r in way.refusals),
        cautions=way.cautions,
    )

"""The story of a running trap-out, visit by visit, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.colony.layout import Daily
from lastbee.forecast.diagnosis import surprise_of
from lastbee.forecast.trapout import EMPTY_BEES
from lastbee.jobs import dates
from lastbee.jobs.assemble_visits import flight_at, visit_items
from lastbee.jobs.progress import VisitRow
from lastbee.jobs.readings import reading_words
from lastbee.jobs.trust import UNLIKE_ANYTHING
from lastbee.words import short_day_words

if TYPE_CHECKING:
    import numpy as np

    from lastbee.forecast.tracking import Tracked
    from lastbee.forecast.trapout import TrapOut
    from lastbee.jobs.assemble import Question
    from lastbee.jobs.job import Job
    from lastbee.jobs.plan import Band, Milestone
    from lastbee.jobs.visit import Deed, Visit
    from lastbee.words import UnitSystem

# Trap-outs followed for each past visit: enough for a band.
STORY_RUNS = 800
# A visit less likely than this is unusual.
UNUSUAL = 0.1
# A forecast that moves by less than this has not moved.
MOVED_DAYS = 2


@dataclass(frozen=True, slots=True)
class Chapter:
    """The forecast after so many visits: bees in the wall, and when it is empty."""

    bees: Band
    empty: Milestone


def chapters(
    tracked: Tracked, question: Question, confidence: float, rng: np.random.Generator
) -> tuple[Chapter, ...]:
    """The forecast before the first visit and after each.

    Troubles that had not begun by then are left out: each is the forecast as things stood.
    """
    visits = tracked.watch.visits
    found = []
    for k in range(len(visits) + 1):
        by = visits[k - 1].day if k else question.cone_day - 1
        runs = tracked.runs(k, STORY_RUNS, rng, begun_by=by)
        found.append(
            chapter(runs.followed(question.year.sky, question.cone_day), question, confidence)
        )
    return tuple(found)


def chapter(trap: TrapOut, question: Question, confidence: float) -> Chapter:
    """Tell one forecast."""
    return Chapter(
        dates.band("bees_in_wall", "Bees in the wall", "bees", trap.band(Daily.NEST_BEES)),
        dates.curve_event(
            "empty", "Empty of bees", trap.empty_by, dates.Calendar(question.cone_on), confidence,
            f"at most {EMPTY_BEES} bees left, too few to hold a nest",
        ),
    )  # fmt: skip


def visit_rows(
    job: Job, tracked: Tracked, told: tuple[Chapter, ...], rng: np.random.Generator
) -> tuple[VisitRow, ...]:
    """One row for each visit, in order."""
    return tuple(_visit_row(job, k, tracked, told, rng) for k in range(len(job.visits)))


def _visit_row(
    job: Job, k: int, tracked: Tracked, told: tuple[Chapter, ...], rng: np.random.Generator
) -> VisitRow:
    visit, units = job.visits[k], job.preferences.units
    reported = visit_items(visit, flight_at(visit, job.site), 0.0)
    items = tracked.watch.visits[k].items
    odd = surprise_of(tracked, k, rng)
    before, after = told[k], told[k + 1]
    return VisitRow(
        at=visit.at,
        seen=(
            *weather_words(visit, units),
            *(f"{item.label}: {reading_words(item, units)}" for item in reported),
            *((f"Note: {visit.notes}",) if visit.notes else ()),
        ),
        did=tuple(deed_words(deed) for deed in visit.did),
        said=f"{_fit_words(odd, bool(items))}; {shift_words(before.empty, after.empty)}.",
        surprise=odd,
        bees_before=before.bees,
        bees_after=after.bees,
        empty_before=before.empty,
        empty_after=after.empty,
    )


def weather_words(visit: Visit, units: UnitSystem) -> tuple[str, ...]:
    """The weather of a visit as one clause, none where nobody wrote it down."""
    degc = visit.temperature_degc
    warmth = None
    if degc is not None:
        warmth = f"{1.8 * degc + 32.0:.0f} °F" if units == "us" else f"{degc:.0f} °C"
    said = [word for word in (warmth, visit.sky, visit.wind) if word]
    return (f"Weather: {', '.join(said)}",) if said else ()


def _fit_words(surprise: float, has_items: bool) -> str:
    if not has_items:
        return "Nothing was looked at"
    if surprise < UNLIKE_ANYTHING:
        return "Unlike anything that was forecast: count again"
    if surprise < UNUSUAL:
        return "Unusual, as forecast before it"
    return "Within what was forecast"


def shift_words(before: Milestone, after: Milestone) -> str:
    """How far the likely day of emptiness moved."""
    if before.likely is None and after.likely is None:
        return "still not expected to empty by itself"
    if after.likely is None:
        return "no longer expected to empty by itself"
    if before.likely is None:
        return f"now expected to be empty about {short_day_words(after.likely)}"
    days = (after.likely - before.likely).days
    if abs(days) < MOVED_DAYS:
        return f"still expected to be empty about {short_day_words(after.likely)}"
    way = "later" if days > 0 else "sooner"
    return f"empty about {abs(days)} days {way} than thought, {short_day_words(after.likely)}"


_DEEDS: dict[str, str] = {
    "cone cleared": "cleared the cone",
    "cone refitted": "refitted the cone",
    "gap closed": "closed a gap",
    "cluster brushed in": "brushed the cluster into the box",
    "brood given": "gave the box open brood",
    "queen given": "gave the box a queen",
    "box added": "added a box",
    "box moved closer": "moved the box closer",
    "box shaded": "shaded the box",
    "entrance reduced": "narrowed the entrance of the box",
    "fed": "fed the box",
}


def deed_words(deed: Deed) -> str:
    """A deed as a clause."""
    return _DEEDS[deed.kind]

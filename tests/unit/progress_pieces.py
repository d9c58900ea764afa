"""Pieces of which `progress_factory` makes whole answers for running trap-outs.

The figures are made up to look like a job; nothing is claimed about trap-outs here.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import plan_factory

from lastbee.jobs.plan import Band, Milestone, Step
from lastbee.jobs.progress import (
    Clearance,
    ClearanceCheck,
    CloseOutRow,
    NextVisit,
    TroubleRow,
    VisitDate,
    VisitRow,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

CONE_ON = plan_factory.CONE_ON
DAYS = 120
ZONE = ZoneInfo("Etc/GMT+4")


def day_on(offset: int) -> date:
    """Give the date `offset` days after the cone goes on."""
    return CONE_ON + timedelta(days=offset)


def wall_band(late_days: float = 0.0, spread: float = 1.0) -> Band:
    """Bees in the wall, falling; `late_days` puts the fall off, `spread` widens the ends."""
    starts = (5200.0, 7300.0, 9000.0, 11200.0, 16000.0)
    middles = (13.0, 17.0, 20.0, 23.0, 29.0)
    rows = []
    for start, middle in zip(starts, middles, strict=True):
        begin = 9000.0 + spread * (start - 9000.0)
        fall = 20.0 + late_days + spread * (middle - 20.0)
        values = [plan_factory.logistic(begin, fall, 4.0, day) for day in range(DAYS)]
        rows.append(tuple(value if value >= 0.5 else 0.0 for value in values))
    return Band("bees_in_wall", "Bees in the wall", "bees", *rows)


def box_band(late_days: float = 0.0) -> Band:
    """Bees in the box: most of those that have left the wall."""
    wall = wall_band(late_days)
    joined = [9000.0 - value for value in wall.median]
    rows = [tuple(share * bees for bees in joined) for share in (0.3, 0.55, 0.7, 0.85, 1.2)]
    return Band("bees_in_box", "Bees in the box", "bees", *rows)


def empty(early: int, likely: int | None, safe: int | None) -> Milestone:
    """The day on which the wall is empty, in days from the cone."""
    dates = [None if offset is None else day_on(offset) for offset in (early, likely, safe)]
    return Milestone("empty", "Empty of bees", *dates, "at most 20 bees left")


def visit(
    offset: int,
    hour: int,
    seen: Sequence[str],
    did: Sequence[str],
    said: str,
    *,
    late_days: tuple[float, float] = (0.0, 0.0),
    surprise: float = 0.4,
) -> VisitRow:
    """One visit that put the fall off from the one number of days to the other."""
    before, after = late_days
    return VisitRow(
        at=datetime(CONE_ON.year, CONE_ON.month, CONE_ON.day, hour, 30, tzinfo=ZONE)
        + timedelta(days=offset),
        seen=tuple(seen),
        did=tuple(did),
        said=said,
        surprise=surprise,
        bees_before=wall_band(before),
        bees_after=wall_band(after, 0.8),
        empty_before=empty(29 + int(before), 38 + int(before), 52 + int(before)),
        empty_after=empty(30 + int(after), 38 + int(after), 49 + int(after)),
    )


def leak_visits() -> tuple[VisitRow, ...]:
    """Three visits of a trap-out that leaks."""
    return (
        visit(2, 11, ("162 bees out in 5 min", "none back in at the cone"), (),
              "about as many fly as forecast"),
        visit(8, 13, ("140 bees out in 5 min", "cluster of 9 dm² on the wall"),
              ("cluster brushed in",), "fewer have left than forecast", late_days=(0.0, 3.0)),
        visit(15, 12, ("155 bees out in 5 min", "18 bees in at the eaves in 5 min, with pollen",
                       "1.5 frames of bees in the box"), (),
              "bees that leave come home another way", late_days=(3.0, 16.0), surprise=0.013),
    )  # fmt: skip


def trouble(
    key: str, probability: float, still: float | None = None, **words: str | tuple[str, ...]
) -> TroubleRow:
    """One explanation with the words of `words`, the rest empty."""
    labels = {
        "sound": "Running as it should",
        "leak": "Leak: another way in",
        "walked_back": "Bees walk back in through the cone",
        "cluster": "Bees hang on the wall instead of boxing",
        "second_colony": "A second colony at the same wall",
        "clogged": "Cone clogged",
        "robbed": "Box is being robbed",
        "stalled": "Stalled: living on its stores",
    }
    blank: dict[str, object] = {
        "label": labels[key], "speaks_for": (), "speaks_against": (), "settled_by": "",
        "remedy": "", "caution": "",
    }  # fmt: skip
    after = probability if still is None else still
    return TroubleRow(key=key, probability=probability, still=after, **{**blank, **words})  # type: ignore[arg-type]


def leak_troubles() -> tuple[TroubleRow, ...]:
    """Explanations where a leak is likeliest."""
    return (
        trouble(
            "leak", 0.83,
            speaks_for=(
                "18 bees in 5 minutes went in at the eaves, with pollen",
                "as many fly after two weeks as on the first day",
            ),
            speaks_against=("no gap was found when the cone went on",),
            settled_by="watch the eaves for 15 minutes in warm sun, with binoculars",
            remedy="Watch the wall from the side on a flying day, find the gap that bees go in by"
            " and close it with mesh and sealant; look again after a day or two.",
            caution="Stings: suit and veil, a way out clear. Height: ladder tied or held.",
        ),
        trouble(
            "walked_back", 0.11,
            speaks_for=("few bees have joined the box",),
            speaks_against=("none went in at the cone in 5 minutes",),
            settled_by="watch the tip for 5 minutes",
            remedy="Narrow the tip to 3/8 in (9.5 mm) and bend it up, clear of the wall",
            caution="Stings: suit and veil. Height: ladder tied or held.",
        ),
        trouble("sound", 0.04, remedy="Leave it alone until the next visit."),
        trouble("cluster", 0.012),
        trouble("second_colony", 0.004),
        trouble("clogged", 0.002),
        trouble("robbed", 0.001),
        trouble("stalled", 0.001),
    )  # fmt: skip


def next_visit(on: int) -> NextVisit:
    """The next visit `on` days after the cone, with the days around it weighed."""
    costs = (2.1, 1.3, 0.8, 0.62, 0.55, 0.6, 0.72, 1.1, 1.4, 1.9)
    return NextVisit(
        on=day_on(on),
        hours="11:00 to 16:00",
        why="A gap closed today shows in the count within two days of good flying weather",
        alternatives=tuple(VisitDate(day_on(on + n - 4), cost) for n, cost in enumerate(costs)),
        look_for=(
            "bees going in at the eaves, 15 minutes",
            "bees out of the cone, 5 minutes",
            "frames of bees in the box",
        ),
        bring="watch, binoculars, mesh of 1/8 in (3 mm), sealant, wire",
        caution="Stings: suit and veil, a way out clear. Height: ladder tied or held.",
    )


def clearance(probability: float, *, first: int | None, later: int | None) -> Clearance:
    """Two checks, from `first` and `later` days after the cone on."""
    is_clear = probability >= 0.95
    return Clearance(
        probability_empty=probability,
        confidence=0.95,
        is_clear=is_clear,
        words="Nothing found today would be enough: close when the closing list is done"
        if is_clear
        else "Too many bees are still inside to close; a count that finds none is not enough yet",
        checks=(
            ClearanceCheck(
                "hole", "Look in through a small hole with a camera",
                None if first is None else day_on(first), 0.61, 0.97,
                "Before drilling: no cable, pipe or old board in the way; veil on.",
            ),
            ClearanceCheck(
                "count", "No bee out in 15 minutes of good flying weather, no hum, no warmth",
                None if later is None else day_on(later), 0.74, 0.955,
                "Height: ladder tied or held.",
            ),
        ),
    )  # fmt: skip


def close_out() -> tuple[CloseOutRow, ...]:
    """Three ways to deal with what is left."""
    honey = plan_factory.quantity(
        "honey", "Honey left", "kg", 1.4, 0.4, 3.6, "about 1.4 kg (0.4 to 3.6)"
    )
    none = plan_factory.quantity("honey", "Honey left", "kg", 0.0, 0.0, 0.2, "under 0.2 kg")
    return (
        CloseOutRow(
            "rob_out", "Let the box rob it out, then close", "recommended", none,
            ("wax and a little dead brood stay behind",),
            ("robbing draws other colonies and wasps, brings stings and can spread foulbrood",),
            (), ("a flow in progress: wait for a dearth",),
        ),
        CloseOutRow(
            "close", "Close at once and leave all inside", "possible", honey,
            ("honey ferments and may stain the inner face within months",),
            ("comb draws the next swarm if the exit ever opens",), (), (),
        ),
        CloseOutRow(
            "open", "Open and clean", "refused", none, (), (),
            ("The outside may not be opened.",), ("Permission from the owner.",),
        ),
    )  # fmt: skip


def closing_list() -> tuple[str, ...]:
    """What is done before leaving for good."""
    return (
        "photograph every closed gap",
        "close the exit with mesh and sealant; flues and vents are never sealed",
        "move the box at least 3 miles (5 km) away after dusk",
        "give the client the list of what stays behind, signed",
    )


def steps() -> tuple[Step, ...]:
    """What to do next, in order."""
    return (
        Step(
            day_on(15), None, "Find where they go in at the eaves and close it", "technician",
            "mesh, sealant, binoculars",
            "Stings: suit and veil, a way out clear. Height: ladder tied or held.",
        ),
        Step(
            day_on(19), day_on(21), "Come back and count; see whether the box fills", "technician",
            "watch, wire", "Stings: suit and veil. Height: ladder tied or held.",
        ),
    )  # fmt: skip

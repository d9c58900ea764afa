"""Why we think so: sightings, and further looks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from lastbee.colony.founding import Hypothesis
from lastbee.evidence.told import FirstSeen, SwarmSeen
from lastbee.jobs.plan import EvidenceRow, Look
from lastbee.jobs.readings import reading_words
from lastbee.words import mass_unit, number

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.item import Item
    from lastbee.evidence.nest import Nest
    from lastbee.forecast.influence import Influence
    from lastbee.methods.looks import LookValue
    from lastbee.words import UnitSystem

# A contradiction: the others make the reading so many times less likely than it would be
# alone, and rare by itself; a mere oddity: either, less strictly. All assumed. Were the
# others right, a conflict of c or more would have a chance of at most 1/c (Markov).
CONTRADICTS_TIMES, CONTRADICTS_BELOW = 5.0, 0.02
ODD_TIMES = 3.0
# A reading this rare given the others is odd, quarrel or not.
ODD_ANYWHERE = 0.01
# Below this an item left the answer where it was.
HARDLY_BITS = 0.05
# A change smaller than this share of the spread is not worth a word.
NOTABLE_SHIFT = 0.25
# A look worth less than this is not worth naming.
LEAST_WORTH_VISITS = 0.05


def evidence_rows(
    influences: tuple[Influence, ...], nest: Nest, system: UnitSystem
) -> tuple[EvidenceRow, ...]:
    """Rows with the strongest sighting first."""
    rows = [_row(i, nest, system) for i in influences]
    return tuple(sorted(rows, key=lambda r: -r.information_bits))


def _row(influence: Influence, nest: Nest, system: UnitSystem) -> EvidenceRow:
    conflict, surprise = influence.conflict, influence.surprise
    verdict: Literal["agrees", "odd", "contradicts"] = "agrees"
    if conflict >= CONTRADICTS_TIMES and surprise < CONTRADICTS_BELOW:
        verdict = "contradicts"
    elif conflict >= ODD_TIMES or (surprise < ODD_ANYWHERE and not _is_a_day(influence.item)):
        verdict = "odd"
    return EvidenceRow(
        key=influence.item.key,
        label=influence.item.label,
        reading=reading_words(influence.item, system),
        moved=_moved(influence, nest, system),
        information_bits=influence.information_bits,
        conflict=conflict,
        surprise=surprise,
        verdict=verdict,
    )


def _is_a_day(item: Item[Nest]) -> bool:
    """Whether the reading is a day told, which is rare whichever day it is."""
    return isinstance(item, (FirstSeen, SwarmSeen))


def _moved(influence: Influence, nest: Nest, system: UnitSystem) -> str:
    """Which way and how far, in the two things that moved most."""
    if influence.information_bits < HARDLY_BITS:
        return "hardly moved the answer"
    without = influence.without
    mass = mass_unit(system)
    changes: list[tuple[float, str]] = []
    old_with, old_without = (
        float((n.hypothesis == Hypothesis.ESTABLISHED).mean()) for n in (nest, without)
    )
    if abs(old_with - old_without) > 0.1:
        words = f"chance of an old nest {100 * old_without:.0f} to {100 * old_with:.0f} %"
        changes.append((abs(old_with - old_without) * 4.0, words))
    for name, now, before, scale, smallest, unit in (
        ("age", nest.age_days, without.age_days, 7.0, 0.5, "weeks"),
        ("bees", nest.adults, without.adults, 1.0, 50.0, "bees"),
        ("honey", nest.honey_g, without.honey_g, 1000.0 * mass.size, 0.1, mass.sign),
    ):
        shift, text = _change(name, now / scale, before / scale, smallest, unit)
        if shift > NOTABLE_SHIFT and text:
            changes.append((shift, text))
    if not changes:
        return "narrowed the answer without moving it"
    changes.sort(key=lambda change: -change[0])
    return "; ".join(text for _, text in changes[:2])


def _change(
    name: str,
    now: NDArray[np.float64],
    before: NDArray[np.float64],
    smallest: float,
    unit: str,
) -> tuple[float, str]:
    log_now, log_before = np.log(now + smallest), np.log(before + smallest)
    gap = float(np.median(log_now) - np.median(log_before))
    shift = abs(gap) / max(float(np.std(log_before)), 1e-6)
    ends = [number(float(np.median(x)), smallest) for x in (before, now)]
    if ends[0] == ends[1]:
        return shift, ""
    word = {"age": ("younger", "older"), "bees": ("fewer bees", "more bees"),
            "honey": ("less honey", "more honey")}[name][gap > 0.0]  # fmt: skip
    return shift, f"{word} ({ends[0]} to {ends[1]} {unit})"


LOOKS = {
    "count": (
        "Count at the exit for five minutes in warm sun",
        "From the ground with binoculars where the exit is high; stings: stand aside of the "
        "flight path.",
    ),
    "thermal": (
        "Take a thermal picture of the wall before sunrise",
        "Work by torchlight from the ground; no ladder in the dark.",
    ),
    "hole": (
        "Drill a small hole and look at the comb",
        "Stings: suited, hole plugged at once. Before drilling find wires and pipes; old paint "
        "may hold lead, old boards asbestos. Local codes and licensed practice decide.",
    ),
}


def look_rows(values: tuple[LookValue, ...]) -> tuple[Look, ...]:
    """Further looks that are worth the climb, the best first; none where none would help."""
    rows = []
    for value in sorted(values, key=lambda v: -v.worth_visits):
        if value.worth_visits < LEAST_WORTH_VISITS:
            continue
        label, caution = LOOKS[value.key]
        often = "rarely" if value.changes_choice < 0.1 else "sometimes"
        often = "often" if value.changes_choice > 0.35 else often
        words = f"would {often} change the choice of way"
        rows.append(Look(value.key, label, value.worth_visits, words, caution))
    return tuple(rows)

"""What was read, in words and in the units of the reader."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.evidence.comb import CombSize
from lastbee.evidence.in_box import BoxGain
from lastbee.evidence.item import Positive, SizeOrNone
from lastbee.evidence.told import FirstSeen, SwarmSeen
from lastbee.words import comb_unit, days_words, length_unit, mass_unit, number

if TYPE_CHECKING:
    from lastbee.evidence.item import Item
    from lastbee.evidence.scene import Scene
    from lastbee.words import Unit, UnitSystem


def reading_words(item: Item[Scene], system: UnitSystem) -> str:
    """The reading of a sighting, of an inspection or a visit."""
    if isinstance(item, SizeOrNone):
        return reading_words(item.measured, system) if item.value > 0.0 else item.reading
    if isinstance(item, Positive) and item.unit in ("m", "dm2"):
        return _measure(item.value, length_unit(system) if item.unit == "m" else comb_unit(system))
    if isinstance(item, BoxGain) and item.value:
        way = "up" if item.value > 0.0 else "down"
        return f"{way} {_measure(abs(item.value), mass_unit(system))}"
    if isinstance(item, CombSize) and item.is_area:
        extent = "all of it" if item.is_whole else "part of it"
        return f"{_measure(item.value, comb_unit(system))} of comb, {extent}"
    if isinstance(item, (FirstSeen, SwarmSeen)):
        return f"{days_words(item.value)} before the inspection"
    return item.reading


def _measure(value: float, unit: Unit) -> str:
    return f"{number(value / unit.size, unit.smallest)} {unit.sign}"

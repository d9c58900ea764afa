"""Numbers and measures between a field and the body: the unit chosen, the unit typed."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from lastbee.web.forms.form import OTHER_SIDE, UNIT

if TYPE_CHECKING:
    from lastbee.web.forms.form import Scale
    from lastbee.words import UnitSystem

# Signs that phones put in place of the hyphen.
_MINUS = str.maketrans({"\u2212": "-", "\u2013": "-"})
_NUMBER = re.compile(r"[-+]?(?:[0-9]{1,9}(?:[.,][0-9]{0,20})?|[.,][0-9]{1,20})")
_MANY_OR_POINT = re.compile(r"[-+]?[1-9][0-9]{0,2},[0-9]{3}")
_BARE = re.compile(r"[-+−–]?[0-9.,½¼¾⅓⅔⅛⅜⅝⅞](?:[0-9 .,/½¼¾⅓⅔⅛⅜⅝⅞-]*[0-9.,½¼¾⅓⅔⅛⅜⅝⅞])?")
_TIMES = re.compile(r"[x×*]", re.IGNORECASE)
_BETWEEN = " x "


def number_of(written: str) -> int | float | str:
    """A number where it can only be meant as one, else the text as it stands.

    Examples
    --------
    >>> number_of("12"), number_of("3,5"), number_of("1,500"), number_of("a dozen")
    (12, 3.5, '1,500', 'a dozen')
    """
    plain = written.translate(_MINUS)
    if not _NUMBER.fullmatch(plain) or _MANY_OR_POINT.fullmatch(plain):
        return written
    value = float(plain.replace(",", "."))
    is_whole = not re.search("[.,]", plain)
    return int(value) if is_whole else value


def text_of_number(value: Any) -> str:
    """Write a number as a person would; text as it stands."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    if isinstance(value, int):
        return str(value)
    if value != value or value in (float("inf"), float("-inf")):
        return str(value)
    if value == int(value) and abs(value) < 1e9:
        return str(int(value))
    return f"{Decimal(repr(value)):f}"


def measure_of(written: str, other: str, unit: str | None, scale: Scale, units: UnitSystem) -> str:
    """Put a measure together.

    Parameters
    ----------
    written, other
        What stands in the field, and in that of the other side of an area.
    unit
        The unit chosen beside it, empty if none was; None if none could be.
    scale
        Units of the field.
    units
        Units of the user's choice.

    Returns
    -------
    The number with its unit. A unit that is typed stays; so does what is no number.

    Examples
    --------
    >>> from lastbee.web.forms.form import AREA, TEMPERATURE
    >>> measure_of("24", "", None, TEMPERATURE, "metric")
    '24 C'
    >>> measure_of("75 F", "", "C", TEMPERATURE, "us")
    '75 F'
    >>> measure_of("30 x 40", "", None, AREA, "us"), measure_of("30", "40", "cm", AREA, "us")
    ('30 x 40 in', '30 x 40 cm')
    """
    if scale.usual_area is None:
        return _with_unit(written, scale.unit(units) if unit is None else unit)
    if other:
        written = f"{written} x {other}" if written else other
    sides = [side.strip() for side in _TIMES.split(written)]
    if _are_two_bare(sides):
        side_unit = scale.unit(units) if unit is None else unit
        return f"{_BETWEEN.join(sides)} {side_unit}".strip()
    return _with_unit(written, scale.area_unit(units) if unit is None else unit)


def _are_two_bare(sides: list[str]) -> bool:
    return len(sides) == 2 and all(_BARE.fullmatch(side) for side in sides)


def _with_unit(written: str, unit: str) -> str:
    return f"{written} {unit}".strip() if _BARE.fullmatch(written) else written


def parts_of_measure(name: str, value: Any, scale: Scale) -> dict[str, list[str]]:
    """Take a measure apart into what its fields post; the inverse of `measure_of`."""
    text = text_of_number(value)
    for unit in sorted(scale.offered, key=len, reverse=True):
        number = text.removesuffix(f" {unit}")
        if number == text:
            continue
        if _BARE.fullmatch(number):
            return {name: [number], name + UNIT: [unit]}
        sides = number.split(_BETWEEN) if scale.usual_area else []
        if _are_two_bare(sides):
            return {name: [sides[0]], name + OTHER_SIDE: [sides[1]], name + UNIT: [unit]}
    # Bare, it must not gain a unit that nobody gave it.
    bare = _BARE.fullmatch(text) or (scale.usual_area and _are_two_bare(text.split(_BETWEEN)))
    return {name: [text], name + UNIT: [""]} if bare else {name: [text]}

"""Measures as people write them, read into SI numbers.

A technician writes "14 ft 6 in", "3½ in", "72 °F" or "30 x 40 cm"; everything inside the
package is metres, square metres, kilograms, litres and degrees Celsius. One regular expression
finds the numbers and one small table holds the units; nothing a person writes is ever
evaluated, the text is at most `LONGEST_TEXT` characters long, and reading it costs no
start-up time. A general units library needs a fifth of a second to load and accepts
expressions; it is the reference in the tests instead.

>>> round(length_m("14 ft 6 in"), 4)
4.4196
>>> round(area_m2("30 x 40 cm"), 4)
0.12
>>> round(temperature_degc("72 F"), 2)
22.22

A comma is read as a decimal point unless it could part thousands: "2,5 kg" is two and a half
kilograms, "1,500 g" is refused. "oz" is the avoirdupois ounce; pints, quarts and gallons
are those of the United States for liquids.

Factors are exact by definition (yard = 0.9144 m and pound = 0.453 592 37 kg, international
agreement of 1959; gallon = 231 cubic inches).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Literal

Dimension = Literal["length", "area", "mass", "volume", "temperature"]

LONGEST_TEXT = 60
"""Longest text read as a measure, in characters."""

_INCH_M = 0.0254
_FOOT_M = 0.3048
_POUND_KG = 0.45359237
_GALLON_L = 3.785411784


class NotAMeasure(ValueError):
    """A text that cannot be read as a measure; `mend` says in a clause what to write."""

    def __init__(self, mend: str) -> None:
        super().__init__(mend)
        self.mend = mend


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: inside value = (value + `offset`) * `factor`, and every spelling that is read."""

    name: str
    factor: float
    spellings: tuple[str, ...]
    offset: float = 0.0


UNITS: dict[Dimension, tuple[Unit, ...]] = {
    "length": (
        Unit("mm", 0.001, ("mm", "millimetre", "millimeter", "millimetres", "millimeters")),
        Unit("cm", 0.01, ("cm", "centimetre", "centimeter", "centimetres", "centimeters")),
        Unit("dm", 0.1, ("dm", "decimetre", "decimeter", "decimetres", "decimeters")),
        Unit("m", 1.0, ("m", "metre", "meter", "metres", "meters")),
        Unit("in", _INCH_M, ("in", '"', "inch", "inches")),
        Unit("ft", _FOOT_M, ("ft", "'", "foot", "feet")),
        Unit("yd", 0.9144, ("yd", "yds", "yard", "yards")),
    ),
    "area": (
        Unit("mm2", 1e-6, ("mm2", "sq mm", "square mm")),
        Unit("cm2", 1e-4, ("cm2", "sq cm", "square cm")),
        Unit("dm2", 0.01, ("dm2", "sq dm", "square dm")),
        Unit("m2", 1.0, ("m2", "sq m", "square m", "square metres", "square meters")),
        Unit("sq in", _INCH_M**2, ("sq in", "in2", "square in", "square inch", "square inches")),
        Unit("sq ft", _FOOT_M**2, ("sq ft", "ft2", "square ft", "square foot", "square feet")),
    ),
    "mass": (
        Unit("g", 0.001, ("g", "gram", "grams")),
        Unit("kg", 1.0, ("kg", "kilo", "kilos", "kilogram", "kilograms")),
        Unit("oz", _POUND_KG / 16, ("oz", "ounce", "ounces")),
        Unit("lb", _POUND_KG, ("lb", "lbs", "pound", "pounds")),
    ),
    "volume": (
        Unit("ml", 0.001, ("ml", "millilitre", "milliliter", "millilitres", "milliliters")),
        Unit("dl", 0.1, ("dl", "decilitre", "deciliter", "decilitres", "deciliters")),
        Unit("l", 1.0, ("l", "litre", "liter", "litres", "liters")),
        Unit("fl oz", _GALLON_L / 128, ("fl oz", "fluid ounce", "fluid ounces")),
        Unit("pt", _GALLON_L / 8, ("pt", "pts", "pint", "pints")),
        Unit("qt", _GALLON_L / 4, ("qt", "qts", "quart", "quarts")),
        Unit("gal", _GALLON_L, ("gal", "gals", "gallon", "gallons")),
    ),
    "temperature": (
        Unit("C", 1.0, ("c", "°c", "deg c", "degc", "celsius", "degrees c", "degrees celsius")),
        Unit(
            "F",
            5.0 / 9.0,
            ("f", "°f", "deg f", "degf", "fahrenheit", "degrees f", "degrees fahrenheit"),
            offset=-32.0,
        ),
    ),
}
"""Every unit that is read, by dimension."""

_EXAMPLES: dict[Dimension, tuple[str, str]] = {
    "length": ("14 ft", "4.3 m"),
    "area": ("12 dm2", "30 x 40 cm"),
    "mass": ("11 lb", "5 kg"),
    "volume": ("2 qt", "2 l"),
    "temperature": ("75 F", "24 C"),
}
_USUAL: dict[Dimension, tuple[str, str]] = {
    "length": ("ft", "m"),
    "area": ("sq ft", "dm2"),
    "mass": ("lb", "kg"),
    "volume": ("qt", "l"),
    "temperature": ("F", "C"),
}
_PAIRS = {("ft", "in"), ("m", "cm"), ("lb", "oz"), ("kg", "g"), ("yd", "ft")}

# Signs that phones and word processors put in place of the plain ones.
_PLAIN = str.maketrans(
    {
        "\u00b2": "2",  # superscript
        "\u2018": "'", "\u2019": "'", "\u2032": "'",  # curly quotes and the prime: feet
        "\u201c": '"', "\u201d": '"', "\u2033": '"',  # the same doubled: inches
        "\u00d7": "x", "\u2715": "x",  # times
        "\u00ba": "°", "\u02da": "°", "\u2103": "°c", "\u2109": "°f",  # degrees
        "\u2212": "-", "\u2013": "-",  # minus
        "\u00a0": " ", "\u202f": " ", "\u2009": " ",  # spaces
        "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3",
        "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
    }
)  # fmt: skip

_FRACTION = r"(?:[0-9]{1,6}[ -])?[0-9]{1,3}/[0-9]{1,3}"
_DECIMAL = r"[0-9]{1,9}(?:[.,][0-9]{1,9})?|[.,][0-9]{1,9}"
_NUMBER = rf"-?(?:{_FRACTION}|{_DECIMAL})"
# The last figure belongs to the unit in "12 dm2", but to the inches in "14'2 1/2 in".
_UNIT = r"[a-z°'\"][a-z°. '\"]{0,24}?(?:(?<=[a-z])[23])??"
_ONE = re.compile(rf"({_NUMBER}) ?({_UNIT})")
_TWO = re.compile(rf"({_NUMBER}) ?({_UNIT}),? ?(?:and )?({_NUMBER}) ?({_UNIT})")
_BARE = re.compile(_NUMBER)
_TIMES = re.compile(r" ?(?:\bby\b|\*|(?<![a-z])x(?![a-z])) ?")
_THOUSANDS = re.compile(r"-?[1-9][0-9]{0,2},[0-9]{3}")


def length_m(text: str) -> float:
    """Read a length such as "14 ft 6 in", "3 1/2 in" or "4,42 m". [m].

    Raises
    ------
    NotAMeasure
        If the text is not a length with its unit.
    """
    return _read(text, "length")


def area_m2(text: str) -> float:
    """Read an area such as "12 dm2" or "2 sq ft", or a product such as "30 x 40 cm". [m2].

    Raises
    ------
    NotAMeasure
        If the text is not an area with its unit.
    """
    sides = _TIMES.split(_plain(text, "area"))
    if len(sides) != 2:
        return _read(text, "area")
    first, second = sides
    if _BARE.fullmatch(first):
        # "30 x 40 cm": the unit stands once, at the end; "30 x 4 ft 6 in" would be a guess.
        match = _ONE.fullmatch(second)
        if match is None:
            raise NotAMeasure('write the unit with both numbers, such as "30 cm x 40 cm"')
        first = f"{first} {match[2]}"
    return _read(first, "length") * _read(second, "length")


def mass_kg(text: str) -> float:
    """Read a mass such as "2.5 kg" or "5 lb 3 oz". [kg].

    Raises
    ------
    NotAMeasure
        If the text is not a mass with its unit.
    """
    return _read(text, "mass")


def volume_l(text: str) -> float:
    """Read a volume such as "1.5 l" or "2 quarts". [L].

    Raises
    ------
    NotAMeasure
        If the text is not a volume with its unit.
    """
    return _read(text, "volume")


def temperature_degc(text: str) -> float:
    """Read a temperature such as "72 F" or "-3 °C". [degC].

    Raises
    ------
    NotAMeasure
        If the text is not a temperature with its unit.
    """
    return _read(text, "temperature")


def unit_wanted(number: str, dimension: Dimension, usual: tuple[str, str] | None = None) -> str:
    """Say what to write instead of a bare number, as a clause for an error.

    `usual` names the two units that the number may be meant in.
    """
    us, metric = usual or _USUAL[dimension]
    return f'write the unit too, such as "{number} {us}" or "{number} {metric}"'


@cache
def _by_spelling(dimension: Dimension) -> dict[str, Unit]:
    return {spelling: unit for unit in UNITS[dimension] for spelling in unit.spellings}


def _plain(text: str, dimension: Dimension) -> str:
    if len(text) > LONGEST_TEXT:
        raise NotAMeasure(f"write {_example(dimension)} and nothing more")
    plain = " ".join(text.translate(_PLAIN).casefold().split())
    return plain.replace("''", '"').replace("° ", "°")


def _example(dimension: Dimension) -> str:
    us, metric = _EXAMPLES[dimension]
    article = "an" if dimension == "area" else "a"
    return f'{article} {dimension} with its unit, such as "{us}" or "{metric}"'


def _read(text: str, dimension: Dimension) -> float:
    plain = _plain(text, dimension)
    if _BARE.fullmatch(plain):
        raise NotAMeasure(unit_wanted(plain, dimension))
    if match := _ONE.fullmatch(plain):
        value = _si(match[1], _unit(match[2], dimension))
    elif match := _TWO.fullmatch(plain):
        value = _pair(match, dimension)
    else:
        raise NotAMeasure(f"write {_example(dimension)}")
    if value < 0.0 and dimension != "temperature":
        raise NotAMeasure(f"leave out the minus sign, since no {dimension} is below zero")
    return value


def _pair(match: re.Match[str], dimension: Dimension) -> float:
    large, small = _unit(match[2], dimension), _unit(match[4], dimension)
    if (large.name, small.name) not in _PAIRS or match[3].startswith("-"):
        raise NotAMeasure(f"write {_example(dimension)}")
    rest = _si(match[3], small)
    if rest >= large.factor:
        raise NotAMeasure(f'write less than one {large.name} after "{match[1]} {large.name}"')
    whole = _si(match[1], large)
    return whole + rest if whole >= 0.0 else whole


def _si(number: str, unit: Unit) -> float:
    return (_value(number, unit) + unit.offset) * unit.factor


def _value(number: str, unit: Unit) -> float:
    if _THOUSANDS.fullmatch(number):
        joined, point = number.replace(",", ""), number.replace(",", ".")
        raise NotAMeasure(f'write "{joined} {unit.name}" or "{point} {unit.name}"')
    if "/" not in number:
        return float(number.replace(",", "."))
    *whole, fraction = re.split("[ -]", number.removeprefix("-"))
    above, below = (int(part) for part in fraction.split("/"))
    if not below:
        raise NotAMeasure("write a fraction that is not over zero, such as 3 1/2")
    value = int(whole[0]) if whole else 0
    return (value + above / below) * (-1.0 if number.startswith("-") else 1.0)


def _unit(written: str, dimension: Dimension) -> Unit:
    spelling = " ".join(written.replace(".", " ").split())
    unit = _by_spelling(dimension).get(spelling)
    if unit is not None:
        return unit
    for other in UNITS:
        if spelling in _by_spelling(other):
            raise NotAMeasure(f"write {_example(dimension)} ({spelling} is a unit of {other})")
    names = ", ".join(unit.name for unit in UNITS[dimension])
    raise NotAMeasure(f"write {_example(dimension)} (units read here: {names})")

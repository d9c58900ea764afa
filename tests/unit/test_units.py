"""Measures: every factor against pint, an independent units library, and texts of the trade.

pint takes its factors from CODATA and the NIST Guide to the SI (SP 811); `ounce` is the
avoirdupois ounce there, as here, and pint, quart, gallon and fluid ounce are those of the
United States for liquids. Tolerance 1e-12 relative is a few thousand roundings of a double:
looser than the arithmetic needs, far tighter than any wrong factor.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lastbee.units import (
    LONGEST_TEXT,
    UNITS,
    Dimension,
    NotAMeasure,
    Unit,
    area_m2,
    length_m,
    mass_kg,
    temperature_degc,
    volume_l,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from decimal import Decimal

REGISTRY = pint.UnitRegistry()
READERS: dict[Dimension, Callable[[str], float]] = {
    "length": length_m,
    "area": area_m2,
    "mass": mass_kg,
    "volume": volume_l,
    "temperature": temperature_degc,
}
SI = {
    "length": "meter",
    "area": "meter**2",
    "mass": "kilogram",
    "volume": "liter",
    "temperature": "degC",
}
IN_PINT = {
    "mm": "millimeter",
    "cm": "centimeter",
    "dm": "decimeter",
    "m": "meter",
    "in": "inch",
    "ft": "foot",
    "yd": "yard",
    "mm2": "millimeter**2",
    "cm2": "centimeter**2",
    "dm2": "decimeter**2",
    "m2": "meter**2",
    "sq in": "inch**2",
    "sq ft": "foot**2",
    "g": "gram",
    "kg": "kilogram",
    "oz": "ounce",
    "lb": "pound",
    "ml": "milliliter",
    "dl": "deciliter",
    "l": "liter",
    "fl oz": "fluid_ounce",
    "pt": "pint",
    "qt": "quart",
    "gal": "gallon",
    "C": "degC",
    "F": "degF",
}
EVERY_SPELLING = [
    (dimension, unit, spelling)
    for dimension, units in UNITS.items()
    for unit in units
    for spelling in unit.spellings
]
EVERY_UNIT = [(dimension, unit) for dimension, units in UNITS.items() for unit in units]


def by_pint(value: float, unit: Unit, dimension: Dimension) -> float:
    """The SI value according to pint."""
    quantity = REGISTRY.Quantity(value, IN_PINT[unit.name])
    return float(quantity.to(SI[dimension]).magnitude)


@pytest.mark.parametrize(
    ("dimension", "unit", "spelling"), EVERY_SPELLING, ids=[s for _, _, s in EVERY_SPELLING]
)
def test_every_spelling_has_the_factor_that_pint_has(
    dimension: Dimension, unit: Unit, spelling: str
) -> None:
    read = READERS[dimension]
    expected = pytest.approx(by_pint(7.25, unit, dimension), rel=1e-12)
    assert read(f"7.25 {spelling}") == expected
    assert read(f"7.25{spelling.upper()}") == expected


def test_no_spelling_means_two_things() -> None:
    for dimension, units in UNITS.items():
        spellings = [spelling for unit in units for spelling in unit.spellings]
        assert len(spellings) == len(set(spellings)), dimension


@given(
    st.sampled_from(EVERY_UNIT),
    st.decimals(min_value=0, max_value=99_999, places=4),
    st.sampled_from([".", ","]),
)
def test_what_pint_writes_in_a_unit_is_read_back_as_the_same_si_value(
    which: tuple[Dimension, Unit], si: Decimal, point: str
) -> None:
    dimension, unit = which
    written = REGISTRY.Quantity(float(si), SI[dimension]).to(IN_PINT[unit.name]).magnitude
    text = f"{written:.9f}"
    if len(text.partition(".")[0]) > 9:
        return
    # Nine decimals of the unit are lost in writing at most; 1e-12 of the value in the factor.
    tolerance = 1e-9 * unit.factor + 1e-12 * abs(float(si)) + 1e-12
    back = READERS[dimension](f"{text.replace('.', point)} {unit.name}")
    assert back == pytest.approx(float(si), abs=tolerance)


@given(st.integers(0, 999), st.integers(0, 11), st.integers(0, 15))
def test_feet_inches_and_sixteenths_add_up_as_pint_adds_them(
    feet: int, inches: int, sixteenths: int
) -> None:
    total = feet * REGISTRY.foot + (inches + sixteenths / 16) * REGISTRY.inch
    expected = pytest.approx(total.to("meter").magnitude, rel=1e-12, abs=1e-15)
    fraction = f" {sixteenths}/16" if sixteenths else ""
    assert length_m(f"{feet} ft {inches}{fraction} in") == expected
    assert length_m(f"{feet}'{inches}{fraction}\"") == expected


# 14 ft 6 in = 174 in = 174 x 25.4 mm exactly (inch of 1959).
@pytest.mark.parametrize(
    "text",
    [
        "14 ft 6 in",
        "14ft6in",
        "14' 6\"",
        "14'6\"",
        "14\u2032 6\u2033",
        "14\u2019 6\u201d",
        "14' 6''",
        "14 feet, 6 inches",
        "14 feet and 6 inches",
        " 14  FT.\u00a06 IN. ",
        "14.5 ft",
        "14 1/2 ft",
        "14½ ft",
        "14,5 ft",
        "174 in",
        "4.4196 m",
        "4 m 41.96 cm",
        "441.96cm",
    ],
)
def test_one_height_is_read_from_all_its_spellings(text: str) -> None:
    assert length_m(text) == pytest.approx(4.4196, rel=1e-12)


@pytest.mark.parametrize(
    ("read", "text", "expected"),
    [
        (area_m2, "30 x 40 cm", 0.12),
        (area_m2, "30×40cm", 0.12),
        (area_m2, "30 by 40 cm", 0.12),
        (area_m2, "30 cm x 0.4 m", 0.12),
        (area_m2, "12 dm²", 0.12),
        (area_m2, "1 ft x 1 ft 6 in", 1.5 * 0.09290304),
        (area_m2, "2 sq. ft.", 2 * 0.09290304),
        (mass_kg, "2,5 kg", 2.5),
        (mass_kg, "5 lb 3 oz", 83 * 0.028349523125),
        (length_m, "0,125 m", 0.125),
        (volume_l, "1 gallon", 3.785411784),
        (volume_l, "1/2 gal", 1.892705892),
        (volume_l, "16 fl. oz.", 0.473176473),
        (volume_l, "1 1/2 l", 1.5),
        (length_m, "1.500 m", 1.5),
        (length_m, "3-1/2 in", 0.0889),
        (length_m, "⅝ in", 0.015875),
        (temperature_degc, "72 °F", 200 / 9),
        (temperature_degc, "72\u00ba f", 200 / 9),
        (temperature_degc, "\u22123 C", -3.0),
        (temperature_degc, "-40 F", -40.0),
    ],
)
def test_the_ways_of_the_trade_are_read(
    read: Callable[[str], float], text: str, expected: float
) -> None:
    """Factors from NIST SP 811, appendix B.8."""
    assert read(text) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("read", "text", "mend"),
    [
        (length_m, "14", 'write the unit too, such as "14 ft" or "14 m"'),
        (mass_kg, "2,5", 'write the unit too, such as "2,5 lb" or "2,5 kg"'),
        (temperature_degc, "-4", 'write the unit too, such as "-4 F" or "-4 C"'),
        (mass_kg, "1,500 g", 'write "1500 g" or "1.500 g"'),
        (length_m, "3 kg", "kg is a unit of mass"),
        (volume_l, "1 kg", "kg is a unit of mass"),
        (volume_l, "2", 'write the unit too, such as "2 qt" or "2 l"'),
        (volume_l, "-1 l", "leave out the minus sign, since no volume is below zero"),
        (area_m2, "30 cm", "cm is a unit of length"),
        (length_m, "3 fathoms", "units read here: mm, cm, dm, m, in, ft, yd"),
        (length_m, "14 ft 30 in", 'write less than one ft after "14 ft"'),
        (length_m, "6 in 2 ft", "write a length with its unit"),
        (length_m, "-3 m", "leave out the minus sign"),
        (length_m, "1/0 in", "write a fraction that is not over zero"),
        (area_m2, "30 x 4 ft 6 in", "write the unit with both numbers"),
        (area_m2, "3 x 4 x 5 m", "write an area with its unit"),
        (length_m, "", "write a length with its unit"),
        (length_m, "nan m", "write a length with its unit"),
        (length_m, "1e3 m", "write a length with its unit"),
        (length_m, "2**9 m", "write a length with its unit"),
        (length_m, "٣ m", "write a length with its unit"),
        (length_m, "1" * (LONGEST_TEXT + 1), "and nothing more"),
        (temperature_degc, "5 C 3 F", "write a temperature with its unit"),
    ],
)
def test_what_cannot_be_read_comes_back_with_its_mend(
    read: Callable[[str], float], text: str, mend: str
) -> None:
    with pytest.raises(NotAMeasure) as caught:
        read(text)
    assert mend in caught.value.mend
    assert str(caught.value) == caught.value.mend


@given(
    st.sampled_from(sorted(READERS.items())),
    st.text() | st.text(alphabet="0123456789.,/- '\"°ftinmcklbxFC²½", max_size=LONGEST_TEXT + 5),
)
def test_any_text_is_a_finite_number_or_not_a_measure(
    reader: tuple[str, Callable[[str], float]], text: str
) -> None:
    dimension, read = reader
    try:
        value = read(text)
    except NotAMeasure as error:
        assert error.mend  # noqa: PT017
        assert "\n" not in error.mend  # noqa: PT017
        return
    assert abs(value) < 1e13
    assert value >= 0.0 or dimension == "temperature"

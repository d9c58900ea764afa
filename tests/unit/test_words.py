"""Numbers in words, held against hand-made examples and their own rules."""

from __future__ import annotations

import doctest
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lastbee import words

KG_PER_LB = 0.45359237  # international avoirdupois pound, exact since 1959
DM2_PER_SQFT = 9.290304  # (0.3048 m)**2, exact


def test_examples_in_the_docstrings_hold() -> None:
    assert doctest.testmod(words).failed == 0
    assert doctest.testmod(words).attempted >= 5


@pytest.mark.parametrize(
    ("points", "unit", "said"),
    [
        ((5060.0, 9210.0, 16400.0), words.count_unit("bees"), "about 9,200 bees (5,100 to 16,000)"),
        ((0.0, 0.02, 0.03), words.mass_unit("metric"), "under 0.1 kg"),
        ((0.0, 1.24, 9.21), words.mass_unit("metric"), "about 1.2 kg (up to 9.2)"),
        ((1.0, 1.0, 1.0), words.Unit("visits", 1.0, 1.0), "1 visit"),
        ((0.0, 0.0, 0.0), words.Unit("visits", 1.0, 1.0), "0 visits"),
        ((0.0, 0.0, 140.0), words.count_unit("bees"), "about 0 bees (0 to 140)"),
    ],
)
def test_a_range_is_said_in_one_breath(
    points: tuple[float, float, float], unit: words.Unit, said: str
) -> None:
    assert words.range_words(*points, unit) == said


@given(st.floats(0.0, 1e6), st.floats(0.0, 1e6), st.floats(0.0, 1e6))
def test_a_range_never_claims_more_than_two_digits(a: float, b: float, c: float) -> None:
    low, median, high = sorted((a, b, c))
    said = words.range_words(low, median, high, words.count_unit("bees", 10.0))
    for number in said.replace("(", " ").replace(")", " ").split():
        digits = number.replace(",", "").replace(".", "").strip("0")
        assert not digits.isdigit() or len(digits) <= 2


def test_pounds_and_square_feet_are_the_exact_ones() -> None:
    assert words.mass_unit("us").size == KG_PER_LB
    assert words.comb_unit("us").size == pytest.approx(DM2_PER_SQFT)


@pytest.mark.parametrize(
    ("probability", "said"),
    [
        (0.0, "less than 1 in 100"),
        (0.03, "about 3 in 100"),
        (0.5, "about 5 in 10"),
        (0.94, "about 9 in 10"),
        (0.97, "about 97 in 100"),
        (1.0, "more than 99 in 100"),
    ],
)
def test_a_chance_is_said_as_so_many_in_ten(probability: float, said: str) -> None:
    assert words.chance_words(probability) == said


def test_a_date_cannot_be_misread() -> None:
    # 1 July 2026 is a Wednesday (perpetual calendar).
    assert words.day_words(date(2026, 7, 1)) == "Wed 1 Jul 2026"
    assert words.short_day_words(date(2026, 7, 1)) == "1 Jul"

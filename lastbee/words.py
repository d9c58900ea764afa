"""Numbers in words: never a bare value, never more digits than the evidence carries.

A range is three numbers, the 5 %, 50 % and 95 % points. The middle is given to two
significant digits and the ends to the same place or two digits of their own, so that
"about 9,200 bees (5,100 to 16,000)" claims no more than it knows. Amounts are SI inside;
`System` turns grams and square decimetres into what the reader uses.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import date

UnitSystem = Literal["metric", "us"]

# Own names, not strftime: the words must not depend on the locale of the machine.
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip

# Longer stretches of days are told in weeks, months, years.
LONGEST_IN_DAYS, LONGEST_IN_WEEKS, LONGEST_IN_MONTHS = 60.0, 180.0, 550.0

KG_PER_LB = 0.45359237
DM2_PER_SQFT = 9.290304
M_PER_FT = 0.3048


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit for display: its sign and how many base units (kg, dm2, 1) it holds."""

    sign: str
    size: float
    smallest: float


def mass_unit(system: UnitSystem) -> Unit:
    """Unit for honey and boxes, base kg."""
    return Unit("lb", KG_PER_LB, 0.1) if system == "us" else Unit("kg", 1.0, 0.1)


def comb_unit(system: UnitSystem) -> Unit:
    """Unit for comb, base dm2 of sheet."""
    return Unit("sq ft", DM2_PER_SQFT, 0.1) if system == "us" else Unit("dm²", 1.0, 1.0)


def length_unit(system: UnitSystem) -> Unit:
    """Unit for lengths of wall, base m."""
    return Unit("ft", M_PER_FT, 0.1) if system == "us" else Unit("m", 1.0, 0.1)


def count_unit(name: str, smallest: float = 10.0) -> Unit:
    """Unit for things that are counted."""
    return Unit(name, 1.0, smallest)


def rounded(value: float, digits: int = 2) -> float:
    """`value` to `digits` significant digits.

    Examples
    --------
    >>> rounded(12345.0), rounded(0.0347)
    (12000.0, 0.035)
    """
    if value == 0.0:
        return 0.0
    place = digits - 1 - floor(log10(abs(value)))
    return round(value, place)


def number(value: float, smallest: float) -> str:
    """`value` to two significant digits, or "under" the smallest amount worth naming.

    Nothing finer than the smallest amount is shown: 0.53 kg is 0.5 kg.

    Examples
    --------
    >>> number(9234.0, 10.0), number(0.03, 0.1), number(0.53, 0.1), number(4.6, 0.5)
    ('9,200', 'under 0.1', '0.5', '4.5')
    """
    if value == 0.0 and smallest >= 1.0:
        return "0"
    if value < smallest:
        return f"under {smallest:g}"
    short = rounded(round(value / smallest) * smallest)
    return f"{short:,.0f}" if short >= 10.0 or short == int(short) else f"{short:.2g}"


def range_words(low: float, median: float, high: float, unit: Unit) -> str:
    """Say a median with its 90 % range in the same breath.

    Parameters
    ----------
    low, median, high
        The 5 %, 50 % and 95 % points, in the unit's base.
    unit
        What to say them in.

    Returns
    -------
    For instance "about 9,200 bees (5,100 to 16,000)".

    Examples
    --------
    >>> range_words(5060.0, 9210.0, 16400.0, count_unit("bees"))
    'about 9,200 bees (5,100 to 16,000)'
    >>> range_words(0.0, 0.01, 0.02, mass_unit("metric"))
    'under 0.1 kg'
    >>> range_words(0.0, 1.24, 9.21, mass_unit("metric"))
    'about 1.2 kg (up to 9.2)'
    """
    ends = [number(v / unit.size, unit.smallest) for v in (low, high)]
    middle = number(median / unit.size, unit.smallest)
    if ends[0] == ends[1]:
        return f"{ends[0]} {unit.sign.removesuffix('s') if ends[0] == '1' else unit.sign}"
    about = "" if middle.startswith("under") else "about "
    spread = f"up to {ends[1]}" if ends[0].startswith("under") else f"{ends[0]} to {ends[1]}"
    return f"{about}{middle} {unit.sign} ({spread})"


def chance_words(probability: float) -> str:
    """Say a probability as "about n in 10", or at the ends as n in 100.

    Examples
    --------
    >>> chance_words(0.87), chance_words(0.999), chance_words(0.02)
    ('about 9 in 10', 'more than 99 in 100', 'about 2 in 100')
    """
    if probability > 0.99:
        return "more than 99 in 100"
    if probability < 0.01:
        return "less than 1 in 100"
    if probability < 0.05 or probability > 0.95:
        return f"about {round(100 * probability)} in 100"
    return f"about {max(1, min(9, round(10 * probability)))} in 10"


def days_words(days: float) -> str:
    """Say a stretch of days as a person would.

    Examples
    --------
    >>> days_words(1.0), days_words(27.0), days_words(90.0), days_words(1105.0)
    ('1 day', '27 days', 'about 13 weeks', 'about 3 years')
    """
    if days < LONGEST_IN_DAYS:
        return "1 day" if round(days) == 1 else f"{days:.0f} days"
    if days < LONGEST_IN_WEEKS:
        return f"about {days / 7.0:.0f} weeks"
    if days < LONGEST_IN_MONTHS:
        return f"about {days / 30.4:.0f} months"
    return f"about {days / 365.25:.0f} years"


def day_words(value: date) -> str:
    """Write a date so that nobody can misread it, for instance "Tue 14 Jul 2026"."""
    return f"{_WEEKDAYS[value.weekday()]} {short_day_words(value)} {value.year}"


def short_day_words(value: date) -> str:
    """Write a date where the year is plain, for instance "14 Jul"."""
    return f"{value.day} {_MONTHS[value.month - 1]}"

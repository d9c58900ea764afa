"""How dates, numbers and fixed words are written, once for terminal and paper alike."""

from __future__ import annotations

import math
import unicodedata
from typing import TYPE_CHECKING

from lastbee.words import day_words

if TYPE_CHECKING:
    from datetime import date

# Marks that turn the reading direction of whatever follows them: no use in a plan,
# and able to make a sentence read as its opposite.
_DIRECTION_MARKS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")

_ROUNDING = 1.0e-9

CODES_DECIDE = "Local codes and licensed practice decide."
NOT_TRUSTED = "Do not rely on this answer"


def days(first: date, last: date | None) -> str:
    """Write a day, or a stretch of days when `last` is a later one."""
    if last is None or last <= first:
        return day_words(first)
    return f"{day_words(first)} to {day_words(last)}"


def day_or_later(value: date | None, horizon: date | None) -> str:
    """Write the date of an event, or that it is not expected by the forecast's last day."""
    if value is not None:
        return day_words(value)
    return "not expected" if horizon is None else f"not by {day_words(horizon)}"


def percent(probability: float) -> str:
    """Write a probability in whole percent; never "0 %" or "100 %" for what is open."""
    probability = _probability(probability)
    if 0.0 < probability < 0.01:
        return "under 1 %"
    if 0.99 < probability < 1.0:
        return "over 99 %"
    return f"{math.floor(100.0 * probability + 0.5)} %"


def one_in(probability: float) -> str:
    """Write a small probability as "1 in 50", with no more than two digits that count."""
    probability = _probability(probability)
    if probability < 0.001:
        return "less than 1 in 1,000"
    return f"1 in {two_digits(1.0 / probability)}"


def _probability(value: float) -> float:
    # Sums of weights may miss 0 or 1 by the last digit; more than that is a mistake.
    if not -_ROUNDING <= value <= 1.0 + _ROUNDING:
        msg = f"probability is {value}, allowed 0 to 1"
        raise ValueError(msg)
    if abs(value - 1.0) <= _ROUNDING:
        return 1.0
    return 0.0 if value <= _ROUNDING else value


def two_digits(value: float) -> str:
    """Write a number of bees or grams with two digits that count, 8,931 as "8,900"."""
    if not math.isfinite(value):
        msg = f"value is {value}, allowed finite numbers"
        raise ValueError(msg)
    if abs(value) < 10.0:
        return f"{math.floor(value + 0.5):,}"
    scale = 10.0 ** (math.floor(math.log10(abs(value))) - 1)
    return f"{int(math.floor(value / scale + 0.5) * scale):,}"


def with_range(median: float, low: float, high: float) -> str:
    """Write a number and its range in the same breath, "8,900 (5,000 to 15,000)"."""
    return f"{two_digits(median)} ({two_digits(low)} to {two_digits(high)})"


def sentence(text: str) -> str:
    """Begin with a capital letter and close with a full stop where there is none."""
    plain = clean(text)
    if not plain:
        return ""
    closed = plain if plain[-1] in ".!?:…" else f"{plain}."
    return closed[0].upper() + closed[1:]


def clean(text: str) -> str:
    """Make one printable line of what a person typed.

    White space of every kind becomes single spaces; control codes (which could drive a
    terminal), lone surrogates and marks that turn the reading direction are dropped.
    """
    line = " ".join(text.split())
    return "".join(
        letter
        for letter in line
        if unicodedata.category(letter) not in {"Cc", "Cs"} and letter not in _DIRECTION_MARKS
    ).strip()

"""Reading documents back: their bare words, and how far colours stand apart."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass


def squeezed(text: str) -> str:
    """Drop white space and break marks, so that line breaks make no difference."""
    return re.sub(r"[\s\u200b]+", "", text)


def strings(value: object) -> list[str]:
    """Every string in a record."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, tuple):
        return [text for item in value for text in strings(item)]
    if is_dataclass(value):
        return [text for part in fields(value) for text in strings(getattr(value, part.name))]
    return []


def luminance(colour: str) -> float:
    """Relative luminance as W3C defines it in WCAG 2.2."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first: str, second: str) -> float:
    """Contrast ratio as W3C defines it in WCAG 2.2."""
    high, low = sorted((luminance(first), luminance(second)), reverse=True)
    return (high + 0.05) / (low + 0.05)

"""Fitting words to the encoding of a terminal or a pipe that lacks some letters."""

from __future__ import annotations

import unicodedata
from dataclasses import fields, is_dataclass
from typing import TypeVar

_Value = TypeVar("_Value")

# What to write where the reader's encoding lacks a sign; letters lose their accents.
_PLAIN_SIGNS = {
    "\N{HYPHEN}": "-", "\N{NON-BREAKING HYPHEN}": "-", "\N{MINUS SIGN}": "-",
    "\N{EN DASH}": "-", "\N{EM DASH}": "-", "\N{HORIZONTAL ELLIPSIS}": "...",
    "\N{LEFT SINGLE QUOTATION MARK}": "'", "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "“": '"', "”": '"', "„": '"', "×": "x", "≤": "<=", "≥": ">=", "→": "->", "•": "*",
    "°": " deg ", "ß": "ss", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ø": "o",
    "Ø": "O", "ł": "l", "Ł": "L",
}  # fmt: skip


def encodable(value: _Value, encoding: str) -> _Value:
    """Replace what `encoding` cannot carry, in a string or in all strings of a record."""
    if isinstance(value, str):
        return _encodable_text(value, encoding)  # type: ignore[return-value]
    if isinstance(value, tuple):
        return tuple(encodable(item, encoding) for item in value)  # type: ignore[return-value]
    if is_dataclass(value) and not isinstance(value, type):
        parts = {
            part.name: encodable(getattr(value, part.name), encoding) for part in fields(value)
        }
        return type(value)(**parts)
    return value


def _encodable_text(text: str, encoding: str) -> str:
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return "".join(_encodable_letter(letter, encoding) for letter in text)
    return text


def _encodable_letter(letter: str, encoding: str) -> str:
    try:
        letter.encode(encoding)
    except UnicodeEncodeError:
        plain = unicodedata.normalize("NFKD", _PLAIN_SIGNS.get(letter, letter))
        bare = "".join(sign for sign in plain if not unicodedata.combining(sign))
        return bare.encode(encoding, "replace").decode(encoding)
    return letter

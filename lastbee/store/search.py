"""Finding a job by what somebody remembers of it: a name, a street, the end of a phone number.

Each word that is searched for must occur somewhere in title, client, place or phone, whatever
its accents and capitals; words of digits also match a phone number written with other spaces
and dashes, and the number of the job.
"""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

from sqlalchemy import and_, or_, true

from lastbee.store.tables import cards

if TYPE_CHECKING:
    from sqlalchemy import ColumnElement

    from lastbee.record.card import Card

_MOST_WORDS = 8
_PHONE_PART = re.compile(r"[\d+()./-]*\d[\d+()./-]*")
_JOB_NUMBER = re.compile(r"#?([0-9]{1,9})")
# Fewer digits occur in nearly every phone number.
_LEAST_DIGITS = 3


def text_to_search(card: Card) -> str:
    """Give what `matching` looks through, one part a line, so that no word spans two."""
    parts = (card.title, card.client, card.place, card.phone, _digits(card.phone))
    return "\n".join(_plain(part) for part in parts)


def matching(search: str) -> ColumnElement[bool]:
    """Give the condition that every word of `search` occurs; words after the eighth are let be."""
    words = _plain(search).split(" ")[:_MOST_WORDS]
    return and_(true(), *(_occurs(word) for word in words if word))


def _occurs(word: str) -> ColumnElement[bool]:
    """Give the condition that one word occurs."""
    found = [cards.c.search_text.contains(word, autoescape=True)]
    digits = _digits(word)
    if _PHONE_PART.fullmatch(word) and len(digits) >= _LEAST_DIGITS and digits != word:
        found.append(cards.c.search_text.contains(digits))
    if number := _JOB_NUMBER.fullmatch(word):
        found.append(cards.c.number == int(number[1]))
    return or_(*found)


def _plain(text: str) -> str:
    """Drop what people do not type alike: accents, capitals, runs of spaces."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(sign for sign in apart if not unicodedata.combining(sign))
    return " ".join(bare.casefold().split())


def _digits(text: str) -> str:
    """Keep the digits of a phone number."""
    return "".join(sign for sign in text if sign.isdecimal())

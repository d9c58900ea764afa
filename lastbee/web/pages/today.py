"""Today: what to do, where and when, the most pressing first.

What was agreed with somebody for an hour of today comes first, then the walls, people at risk
and trouble before the rest; what can be done at a desk waits below.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from starlette.routing import Route

from lastbee.web.render import desk_of, page, today_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from starlette.requests import Request
    from starlette.responses import Response

    from lastbee.record.card import Card

DAYS_AHEAD = 7
MOST_CARDS = 100

# What is written down at the wall; all else can be done at a desk.
_AT_THE_WALL = ("visit", "inspection", "set-up", "close-out", "callback")
_CLOCK = re.compile(r"[0-9]{1,2}:[0-9]{2}")


@dataclass(frozen=True, slots=True)
class Stretch:
    """Cards that belong together on the page, in order of work."""

    key: str
    title: str
    cards: tuple[Card, ...]


def routes() -> list[Route]:
    """Address of the first page."""
    return [Route("/", _today)]


def _today(request: Request) -> Response:
    desk, day = desk_of(request), today_of(request)
    found = desk.today(day + timedelta(days=DAYS_AHEAD), MOST_CARDS)
    has_jobs = bool(found.due or found.questions) or desk.cards(size=1).count > 0
    return page(
        request,
        "today.html",
        stretches=stretches_of(found.due, day),
        questions=found.questions,
        has_jobs=has_jobs,
        is_cut=len(found.due) == MOST_CARDS,
        days_ahead=DAYS_AHEAD,
    )


def stretches_of(due: Iterable[Card], today: date) -> tuple[Stretch, ...]:
    """Put cards into what is agreed for today, walls, desk, tomorrow and later; none are empty.

    At walls and desk the urgent come first, then what is due longest; what is agreed goes by
    the clock and what is still to come by the calendar.
    """
    agreed: list[tuple[str, Card]] = []
    wall: list[tuple[float, date, Card]] = []
    desk: list[tuple[float, date, Card]] = []
    next_day: list[Card] = []
    later: list[tuple[date, Card]] = []
    for card in due:
        if card.due is None:
            continue
        ahead = (card.due.on - today).days
        if ahead > 1:
            later.append((card.due.on, card))
        elif ahead == 1:
            next_day.append(card)
        elif ahead == 0 and _CLOCK.fullmatch(card.due.hours):
            agreed.append((card.due.hours.zfill(5), card))
        else:
            place = wall if card.due.page in _AT_THE_WALL else desk
            place.append((-card.due.urgency, card.due.on, card))
    every = (
        Stretch("agreed", "Agreed for today", _in_order(agreed)),
        Stretch("wall", "At the wall", _in_order(wall)),
        Stretch("desk", "At the desk", _in_order(desk)),
        Stretch("tomorrow", "Tomorrow", tuple(next_day)),
        Stretch("week", "The coming week", _in_order(later)),
    )
    return tuple(stretch for stretch in every if stretch.cards)


def _in_order(keyed: list[Any]) -> tuple[Card, ...]:
    """Cards by what stands before each."""
    return tuple(one[-1] for one in sorted(keyed, key=lambda one: one[:-1]))

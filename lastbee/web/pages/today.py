"""Today: what to do, where and when, the most pressing first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Literal

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

Tone = Literal["is-late", "is-today", ""]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days that belong together on the page, and the cards due on them."""

    key: str
    title: str
    tone: Tone
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
    """Put cards into what is late, due today, tomorrow and later; empty stretches left out.

    Within a stretch the order of `due` stays, but days still to come go by the calendar.
    """
    late: list[Card] = []
    now: list[Card] = []
    next_day: list[Card] = []
    later: list[tuple[date, Card]] = []
    for card in due:
        if card.due is None:
            continue
        ahead = (card.due.on - today).days
        if ahead > 1:
            later.append((card.due.on, card))
        else:
            (late if ahead < 0 else now if ahead == 0 else next_day).append(card)
    later.sort(key=lambda pair: pair[0])
    every = (
        Stretch("overdue", "Overdue", "is-late", tuple(late)),
        Stretch("today", "Today", "is-today", tuple(now)),
        Stretch("tomorrow", "Tomorrow", "", tuple(next_day)),
        Stretch("week", "The coming week", "", tuple(card for _, card in later)),
    )
    return tuple(stretch for stretch in every if stretch.cards)

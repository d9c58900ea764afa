"""Pages from templates, with what every page shows: firm, clock, device."""

from __future__ import annotations

import re
import secrets
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast
from urllib.parse import unquote
from zoneinfo import ZoneInfo

from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from starlette.responses import HTMLResponse, Response

from lastbee import words
from lastbee.record.entry import new_id

if TYPE_CHECKING:
    from jinja2.runtime import Context
    from starlette.requests import Request

    from lastbee.office.desk import Desk
    from lastbee.office.joining import Joining
    from lastbee.record.firm import Firm
    from lastbee.web.assets import Assets

DEVICE_COOKIE = "lastbee-device"
"""Name of the cookie with the device's name, percent-encoded."""

_TEMPLATES = Path(__file__).parent / "templates"
_NOT_OF_A_NUMBER = re.compile(r"[^0-9+*#,;]")


def environment(assets: Assets) -> Environment:
    """Make the template environment: everything escaped, a missing name is an error."""
    made = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["static_url"] = assets.url
    made.filters |= {
        "day": words.day_words,
        "short_day": words.short_day_words,
        "stretch": words.days_words,
        "near_day": near_day_words,
        "moment": _moment,
        "clock_time": _clock_time,
        "tel": tel,
        "plural": plural,
    }
    return made


def page(request: Request, template: str, status: int = 200, **context: Any) -> Response:
    """Render `template` with `context` and what `base.html` needs.

    Every template also knows `firm`, `here` (the address), `now` (aware, the firm's zone),
    `today`, `device`, `is_demo` and `fresh_id()`.
    """
    now = local_now_of(request)
    shared = {
        "firm": firm_of(request),
        "here": request.url.path,
        "now": now,
        "today": now.date(),
        "device": device_of(request),
        "is_demo": request.app.state.is_demo,
        "fresh_id": lambda: fresh_id(request),
    }
    return HTMLResponse(_text(request, template, shared | context), status_code=status)


def bare_page(request: Request, template: str, status: int, **context: Any) -> Response:
    """Render `template`, one that asks nothing of the firm's record, for errors and guests."""
    return HTMLResponse(_text(request, template, context), status_code=status)


def _text(request: Request, template: str, context: dict[str, Any]) -> str:
    templates = cast("Environment", request.app.state.templates)
    return templates.get_template(template).render(context)


def desk_of(request: Request) -> Desk:
    """The use cases that the page calls."""
    return cast("Desk", request.app.state.desk)


def joining_of(request: Request) -> Joining | None:
    """The devices that may come in; None where the app is served on this machine alone."""
    return cast("Joining | None", request.app.state.joining)


def firm_of(request: Request) -> Firm:
    """The firm as last written down, asked for once a request."""
    if not hasattr(request.state, "firm"):
        request.state.firm = desk_of(request).firm()
    return cast("Firm", request.state.firm)


def now_of(request: Request) -> datetime:
    """The moment that this request goes by, the same throughout it; aware, UTC."""
    if not hasattr(request.state, "now"):
        request.state.now = request.app.state.clock().astimezone(UTC)
    return cast("datetime", request.state.now)


def local_now_of(request: Request) -> datetime:
    """The moment that this request goes by, in the firm's time zone."""
    return now_of(request).astimezone(ZoneInfo(firm_of(request).time_zone or "UTC"))


def today_of(request: Request) -> date:
    """The firm's day."""
    return local_now_of(request).date()


def device_of(request: Request) -> str:
    """Name that the device was given when it joined; empty if it has none."""
    return unquote(request.cookies.get(DEVICE_COOKIE, ""))


def fresh_id(request: Request) -> str:
    """Make an id for an entry or a job that a form on this page may write."""
    return new_id(now_of(request), secrets.token_bytes(10))


def tel(phone: str) -> str:
    """Write a telephone number as a link's address (RFC 3966).

    Examples
    --------
    >>> tel("+1 (555) 010-7788")
    'tel:+15550107788'
    """
    return "tel:" + _NOT_OF_A_NUMBER.sub("", phone)


def plural(count: int, one: str, many: str = "") -> str:
    """Write a count with its noun.

    Examples
    --------
    >>> plural(1, "job"), plural(1200, "job"), plural(2, "entry", "entries")
    ('1 job', '1,200 jobs', '2 entries')
    """
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def near_day_words(day: date, today: date) -> str:
    """Say a day as people do who are close to it.

    Examples
    --------
    >>> [near_day_words(date(2026, 7, day), date(2026, 7, 14)) for day in (5, 13, 14, 15, 17)]
    ['9 days overdue', '1 day overdue', 'today', 'tomorrow', 'Fri 17 Jul']
    """
    ahead = (day - today).days
    if ahead < 0:
        return f"{plural(-ahead, 'day')} overdue"
    if ahead <= 1:
        return ("today", "tomorrow")[ahead]
    if day.year == today.year:
        return words.day_words(day).removesuffix(f" {day.year}")
    return words.day_words(day)


@pass_context
def _moment(context: Context, moment: datetime) -> str:
    local = moment.astimezone(context["now"].tzinfo)
    return f"{words.day_words(local.date())}, {local:%H:%M}"


@pass_context
def _clock_time(context: Context, moment: datetime) -> str:
    return f"{moment.astimezone(context['now'].tzinfo):%H:%M}"

"""The joining link: how a phone becomes one of the firm's devices."""

from __future__ import annotations

import hmac
from typing import TYPE_CHECKING
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from lastbee.errors import Problem
from lastbee.web.guard import MEMBER_COOKIE, membership
from lastbee.web.posting import posting
from lastbee.web.render import DEVICE_COOKIE, bare_page, device_of

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request

_YEAR_S = 365 * 24 * 3600
_LONGEST_NAME = 40
_WRONG_LINK = "This joining link does not open the firm: ask the office for a new one."


def routes() -> list[Route]:
    """Address of the joining link."""
    return [
        Route("/join/{token}", _ask, methods=["GET"]),
        Route("/join/{token}", posting(_join), methods=["POST"]),
    ]


def _ask(request: Request) -> Response:
    _check(request)
    return bare_page(request, "join.html", 200, name=device_of(request), problem=None)


def _join(request: Request, form: FormData) -> Response:
    token = _check(request)
    name = " ".join(str(form.get("name", "")).split())
    if not 0 < len(name) <= _LONGEST_NAME:
        mend = f"write up to {_LONGEST_NAME} letters, such as Ladder phone"
        problem = Problem("name of the device", name or None, mend)
        return bare_page(request, "join.html", 422, name=name, problem=problem)
    answer = RedirectResponse("/", 303)
    for cookie, value in ((MEMBER_COOKIE, membership(token)), (DEVICE_COOKIE, quote(name))):
        answer.set_cookie(
            cookie,
            value,
            max_age=_YEAR_S,
            httponly=True,
            samesite="lax",
            secure=request.url.scheme == "https",
        )
    return answer


def _check(request: Request) -> str:
    """Give the firm's token if the link carries it.

    Raises
    ------
    HTTPException
        If it carries another, or the firm has none.
    """
    token: str | None = request.app.state.token
    shown = str(request.path_params["token"])
    if token is None or not hmac.compare_digest(shown.encode(), token.encode()):
        raise HTTPException(403, _WRONG_LINK)
    return token

"""The joining link: how a phone becomes one of the firm's devices."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from lastbee.errors import Problem
from lastbee.web.guard import MEMBER_COOKIE, shown_pass
from lastbee.web.posting import posting
from lastbee.web.render import DEVICE_COOKIE, bare_page, device_of, joining_of

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request

    from lastbee.office.joining import Joining

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
    _joining_by_link(request)
    return bare_page(request, "join.html", 200, name=device_of(request), problem=None)


def _join(request: Request, form: FormData) -> Response:
    joining = _joining_by_link(request)
    name = " ".join(str(form.get("name", "")).split())
    if not 0 < len(name) <= _LONGEST_NAME:
        mend = f"write up to {_LONGEST_NAME} letters, such as Ladder phone"
        problem = Problem("name of the device", name or None, mend)
        return bare_page(request, "join.html", 422, name=name, problem=problem)
    passed = joining.join(name, shown_pass(request))
    answer = RedirectResponse("/", 303)
    for cookie, value in ((MEMBER_COOKIE, passed), (DEVICE_COOKIE, quote(name))):
        answer.set_cookie(
            cookie,
            value,
            max_age=_YEAR_S,
            httponly=True,
            samesite="lax",
            secure=request.url.scheme == "https",
        )
    return answer


def _joining_by_link(request: Request) -> Joining:
    """Give what lets devices in, if the link carries the secret.

    Raises
    ------
    HTTPException
        If it carries another, or there is none.
    """
    joining = joining_of(request)
    if joining is None or not joining.opens(str(request.path_params["token"])):
        raise HTTPException(403, _WRONG_LINK)
    return joining

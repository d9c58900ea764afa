"""What a person, or a script, sees when a request cannot be answered.

One clear sentence with a way on, never a traceback. Whoever asks for JSON gets one shape::

    {"status": 422, "sentence": "...", "problems": [{"field": ..., "sentence": ...}, ...]}
"""

from __future__ import annotations

import logging
from http import HTTPStatus
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from lastbee.errors import InvalidInput, LastbeeError, Problem
from lastbee.web import render
from lastbee.web.headers import HEADERS
from lastbee.web.posting import is_outbox

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from starlette.requests import Request

_LOG = logging.getLogger(__name__)

_SENTENCES = {
    400: "This request cannot be read.",
    403: "This page may not be used from there.",
    404: "There is no such page.",
    405: "This page cannot be used in this way.",
    413: "That is too large to be sent at once: send fewer or smaller pictures.",
    422: "Something here has to be mended before it can be kept.",
    500: "Something went wrong on our side. What you wrote is not lost: go back and save again.",
}


def answer(
    request: Request,
    status: int,
    sentence: str = "",
    problems: Sequence[Problem] = (),
    headers: Mapping[str, str] | None = None,
) -> Response:
    """Answer with an error of `status`, as a page or as JSON, whichever was asked for."""
    sentence = sentence or _SENTENCES.get(status) or f"{HTTPStatus(status).phrase}."
    made: Response
    if wants_json(request):
        told = [{"field": one.field, "sentence": one.sentence} for one in problems]
        content = {"status": status, "sentence": sentence, "problems": told}
        made = JSONResponse(content, status_code=status)
    else:
        made = render.bare_page(
            request, "failure.html", status, sentence=sentence, problems=problems, number=status
        )
    made.headers.update(headers or {})
    return made


def wants_json(request: Request) -> bool:
    """Whether the request comes from a script that reads JSON, not from a person."""
    accepts = request.headers.get("accept", "")
    return is_outbox(request) or ("application/json" in accepts and "text/html" not in accepts)


def _on_status(request: Request, error: Exception) -> Response:
    if not isinstance(error, HTTPException):
        raise error
    # Pages raise it with a sentence of their own; the library's own words are no sentence.
    own = error.detail if error.detail.endswith((".", "?")) else ""
    return answer(request, error.status_code, own, headers=error.headers)


def _on_invalid(request: Request, error: Exception) -> Response:
    problems = error.problems if isinstance(error, InvalidInput) else ()
    return answer(request, 422, problems=problems)


def _on_told(request: Request, error: Exception) -> Response:
    # Nothing is wrong with what was sent, so a phone keeps it and tries again.
    return answer(request, 503, str(error))


def _on_fault(request: Request, error: Exception) -> Response:
    _LOG.error("%s %s failed", request.method, request.url.path, exc_info=error)
    # This handler stands outside the guard, so it brings the headers itself.
    return answer(request, 500, headers=HEADERS)


HANDLERS: dict[Any, Callable[[Request, Exception], Response]] = {
    HTTPException: _on_status,
    InvalidInput: _on_invalid,
    LastbeeError: _on_told,
    Exception: _on_fault,
}
"""What to answer to which exception, for `Starlette(exception_handlers=...)`."""

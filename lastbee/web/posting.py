"""What takes in a posted form: read on the event loop, answered in the thread pool."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response

_MOST_FIELDS, _MOST_FILES, _LARGEST_FIELD_BYTES = 500, 20, 256 * 1024


def posting(
    answer: Callable[[Request, FormData], Response],
) -> Callable[[Request], Awaitable[Response]]:
    """Make an endpoint of a plain function of request and form, files closed behind it."""

    async def endpoint(request: Request) -> Response:
        async with request.form(
            max_fields=_MOST_FIELDS, max_files=_MOST_FILES, max_part_size=_LARGEST_FIELD_BYTES
        ) as form:
            return await run_in_threadpool(answer, request, form)

    return endpoint


def is_outbox(request: Request) -> bool:
    """Whether a phone hands in what waited there, which is kept whatever is wrong with it."""
    return "x-outbox" in request.headers


def posted_of(form: FormData) -> dict[str, list[str]]:
    """Every text of a form by its name, files left out."""
    posted: dict[str, list[str]] = {}
    for name, value in form.multi_items():
        if isinstance(value, str):
            posted.setdefault(name, []).append(value)
    return posted

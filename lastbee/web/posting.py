"""What takes in a posted form: read on the event loop, answered in the thread pool."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool

from lastbee.record.entry import Entry, is_id, is_of_a_clock
from lastbee.web.render import device_of, fresh_id, now_of

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Mapping

    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response

    from lastbee.record.entry import EntryKind

_MOST_FIELDS, _MOST_FILES, _LARGEST_FIELD_BYTES = 500, 20, 256 * 1024
_LONGEST_NAME = 120


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


def posted_of(form: FormData) -> dict[str, list[str]]:
    """Every text of a form by its name, files left out."""
    posted: dict[str, list[str]] = {}
    for name, value in form.multi_items():
        if isinstance(value, str):
            posted.setdefault(name, []).append(value)
    return posted


def entry_of(
    request: Request,
    form: FormData,
    kind: EntryKind,
    body: Mapping[str, Any],
    job: str | None = None,
) -> Entry:
    """Make the entry that a form writes, under the id that the form was given.

    The same form posted twice makes the same entry, so that a press too many does no harm.
    """
    return Entry(
        id=_id_in(form, "entry_id") or fresh_id(request),
        job=job,
        kind=kind,
        body=body,
        written_at=moment_of(str(form.get("written_at", ""))) or now_of(request),
        device=_name_in(form, "device") or device_of(request),
        person=_name_in(form, "person"),
        replaces=_id_in(form, "replaces"),
    )


def _id_in(form: FormData, name: str) -> str | None:
    written = str(form.get(name, ""))
    return written if is_id(written) else None


def _name_in(form: FormData, name: str) -> str:
    return str(form.get(name, "")).strip()[:_LONGEST_NAME]


def moment_of(written: str) -> datetime | None:
    """The moment that a device says it wrote at; None for what no clock could say."""
    try:
        moment = datetime.fromisoformat(written)
        return moment.astimezone(UTC) if moment.tzinfo and is_of_a_clock(moment) else None
    except (ValueError, OverflowError):
        return None

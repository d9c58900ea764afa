"""A small firm for the tests of the pages, on the morning of Tuesday 14 July 2026."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from record_factory import CALL, VISIT, Writer

from lastbee.record.entry import Entry, new_id

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from lastbee.record.entry import EntryKind
    from lastbee.record.firm import Firm

HERE = {"origin": "http://localhost"}
"""What a browser tells of a form of the app's own pages."""


NOW = datetime(2026, 7, 14, 12, 0, tzinfo=UTC)
"""Eight in the morning where the firm is."""

FIRM = {
    "name": "Quiet Walls",
    "place": "Meadowgate, Ostrel Vale",
    "latitude": 43.1,
    "longitude": -72.4,
    "time_zone": "Etc/GMT+4",
}


def id_of(number: int) -> str:
    """The same id for the same number; never one that `Writer` gives."""
    return new_id(NOW - timedelta(days=90) + timedelta(seconds=number), number.to_bytes(10, "big"))


def entry(number: int, kind: EntryKind, body: dict[str, Any], job: int | None = None) -> Entry:
    """An entry written in the past, of the firm or of the job with that number."""
    of_job = None if job is None else id_of(job)
    written_at = NOW - timedelta(days=20) + timedelta(minutes=number)
    return Entry(id_of(number), of_job, kind, body, written_at, "phone", "T. Wick")


def handful() -> list[Entry]:
    """A firm with two people, a ladder, a trap-out that runs, calls, and a slip of the pen."""
    running = Writer()
    return [
        entry(1, "firm", FIRM),
        entry(2, "person", {"name": "T. Wick", "does": ["calls", "ladder"], "phone": "555-0101"}),
        entry(3, "person", {"name": "O. Lark", "is_gone": True}),
        entry(4, "kit", {"name": "Ladder, 5 m", "sort": "ladder", "count": 2, "at": "van"}),
        *running.story("set-up"),
        running.write("visit", VISIT | {"date": "2026-07-10"}),
        running.write("visit", VISIT | {"date": "2026-07-11", "cone": "half <shut>"}),
        entry(20, "call", CALL | {"title": "Humming <chimney>", "inspect_on": "2026-07-14"}, 19),
        entry(22, "call", {"date": "2026-07-13", "place": "Mill Row", "phone": "+1 555 0107"}, 21),
        entry(24, "call", CALL | {"title": "Porch post", "inspect_on": "2026-07-18"}, 23),
    ]


def many_calls(count: int) -> list[Entry]:
    """As many jobs, each with a call that waits for an answer."""
    body = {"date": "2026-07-13", "place": "Porch Row"}
    return [entry(1000 + 2 * n, "call", body, 1001 + 2 * n) for n in range(count)]


def firm_at(client: TestClient) -> Firm:
    """The firm as it stands in the app."""
    return client.app.state.desk.firm()  # type: ignore[attr-defined, no-any-return]


def hidden_of(client: TestClient, address: str) -> dict[str, str]:
    """The hidden fields of the first form that posts on a page."""
    text = client.get(address).text
    form = re.search(r'<form[^>]*method="post".*?</form>', text, re.DOTALL)
    assert form
    return dict(re.findall(r'type="hidden" name="([^"]+)" value="([^"]*)"', form[0]))

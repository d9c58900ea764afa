"""The demo firm: an invented firm with thirty jobs in every stage, on one summer morning.

What it has written stands in `demo_firm.toml`. The same entries with the same ids come out
every time, so that links to pages of the demo keep.
"""

from __future__ import annotations

import tomllib
from datetime import UTC, date, datetime, time, timedelta
from hashlib import sha256
from importlib.resources import files
from typing import TYPE_CHECKING, Any, cast
from zoneinfo import ZoneInfo

from lastbee.office.demo_firm_pictures import demo_pictures
from lastbee.record.entry import JOB_KINDS, WITHDRAWN, Entry, new_id

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from lastbee.record.entry import EntryKind

ZONE = ZoneInfo("Etc/GMT+4")
MORNING = datetime(2026, 7, 14, 8, tzinfo=ZONE)
"""When the demo begins: a Tuesday."""

FOUNDED = datetime(2026, 3, 2, 9, tzinfo=ZONE)
USUALLY_LATE_MIN = 10
OFFICE = "office"

_SAID_BESIDE = ("by", "known_as", "corrects", "late_min")
_INSPECTED = "inspected"


def demo_entries() -> tuple[Entry, ...]:
    """Everything that the firm has written, in the order in which it was written."""
    tree = tomllib.loads(files("lastbee.office").joinpath("demo_firm.toml").read_text("utf-8"))
    entries = [*_of_the_firm(tree), *(one for job in tree["job"] for one in _of_a_job(job))]
    return tuple(sorted(entries, key=lambda entry: (entry.written_at, entry.id)))


def demo_clock(now: Callable[[], datetime]) -> Callable[[], datetime]:
    """A clock that begins at `MORNING` and runs on as `now` does."""
    began = now()
    return lambda: (MORNING + (now() - began)).astimezone(UTC)


def _of_the_firm(tree: Mapping[str, Any]) -> Iterator[Entry]:
    told = [("firm", tree["firm"])]
    told += [(kind, body) for kind in ("person", "kit") for body in tree[kind]]
    for place, (kind, body) in enumerate(told):
        at = FOUNDED + timedelta(minutes=place)
        yield Entry(
            id=_id(at, f"firm {kind} {place}"),
            job=None,
            kind=cast("EntryKind", kind),
            body=_as_json(body),
            written_at=at,
            device=OFFICE,
            person="T. Wick",
        )


def _of_a_job(job: Mapping[str, Any]) -> Iterator[Entry]:
    first = _happened(job["told"][0])[1]
    job_id = _id(first, f"job {job['key']}")
    ids: dict[str, str] = {}
    for place, told in enumerate(job["told"]):
        kind, at = _happened(told)
        written_at = at + timedelta(minutes=told.get("late_min", USUALLY_LATE_MIN))
        id_ = _id(written_at, f"{job['key']} {place}")
        if "known_as" in told:
            ids[told["known_as"]] = id_
        yield Entry(
            id=id_,
            job=job_id,
            kind=cast("EntryKind", kind),
            body=_body(kind, at, told),
            written_at=written_at,
            device=f"phone of {told['by']}",
            person=told["by"],
            replaces=ids[told["corrects"]] if "corrects" in told else None,
        )


def _happened(told: Mapping[str, Any]) -> tuple[str, datetime]:
    """Kind and moment of what was told: its first key, and the value of that."""
    key, moment = next(iter(told.items()))
    kind = "inspection" if key == _INSPECTED else key
    if kind not in JOB_KINDS:
        raise ValueError(f"the first key is {key!r}; it must be a kind of entry")
    return kind, datetime.fromisoformat(moment).replace(tzinfo=ZONE)


def _body(kind: str, at: datetime, told: Mapping[str, Any]) -> dict[str, Any]:
    body = list(told.items())[1:]
    said = {key: _as_json(value) for key, value in body if key not in _SAID_BESIDE}
    if WITHDRAWN in said:
        return said
    when = {"date": at.date().isoformat()}
    if kind not in ("decision", "close-out", "certificate", "ended"):
        when["time"] = f"{at:%H:%M}"
    if kind == "inspection":
        return {**said, "inspection": {**when, **said["inspection"]}}
    if kind == "photo":
        said["picture"] = demo_pictures()[said["picture"]].sha256
    return {**when, **said}


def _as_json(value: Any) -> Any:
    """What TOML holds, as JSON has it."""
    if isinstance(value, dict):
        return {key: _as_json(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_as_json(one) for one in value]
    return value.isoformat() if isinstance(value, date | time) else value


def _id(at: datetime, name: str) -> str:
    return new_id(at, sha256(name.encode()).digest()[:10])

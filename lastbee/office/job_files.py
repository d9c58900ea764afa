"""Job files out of the record and into it.

Out: the record of a job as the file that `lastbee plan` and `lastbee visit` read. In: a file
becomes the entries that it amounts to. Their ids are made from what the file says, so that the
same file read twice adds nothing, and one that was read before and has a visit more adds that
visit.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, datetime, time
from hashlib import sha256
from typing import TYPE_CHECKING, Any, cast

from lastbee.jobs.jobfile import parse_job
from lastbee.jobs.jobfile_text import tree_of
from lastbee.record.chains import clock_of, day_of
from lastbee.record.entry import Entry, new_id

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from lastbee.jobs.job import Job
    from lastbee.record.entry import EntryKind
    from lastbee.record.record import Record

DEVICE = "job file"
_INSPECTED = ("inspection", "site", "building", "people")
_LEFT_TO_THE_FIRM = "preferences"
_NOT_TAKEN_OVER = "The job file also said this, which is not taken over:"
_MORNING, _NOON = time(6), time(12)


def job_file_of(record: Record) -> str:
    """Write a record as the text of a job file.

    Returns
    -------
    TOML that `lastbee.jobs.jobfile.parse_job` reads as `record.checked_job()`, if the record
    has come far enough for one; what is there of it otherwise.
    """
    import tomli_w

    return tomli_w.dumps(_without_nothing(record.tree), multiline_strings=True)


def entries_of_job_file(text: str) -> tuple[Entry, ...]:
    """Turn the text of a job file into entries, in the order in which things happened.

    Raises
    ------
    InvalidInput
        If it is no job file, or what it says cannot be used; every problem is named.
    """
    job, tree = parse_job(text), _as_json(tree_of(text))
    job_id = _id(job.inspection.at, [job.title, job.site.place, job.inspection.at.isoformat()])
    return tuple(
        Entry(
            id=_id(at, [job_id, kind, body]),
            job=job_id,
            kind=cast("EntryKind", kind),
            body=body,
            written_at=at,
            device=DEVICE,
            person=job.prepared_by,
        )
        for kind, at, body in _told(job, tree)
    )


def as_corrections(entries: Iterable[Entry], record: Record) -> Iterator[Entry]:
    """Let what a changed job file says stand in for what it said when it was read before.

    Parameters
    ----------
    entries
        Of `entries_of_job_file`.
    record
        What is kept of their job. What it has under the same id already stays as it is.
    """
    before = {
        (told.kind, told.first.written_at): told.entry.id
        for told in record.told
        if told.first.device == DEVICE
    }
    for entry in entries:
        yield replace(entry, replaces=before.get((entry.kind, entry.written_at)))


def _told(job: Job, tree: Mapping[str, Any]) -> Iterator[tuple[str, datetime, dict[str, Any]]]:
    """Kind, moment and body of each thing that a job file tells."""
    at = job.inspection.at
    day = at.date().isoformat()
    called = {key: tree[key] for key in ("title", "client") if key in tree}
    yield "call", at, {"date": day, "place": job.site.place, **called}
    inspected = {key: tree[key] for key in _INSPECTED if key in tree}
    yield "inspection", at, {**inspected, "inspection": _dated(tree["inspection"])}
    setup = tree.get("setup", {})
    if job.visits:
        cone_on = setup["cone_on"]
        yield "decision", at, {"date": day, "way": "trap-out", "cone_on": cone_on}
        morning = datetime.combine(date.fromisoformat(cone_on), _MORNING, at.tzinfo)
        yield "set-up", morning, {"date": cone_on, **_of(setup, "box", "rob_out")}
    for visit in map(_dated, tree.get("visit", ())):
        yield "visit", _moment(visit, at), visit
    left = {} if job.visits or not setup else {"setup": setup}
    left |= _of(tree, _LEFT_TO_THE_FIRM)
    if left:
        words = f"{_NOT_TAKEN_OVER}\n{json.dumps(left, indent=1, ensure_ascii=False)}"
        yield "note", at, {"date": day, "text": words}


def _dated(table: Mapping[str, Any]) -> dict[str, Any]:
    """A table whose day may hold the time too, with the two apart."""
    day, _, clock = str(table["date"]).replace(" ", "T").partition("T")
    return {**table, "date": day, **({"time": clock[:5]} if clock else {})}


def _moment(visit: Mapping[str, Any], inspected_at: datetime) -> datetime:
    on = day_of(visit) or inspected_at.date()
    return datetime.combine(on, clock_of(visit) or _NOON, inspected_at.tzinfo)


def _of(table: Mapping[str, Any], *keys: str) -> dict[str, Any]:
    return {key: table[key] for key in keys if key in table}


def _id(at: datetime, said: Any) -> str:
    """An id that the same words get every time."""
    return new_id(at, sha256(json.dumps(said, sort_keys=True).encode()).digest()[:10])


def _as_json(value: Any) -> Any:
    """What TOML holds, as JSON has it."""
    if isinstance(value, dict):
        return {key: _as_json(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_as_json(one) for one in value]
    return value.isoformat() if isinstance(value, date | time) else value


def _without_nothing(value: Any) -> Any:
    """Leave out what says nothing, for which TOML has no sign."""
    if isinstance(value, dict):
        return {key: _without_nothing(one) for key, one in value.items() if one is not None}
    if isinstance(value, list | tuple):
        return [_without_nothing(one) for one in value if one is not None]
    return value

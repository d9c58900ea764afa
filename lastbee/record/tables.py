"""The keys that the body of each kind of entry may have, and how each is read.

They are tables like those of a job file and read by the same kinds, so that a form, a phone
that was offline and a file are told the same sentences. An inspection and a visit *are* the
tables of a job file.

The kinds forgive spellings ("Trap_Out", true for "yes"); whoever works with a body does not
have to: `read_body` gives it in one spelling.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Annotated, Any, get_args
from zoneinfo import ZoneInfo

from lastbee.errors import Problem
from lastbee.jobs import job
from lastbee.jobs.jobfile_climate import climate_from
from lastbee.jobs.jobfile_fields import Kind, Unfit, choice, measure, number, text, whole, yes_no
from lastbee.jobs.jobfile_findings import Findings
from lastbee.jobs.jobfile_reading import read_tables
from lastbee.jobs.jobfile_rules import check_longitude
from lastbee.jobs.jobfile_schema import (
    BuildingTable,
    ClimateTable,
    InspectionTable,
    PeopleTable,
    PreferencesTable,
    SiteTable,
)
from lastbee.jobs.jobfile_table import Clock, Day, Flag, Notes, Table, key, table
from lastbee.jobs.jobfile_visit_tables import VisitTable
from lastbee.methods.closeout import CLOSE, OPEN, ROB_OUT
from lastbee.record.entry import SETTLES, WITHDRAWN

if TYPE_CHECKING:
    from collections.abc import Mapping

_SHA256 = re.compile(r"[0-9a-f]{64}")
_MOST_ANSWERS = 60
_LONGEST_WORD = 60
# Clock and sun are compared in whole hours: summer time does not matter.
_ANY_DAY = datetime(2026, 1, 1, 12)  # noqa: DTZ001  (given a zone where it is used)

WAYS = (
    "trap-out", "trap-out then open", "cut-out outside", "cut-out inside", "swarm capture",
    "repellent", "smoke", "vacuum", "eradication", "leave",
)  # fmt: skip
"""Keys of the ways of the trade, as a plan names them."""

TRAP_OUT_WAYS = ("trap-out", "trap-out then open")
CLOSE_OUT_WAYS = (ROB_OUT, OPEN, CLOSE)
"""Keys of the ways to deal with what is left, as a progress names them."""


def _line(what: str) -> Any:
    return text(120, what)


def _words(longest: int = 4000) -> Any:
    return text(longest, "it", many_lines=True)


def _picture() -> Kind:
    """Read the SHA-256 of a kept picture."""

    def read(written: object) -> str:
        if isinstance(written, str) and _SHA256.fullmatch(written):
            return written
        raise Unfit("take the photograph again")

    return Kind(read, {"type": "string", "pattern": _SHA256.pattern})


def _answers() -> Kind:
    """Read what a caller answered: short words by short words."""

    def read(written: object) -> dict[str, str]:
        if (
            not isinstance(written, dict)
            or len(written) > _MOST_ANSWERS
            or not all(isinstance(one, str) for pair in written.items() for one in pair)
            or any(len(one) > _LONGEST_WORD for pair in written.items() for one in pair)
        ):
            raise Unfit("answer each question once, by one of its answers")
        return dict(written)

    return Kind(read, {"type": "object", "additionalProperties": {"type": "string"}})


def _list_of(what: str, longest: int = 600) -> Kind:
    """Read a list of short texts."""

    def read(written: object) -> tuple[str, ...]:
        many = [written] if isinstance(written, str) else written
        if not isinstance(many, list | tuple) or len(many) > _MOST_ANSWERS:
            raise Unfit(f"write {what} as a list")
        if not all(isinstance(one, str) and 0 < len(one) <= longest for one in many):
            raise Unfit(f"write {what} as a list of texts of at most {longest} characters")
        return tuple(many)

    return Kind(read, {"type": "array", "items": {"type": "string", "maxLength": longest}})


_Latitude = Annotated[
    float | None, number(-66.0, 66.0, "degrees north, south below zero, such as 43.1")
]
_Longitude = Annotated[
    float | None, number(-180.0, 180.0, "degrees east, west below zero, such as -72.4")
]
_YesNo = Annotated[job.YesNo | None, yes_no()]


class CallTable(Table):
    """What a caller told, and what was agreed."""

    on: Day = key("Day of the call.", alias="date")
    at: Clock = key("Time of the call.", alias="time")
    client: Annotated[str | None, _line("the caller's name")] = key("Who called.")
    phone: Annotated[str | None, _line("the number to call back")] = key("Number to call back.")
    place: Annotated[str | None, _line("the place")] = key("Where the bees are.")
    title: Annotated[str | None, _line("the title")] = key("Name of the job.")
    who_called: Annotated[
        str | None, choice("owner", "tenant", "neighbour", "manager", "other")
    ] = key("Who the caller is to the building.")
    allergic_person: _YesNo = key("Whether anyone there is allergic.")
    public_path_near: _YesNo = key("Whether the public passes close by.")
    answers: Annotated[dict[str, str] | None, _answers()] = key("Answer to each question asked.")
    latitude: _Latitude = key("Degrees north.")
    longitude: _Longitude = key("Degrees east.")
    inspect_on: Day = key("Day of the inspection that was booked.")
    inspect_at: Clock = key("Time of it.")
    inspect_by: Annotated[str | None, _line("who inspects")] = key("Who inspects.")
    result: Annotated[
        str | None, choice("inspection booked", "advice given", "call back", "not ours")
    ] = key("What came of the call.")
    notes: Notes = key("Anything else.")


class InspectionBody(Table):
    """An inspection: the tables of a job file that it fills."""

    inspection: InspectionTable = table(InspectionTable)
    site: SiteTable = table(SiteTable)
    building: BuildingTable = table(BuildingTable)
    people: PeopleTable = table(PeopleTable)


class DecisionTable(Table):
    """Which way was agreed on."""

    on: Day = key("Day of the decision.", alias="date")
    way: Annotated[str | None, choice(*WAYS)] = key("The way agreed on.")
    reason: Annotated[str | None, _words()] = key("Why, where the plan says otherwise.")
    agreed_with: Annotated[str | None, _line("who agreed")] = key("Who agreed to it.")
    cone_on: Day = key("Day on which the cone is to go on.")


class SetUpTable(Table):
    """Cone and box on, other gaps closed."""

    on: Day = key("Day on which the cone went on.", alias="date")
    at: Clock = key("Time of it.", alias="time")
    box: Annotated[job.BoxContents | None, choice(*get_args(job.BoxContents))] = key(
        "What the box holds."
    )
    rob_out: Flag = key("Whether the honey is to be robbed out at the end.")
    gaps_closed: Annotated[int | None, whole(0, 500, "the gaps closed")] = key("Gaps closed.")
    inside_closed: _YesNo = key("Whether the ways into the rooms are closed too.")
    box_label: Annotated[str | None, _line("the box's label")] = key("Which box it is.")
    notes: Notes = key("Anything else.")


class BoxEventTable(Table):
    """What became of the box."""

    on: Day = key("Day.", alias="date")
    at: Clock = key("Time.", alias="time")
    what: Annotated[str | None, choice("moved", "checked", "merged", "lost")] = key("What.")
    place: Annotated[str | None, _line("the place")] = key("Where it stands now.")
    queen: Annotated[str | None, choice("seen", "eggs seen", "not seen")] = key("The queen.")
    label: Annotated[str | None, _line("the box's label")] = key("Which box.")
    notes: Notes = key("Anything else.")


class CloseOutTable(Table):
    """How the wall was closed, and what stays in it."""

    on: Day = key("Day on which the wall was closed.", alias="date")
    way: Annotated[str | None, choice(*CLOSE_OUT_WAYS, *WAYS)] = key(
        "What was done about what was left; or, without a trap-out, the way itself."
    )
    done: Annotated[tuple[str, ...] | None, _list_of("what was done")] = key("What was done.")
    honey_left: Annotated[float | None, measure("mass", "0 kg", "200 kg")] = key(
        "Honey that stays in the wall."
    )
    reason: Annotated[str | None, _words()] = key(
        "Why it was closed before the confidence was reached."
    )
    notes: Notes = key("Anything else.")


class CertificateTable(Table):
    """The closing certificate."""

    on: Day = key("Day it was issued.", alias="date")
    signed_by: Annotated[str | None, _line("who signs")] = key("Who signs it.")
    warranty_until: Day = key("Last day of the warranty.")
    words: Annotated[str | None, _words(2000)] = key("Anything to add.")
    sure: Annotated[tuple[str, ...] | None, _list_of("how sure it was", 2000)] = key(
        "How sure it was that the wall was empty, as known when it was signed."
    )
    statement: Annotated[tuple[str, ...] | None, _list_of("what was achieved")] = key(
        "What was achieved, as known when it was signed."
    )
    honey_forecast: Annotated[tuple[str, ...] | None, _list_of("the honey that stays")] = key(
        "Honey that stays in the wall, as forecast when it was signed."
    )
    meaning: Annotated[tuple[str, ...] | None, _list_of("what it may come to", 2000)] = key(
        "What that may come to, as told when it was signed."
    )


class CallbackTable(Table):
    """A call under the warranty."""

    on: Day = key("Day.", alias="date")
    at: Clock = key("Time.", alias="time")
    what: Annotated[str | None, _words()] = key("What the client reports.")
    cause: Annotated[
        str | None,
        choice("leak", "new swarm", "bees left behind", "honey or smell", "not ours", "unknown"),
    ] = key("What it was.")
    mended: _YesNo = key("Whether it is put right.")
    notes: Notes = key("Anything else.")


class NoteTable(Table):
    """A note."""

    on: Day = key("Day.", alias="date")
    at: Clock = key("Time.", alias="time")
    text: Annotated[str | None, _words()] = key("What to remember.")


class PhotoTable(Table):
    """A photograph."""

    on: Day = key("Day it was taken.", alias="date")
    at: Clock = key("Time it was taken.", alias="time")
    of: Annotated[
        str | None,
        choice("exit", "gap", "cone", "box", "wall", "inside", "closed", "other"),
    ] = key("What it shows.")
    caption: Annotated[str | None, text(300, "the caption", many_lines=True)] = key("In words.")
    picture: Annotated[str | None, _picture()] = key("SHA-256 of the kept picture.")
    keeps_location: Flag = key("Whether the place where it was taken is kept.")
    latitude: _Latitude = key("Degrees north, where kept.")
    longitude: _Longitude = key("Degrees east, where kept.")


class EndedTable(Table):
    """Why a job ended without a certificate."""

    on: Day = key("Day.", alias="date")
    why: Annotated[
        str | None,
        choice("client said no", "refused", "not honey bees", "handed on", "swarm gone", "other"),
    ] = key("Why.")
    words: Annotated[str | None, _words()] = key("In words.")


class FirmTable(Table):
    """The firm, and what its jobs start from."""

    name: Annotated[str | None, _line("the firm's name")] = key("Name on every page.")
    place: Annotated[str | None, _line("the place")] = key("Where the firm is.")
    latitude: _Latitude = key("Degrees north, for jobs that have none.")
    longitude: _Longitude = key("Degrees east, for jobs that have none.")
    time_zone: Annotated[str | None, SiteTable.model_fields["time_zone"].metadata[0]] = key(
        "IANA name of the zone, for jobs that have none."
    )
    climate: ClimateTable = table(ClimateTable)
    preferences: PreferencesTable = table(PreferencesTable)
    warranty_months: Annotated[int | None, whole(0, 240, "the months of warranty")] = key(
        "Months of warranty that a certificate starts from."
    )


class PersonTable(Table):
    """Somebody of the firm."""

    name: Annotated[str | None, _line("the name")] = key("Name.")
    does: Annotated[tuple[str, ...] | None, _list_of("what they do", 40)] = key("What they do.")
    phone: Annotated[str | None, _line("the number")] = key("Number.")
    is_gone: Flag = key("Whether they have left.")


class KitTable(Table):
    """A thing that is taken along."""

    name: Annotated[str | None, _line("the name")] = key("Name.")
    sort: Annotated[str | None, choice("cone", "box", "ladder", "vacuum", "camera", "other")] = key(
        "What it is."
    )
    label: Annotated[str | None, _line("the label")] = key("Label on it.")
    count: Annotated[int | None, whole(0, 10_000, "how many")] = key("How many.")
    at: Annotated[str | None, _line("where it is")] = key("Where it is.")
    notes: Notes = key("Anything else.")


@dataclass(frozen=True, slots=True)
class Body:
    """The tables of a kind of entry, and the dotted keys that it cannot do without."""

    table: type[Table]
    required: tuple[tuple[str, str], ...]


_DAY = ("date", "write the day as year-month-day, such as 2026-06-29")

BODIES: dict[str, Body] = {
    "call": Body(CallTable, (_DAY,)),
    "inspection": Body(InspectionBody, (("inspection.date", _DAY[1]),)),
    "decision": Body(DecisionTable, (_DAY, ("way", "choose the way that was agreed on"))),
    "set-up": Body(SetUpTable, (_DAY,)),
    "visit": Body(VisitTable, (_DAY,)),
    "box": Body(BoxEventTable, (_DAY, ("what", "choose what was done with the box"))),
    "close-out": Body(CloseOutTable, (_DAY, ("way", "choose what was done about what was left"))),
    "certificate": Body(CertificateTable, (_DAY, ("signed_by", "write who signs"))),
    "callback": Body(CallbackTable, (_DAY, ("what", "write what the client reports"))),
    "note": Body(NoteTable, (_DAY, ("text", "write the note"))),
    "photo": Body(PhotoTable, (_DAY, ("picture", "take or choose a photograph"))),
    "ended": Body(EndedTable, (_DAY, ("why", "choose why it ended"))),
    "firm": Body(FirmTable, ()),
    "person": Body(PersonTable, (("name", "write the name"),)),
    "kit": Body(KitTable, (("name", "write what it is"),)),
}
"""What each kind of entry may hold, by kind."""


def read_body(kind: str, body: Mapping[str, Any]) -> tuple[Mapping[str, Any], tuple[Problem, ...]]:
    """Read a body, key by key.

    Returns
    -------
    What it says, and what keeps it from being used, by the dotted key within it. Of one that
    can be used every word, yes or no, day and time is in its one spelling, and measures are as
    they were written; others, and withdrawals, are given as they are.
    """
    # What an entry stands in for is no part of what it says.
    body = {key: value for key, value in body.items() if key != SETTLES}
    if WITHDRAWN in body:
        return body, ()
    read, problems, wrong = read_tables(BODIES[kind].table, body, _no_such_key)
    problems += [
        Problem(name, None, mend)
        for name, mend in BODIES[kind].required
        if name not in wrong and value_at(body, name) is None
    ]
    if isinstance(read, FirmTable):
        problems += _faults_of_firm(read, wrong)
    return (body, tuple(problems)) if problems else (_in_one_spelling(body, read), ())


def faults_of_body(kind: str, body: Mapping[str, Any]) -> tuple[Problem, ...]:
    """Find what keeps a body from being used; see `read_body`."""
    return read_body(kind, body)[1]


def _faults_of_firm(firm: FirmTable, wrong: frozenset[str]) -> list[Problem]:
    """Find what no job of the firm could be forecast with."""
    findings = Findings(frozenset(f"site.{key}" for key in wrong))
    climate_from(firm.climate, findings)
    if firm.longitude is not None and firm.time_zone is not None:
        at = _ANY_DAY.replace(tzinfo=ZoneInfo(firm.time_zone))
        check_longitude("site.longitude", firm.longitude, at, findings)
    return [replace(one, field=one.field.removeprefix("site.")) for one in findings.problems]


def _in_one_spelling(written: Mapping[str, Any], read: Table) -> dict[str, Any]:
    """Write what was read of a table back under its keys."""
    names = {field.alias or name: name for name, field in type(read).model_fields.items()}
    return {key: _spelled(one, getattr(read, names[key])) for key, one in written.items()}


def _spelled(written: Any, read: Any) -> Any:
    if isinstance(read, Table):
        return _in_one_spelling(written, read)
    if isinstance(read, str | bool):
        return read
    if isinstance(read, time):
        return f"{read:%H:%M}"
    # A measure, list or number, or one of the two in which an amount may stand for "yes".
    return read.isoformat() if isinstance(read, date) else written


def _no_such_key(keys: tuple[int | str, ...]) -> str:
    return "there is no such key in this kind of entry, take it out"


def value_at(body: Mapping[str, Any], name: str) -> Any:
    """The value at a dotted key, None where there is none."""
    value: Any = body
    for part in name.split("."):
        value = value.get(part) if isinstance(value, dict) else None
    return value

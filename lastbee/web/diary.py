"""The record of a job as people read it: days, and what was told on each, newest first."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from lastbee.documents.lines import Line
from lastbee.documents.progress_outline import progress_outline
from lastbee.documents.wording import clean, percent
from lastbee.triage.insects import INSECTS
from lastbee.triage.triage import problems_of_answers, triage
from lastbee.web.forms.catalogue import form_of
from lastbee.web.telling import TITLES, lines_of

if TYPE_CHECKING:
    from datetime import date, datetime

    from lastbee.errors import Problem
    from lastbee.office.case import Case
    from lastbee.record.chains import Told
    from lastbee.record.entry import Entry
    from lastbee.record.record import Record
    from lastbee.web.forms.form import Form
    from lastbee.web.forms.situation import Situation


_NAMES = {insect.key: insect.name for insect in INSECTS}
# A smaller share is not worth naming in a record.
_WORTH_NAMING = 0.05


@dataclass(frozen=True, slots=True)
class Version:
    """One entry of a chain, in words, with who wrote it on what and when."""

    entry: str
    lines: tuple[Line, ...]
    person: str
    device: str
    written_at: datetime


@dataclass(frozen=True, slots=True)
class Item:
    """One thing told.

    `meant` is what the forecast made of a visit, or what a call is most likely about;
    `picture` the SHA-256 of a photograph and `caption` what it shows; `problems` say why it
    waits to be mended.
    """

    kind: str
    title: str
    clock: str
    told: Version
    meant: tuple[Line, ...]
    picture: str
    caption: str
    earlier: tuple[Version, ...]
    rivals: tuple[Version, ...]
    problems: tuple[Problem, ...]
    is_withdrawn: bool


@dataclass(frozen=True, slots=True)
class Day:
    """One day: what was told of it, and its photographs."""

    day: date
    items: tuple[Item, ...]
    photos: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Writing:
    """One entry as it was written, whether it still `counts`, and whether it corrects another."""

    kind: str
    version: Version
    counts: bool
    is_correction: bool


def diary_of(case: Case, situation: Situation) -> tuple[Day, ...]:
    """Tell the record day by day, the newest first; what waits to be mended is left out."""
    items = items_of(case, situation)
    newest_first = [(one.on, item) for one, item in reversed(items) if not one.problems]
    days = []
    for day, group in groupby(newest_first, key=lambda pair: pair[0]):
        told = tuple(item for _, item in group)
        photos = tuple(item for item in told if item.picture and not item.is_withdrawn)
        days.append(Day(day, tuple(item for item in told if item not in photos), photos))
    return tuple(days)


def items_of(case: Case, situation: Situation) -> tuple[tuple[Told, Item], ...]:
    """Everything told, in the order in which it happened."""
    numbers = {one.first.id: number for number, one in enumerate(case.record.visits, start=1)}
    meant = _meant(case)
    return tuple(
        (one, _item(one, situation, numbers.get(one.first.id), meant, case.record))
        for one in case.record.told
    )


def writings_of(case: Case, situation: Situation) -> tuple[Writing, ...]:
    """Every entry ever written on a job, the last one first."""
    told = {entry.id: one for one in case.record.told for entry in one.all}
    entries = [entry for one in case.record.told for entry in one.all]
    return tuple(
        Writing(entry.kind, version_of(entry, form_of(entry.kind, situation)),
                told[entry.id].entry.id == entry.id, entry.replaces is not None)
        for entry in sorted(entries, key=lambda entry: (entry.written_at, entry.id), reverse=True)
    )  # fmt: skip


def version_of(entry: Entry, form: Form) -> Version:
    """An entry in the words of its form."""
    return Version(
        entry.id, lines_of(entry, form), clean(entry.person), clean(entry.device),
        entry.written_at,
    )  # fmt: skip


def _item(
    one: Told,
    situation: Situation,
    number: int | None,
    meant: dict[str, tuple[Line, ...]],
    record: Record,
) -> Item:
    title, form = TITLES[one.kind], form_of(one.kind, situation)
    clock = "" if one.at is None else f"{one.at:%H:%M}"
    picture = one.body.get("picture", "") if one.kind == "photo" else ""
    caption = one.body.get("caption") or one.body.get("of") or title
    return Item(
        kind=one.kind,
        title=title if number is None else f"{title} {number}",
        clock=clock,
        told=version_of(one.entry, form),
        meant=meant.get(f"{one.on} {one.at or '12:00'!s:.5}", ())
        if number
        else _heard(one, record),
        picture=picture if isinstance(picture, str) else "",
        caption=clean(str(caption)),
        earlier=tuple(version_of(entry, form) for entry in one.earlier),
        rivals=tuple(version_of(entry, form) for entry in one.rivals),
        problems=one.problems,
        is_withdrawn=one.is_withdrawn,
    )


def _heard(one: Told, record: Record) -> tuple[Line, ...]:
    """What a caller's answers most likely mean, in which month and place they were given."""
    answers = one.body.get("answers")
    if one.kind != "call" or not answers or problems_of_answers(answers):
        return ()
    north = None if record.position is None else record.position[0]
    found = triage(answers, one.on.month, north, one.body.get("allergic_person", "unknown"))
    likely = (
        f"{_NAMES[key]} ({percent(share)})"
        for key, share in found.shares.items()
        if share >= _WORTH_NAMING
    )
    return (Line("Most likely", ", ".join(likely)),)


def _meant(case: Case) -> dict[str, tuple[Line, ...]]:
    """What the last forecast made of each visit, by its day and time."""
    if case.progress is None:
        return {}
    story = progress_outline(case.progress).story
    rows = zip(case.progress.visits, story, strict=True)
    return {f"{row.at:%Y-%m-%d %H:%M}": lines.parts[-2:] for row, lines in rows}

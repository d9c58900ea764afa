"""Photographs of a post, each an entry of its own beside the one that the form makes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from starlette.datastructures import UploadFile

from lastbee.errors import InvalidInput, Problem
from lastbee.office.pictures import ready_picture
from lastbee.record.chains import clock_of, day_of
from lastbee.record.entry import Entry, derived_id
from lastbee.web.forms.photo_fields import PHOTOS, PHOTOS_KEEP, PHOTOS_OF

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from starlette.datastructures import FormData

    from lastbee.office.pictures import Picture
    from lastbee.web.forms.form import Posted

MOST_PHOTOS = 12
"""Most photographs of one post."""

_OLDEST_YEAR = 2000


@dataclass(frozen=True, slots=True)
class Photos:
    """Photographs as they came in: those that can be kept, by the hash of what was sent.

    `count` is how many came, `problems` what is wrong with the others.
    """

    ready: tuple[tuple[str, Picture], ...] = ()
    problems: tuple[Problem, ...] = ()
    count: int = 0


def photos_of(sent: FormData) -> Photos:
    """Make the photographs of a post fit to keep."""
    keeps_location = any(
        value == "yes" for name in (PHOTOS_KEEP, "keeps_location") for value in sent.getlist(name)
    )
    files = [one for one in sent.getlist(PHOTOS) if isinstance(one, UploadFile)]
    files = [one for one in files if one.filename or one.size]
    ready: dict[str, Picture] = {}
    problems: list[Problem] = []
    for file in files[:MOST_PHOTOS]:
        raw = file.file.read()
        try:
            ready.setdefault(
                sha256(raw).hexdigest(), ready_picture(raw, keeps_location=keeps_location)
            )
        except InvalidInput as refused:
            name = file.filename or "a photograph"
            problems += (
                Problem(PHOTOS, name, f"{fault.mend} ({fault.value})") for fault in refused.problems
            )
    if len(files) > MOST_PHOTOS:
        mend = f"keep at most {MOST_PHOTOS} at once, and the others after them"
        problems.append(Problem(PHOTOS, len(files), mend))
    return Photos(tuple(ready.items()), tuple(problems), len(files))


def photo_entries(
    entry: Entry, photos: Photos, zone: ZoneInfo, posted: Posted, *, is_beside: bool
) -> tuple[list[Entry], dict[str, Picture]]:
    """Make an entry for each photograph.

    Parameters
    ----------
    entry
        The entry that the form makes.
    photos
        The photographs.
    zone
        Time zone of the site.
    posted
        The post, for what is said of photographs beside another entry.
    is_beside
        Whether `entry` is of another kind. If it is a photograph itself, it takes the first
        picture, and so do its own words for all of them.

    Returns
    -------
    The entries, and the pictures by their hash.
    """
    words = _words_beside(posted) if is_beside else dict(entry.body)
    told_at = _told_at(entry, zone)
    entries = []
    for place, (sent, picture) in enumerate(photos.ready):
        is_first = place == 0 and not is_beside
        body = _body(words, picture, told_at)
        entries.append(
            Entry(
                id=entry.id if is_first else derived_id(entry.id, f"photo {sent}"),
                job=entry.job,
                kind="photo",
                body=body,
                written_at=entry.written_at,
                device=entry.device,
                person=entry.person,
                replaces=entry.replaces if is_first else None,
            )
        )
    if not entries and not is_beside:
        entries = [_without_picture(entry, told_at)]
    return entries, {picture.sha256: picture for _, picture in photos.ready}


def _words_beside(posted: Posted) -> dict[str, Any]:
    of = next((one for one in reversed(posted.get(PHOTOS_OF, ())) if one), None)
    keeps = "yes" in posted.get(PHOTOS_KEEP, ())
    return ({"of": of} if of else {}) | ({"keeps_location": True} if keeps else {})


def _told_at(entry: Entry, zone: ZoneInfo) -> datetime:
    """When the entry says it was, by the site's clock; else when it was written down."""
    local = entry.written_at.astimezone(zone).replace(tzinfo=None)
    day = day_of(entry.body)
    return local if day is None else datetime.combine(day, clock_of(entry.body) or time(12))


def _body(words: dict[str, Any], picture: Picture, told_at: datetime) -> dict[str, Any]:
    body = _dated(words, picture.taken_at, told_at) | {"picture": picture.sha256}
    if picture.latitude_deg is not None and picture.longitude_deg is not None:
        body |= {"latitude": picture.latitude_deg, "longitude": picture.longitude_deg}
    return body


def _without_picture(entry: Entry, told_at: datetime) -> Entry:
    """The entry as it was posted: a correction keeps its picture, and words are never lost."""
    return Entry(
        entry.id, entry.job, entry.kind, _dated(dict(entry.body), None, told_at),
        entry.written_at, entry.device, entry.person, entry.replaces,
    )  # fmt: skip


def _dated(words: dict[str, Any], taken_at: datetime | None, told_at: datetime) -> dict[str, Any]:
    """Day and time as written, else as the camera says, else those of the entry."""
    if "date" in words:
        return words
    latest = told_at + timedelta(days=1)
    if taken_at is None or not taken_at.year >= _OLDEST_YEAR or taken_at > latest:
        taken_at = told_at
    return words | {"date": taken_at.date().isoformat(), "time": f"{taken_at:%H:%M}"}

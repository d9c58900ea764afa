"""The firm's record out and in: an archive, tables for people and maps, job files.

An archive holds every entry and every picture. Reading one into a record that has some of them
already adds the rest; two phones' or two firms' halves come together in any order. It is read
whole or not at all.
"""

from __future__ import annotations

import contextlib
import json
import zipfile
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee import __version__
from lastbee.errors import FileProblem, InvalidInput, Problem
from lastbee.jobs.jobfile_text import text_of
from lastbee.office import archive_reading
from lastbee.office.archive_form import (
    ENTRIES,
    FORMAT,
    MANIFEST,
    MOST_PROBLEMS,
    README,
    SITES,
    VISITS,
    line_of,
    picture_name,
)
from lastbee.office.job_files import as_corrections, entries_of_job_file
from lastbee.office.tables_out import sites_geojson_of, visits_csv_of
from lastbee.record.firm import firm_of
from lastbee.record.record import record_of
from lastbee.store.drafts import draft_of, put_in_place

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from lastbee.office.desk import Desk, Receipt
    from lastbee.record.entry import Entry
    from lastbee.record.record import Record
    from lastbee.store.reading import Reading

# One moment for every file, so that the same record makes the same archive to the byte.
_NO_DATE = (1980, 1, 1, 0, 0, 0)
_PLAIN_FILE = 0o644 << 16
_WORDS = """\
The record of a firm that takes bees out of buildings alive, written by lastbee.

entries.jsonl   everything that was written down, one entry a line; the whole record is in it
pictures        the photographs, named by the SHA-256 of their bytes
manifest.json   which version this is, and how much it holds
visits.csv      the visits as a table, for a spreadsheet
sites.geojson   where the jobs are, for a map

`lastbee import` reads the first three; the last two are for people. Names, numbers and places
of clients are in here: keep it as you would keep them.
"""


@dataclass(frozen=True, slots=True)
class Counts:
    """How much an archive holds."""

    jobs: int
    entries: int
    pictures: int


def write_archive(desk: Desk, path: Path) -> Counts:
    """Write the whole record as one archive.

    The same record gives the same bytes. What stands at `path` is replaced once the archive
    is whole; entries that come in meanwhile are not in it.

    Raises
    ------
    FileProblem
        If it cannot be written.
    """
    with desk.book.reading() as reading, draft_of(path) as draft:
        try:
            counts = _write(reading, draft)
        except OSError as error:
            raise FileProblem.cannot_write(path, error) from error
        put_in_place(draft, path)
    return counts


def read_archive(desk: Desk, path: Path) -> Receipt:
    """Take in all of an archive that is not there yet.

    Returns
    -------
    What was new, and what of it waits to be mended.

    Raises
    ------
    FileProblem, InvalidInput
        If anything in it cannot be used; no entry of it is kept then.
    """
    with archive_reading.opened(path) as (entries, pictures):
        _check_same(desk, entries)
        return desk.bring_in(entries, pictures)


def read_job_file(desk: Desk, path: Path) -> Receipt:
    """Take in a job file; one that was changed since it was read before corrects what it said.

    Raises
    ------
    FileProblem, InvalidInput
        If it is no job file; nothing of it is kept then.
    """
    entries = entries_of_job_file(text_of(path))
    with contextlib.suppress(LookupError):  # a job that is new here
        entries = tuple(as_corrections(entries, desk.case(str(entries[0].job)).record))
    return desk.take_in(entries, strict=False)


def visits_csv(desk: Desk) -> str:
    """Write every visit that counts as a row of a table; docs/exchange.md names the columns."""
    with desk.book.reading() as reading:
        return visits_csv_of(_records(reading))


def sites_geojson(desk: Desk) -> str:
    """Write the place of every job that has one as GeoJSON."""
    with desk.book.reading() as reading:
        return sites_geojson_of(_records(reading))


def _write(reading: Reading, draft: Path) -> Counts:
    # Ids begin with the time: by them is by age, whatever the order in which phones handed in.
    entries = sorted(reading.entries(), key=lambda entry: entry.id)
    shas = tuple(reading.pictures())
    counts = Counts(len({e.job for e in entries if e.job}), len(entries), len(shas))
    manifest = {
        "format": FORMAT,
        "made_by": f"lastbee {__version__}",
        "jobs": counts.jobs,
        "entries": counts.entries,
        "pictures": counts.pictures,
    }
    with zipfile.ZipFile(draft, "x", zipfile.ZIP_DEFLATED) as archive:
        _put(archive, MANIFEST, json.dumps(manifest, indent=2) + "\n")
        _put(archive, README, _WORDS)
        _put(archive, ENTRIES, "".join(f"{line_of(entry)}\n" for entry in entries))
        _put(archive, VISITS, visits_csv_of(_records(reading)))
        _put(archive, SITES, sites_geojson_of(_records(reading)))
        for sha in shas:
            _put(archive, picture_name(sha), reading.picture(sha) or b"", packed=False)
    return counts


def _put(archive: zipfile.ZipFile, name: str, content: str | bytes, *, packed: bool = True) -> None:
    file = zipfile.ZipInfo(name, _NO_DATE)
    file.external_attr = _PLAIN_FILE
    file.create_system = 3  # else the archive would tell on which system it was made
    file.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
    archive.writestr(file, content)


def _records(reading: Reading) -> Iterator[Record]:
    """Every job, the oldest first."""
    firm = firm_of(reading.firm_entries())
    for job in sorted(reading.jobs()):
        yield record_of(job, reading.entries_of(job), firm)


def _check_same(desk: Desk, entries: Iterable[Entry]) -> None:
    """Refuse an archive in which an entry says something else than another of its id.

    The other may be kept already, or stand in the same archive.
    """
    seen: dict[str, Entry] = {}
    with desk.book.reading() as reading:
        changed = [
            Problem(
                f"entry {entry.id}",
                entry.kind,
                "export it again where it comes from, since another text is kept under this id",
            )
            for entry in entries
            if seen.setdefault(entry.id, reading.entry(entry.id) or entry) != entry
        ]
    if changed:
        raise InvalidInput(changed[:MOST_PROBLEMS])

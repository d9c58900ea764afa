"""`lastbee copy`, `export` and `import`: the firm's record to other disks, people and programs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lastbee.cli.output import writing_out
from lastbee.cli.record_file import desk_of, open_book, record_option
from lastbee.errors import FileProblem

if TYPE_CHECKING:
    from lastbee.office.desk import Desk, Receipt

_FILE = click.Path(path_type=Path)
MOST_TOLD = 20


@click.command(short_help="Copy the firm's record, safely while it is in use.")
@click.argument("copy_path", metavar="FILE", type=_FILE)
@record_option
def copy(copy_path: Path, record_path: Path | None) -> None:
    """Copy the firm's record to FILE, safely while it is being served.

    A copy of the file made by other means may miss what was written last.
    """
    with open_book(record_path, is_made=False) as book:
        book.copy_to(copy_path)
        _say(f"Copied {book.path} to {copy_path}")


@click.command("export", short_help="Write the record as an archive, a table or a map.")
@click.argument("export_path", metavar="FILE", type=_FILE)
@record_option
def export_(export_path: Path, record_path: Path | None) -> None:
    """Write the record to FILE, in the form that its ending names.

    FILE.zip is the whole record, pictures too, as `lastbee import` reads it; FILE.csv a table
    of all visits; FILE.geojson a map of all jobs.
    """
    write = {".zip": _write_archive, ".csv": _write_visits, ".geojson": _write_sites}
    chosen = write.get(export_path.suffix.lower())
    if chosen is None:
        mend = "end the name in .zip (all of it), .csv (the visits) or .geojson (a map)"
        raise FileProblem(export_path, "does not say what is wanted", mend)
    with open_book(record_path, is_made=False) as book:
        _say(f"{chosen(desk_of(book), export_path)} written to {export_path}")


@click.command("import", short_help="Add an archive or a job file to the record.")
@click.argument("import_path", metavar="FILE", type=_FILE)
@record_option
def import_(import_path: Path, record_path: Path | None) -> None:
    """Add what is in FILE to the record: an archive of `lastbee export`, or a job file.

    What is there already is not doubled. If anything in FILE cannot be used, nothing of it is
    added.
    """
    from lastbee.office.exchange import read_archive, read_job_file

    read = {".zip": read_archive, ".toml": read_job_file}.get(import_path.suffix.lower())
    if read is None:
        mend = "name an archive (.zip) or a job file (.toml)"
        raise FileProblem(import_path, "cannot be read in by its ending", mend)
    with open_book(record_path, is_made=True) as book:
        receipt = read(desk_of(book), import_path)
    _say("\n".join(_received(receipt)))


def _write_archive(desk: Desk, path: Path) -> str:
    from lastbee.office.exchange import write_archive

    counts = write_archive(desk, path)
    jobs, entries = _many(counts.jobs, "job"), _many(counts.entries, "entry", "entries")
    return f"{jobs}, {entries} and {_many(counts.pictures, 'picture')}"


def _write_visits(desk: Desk, path: Path) -> str:
    from lastbee.office.exchange import visits_csv

    _write_text(visits_csv(desk), path)
    return "Visits"


def _write_sites(desk: Desk, path: Path) -> str:
    from lastbee.office.exchange import sites_geojson

    _write_text(sites_geojson(desk), path)
    return "Places"


def _write_text(text: str, path: Path) -> None:
    from lastbee.documents.whole_file import write_whole

    try:
        write_whole(text.encode("utf-8", "replace"), path)
    except OSError as error:
        raise FileProblem.cannot_write(path, error) from error


def _received(receipt: Receipt) -> list[str]:
    """Say what became of what was read in."""
    kept = _many(len(receipt.kept), "entry", "entries")
    lines = [f"{kept} added, {len(receipt.was_there):,} there already"]
    problems = receipt.problems
    if problems:
        waits = f"{_many(len(receipt.by_entry), 'entry', 'entries')} kept, and waiting to be mended"
        lines += [f"{waits}:", *(f"  {problem.sentence}" for problem in problems[:MOST_TOLD])]
    if len(problems) > MOST_TOLD:
        lines.append(f"  and {len(problems) - MOST_TOLD:,} more")
    return lines


def _many(count: int, one: str, more: str = "") -> str:
    return f"{count:,} {one if count == 1 else more or f'{one}s'}"


def _say(text: str) -> None:
    with writing_out():
        click.echo(text)

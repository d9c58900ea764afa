"""`lastbee demo`: an invented firm and its thirty jobs, to look around in."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lastbee.cli.output import writing_out
from lastbee.cli.serve import PORT, THIS_COMPUTER, port_option
from lastbee.errors import FileProblem, InvalidInput, Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lastbee.cli.options import Misread
    from lastbee.cli.serving import Door
    from lastbee.store.book import Book

DEMO_COLONIES = 4_000
"""Fewer than a plan has: all forecasts are then there within a minute or two."""

DEMO_FILE = "demo.lastbee"


@click.command(short_help="Look around in an invented firm with thirty jobs.")
@click.option(
    "--folder",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Folder to keep the demo's record in; left out, it is gone at the end.",
)
@port_option
def demo(folder: Path | None, port: int | Misread) -> None:
    """Serve an invented firm on the morning of Tuesday 14 July 2026, until Ctrl-C.

    Firm, people and places are invented. The clock begins at 8:00 and runs on from there.
    """
    from lastbee.cli.record_file import now
    from lastbee.cli.serving import Door, open_door
    from lastbee.store.book import Book

    problems: list[Problem] = []
    port_number = PORT.checked("--port", port, problems)
    if problems:
        raise InvalidInput(problems)
    with (
        _folder(folder) as place,
        open_door(THIS_COMPUTER, port_number) as listening,
        Book.open(place / DEMO_FILE, now()) as book,
    ):
        _run(book, Door(listening, THIS_COMPUTER))


@contextlib.contextmanager
def _folder(named: Path | None) -> Iterator[Path]:
    """The folder that is named, or one that is removed at the end."""
    if named is not None:
        yield named
        return
    from tempfile import TemporaryDirectory

    try:
        made = TemporaryDirectory(prefix="lastbee-demo-")
    except OSError as error:
        raise FileProblem.cannot_write("the temporary folder", error) from error
    with made as place:
        yield Path(place)


def _run(book: Book, door: Door) -> None:
    from lastbee.cli.record_file import now
    from lastbee.cli.serving import run_until_stopped
    from lastbee.office.demo_firm import demo_clock, demo_entries
    from lastbee.office.demo_firm_pictures import demo_pictures
    from lastbee.office.desk import Desk
    from lastbee.office.forecaster import COLONIES, Forecaster
    from lastbee.web.app import build_app

    clock = demo_clock(now)
    desk = Desk(book, clock)
    pictures = {picture.sha256: picture for picture in demo_pictures().values()}
    desk.take_in(demo_entries(), pictures, strict=False)
    forecaster = Forecaster(desk.queue, colonies=DEMO_COLONIES)
    desk.heard = forecaster.nudge
    with writing_out():
        click.echo(
            f"Record   {book.path}\nPages    {door.address}\n"
            "An invented firm on Tuesday 14 July 2026. Forecasts are computed now, the most urgent"
            f"\nfirst, with {DEMO_COLONIES:,} colonies each instead of {COLONIES:,}. Ctrl-C stops"
            " it."
        )
    run_until_stopped(build_app(desk, forecaster, clock=clock, is_demo=True), door)

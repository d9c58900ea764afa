"""Which file a command works on: the one named, the one of the environment, or the usual one."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lastbee.errors import FileProblem

if TYPE_CHECKING:
    from datetime import datetime

    from lastbee.office.desk import Desk
    from lastbee.store.book import Book

NAMED_BY = "LASTBEE_RECORD"
USUAL_NAME = "firm.lastbee"

record_option = click.option(
    "--record",
    "record_path",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help=f"The firm's record; else that of {NAMED_BY}, else the one in your user data folder.",
)
"""The option that names the firm's file."""


def now() -> datetime:
    """The moment, by the computer's clock."""
    from datetime import UTC, datetime

    return datetime.now(UTC)


def open_book(named: Path | None, *, is_made: bool) -> Book:
    """Open the firm's file.

    Parameters
    ----------
    named
        The file that the command line names, if it does.
    is_made
        Whether a file that is not there is made; the usual folder is made with it.

    Raises
    ------
    FileProblem
        If it is not there, or cannot be used.
    """
    from lastbee.store.book import Book

    path = named or _by_environment() or _usual(is_made=is_made)
    if not is_made and not _is_there(path):
        mend = f"name the firm's record with --record or {NAMED_BY}; `lastbee serve` makes one"
        raise FileProblem(path, "does not exist", mend)
    return Book.open(path, now())


def desk_of(book: Book) -> Desk:
    """Give the use cases of an open file, by the computer's clock."""
    from lastbee.office.desk import Desk

    return Desk(book, now)


def _by_environment() -> Path | None:
    named = os.environ.get(NAMED_BY)
    return Path(named) if named else None


def _usual(*, is_made: bool) -> Path:
    from platformdirs import user_data_path

    folder = user_data_path("lastbee", appauthor=False)
    if is_made:
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise FileProblem.cannot_write(folder, error) from error
    return folder / USUAL_NAME


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):  # a name that no file can have
        return False

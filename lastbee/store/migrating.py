"""Bringing the firm's file from the format of an older program to this one's.

Every format is one migration in `lastbee.store.migrations.versions`, and a new file goes
through them all, so that there is one way only in which a table comes to be. A migration is
one transaction: it happens whole or not at all.
"""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING

from lastbee import __version__
from lastbee.errors import FileProblem
from lastbee.store import sqlite
from lastbee.store.drafts import draft_of, put_where_nothing_is

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from sqlalchemy import Connection

FORMAT = 1
"""The newest format; the number of the newest migration."""

MIGRATIONS = "lastbee.store:migrations"
"""Where the migrations are, as a folder of a package."""

# Alembic keeps what it is doing in variables of its module.
_ONE_AT_A_TIME = Lock()


def make_current(path: Path, now: datetime) -> None:
    """Make sure that a file is a firm's and of this program's format.

    One of an older format is brought up to date, after it was copied beside itself.

    Raises
    ------
    FileProblem
        If it is no firm's file, is newer than this program, or cannot be read or, where it has
        to be, copied and written; it is then as it was.
    """
    if _checked_format(path) < FORMAT:
        _keep_copy(path, now)
        bring_up_to_date(path)


def bring_up_to_date(path: Path) -> None:
    """Take a file, or an empty database, through all migrations that it has not seen.

    Raises
    ------
    FileProblem
        If it cannot be written, or is damaged; it is then as it was.
    """
    engine = sqlite.engine_of(path, foreign_keys=False)
    try:
        with sqlite.told_plainly(path), sqlite.for_writing(engine).begin() as connection:
            _migrate(connection)
            if loose := sqlite.loose_ends(connection):
                raise FileProblem(
                    path,
                    f"is damaged ({loose} of its rows belong to nothing)",
                    "keep it as it is, and go on with the last copy that was made of it",
                )
            sqlite.set_mark(connection, sqlite.Mark(sqlite.APPLICATION_ID, FORMAT))
    finally:
        engine.dispose()


def _checked_format(path: Path) -> int:
    """Make sure that a file is a firm's and not newer than this program.

    Returns
    -------
    Its format.

    Raises
    ------
    FileProblem
        If it is not, or cannot be read.
    """
    mark = sqlite.mark_of(path)
    if mark.application_id != sqlite.APPLICATION_ID or mark.format < 1:
        raise sqlite.no_record(path)
    if mark.format > FORMAT:
        raise FileProblem(
            path,
            f"was written by a newer lastbee (its format is {mark.format}, this one, "
            f"{__version__}, knows formats up to {FORMAT})",
            "use the newer lastbee",
        )
    return mark.format


def _keep_copy(path: Path, now: datetime) -> Path:
    """Copy a file beside itself before it is brought up to date.

    Returns
    -------
    The copy: its name says which program came after it, and when, if that one was there
    already.

    Raises
    ------
    FileProblem
        If it cannot be made.
    """
    plain = path.with_name(f"{path.name}.before-{__version__}")
    dated = path.with_name(f"{plain.name}.{now:%Y%m%d-%H%M%S-%f}")
    with draft_of(plain) as draft:
        sqlite.copy(path, draft)
        for name in (plain, dated):
            if put_where_nothing_is(draft, name):
                return name
    raise FileProblem(dated, "is there already", "move it to another folder")


def _migrate(connection: Connection) -> None:
    """Run the migrations within the transaction under way."""
    from alembic import command
    from alembic.config import Config

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", MIGRATIONS)
    with _ONE_AT_A_TIME:
        command.upgrade(config, "head")

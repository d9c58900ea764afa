"""All that is SQLite's own: how its files are opened, marked, copied and looked over.

The journal is written ahead (WAL), so that reading never waits for writing, and is brought to
the disk before a commit returns (synchronous=FULL), so that what was acknowledged outlives a
power cut.

References
----------
SQLite documentation, "Write-Ahead Logging", "Pragma statements", "Online Backup API" and
"Result and Error Codes", https://www.sqlite.org/docs.html.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing, contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError

from lastbee.errors import FileProblem

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

APPLICATION_ID = int.from_bytes(b"lbee", "big")
"""Stands in the header of every file of ours, and tells it from other SQLite databases."""

BUSY_SECONDS = 30.0
"""How long a writer waits for its turn."""

_MAGIC = b"SQLite format 3\0"
_WRITES = "lastbee_writes"
_PER_CONNECTION = (
    "PRAGMA foreign_keys = ON",
    "PRAGMA synchronous = FULL",
    # On macOS an ordinary sync leaves the data in the drive's own memory.
    "PRAGMA fullfsync = ON",
    # Replacing a row is losing one: the triggers against it must see it.
    "PRAGMA recursive_triggers = ON",
    # A file may come from anybody.
    "PRAGMA trusted_schema = OFF",
    "PRAGMA cache_size = -8000",
    "PRAGMA journal_size_limit = 67108864",
)

_NO_RECORD = "name a file that lastbee made, or one that does not exist yet"
_TROUBLES = {
    sqlite3.SQLITE_PERM: ("cannot be opened (permission denied)", "check its permissions"),
    sqlite3.SQLITE_BUSY: (
        "is being written to by another program",
        "try again once that program is done or closed",
    ),
    sqlite3.SQLITE_READONLY: (
        "cannot be written",
        "allow writing to it and to its folder, or copy it to where you may write",
    ),
    sqlite3.SQLITE_IOERR: (
        "cannot be read or written (the disk reports a fault)",
        "check that the disk is still there and sound, and copy the file elsewhere",
    ),
    sqlite3.SQLITE_CORRUPT: (
        "is damaged",
        "keep it as it is, and go on with the last copy that was made of it",
    ),
    sqlite3.SQLITE_FULL: ("has no room to grow (the disk is full)", "make room on the disk"),
    sqlite3.SQLITE_CANTOPEN: (
        "cannot be opened",
        "check that it is still there, and the permissions of its folder",
    ),
    sqlite3.SQLITE_NOTADB: ("is no lastbee record", _NO_RECORD),
}


@dataclass(frozen=True, slots=True)
class Mark:
    """What the header of a database says: whose it is, and of which format."""

    application_id: int
    format: int


def engine_of(path: Path, *, foreign_keys: bool = True) -> Engine:
    """Make the engine for a file that exists.

    Parameters
    ----------
    path
        The file. It is never created: one that was moved away while in use is then missed
        instead of being replaced by an empty one.
    foreign_keys
        Whether references are enforced; a migration that makes a table anew needs them off,
        and they cannot be switched within a transaction.
    """
    engine = create_engine(
        URL.create("sqlite", database=_uri(path), query={"mode": "rw", "uri": "true"}),
        # Transactions are begun by us alone, see `_begin`.
        connect_args={"timeout": BUSY_SECONDS, "isolation_level": None},
        pool_size=10,
        max_overflow=50,
    )

    def connected(connection: sqlite3.Connection, _: object) -> None:
        for pragma in _PER_CONNECTION:
            connection.execute(pragma)
        if not foreign_keys:
            connection.execute("PRAGMA foreign_keys = OFF")

    event.listen(engine, "connect", connected)
    event.listen(engine, "begin", _begin)
    return engine


def for_writing(engine: Engine) -> Engine:
    """Give the same engine with transactions that hold the one place of the writer at once.

    A transaction that reads first and takes that place later can find it taken, and could then
    only be given up.
    """
    return engine.execution_options(**{_WRITES: True})


def _begin(connection: Connection) -> None:
    """Begin a transaction; not through the counted and logged path, for it is no question."""
    writes = connection.get_execution_options().get(_WRITES, False)
    with closing(connection.connection.cursor()) as cursor:
        cursor.execute("BEGIN IMMEDIATE" if writes else "BEGIN")


def mark_of(path: Path) -> Mark:
    """Read what a file is, without changing anything in it.

    Raises
    ------
    FileProblem
        If it is no SQLite database, or cannot be read.
    """
    try:
        with path.open("rb") as file:
            start = file.read(len(_MAGIC))
    except OSError as error:
        raise FileProblem.cannot_read(path, error) from error
    if start != _MAGIC:
        raise no_record(path)
    with told_plainly(path), closing(_connected(path, "ro")) as connection:
        return Mark(_pragma(connection, "application_id"), _pragma(connection, "user_version"))


def no_record(path: Path) -> FileProblem:
    """Say that `path` is something else than a firm's file."""
    return FileProblem(path, "is no lastbee record", _NO_RECORD)


def set_mark(connection: Connection, mark: Mark) -> None:
    """Write what the file is, as part of the transaction under way."""
    connection.exec_driver_sql(f"PRAGMA application_id = {mark.application_id:d}")
    connection.exec_driver_sql(f"PRAGMA user_version = {mark.format:d}")


def make_empty(path: Path) -> None:
    """Make an empty database that writes its journal ahead.

    Raises
    ------
    FileProblem
        If the file cannot be made, or lies where such a journal cannot work.
    """
    with told_plainly(path), closing(_connected(path, "rwc")) as connection:
        write_ahead(connection, path)


def write_ahead(connection: sqlite3.Connection, path: Path) -> None:
    """Make sure that the journal is written ahead; it stays so once it is."""
    (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
    if mode != "wal":
        raise FileProblem(
            path,
            "lies where it cannot be used by two programs at once",
            "keep it on a disk of this computer, not on a network drive",
        )


def check_usable(engine: Engine, path: Path) -> None:
    """Make sure that a file can be written now, rather than find out with the first entry."""
    with told_plainly(path):
        with engine.connect() as connection:
            driver = connection.connection.driver_connection
            if isinstance(driver, sqlite3.Connection):
                write_ahead(driver, path)
        with for_writing(engine).connect() as connection, connection.begin() as nothing:
            # To begin is not enough: a file that must not be written lets us do that.
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID:d}")
            nothing.rollback()


def copy(path: Path, draft: Path) -> None:
    """Copy a database that may be in use, as it is at one moment, to a file that is new.

    Raises
    ------
    FileProblem
        If it cannot be read, or the copy not be written.
    """
    with told_plainly(path), closing(_connected(path, "ro")) as source:
        source.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        with told_plainly(draft), closing(_connected(draft, "rwc")) as target:
            source.backup(target)


def faults_of(connection: Connection) -> tuple[str, ...]:
    """Look a database over from end to end.

    Returns
    -------
    What is wrong, in the words of SQLite; empty for a sound one.
    """
    found = [str(row[0]) for row in connection.exec_driver_sql("PRAGMA integrity_check")]
    return () if found == ["ok"] else tuple(found)


def loose_ends(connection: Connection) -> int:
    """Count the references that lead nowhere."""
    return len(connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall())


@contextmanager
def told_plainly(path: Path) -> Iterator[None]:
    """Turn what SQLite says about the file and its disk into a `FileProblem` about `path`.

    What it says about the statements is a fault of the program, and is left as it is.
    """
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        cause = error.orig if isinstance(error, DBAPIError) else error
        # The low byte is the kind of error, the others say more of it.
        code = getattr(cause, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
        if code not in _TROUBLES:
            raise
        raise FileProblem(path, *_TROUBLES[code]) from error


def _connected(path: Path, mode: str) -> sqlite3.Connection:
    """Open a file apart from any engine."""
    return sqlite3.connect(f"{_uri(path)}?mode={mode}", timeout=BUSY_SECONDS, uri=True)


def _uri(path: Path) -> str:
    """Name a file so that no sign in its name is taken for more than that."""
    return path.absolute().as_uri()


def _pragma(connection: sqlite3.Connection, name: str) -> int:
    """Read a number of the header."""
    (value,) = connection.execute(f"PRAGMA {name}").fetchone()
    return int(value)

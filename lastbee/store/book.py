"""The firm's file, open."""

from __future__ import annotations

from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING, Self

from sqlalchemy import event

from lastbee.errors import FileProblem
from lastbee.store import sqlite
from lastbee.store.drafts import BESIDE, beside, draft_of, put_in_place, put_where_nothing_is
from lastbee.store.migrating import bring_up_to_date, make_current
from lastbee.store.reading import Reading
from lastbee.store.writing import Writing

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from sqlalchemy import Engine

_COUNTED: ContextVar[tuple[list[str], ...]] = ContextVar("counted", default=())


class Book:
    """The record of one firm in one file.

    It may be used from many threads at once, and the same file from many processes. Readers
    see the file as it was when they began and wait for nobody; writers wait for one another.

    Attributes
    ----------
    path
        The file.
    """

    def __init__(self, engine: Engine, path: Path) -> None:
        """Use `Book.open`, which makes sure that the file can be used."""
        self.path = path
        self._engine = engine
        self._for_writing = sqlite.for_writing(engine)
        event.listen(engine, "before_cursor_execute", _count)

    @classmethod
    def open(cls, path: Path, now: datetime) -> Self:
        """Open a firm's file.

        Parameters
        ----------
        path
            The file. Where there is none, one is made; its folder must be there. One of an
            older program is brought up to date after it was copied to
            ``NAME.before-VERSION`` beside it.
        now
            The time, aware.

        Raises
        ------
        FileProblem
            If it is no firm's file, is newer than this program, or cannot be read and
            written; it is then left as it is.
        """
        if not _is_there(path):
            _make(path, now)
        make_current(path, now)
        engine = sqlite.engine_of(path)
        try:
            sqlite.check_usable(engine, path)
        except BaseException:
            engine.dispose()
            raise
        return cls(engine, path)

    @contextmanager
    def reading(self) -> Iterator[Reading]:
        """Ask something; every answer is of the same moment.

        Raises
        ------
        FileProblem
            If the file or its disk fails.
        """
        with sqlite.told_plainly(self.path), self._engine.connect() as connection:
            yield Reading(connection)

    @contextmanager
    def writing(self) -> Iterator[Writing]:
        """Write something: all of it is on the disk at the end, or, on any error, nothing.

        Raises
        ------
        FileProblem
            If another writer does not make room, or the file or its disk fails.
        """
        with sqlite.told_plainly(self.path), self._for_writing.begin() as connection:
            yield Writing(connection)

    @contextmanager
    def counting(self) -> Iterator[list[str]]:
        """Collect the SQL statements that are sent in this context and those it starts.

        Begin and commit are not among them.
        """
        found: list[str] = []
        token = _COUNTED.set((*_COUNTED.get(), found))
        try:
            yield found
        finally:
            _COUNTED.reset(token)

    def copy_to(self, path: Path) -> None:
        """Copy the file as it is now, while it may be in use.

        Parameters
        ----------
        path
            Where to; what stands there is replaced once the copy is whole.

        Raises
        ------
        FileProblem
            If the copy cannot be made, or `path` is in use itself.
        """
        if path.is_dir():
            raise FileProblem(path, "is a folder", "name a file in it")
        if path.exists() and path.samefile(self.path):
            raise FileProblem(path, "is the very file to be copied", "name another file")
        if any(name.exists() for name in beside(path)):
            raise FileProblem(
                path,
                f"is in use, or was when its program died (there is a {path.name}{BESIDE[0]} "
                "or the like beside it)",
                "name another file",
            )
        with draft_of(path) as draft:
            sqlite.copy(self.path, draft)
            put_in_place(draft, path)

    def faults(self) -> tuple[str, ...]:
        """Look the whole file over; what is wrong with it, empty for a sound one."""
        with sqlite.told_plainly(self.path), self._engine.connect() as connection:
            return sqlite.faults_of(connection)

    def close(self) -> None:
        """Let go of the file; what SQLite keeps beside it is then gone too."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def _is_there(path: Path) -> bool:
    """Whether there is a file to open; a problem where none could be."""
    try:
        path.stat()
    except FileNotFoundError:
        if path.parent.is_dir():
            return False
        raise FileProblem(
            path,
            f"cannot be made (there is no folder {path.parent})",
            "make that folder first, or name a file in another one",
        ) from None
    except OSError as error:
        raise FileProblem.cannot_read(path, error) from error
    if path.is_dir():
        raise FileProblem(path, "is a folder", "name a file in it")
    if not path.is_file():
        raise sqlite.no_record(path)
    return True


def _make(path: Path, now: datetime) -> None:
    """Make the file of a new firm; where another process was quicker, its file stays."""
    with draft_of(path) as draft:
        sqlite.make_empty(draft)
        bring_up_to_date(draft)
        with Book(sqlite.engine_of(draft), draft) as book, book.writing() as writing:
            writing.keep_setting("made_at", now.isoformat())
        put_where_nothing_is(draft, path)


def _count(_connection: object, _cursor: object, statement: str, *_: object) -> None:
    """Note a statement for whoever counts."""
    for found in _COUNTED.get():
        found.append(statement)

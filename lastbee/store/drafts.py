"""Files that appear whole or not at all: made under another name, then put in their place."""

from __future__ import annotations

import contextlib
import os
import secrets
from typing import TYPE_CHECKING

from lastbee.errors import FileProblem

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

BESIDE = ("-wal", "-shm", "-journal")
"""Endings of the files that SQLite keeps beside a database while it is in use."""


@contextlib.contextmanager
def draft_of(path: Path) -> Iterator[Path]:
    """Name a draft beside `path`; whatever is left of it at the end is removed.

    A `FileProblem` about the draft becomes one about `path`, the name that the reader gave.
    """
    draft = path.with_name(f".{secrets.token_hex(8)}")
    try:
        yield draft
    except FileProblem as problem:
        if problem.path != str(draft):
            raise
        raise FileProblem(path, problem.trouble, problem.mend) from problem
    finally:
        for name in (draft, *beside(draft)):
            # What went wrong is told already; a draft that cannot go is the lesser trouble.
            with contextlib.suppress(OSError):
                name.unlink(missing_ok=True)


def beside(path: Path) -> tuple[Path, ...]:
    """Name the files that SQLite may keep beside `path`."""
    return tuple(path.with_name(path.name + ending) for ending in BESIDE)


def put_in_place(draft: Path, path: Path) -> None:
    """Let a draft take the place of `path`, whatever stands there.

    Raises
    ------
    FileProblem
        If it cannot.
    """
    try:
        draft.replace(path)
        _bring_to_disk(path.parent)
    except OSError as error:
        raise FileProblem.cannot_write(path, error) from error


def put_where_nothing_is(draft: Path, path: Path) -> bool:
    """Let a draft become `path`, unless something stands there.

    Returns
    -------
    Whether it did.

    Raises
    ------
    FileProblem
        If it cannot.
    """
    try:
        path.hardlink_to(draft)
    except FileExistsError:
        return False
    except OSError:
        # Memory sticks often have a file system where a file has one name only.
        if path.exists():
            return False
        put_in_place(draft, path)
        return True
    _bring_to_disk(path.parent)
    return True


def _bring_to_disk(folder: Path) -> None:
    """Make a new name in `folder` outlive a power cut, where the system lets us."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)

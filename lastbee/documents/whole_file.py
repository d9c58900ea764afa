"""Files that appear whole or not at all, and the check beforehand that they can."""

from __future__ import annotations

import contextlib
import secrets
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


def write_whole(content: bytes, path: Path) -> None:
    """Write a file by way of a draft beside it that then takes its place.

    A pipe or a device cannot be replaced and is written to as it is.

    Parameters
    ----------
    content
        All of the file.
    path
        Where to write; an existing file is replaced.

    Raises
    ------
    OSError
        If the file cannot be written; it names `path`. An existing file is then left as
        it was.
    """
    if path.exists() and not path.is_file():
        path.write_bytes(content)
        return
    draft = _draft(path)
    try:
        draft.write_bytes(content)
        draft.replace(path)
    except OSError as error:
        error.filename = str(path)  # the name that the reader gave, not the draft's
        raise
    finally:
        # What went wrong is told already; a draft that cannot go is the lesser trouble.
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)


def check_writable(path: Path) -> None:
    """Make sure that `write_whole` can write `path` later; what stands there is not touched.

    Raises
    ------
    OSError
        If it cannot.
    """
    # Not `exists`, which may answer no to a name that no file can have.
    try:
        path.stat()
    except FileNotFoundError:
        pass
    else:
        with path.open("r+b", buffering=0):
            pass
        if not path.is_file():
            return
    # Permission bits do not tell the whole truth (read-only and full disks do).
    draft = _draft(path)
    with draft.open("xb"):
        pass
    draft.unlink()


def _draft(path: Path) -> Path:
    """Name a file beside `path`; short, since `path` may be as long as a name can be."""
    return path.parent / f".{secrets.token_hex(8)}"

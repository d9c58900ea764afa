"""Reading an archive that may come from anybody.

Nothing is unpacked to the disk. Only names that an archive of ours has are looked at, sizes are
checked before anything is decompressed, and every entry and picture is checked before the
first of them is kept.
"""

from __future__ import annotations

import json
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from hashlib import sha256
from math import isfinite
from typing import TYPE_CHECKING, Any

from lastbee.errors import FileProblem, InvalidInput, Problem
from lastbee.office.archive_form import (
    DEEPEST,
    ENTRIES,
    FORMAT,
    FORMAT_NAME,
    LARGEST_BYTES,
    LARGEST_LINE_BYTES,
    LARGEST_PICTURE_BYTES,
    MANIFEST,
    MOST_FILES,
    MOST_PROBLEMS,
    PICTURE_NAME,
    entry_from_tree,
    picture_name,
)
from lastbee.office.pictures import Picture, ready_picture

if TYPE_CHECKING:
    from pathlib import Path

    from lastbee.record.entry import Entry

_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_ENCRYPTED = 0x1
_JPEG = b"\xff\xd8\xff"
_NO_ARCHIVE = "name an archive that `lastbee export` wrote"
_COPY_AGAIN = "copy it again from where it comes from"
_SAY_AGAIN = "export it again where it comes from"


class ArchivePictures(Mapping[str, Picture]):
    """Pictures of an archive by their SHA-256, each read when it is asked for."""

    def __init__(self, archive: zipfile.ZipFile, names: tuple[str, ...], path: Path) -> None:
        self._archive = archive
        self._names = dict.fromkeys(names)
        self._path = path

    def __getitem__(self, sha: str) -> Picture:
        if sha not in self._names:
            raise KeyError(sha)
        jpeg = self._archive.read(picture_name(sha))
        try:
            made = ready_picture(jpeg, keeps_location=False)
        except InvalidInput as error:
            trouble = f"holds a picture that cannot be opened ({picture_name(sha)})"
            raise FileProblem(self._path, trouble, _SAY_AGAIN) from error
        # Encoding anew would give it another name than entries know it by.
        return Picture(sha, jpeg, made.small_jpeg, made.width_px, made.height_px, None, None, None)

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)


@contextmanager
def opened(path: Path) -> Iterator[tuple[tuple[Entry, ...], ArchivePictures]]:
    """Open an archive and check all of it.

    Raises
    ------
    FileProblem
        If it is no archive, is damaged, or holds what does not belong into one.
    InvalidInput
        If entries in it cannot be read; the problems name their lines.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            _check_files(archive, path)
            manifest = _manifest(archive, path)
            entries = _entries(archive, path)
            shas = _pictures(archive, path)
            _check_counts(manifest, len(entries), len(shas), path)
            yield entries, ArchivePictures(archive, shas, path)
    except OSError as error:
        raise FileProblem.cannot_read(path, error) from error
    except (zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, EOFError) as error:
        raise FileProblem(path, "is damaged, or no archive at all", _COPY_AGAIN) from error


def _check_files(archive: zipfile.ZipFile, path: Path) -> None:
    """Look at names and sizes alone."""
    files = archive.infolist()
    names = [file.filename for file in files]
    if MANIFEST not in names or ENTRIES not in names:
        raise FileProblem(path, "is no archive of a firm's record", _NO_ARCHIVE)
    if len(files) > MOST_FILES:
        raise FileProblem(path, f"holds more than {MOST_FILES:,} files", _NO_ARCHIVE)
    if len(set(names)) < len(names):
        raise FileProblem(path, "holds two files of one name", _SAY_AGAIN)
    for file in files:
        limit = LARGEST_BYTES.get(file.filename)
        if limit is None and PICTURE_NAME.fullmatch(file.filename):
            limit = LARGEST_PICTURE_BYTES
        if limit is None:
            trouble = f"holds a file that does not belong there ({file.filename[:60]!r})"
            raise FileProblem(path, trouble, _SAY_AGAIN)
        if file.file_size > limit:
            trouble = f"holds a file that is too large ({file.filename}, {file.file_size:,} bytes)"
            raise FileProblem(path, trouble, _SAY_AGAIN)
        if file.flag_bits & _ENCRYPTED or file.compress_type not in _METHODS:
            trouble = f"holds a file that cannot be read ({file.filename})"
            raise FileProblem(path, trouble, "write it without password, as `lastbee export` does")


def _manifest(archive: zipfile.ZipFile, path: Path) -> Mapping[str, Any]:
    try:
        manifest = json.loads(archive.read(MANIFEST))
    except (ValueError, RecursionError) as error:
        raise FileProblem(path, f"holds a {MANIFEST} that cannot be read", _SAY_AGAIN) from error
    form = manifest.get("format") if isinstance(manifest, dict) else None
    if form == FORMAT:
        return dict(manifest)
    if isinstance(form, str) and form.startswith(f"{FORMAT_NAME}/"):
        trouble = f"is of another version ({form[:40]}; this program reads {FORMAT})"
        raise FileProblem(path, trouble, "read it with the newest lastbee")
    raise FileProblem(path, "is no archive of a firm's record", _NO_ARCHIVE)


def _entries(archive: zipfile.ZipFile, path: Path) -> tuple[Entry, ...]:
    found: list[Entry] = []
    problems: list[Problem] = []
    with archive.open(ENTRIES) as lines:
        number = 0
        while line := lines.readline(LARGEST_LINE_BYTES + 1):
            number += 1
            place = f"{ENTRIES} line {number:,}"
            if len(line) > LARGEST_LINE_BYTES:
                raise FileProblem(path, f"holds a line that is too long ({place})", _SAY_AGAIN)
            try:
                found.append(entry_from_tree(_tree(line)))
            except ValueError as error:
                shown = line[:200].decode("utf-8", "replace")
                problems.append(Problem(place, shown, f"{_SAY_AGAIN}, since {error}"))
            if len(problems) == MOST_PROBLEMS:
                break
    if problems:
        raise InvalidInput(problems)
    return tuple(found)


def _tree(line: bytes) -> Any:
    def refuse(sign: str) -> float:
        raise ValueError(f"{sign} is no number in JSON")

    def fraction(digits: str) -> float:
        return value if isfinite(value := float(digits)) else refuse(digits[:20])

    try:
        tree = json.loads(line, parse_constant=refuse, parse_float=fraction)
    except (json.JSONDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise ValueError("it is no JSON") from error
    if _is_deeper(tree, DEEPEST):
        raise ValueError("it has tables within tables without end")
    return tree


def _is_deeper(tree: Any, depth: int) -> bool:
    """Whether so many tables and lists lie within one another."""
    if not isinstance(tree, dict | list):
        return False
    inner = tree.values() if isinstance(tree, dict) else tree
    return depth == 0 or any(_is_deeper(one, depth - 1) for one in inner)


def _pictures(archive: zipfile.ZipFile, path: Path) -> tuple[str, ...]:
    """Names of the pictures, once each of them is what its name says."""
    shas = []
    for name in archive.namelist():
        if (found := PICTURE_NAME.fullmatch(name)) is None:
            continue
        jpeg = archive.read(name)
        if sha256(jpeg).hexdigest() != found[1] or not jpeg.startswith(_JPEG):
            raise FileProblem(path, f"holds a picture that was changed ({name})", _COPY_AGAIN)
        shas.append(found[1])
    return tuple(sorted(shas))


def _check_counts(manifest: Mapping[str, Any], entries: int, pictures: int, path: Path) -> None:
    for what, count in (("entries", entries), ("pictures", pictures)):
        if manifest.get(what) != count:
            trouble = f"holds {count:,} {what} where {manifest.get(what)!r} are announced"
            raise FileProblem(path, trouble, _COPY_AGAIN)

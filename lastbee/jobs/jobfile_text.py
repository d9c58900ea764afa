"""From a path to a tree of TOML values, with a sentence for everything that can go wrong.

Nothing here knows what a job is: this module opens the file, decides what text it holds,
and turns the parser's complaints into the line at fault and what to write there.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from lastbee.errors import FileProblem, InvalidInput, Problem

if TYPE_CHECKING:
    from pathlib import Path

LARGEST_FILE_BYTES = 100_000
"""Largest job file that is read; the starter file with every key filled in has a tenth of it."""

_MOST_NEIGHBOURS = 1000
_LONGEST_LINE = 50
# Keys of tens of thousands of dotted parts cost the TOML parser time that grows with the square.
_DOTS_WITHOUT_END = re.compile(r"(?:[^.\n]{1,40}\.){64}")
_START_AGAIN = "or start again from what `lastbee example` prints"


@dataclass(frozen=True, slots=True)
class AsSaid:
    """Words that stand where a problem would show a value, without quotation marks."""

    words: str

    def __str__(self) -> str:
        """Return the words."""
        return self.words


def text_of(path: Path) -> str:
    """Read a job file as text.

    Raises
    ------
    FileProblem
        If there is no such file, it is not a plain file, it is larger than
        `LARGEST_FILE_BYTES` (found before reading), or it is not UTF-8 text.
    """
    try:
        if not path.exists():
            raise FileProblem(path, "does not exist", _nearest_file(path))
        if path.is_dir():
            raise FileProblem(path, "is a folder", "name the job file in it")
        if not path.is_file():
            raise FileProblem(path, "is not a file", "name a job file")
        size_bytes = path.stat().st_size
        if size_bytes > LARGEST_FILE_BYTES:
            raise FileProblem.too_large(path, size_bytes, LARGEST_FILE_BYTES)
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE_BYTES + 1)
    except OSError as error:
        raise FileProblem.cannot_read(path, error) from error
    except ValueError as error:  # a null character in the name
        raise FileProblem(path, "is not a file name", "name a job file") from error
    if len(raw) > LARGEST_FILE_BYTES:
        raise FileProblem.too_large(path, len(raw), LARGEST_FILE_BYTES)
    return _decoded(path, raw)


def tree_of(text: str) -> dict[str, Any]:
    """Parse TOML text into its tree of tables and values.

    Raises
    ------
    InvalidInput
        If the text is empty, too long or not TOML; the problem names the line.
    """
    if len(text) > LARGEST_FILE_BYTES:
        found = AsSaid(f"{len(text):,} characters long")
        mend = f"keep it within {LARGEST_FILE_BYTES:,}"
        raise InvalidInput([Problem("the job file", found, mend)])
    if not text.strip():
        mend = f"write the job into it, {_START_AGAIN}"
        raise InvalidInput([Problem("the job file", AsSaid("empty"), mend)])
    too_deep = Problem(
        "the job file",
        AsSaid("nested too deeply"),
        "write each table under its own heading, such as [inspection.traffic]",
    )
    if _DOTS_WITHOUT_END.search(text):
        raise InvalidInput([too_deep])
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise InvalidInput([too_deep]) from error
    except tomllib.TOMLDecodeError as error:
        raise InvalidInput([_syntax_problem(text, str(error))]) from error
    except (ValueError, OverflowError) as error:
        # The interpreter refuses to read integers of thousands of digits.
        found = AsSaid("thousands of digits long")
        mend = "write it with at most ten digits"
        raise InvalidInput([Problem("a number in the job file", found, mend)]) from error


def _nearest_file(path: Path) -> str:
    """Say which job file in the same folder was probably meant."""
    from difflib import get_close_matches
    from itertools import islice

    try:
        names = [other.name for other in islice(path.parent.glob("*.toml"), _MOST_NEIGHBOURS)]
    except (OSError, ValueError):
        names = []
    if near := get_close_matches(path.name[:100], names, n=1, cutoff=0.5):
        shown = near[0] if near[0].isprintable() else ascii(near[0])
        return f"check the name, perhaps {shown} is meant"
    return "check the name and the folder"


def _decoded(path: Path, raw: bytes) -> str:
    save = "save it as UTF-8 text"
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise FileProblem(path, "is in UTF-16, not in UTF-8", save)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if b"\x00" in raw:
            raise _not_text(path) from error
        line = raw.count(b"\n", 0, error.start) + 1
        trouble = f"is not in UTF-8 (a sign on line {line} cannot be read)"
        raise FileProblem(path, trouble, save) from error
    if "\x00" in text:
        raise _not_text(path)
    return text


def _not_text(path: Path) -> FileProblem:
    return FileProblem(path, "is not a text file", f"name a job file, {_START_AGAIN}")


_PLACE = re.compile(r" \(at line ([0-9]+), column [0-9]+\)$")
_TWICE = ("Cannot overwrite", "twice", "Cannot mutate", "Cannot redefine")
_VISIT = re.compile(r"\[\[?\s*visit\b")
_CURLY_QUOTES = re.compile("[=\\[,]\\s*[\u201c\u201d\u201e\u2018\u2019]")
# What people write instead of TOML, each with what to write; the first that fits is said.
_SLIPS = (
    (re.compile(r"=\s*(?:#.*)?$"), "write a value after the equals sign, or put # before the line"),
    (
        re.compile(r"=\s*[0-9]{1,2}:[0-9]{2}\s*(?:#.*)?$"),
        'put the time in quotes, such as time = "14:30"',
    ),
    (
        re.compile(r"[0-9]{2}[T ][0-9]{2}:[0-9]{2}\s*(?:#.*)?$"),
        "write the seconds too, such as 2026-06-29T14:30:00",
    ),
    (
        re.compile(r"=\s*[0-9]{1,4}\s?[-/.]\s?[0-9]{1,2}\s?[-/.]\s?[0-9]{1,4}\b"),
        "write a date that exists as year-month-day with two digits each, such as 2026-06-29",
    ),
    (
        re.compile(r"=\s*[-+]?[0-9]+,[0-9]"),
        "write a decimal point, or put the number with its unit in quotes",
    ),
    (
        re.compile(r"=\s*[-+]?[.,]?[0-9][0-9.,/ ]*[^\s0-9.,#\]}_:TtZz-]"),
        'put the number with its unit in quotes, such as "14 ft"',
    ),
    (
        re.compile(r"=\s*(?:True|False|TRUE|FALSE)\b"),
        "write true or false in small letters",
    ),
    (
        re.compile(r"=\s*[^\W\d]"),
        'put the text after the equals sign in quotes, such as sky = "sun"',
    ),
    (re.compile(r"^[^=]*:[^=]*$"), "write an equals sign, not a colon, between key and value"),
    (re.compile(r"^\s*\[[^\]]*$"), "close the heading with ], such as [inspection]"),
    (re.compile(r"^[^=\[]*$"), "write key = value, or put # before a remark"),
    (re.compile(r"\\"), "write each backslash twice, or leave it out"),
    (re.compile(r"=\s*[\"'][^\"']*$"), "close the quotes on the same line"),
)


def _syntax_problem(text: str, complaint: str) -> Problem:
    """Turn the parser's complaint into the line at fault and what to write there."""
    place = _PLACE.search(complaint)
    reason = _PLACE.sub("", complaint).removesuffix(" (at end of document)")
    if place is None:
        # An open bracket, quote or table is only missed when the text ends.
        lines = text.rstrip().splitlines()
        number = len(lines)
    else:
        lines = text.replace("\r\n", "\n").split("\n")
        number = int(place[1])
    above = [line.strip() for line in lines[:number]]
    line = above[-1] if 0 < number <= len(lines) else ""
    heading = next((each for each in reversed(above) if each.startswith("[")), "")
    shown = line if len(line) <= _LONGEST_LINE else line[: _LONGEST_LINE - 3] + "..."
    return Problem(f"line {number}", shown, _syntax_mend(line, heading, reason))


def _syntax_mend(line: str, heading: str, reason: str) -> str:
    if any(words in reason for words in _TWICE):
        if _VISIT.match(heading):
            return "write [[visit]] in double brackets above each visit, and nothing in it twice"
        return "keep only one of the keys or headings that are written twice"
    if _CURLY_QUOTES.search(line):
        return 'use straight quotes, "like these"'
    for slip, mend in _SLIPS:
        if slip.search(line[:400]):
            return mend
    plain = "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in reason)
    return f"mend the line so that it is TOML ({plain[:80]})"

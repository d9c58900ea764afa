"""How keys of a job file are named to a person, and which key was meant by an unknown one."""

from __future__ import annotations

import re
from datetime import date
from functools import cache
from itertools import takewhile
from typing import TYPE_CHECKING, get_args

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from lastbee.jobs.jobfile_schema import JobFile

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]{1,40}")
_LONGEST_KEY = 40
_IN_A_VISIT = re.compile(r"visit\.([0-9]+)(?:\.(.*))?", flags=re.DOTALL)
# What was meant where the same key in another table means something else.
_MEANT = {("visit", "count", "in"): "back_in"}


def named(field: str, file: JobFile) -> str:
    """Name a key as a person finds it: those of visits by the visit's number and day.

    Parameters
    ----------
    field
        Dotted name, with the place of a visit counted from 0, as `visit.1.count.minutes`.
    file
        The tables as read.

    Returns
    -------
    For instance "visit.count.minutes of visit 2 (2026-07-08)".
    """
    match = _IN_A_VISIT.fullmatch(field)
    if match is None:
        return field
    place = int(match[1])
    day = file.visit[place].visited_on
    which = f"visit {place + 1}"
    if day is not None:
        which += f" ({date(day.year, day.month, day.day)})"
    return which if match[2] is None else f"visit.{match[2]} of {which}"


def place_in_file(field: str) -> tuple[int, int]:
    """Give the place of a key in the documentation's order of tables, then of visits."""
    tables = list(keys_of_tables()[()])
    table = field.partition(".")[0]
    match = _IN_A_VISIT.fullmatch(field)
    return (
        tables.index(table) if table in tables else len(tables),
        int(match[1]) if match else 0,
    )


def heading_of(table: Iterable[int | str]) -> str:
    """Write the heading of a table, in double brackets where there may be many."""
    names = [name for name in table if isinstance(name, str)]
    return "[[visit]]" if names == ["visit"] else f"[{'.'.join(names)}]"


def shown_key(key: str) -> str:
    """Show a key as it would be written, on one line, cut when it is long."""
    if _BARE_KEY.fullmatch(key):
        return key
    plain = "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in key[:200])
    return f'"{plain}"' if len(plain) <= _LONGEST_KEY else f'"{plain[: _LONGEST_KEY - 3]}..."'


def mend_of_unknown(keys: tuple[int | str, ...]) -> str:
    """Find the key that was meant: near in the same table, or the same in another."""
    from difflib import get_close_matches

    known = keys_of_tables()
    names = tuple(name for name in keys if isinstance(name, str))
    here, key = names[:-1], names[-1]
    if names in _MEANT:
        return f"there is no such key here, write {_MEANT[names]}"
    if tables := [table for table, its_keys in known.items() if key in its_keys]:
        nearest = max(tables, key=lambda table: _levels_shared(table, here))
        return f"there is no such key here, {_moved(key, nearest)}"
    lowered = key[:_LONGEST_KEY].casefold()
    if near := get_close_matches(lowered, known[here], n=1, cutoff=0.6):
        is_table = (*here, near[0]) in known
        meant = heading_of((*here, near[0])) if is_table else near[0]
        return f"there is no such key, write {meant} perhaps"
    everywhere = {name: table for table, its_keys in known.items() for name in its_keys}
    if near := get_close_matches(lowered, everywhere, n=1, cutoff=0.75):
        dotted = ".".join((*everywhere[near[0]], near[0]))
        return f"there is no such key, write {dotted} perhaps"
    return f"there is no such key, use one of {', '.join(known[here])}, or take it out"


@cache
def keys_of_tables() -> Mapping[tuple[str, ...], tuple[str, ...]]:
    """List the keys that may be written in each table, by the table's dotted name."""
    from pydantic import BaseModel

    from lastbee.jobs.jobfile_schema import JobFile

    found: dict[tuple[str, ...], tuple[str, ...]] = {}

    def gather(table: type[BaseModel], at: tuple[str, ...]) -> None:
        fields = table.model_fields
        found[at] = tuple(field.alias or name for name, field in fields.items())
        for name, field in fields.items():
            for kind in (field.annotation, *get_args(field.annotation)):
                if isinstance(kind, type) and issubclass(kind, BaseModel):
                    gather(kind, (*at, name))

    gather(JobFile, ())
    return found


def _moved(key: str, table: tuple[str, ...]) -> str:
    """Say where a key belongs; a table written as a key belongs under its own heading."""
    if (*table, key) in keys_of_tables():
        return f"write its heading as {heading_of((*table, key))}"
    return f"move it {f'under the heading {heading_of(table)}' if table else 'above all headings'}"


def _levels_shared(table: tuple[str, ...], other: tuple[str, ...]) -> int:
    """Number of leading names that two dotted names share."""
    return sum(
        1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(table, other, strict=False))
    )

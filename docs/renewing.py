"""What the programs that renew pages have in common: filling tables in, writing or checking."""

from __future__ import annotations

import re
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path


def filled(text: str, place: str, rows: Iterable[str]) -> str:
    """The page with rows put between the two groups of a pattern, which must match once.

    Raises
    ------
    SystemExit
        If it matches elsewhere too, or nowhere.
    """
    body = "\n".join(row.rstrip() for row in rows)
    text, count = re.subn(place, lambda m: f"{m[1]}{body}\n{m[2]}", text, flags=re.DOTALL)
    if count != 1:
        raise SystemExit(f"this must stand once on the page: {place}")
    return text


def with_tables(text: str, tables: Mapping[str, Iterable[str]]) -> str:
    """The page with each table between the markers that bear its name."""
    for name, rows in tables.items():
        text = filled(text, rf"(<!-- table: {name} -->\n).*?(<!-- end of table -->)", rows)
    return text


def write_or_check(page: Path, fresh: str, command: str, *, only_check: bool | None = None) -> int:
    """Write the page, or with --check say whether it is up to date; give the exit code."""
    if only_check is None:
        only_check = "--check" in sys.argv[1:]
    is_old = fresh != page.read_text(encoding="utf-8")
    if not only_check:
        page.write_text(fresh, encoding="utf-8")
        return 0
    if is_old:
        print(f"docs/{page.name} is out of date: run python -m {command}")
    return int(is_old)

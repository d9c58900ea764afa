"""Job files as text, for the tests that read them: a smallest one with keys put in."""

from __future__ import annotations

import re

SMALLEST = {
    "": {"title": '"Bees in the gable"'},
    "site": {"place": '"Quarry Row"', "latitude": "43.1", "longitude": "-72.4"},
    "inspection": {"date": "2026-06-29"},
}


def job_text(changes: dict[str, str | None] | None = None) -> str:
    """Write the smallest job file with `changes`: dotted key to TOML text, None to leave out."""
    tables = {name: dict(keys) for name, keys in SMALLEST.items()}
    for dotted, value in (changes or {}).items():
        table, _, key = dotted.rpartition(".")
        keys = tables.setdefault(table, {})
        if value is None:
            keys.pop(key, None)
        else:
            keys[key] = value
    lines = []
    for name, keys in tables.items():
        lines += [f"[{name}]"] if name else []
        lines += [f"{key} = {value}" for key, value in keys.items()]
    return "\n".join(lines) + "\n"


def uncommented(text: str) -> str:
    """Take the # away before each key; remarks have a space behind theirs."""
    return re.sub(r"(?m)^#(?=\S)", "", text)

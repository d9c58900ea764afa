"""The form of an archive: what the files in it are called, and how an entry is a line.

docs/exchange.md describes it for people who write programs of their own.
"""

from __future__ import annotations

import json
import re
from datetime import datetime
from typing import Any

from lastbee.office.pictures import MOST_BYTES
from lastbee.record.entry import Entry

FORMAT_NAME = "lastbee.archive"
FORMAT = f"{FORMAT_NAME}/1"

MANIFEST, ENTRIES = "manifest.json", "entries.jsonl"
VISITS, SITES, README = "visits.csv", "sites.geojson", "README.txt"
PICTURE_NAME = re.compile(r"pictures/([0-9a-f]{64})\.jpg")

_MIB = 2**20
LARGEST_BYTES = {
    MANIFEST: _MIB,
    README: _MIB,
    ENTRIES: 512 * _MIB,
    VISITS: 512 * _MIB,
    SITES: 512 * _MIB,
}
"""Largest size of each file once decompressed; a firm writes some MiB of entries a year."""

LARGEST_PICTURE_BYTES = MOST_BYTES
LARGEST_LINE_BYTES = _MIB
DEEPEST = 20
"""Tables within tables of a line; the deepest of ours has five."""

MOST_FILES = 200_000
MOST_PROBLEMS = 20
"""After so many the rest of an archive is no better."""

_KEYS = ("id", "job", "kind", "written_at", "device", "person", "replaces", "body")


def picture_name(sha: str) -> str:
    """Name of the picture with that SHA-256 within an archive."""
    return f"pictures/{sha}.jpg"


def line_of(entry: Entry) -> str:
    """Write an entry as one line of JSON, in plain ASCII."""
    tree = {key: getattr(entry, key) for key in _KEYS}
    tree |= {"written_at": entry.written_at.isoformat(), "body": dict(entry.body)}
    return json.dumps(tree, allow_nan=False, separators=(",", ":"))


def entry_from_tree(tree: Any) -> Entry:
    """Read the JSON of a line back.

    Raises
    ------
    ValueError
        If it is no entry; the clause says why.
    """
    if not isinstance(tree, dict) or set(tree) != set(_KEYS):
        raise ValueError(f"it must have the keys {', '.join(_KEYS)} and no others")
    for key in ("id", "kind", "written_at", "device", "person"):
        if not isinstance(tree[key], str):
            raise ValueError(f"{key} must be text")
    for key in ("job", "replaces"):
        if not isinstance(tree[key], str | None):
            raise ValueError(f"{key} must be text or null")
    if not isinstance(tree["body"], dict):
        raise ValueError("body must be an object")
    try:
        written_at = datetime.fromisoformat(tree["written_at"])
    except ValueError as error:
        raise ValueError("written_at must be a moment in ISO 8601") from error
    return Entry(**{**tree, "written_at": written_at})

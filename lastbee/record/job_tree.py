"""The job file that a record amounts to.

The inspection and the visits are tables of a job file already. Around them, what the call and
the set-up say is put where a job file has it, and the firm's settings fill what is left.
"""

from __future__ import annotations

import hashlib
import json
from copy import deepcopy
from typing import TYPE_CHECKING, Any

from lastbee import __version__

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lastbee.record.record import Record

BODY_KEYS = {"inspection": "inspection.date"}
"""Dotted key of the day in the body of each kind; "date" in all others."""

UNTITLED = "Bees, place not known yet"


def tree_of(record: Record) -> dict[str, Any]:
    """Write a record as the tree of a job file; keys that nobody filled are absent."""
    firm = record.firm
    inspected: Mapping[str, Any] = {} if record.inspection is None else record.inspection.body
    called = _called(record)
    site = {
        **_of(firm.settings, "latitude", "longitude", "time_zone"),
        **_of(called, "place", "latitude", "longitude"),
        **inspected.get("site", {}),
    }
    if climate := inspected.get("site", {}).get("climate") or firm.settings.get("climate"):
        site["climate"] = climate
    people = {
        **_of(called, "allergic_person", "public_path_near"),
        **inspected.get("people", {}),
    }
    prepared_by = record.inspection.entry.person[:120] if record.inspection else ""
    tree = {
        "title": called.get("title") or _title(site),
        "client": called.get("client"),
        "prepared_by": prepared_by or firm.name or None,
        "site": site,
        "building": inspected.get("building"),
        "people": people,
        "inspection": inspected.get("inspection"),
        "setup": _setup(record),
        "preferences": firm.preferences,
        "visit": [dict(one.body) for one in record.visits],
    }
    return deepcopy({key: value for key, value in tree.items() if value or key == "site"})


def fingerprint(tree: Mapping[str, Any]) -> str:
    """Tell two trees apart, and forecasts of different releases, in 64 hexadecimal digits."""
    written = json.dumps([__version__, tree], sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(written.encode()).hexdigest()


def _called(record: Record) -> dict[str, Any]:
    """What the calls say, later ones over earlier ones."""
    told: dict[str, Any] = {}
    for one in record.all("call"):
        told.update(one.body)
    return told


def _title(site: Mapping[str, Any]) -> str:
    place = str(site.get("place") or "")
    return f"Bees at {place}"[:120] if place else UNTITLED


def _setup(record: Record) -> dict[str, Any]:
    if record.setup is not None:
        body = record.setup.body
        return {"cone_on": body["date"], **_of(body, "box", "rob_out")}
    if record.decision is not None:
        return _of(record.decision.body, "cone_on")
    return {}


def _of(table: Mapping[str, Any], *keys: str) -> dict[str, Any]:
    return {key: table[key] for key in keys if table.get(key) is not None}

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
from lastbee.record.chains import day_of

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
    called = record.called
    site = {
        **_of(firm.settings, "latitude", "longitude", "time_zone"),
        **_of(called, "place", "latitude", "longitude"),
        **inspected.get("site", {}),
    }
    if climate := inspected.get("site", {}).get("climate") or firm.settings.get("climate"):
        site["climate"] = climate
    setup = _setup(record)
    tree = {
        "title": called.get("title") or _title(site),
        "client": called.get("client"),
        "prepared_by": _prepared_by(record) or firm.name,
        "site": site,
        "building": inspected.get("building"),
        "people": {
            **_of(called, "allergic_person", "public_path_near"),
            **_still_to_keep(inspected.get("people", {}), setup),
        },
        "inspection": inspected.get("inspection"),
        "setup": setup,
        "preferences": firm.preferences,
        "visit": [dict(one.body) for one in record.visits],
    }
    return deepcopy({key: value for key, value in tree.items() if value or key == "site"})


def fingerprint(tree: Mapping[str, Any]) -> str:
    """Tell two trees apart, and forecasts of different releases, in 64 hexadecimal digits."""
    written = json.dumps([__version__, tree], sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(written.encode()).hexdigest()


def _still_to_keep(people: Mapping[str, Any], setup: Mapping[str, Any]) -> dict[str, Any]:
    """What is said of people, without a deadline that passed before the cone went on.

    No way can keep it any more; with it, the job file would contradict itself.
    """
    gone_by, cone_on = (
        day_of({"date": people.get("gone_by")}),
        day_of({"date": setup.get("cone_on")}),
    )
    is_missed = gone_by is not None and cone_on is not None and gone_by < cone_on
    return {key: value for key, value in people.items() if key != "gone_by" or not is_missed}


def _prepared_by(record: Record) -> str:
    """Who inspected, in one line: devices write names as they please."""
    who = "" if record.inspection is None else record.inspection.entry.person
    return " ".join("".join(sign if sign.isprintable() else " " for sign in who).split())[:120]


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

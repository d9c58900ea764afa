"""Entries, cards, forecasts and devices as rows, and back."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from lastbee.record.card import Card, Due
from lastbee.record.entry import Entry
from lastbee.record.forecast import Forecast
from lastbee.store.device import Device
from lastbee.store.search import text_to_search

if TYPE_CHECKING:
    from sqlalchemy import RowMapping

_PLAIN_CARD = (
    "job", "stage", "title", "client", "place", "phone", "latitude_deg", "longitude_deg",
    "standing", "standing_kind", "visits", "opened_at", "touched_at", "questions", "photos",
)  # fmt: skip
_DUE = ("what", "on", "why", "hours", "page", "urgency", "caution")


def entry_values(entry: Entry) -> dict[str, Any]:
    """Give the columns of an entry.

    Raises
    ------
    ValueError
        If its body holds a number that JSON has no sign for (not a number, infinity).
    """
    # ASCII alone, so that text which is no proper Unicode comes back as it was too.
    body = json.dumps(dict(entry.body), allow_nan=False, separators=(",", ":"))
    return {
        "id": entry.id,
        "job": entry.job,
        "kind": entry.kind,
        "written_at": entry.written_at,
        "device": entry.device,
        "person": entry.person,
        "replaces": entry.replaces,
        "body": body,
    }


def entry_from(row: RowMapping) -> Entry:
    """Give the entry that a row holds."""
    return Entry(
        id=row["id"],
        job=row["job"],
        kind=row["kind"],
        body=json.loads(row["body"]),
        written_at=row["written_at"],
        device=row["device"],
        person=row["person"],
        replaces=row["replaces"],
    )


def card_values(card: Card, number: int) -> dict[str, Any]:
    """Give the columns of a card of the job with that number."""
    values = {name: getattr(card, name) for name in _PLAIN_CARD}
    due = {f"due_{name}": getattr(card.due, name, None) for name in _DUE}
    return values | due | {
        "number": number,
        "due_rank": _rank(card.due),
        "search_text": text_to_search(card),
    }  # fmt: skip


def card_from(row: RowMapping) -> Card:
    """Give the card that a row holds."""
    due = None
    if row["due_on"] is not None:
        due = Due(**{name: row[f"due_{name}"] for name in _DUE})
    return Card(**{name: row[name] for name in _PLAIN_CARD}, due=due, number=row["number"])


def forecast_from(row: RowMapping) -> Forecast:
    """Give the forecast that a row of `forecasts`, joined with its plan if any, holds."""
    return Forecast(
        job=row["job"],
        asked=row["asked"],
        answered=row["answered"] or "",
        plan_json=row["plan_json"] or "",
        answered_at=row["answered_at"],
        state=row["state"],
        stage=row["stage"],
        share=row["share"],
        problem=row["problem"],
        urgency=row["urgency"],
    )


def device_from(row: RowMapping) -> Device:
    """Give the device that a row holds."""
    return Device(row["id"], row["name"], row["joined_at"], row["last_seen"])


def _rank(due: Due | None) -> float | None:
    """Order what is due by urgency plus days overdue: on any day the same order."""
    return None if due is None else due.urgency - due.on.toordinal()

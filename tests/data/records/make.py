"""Write a firm's file of today's format, and beside it, as JSON, what went in.

    python -m tests.data.records.make

Run once for each format, when the release that brings it is made; a pair that is there is
never written again. PROVENANCE.md says which program wrote which.
"""

from __future__ import annotations

import hashlib
import json
import sys
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from lastbee.record.card import Card, Due
from lastbee.record.entry import WITHDRAWN, Entry, new_id
from lastbee.store.book import Book
from lastbee.store.device import Device
from lastbee.store.migrating import FORMAT

HERE = Path(__file__).resolve().parent
START = datetime(2026, 7, 14, 7, 0, tzinfo=UTC)
JPEG, SMALL_JPEG = b"\xff\xd8 a large picture \xff\xd9" * 400, b"\xff\xd8 a small one \xff\xd9"
SHA = hashlib.sha256(JPEG).hexdigest()
SETTINGS = {"joining": "an invented secret"}
PLAN = json.dumps({"clearance": "2026-08-20", "words": "dernière abeille"})


def id_of(number: int) -> str:
    """The same id for the same number."""
    return new_id(START + timedelta(seconds=number), number.to_bytes(10, "big"))


JOBS = (id_of(1001), id_of(1002))
DEVICES = (
    Device("phone-1", "Wren's phone", START),
    Device("office", "Office", START + timedelta(hours=1), START + timedelta(hours=2)),
)

# An entry of every kind, with what has to be kept whatever it is: other alphabets, text that
# is no proper Unicode, what nobody can use, corrections (two of one entry) and withdrawals.
BODIES: tuple[tuple[str | None, str, dict[str, Any], int | None], ...] = (
    (None, "firm", {"name": "Invented Bees", "latitude": 43.25, "warranty_months": 12}, None),
    (None, "person", {"name": "Wren Example", "does": ["calls", "ladder"]}, None),
    (None, "kit", {"name": "Cone", "sort": "cone", "count": 4}, None),
    (JOBS[0], "call", {"date": "2026-06-01", "client": "José Ωmega", "phone": "555 0100",
                       "answers": {"where": "wall"}}, None),
    (JOBS[0], "inspection", {"inspection": {"date": "2026-06-02"}, "building": {"storeys": 2}},
     None),
    (JOBS[0], "decision", {"date": "2026-06-03", "way": "trap-out", "agreed_with": "owner"}, None),
    (JOBS[0], "set-up", {"date": "2026-06-05", "gaps_closed": 3, "inside_closed": True}, None),
    (JOBS[0], "visit", {"date": "2026-06-12", "temperature": "24 C",
                        "count": {"minutes": 5, "out": 60, "back_in": 0}}, None),
    (JOBS[0], "box", {"date": "2026-06-20", "what": "moved", "queen": "not seen"}, None),
    (JOBS[0], "photo", {"date": "2026-06-12", "of": "cone", "picture": SHA}, None),
    (JOBS[0], "close-out", {"date": "2026-07-10", "way": "leave", "done": [], "notes": None}, None),
    (JOBS[0], "certificate", {"date": "2026-07-11", "signed_by": "Wren Example"}, None),
    (JOBS[0], "callback", {"date": "2026-07-13", "what": "bees again", "mended": False}, None),
    (JOBS[1], "call", {"date": "not a date", "": [[], {}, 1e-300, -0.5, 2**70, True]}, None),
    (JOBS[1], "note", {"date": "2026-07-13", "text": "half a pair \ud83d, zero \0, \U0001f41d"},
     None),
    (JOBS[1], "ended", {"date": "2026-07-13", "why": "swarm gone"}, None),
    (JOBS[0], "visit", {"date": "2026-06-12", "temperature": "25 C"}, 8),
    (JOBS[0], "visit", {"date": "2026-06-12", "temperature": "26 C"}, 8),
    (JOBS[1], "ended", {WITHDRAWN: "it came back"}, 16),
)  # fmt: skip


def entries() -> list[Entry]:
    """All entries, in the order in which they come in."""
    return [
        Entry(
            id_of(number),
            job,
            kind,  # type: ignore[arg-type]
            body,
            START + timedelta(minutes=number, microseconds=number),
            "phone-1" if number % 2 else "",
            "Wren" if number % 3 else "",
            None if corrected is None else id_of(corrected),
        )
        for number, (job, kind, body, corrected) in enumerate(BODIES, start=1)
    ]


def cards() -> list[Card]:
    """The cards of both jobs."""
    due = Due("Look at the box", START.date(), "It is hot.", "17 to 20", "visit", 0.5)
    places = ((43.25, -75.125), (None, None))
    return [
        Card(job, "trapping", f"Bees {number}", "José Ωmega", "4 Invented Lane", "555 0100", *place,
             "Half are out.", "healthy", due if number == 1 else None, 2, START,
             START + timedelta(hours=number), number - 1, 1, number)
        for number, (job, place) in enumerate(zip(JOBS, places, strict=True), start=1)
    ]  # fmt: skip


def contents() -> dict[str, Any]:
    """All that goes in, as JSON has it."""
    return json.loads(json.dumps({
        "entries": [asdict(entry) for entry in entries()],
        "cards": [asdict(card) for card in cards()],
        "devices": [asdict(device) for device in DEVICES],
        "pictures": {SHA: hashlib.sha256(SMALL_JPEG).hexdigest()},
        "settings": SETTINGS,
        "plans": {JOBS[0]: PLAN},
        "waiting": [JOBS[1]],
    }, default=str))  # fmt: skip


def write(path: Path) -> None:
    """Write the file."""
    with Book.open(path, START) as book, book.writing() as writing:
        for entry in entries():
            writing.append(entry)
        for card in cards():
            writing.keep_card(card)
        for device in DEVICES:
            writing.join_device(device)
        for name, value in SETTINGS.items():
            writing.keep_setting(name, value)
        writing.keep_picture(SHA, JPEG, SMALL_JPEG)
        for job in JOBS:
            writing.ask_forecast(job, "asked", 0.5)
        writing.finish_forecast(JOBS[0], "asked", PLAN, START)


def main() -> int:
    """Write both, unless they are there."""
    path = HERE / f"format-{FORMAT}.lastbee"
    told = path.with_suffix(".json")
    if path.exists() or told.exists():
        print(f"{path.name} is there already and stays as it is", file=sys.stderr)
        return 1
    write(path)
    told.write_text(json.dumps(contents(), indent=1) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())

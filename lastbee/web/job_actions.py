"""What may be written down on a job, what its stage asks for first, and the stage in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lastbee.record.card import Due, Stage
    from lastbee.record.record import Record


@dataclass(frozen=True, slots=True)
class Action:
    """A form to open: the kind of entry it makes, what the button says, and its address."""

    kind: str
    label: str
    address: str


STAGE_WORDS: dict[Stage, str] = {
    "call": "Called, nothing booked yet",
    "to inspect": "Inspection booked",
    "to decide": "Inspected, to be decided",
    "to set up": "Decided, cone and box to be set",
    "trapping": "Trap-out under way",
    "to close": "To be closed out",
    "to certify": "Closed, certificate to be signed",
    "warranty": "Closed, under warranty",
    "over": "Closed, warranty over",
    "ended": "Ended without certificate",
}
_LABELS = {
    "inspection": "Inspection", "decision": "Decision", "set-up": "Set-up", "visit": "Visit",
    "photo": "Photographs", "note": "Note", "box": "Box", "close-out": "Close-out",
    "certificate": "Certificate", "callback": "Callback", "ended": "End this job",
}  # fmt: skip
_MAIN_LABELS = {
    "call": "Write down what was agreed", "callback": "Write down what was done",
    "certificate": "Sign the certificate",
}  # fmt: skip
_OFFERED: dict[Stage, tuple[str, ...]] = {
    "call": ("inspection", "note", "photo", "ended"),
    "to inspect": ("inspection", "photo", "note", "ended"),
    "to decide": ("decision", "inspection", "photo", "note", "ended"),
    "to set up": ("set-up", "decision", "photo", "note", "ended"),
    "trapping": ("visit", "photo", "note", "box", "close-out", "decision", "ended"),
    "to close": ("close-out", "visit", "photo", "note", "box", "ended"),
    "to certify": ("certificate", "photo", "note", "box", "callback"),
    "warranty": ("callback", "photo", "note", "box"),
    "over": ("callback", "photo", "note"),
    "ended": ("note", "photo"),
}


def main_action_of(record: Record, due: Due | None) -> Action | None:
    """The form that takes down what is due; None where nothing is, or no form does."""
    if due is None or due.page is None:
        return None
    label = _MAIN_LABELS.get(due.page) or f"Write down the {_LABELS[due.page].lower()}"
    # What is there already is added to; a new entry would stand beside it, still open.
    told = {"call": record.last("call"), "callback": record.open_callback}.get(due.page)
    if told is not None:
        return Action(due.page, label, f"/job/{record.job}/correct/{told.entry.id}")
    return Action(due.page, label, f"/job/{record.job}/{due.page}")


def actions_of(record: Record, stage: Stage, due: Due | None) -> tuple[Action, ...]:
    """The other things that may be written down, first what the stage asks for."""
    main = None if due is None else due.page
    return tuple(
        Action(kind, _LABELS[kind], f"/job/{record.job}/{kind}")
        for kind in _OFFERED[stage]
        if kind != main
    )

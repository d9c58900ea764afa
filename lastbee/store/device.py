"""A device that joined: a phone, a tablet or the office's own computer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime


@dataclass(frozen=True, slots=True)
class Device:
    """One device.

    Attributes
    ----------
    id
        Its own, given when it joined. The entries that it writes carry its name instead.
    name
        What people call it.
    joined_at, last_seen
        When it joined, and when it last asked for something, UTC; `last_seen` is None until
        it does.
    """

    id: str
    name: str
    joined_at: datetime
    last_seen: datetime | None = None

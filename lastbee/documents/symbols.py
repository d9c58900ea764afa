"""Plain line symbols for what happens on a job, drawn for lastbee, each on 16 by 16."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

SYMBOL_SIZE = 16.0

SYMBOLS: Mapping[str, str] = MappingProxyType({
    # An eye under a brow: somebody saw bees first.
    "seen": "M1.5 8.5c3.5-5 9.5-5 13 0c-3.5 5-9.5 5-13 0zM8 6.5v4M6 8.5h4",
    # A bubble of speech.
    "call": "M2 3h12v8H7.5L4.5 14v-3H2zM5 7h6",
    # A glass to look through.
    "inspection": "M11 6.5a4.5 4.5 0 1 1-9 0a4.5 4.5 0 1 1 9 0zM10 10l4.5 4.5",
    # A road that forks.
    "decision": "M8 15V9L3 3M8 9l5-6M3 6.5V3h3.5M13 6.5V3H9.5",
    # A cone on a wall, tip up and away.
    "cone": "M3 1.5v13M3 5l11-2.5L6 12l-3-1",
    # A ladder at a wall.
    "visit": "M4.5 14.5L7 1.5M10.5 14.5L13 1.5M6.6 4h5.4M5.9 8h5.4M5.1 12h5.4",
    # Two boards and mesh between them.
    "gap": "M1.5 4h13M1.5 12h13M4.5 4v8M8 4v8M11.5 4v8",
    # A hive body with its entrance.
    "box": "M2 4h12v9.5H2zM1 4h14M6 11h4",
    # A bar across.
    "closed": "M2 2.5h12v11H2zM5 8l2.2 2.5L11.5 6",
    # A sheet with a seal.
    "certificate": "M3 1.5h10v9H3zM5.5 4.5h5M5.5 7h3M10 9.5v5l1.5-1l1.5 1v-5",
    # A way back.
    "callback": "M13.5 13V8a3.5 3.5 0 0 0-3.5-3.5H2.5M5.5 1.5l-3 3l3 3",
    # A line drawn under.
    "ended": "M3 3l10 10M13 3L3 13",
    # A day to come.
    "due": "M2 3.5h12v11H2zM2 7h12M5 1.5v3.5M11 1.5v3.5",
    "note": "M3 2h10v12H3zM5.5 5.5h5M5.5 8.5h5M5.5 11.5h3",
    "photo": "M1.5 4.5h3l1.5-2h4l1.5 2h3v9h-13zM11 9a3 3 0 1 1-6 0a3 3 0 1 1 6 0z",
})  # fmt: skip
"""Path of each symbol, by the kind of moment or entry that it stands for."""

"""Writers that are killed while they write lose nothing that was acknowledged."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from verify import kills

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")


def test_twenty_killed_writers_lose_nothing() -> None:
    found = kills.kill_writers(20)
    assert found.acknowledged > 40
    assert (found.lost, found.torn, found.faults) == (0, 0, [])


def test_an_entry_that_was_never_kept_counts_as_lost(tmp_path: Path) -> None:
    found = kills.Kills(1)
    kills._look(tmp_path / "firm.lastbee", 0, {0: kills.entry_of(0, 0).id}, found)
    assert found.lost == 1
    assert kills.report(found)[1]["kills_wrong"] == 1

"""What tests of the exchange share: the demo firm, its archive, and an empty record."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from office_factory import desk_on

from lastbee.office.demo_firm import demo_entries
from lastbee.office.demo_firm_pictures import demo_pictures
from lastbee.office.exchange import (
    write_archive,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from lastbee.office.desk import Desk


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """The demo firm's desk; nothing is written to it."""
    made = desk_on(tmp_path_factory.mktemp("demo") / "demo.lastbee")
    pictures = {picture.sha256: picture for picture in demo_pictures().values()}
    made.take_in(demo_entries(), pictures, strict=False)
    yield made
    made.book.close()


@pytest.fixture(scope="module")
def archive(demo: Desk, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo firm as an archive."""
    path = tmp_path_factory.mktemp("archive") / "demo.zip"
    write_archive(demo, path)
    return path


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Desk]:
    """A desk on an empty file."""
    made = desk_on(tmp_path / "empty.lastbee")
    yield made
    made.book.close()

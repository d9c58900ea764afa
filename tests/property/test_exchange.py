"""Two halves of a firm that wrote apart come together, whichever is read first."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from lastbee.office.demo_firm import MORNING, demo_entries
from lastbee.office.desk import Desk
from lastbee.office.exchange import read_archive, write_archive
from lastbee.store.book import Book

ENTRIES = demo_entries()


def desk_on(path: Path) -> Desk:
    """A desk on a new file."""
    return Desk(Book.open(path, MORNING), lambda: MORNING)


def archive_of(numbers: list[int], path: Path) -> Path:
    """An archive of some entries, handed in in that order."""
    desk = desk_on(path.with_suffix(".lastbee"))
    desk.take_in([ENTRIES[number] for number in numbers], strict=False)
    write_archive(desk, path)
    desk.book.close()
    return path


def together(first: Path, second: Path, path: Path) -> bytes:
    """The archive of a record that has read two."""
    desk = desk_on(path.with_suffix(".lastbee"))
    read_archive(desk, first)
    read_archive(desk, second)
    write_archive(desk, path)
    desk.book.close()
    return path.read_bytes()


@settings(max_examples=6)
@given(
    order=st.permutations(range(len(ENTRIES))),
    cut=st.integers(0, len(ENTRIES)),
    shared=st.integers(0, 20),
)
def test_two_halves_in_any_order_make_the_whole(order: list[int], cut: int, shared: int) -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        left = archive_of(order[: cut + shared], folder / "left.zip")
        right = archive_of(order[cut:], folder / "right.zip")
        whole = archive_of(list(range(len(ENTRIES))), folder / "whole.zip").read_bytes()
        assert together(left, right, folder / "one.zip") == whole
        assert together(right, left, folder / "other.zip") == whole

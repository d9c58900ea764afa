"""Opening the firm's file: what is made, what is refused, and that nothing is ever harmed."""

from __future__ import annotations

import os
import sqlite3
import stat
import subprocess
import sys
import tempfile
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from store_factory import NOW, card, keep, note, opened

from lastbee.errors import FileProblem
from lastbee.store import drafts, sqlite
from lastbee.store.book import Book

if TYPE_CHECKING:
    from collections.abc import Iterator


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """A book in a new file."""
    yield from opened(tmp_path)


def refused(path: Path) -> str:
    """Say why a file is not opened."""
    with pytest.raises(FileProblem) as caught:
        Book.open(path, NOW)
    return str(caught.value)


@contextmanager
def without_privileges() -> Iterator[Path]:
    """A folder of ours, as seen by a user whom permissions bind: the superuser's do not."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if os.geteuid() != 0:
            yield folder
            folder.chmod(stat.S_IRWXU)
            return
        nobody = 65534
        os.chown(folder, nobody, nobody)
        os.seteuid(nobody)
        try:
            yield folder
        finally:
            os.seteuid(0)


def test_a_new_file_stands_alone_once_it_is_closed(tmp_path: Path) -> None:
    with Book.open(tmp_path / "a.lastbee", NOW) as book, book.reading() as reading:
        assert list(reading.entries()) == []
        assert reading.setting("made_at") == NOW.isoformat()
    assert [path.name for path in tmp_path.iterdir()] == ["a.lastbee"]


def test_a_file_says_in_its_header_whose_it_is(tmp_path: Path) -> None:
    # Bytes 68 to 71 of the header are the application id, 60 to 63 the user version; the SQLite
    # documentation, "Database File Format", section 1.3.
    path = tmp_path / "a.lastbee"
    Book.open(path, NOW).close()
    header = path.read_bytes()[:100]
    assert header[68:72] == b"lbee"
    assert int.from_bytes(header[60:64], "big") == 1


def test_names_with_signs_that_mean_something_in_an_address_are_only_names(tmp_path: Path) -> None:
    path = tmp_path / "bees & co #1 100%?mode=memory.lastbee"
    with Book.open(path, NOW) as book, book.writing() as writing:
        writing.append(note(1))
    with Book.open(path, NOW) as book, book.reading() as reading:
        assert reading.count_entries() == 1
    assert [found.name for found in tmp_path.iterdir()] == [path.name]


def test_every_connection_is_durable_strict_and_waits_its_turn(book: Book) -> None:
    # synchronous 2 is FULL: in WAL mode the journal is synced at each commit; the SQLite
    # documentation, "Pragma statements", synchronous.
    wanted = {
        "journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 30_000,
        "fullfsync": 1, "recursive_triggers": 1, "trusted_schema": 0,
    }  # fmt: skip
    for begun in (book.reading, book.writing, book.writing):
        with begun() as one, book.reading() as another:
            for connection in (one._connection, another._connection):
                found = {
                    name: connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in wanted
                }
                assert found == wanted


def test_a_writer_holds_its_place_from_the_start(book: Book) -> None:
    with (
        book.writing(),
        closing(sqlite3.connect(book.path, timeout=0)) as other,
        pytest.raises(sqlite3.OperationalError, match="locked"),
    ):
        other.execute("BEGIN IMMEDIATE")


def test_a_place_that_never_becomes_free_is_told(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite, "BUSY_SECONDS", 0.0)
    with Book.open(book.path, NOW) as other, book.writing() as writing:
        writing.append(note(1))
        with pytest.raises(FileProblem, match="being written to by another"), other.writing():
            pass
    with book.reading() as reading:
        assert reading.count_entries() == 1


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is no lastbee record"),
        (b"[site]\nlatitude = 43.0\n", "is no lastbee record"),
        (b"SQLite format 3\0" + b"\1" * 5000, "is no lastbee record"),
    ],
)
def test_a_file_of_another_kind_is_refused_and_left_alone(
    tmp_path: Path, content: bytes, said: str
) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    assert said in refused(path)
    assert path.read_bytes() == content
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("mode", ["delete", "wal"])
def test_a_database_of_another_program_is_refused_and_left_alone(tmp_path: Path, mode: str) -> None:
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as other:
        other.execute(f"PRAGMA journal_mode = {mode}")
        other.execute("CREATE TABLE entries (id TEXT)")
    before = path.read_bytes()
    assert "is no lastbee record" in refused(path)
    assert path.read_bytes() == before


def test_a_file_of_a_newer_program_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "firm.lastbee"
    Book.open(path, NOW).close()
    with closing(sqlite3.connect(path)) as newer:
        newer.execute("PRAGMA user_version = 99")
    before = path.read_bytes()
    said = refused(path)
    assert "was written by a newer lastbee (its format is 99" in said
    assert said.endswith("use the newer lastbee.")
    assert path.read_bytes() == before


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    missing = tmp_path / "not" / "there"
    assert f"there is no folder {missing}" in refused(missing / "firm.lastbee")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    assert "is a folder" in refused(tmp_path)


def test_a_pipe_is_refused_without_waiting_for_it(tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("this system has no pipes with a name")
    os.mkfifo(tmp_path / "pipe")
    assert "is no lastbee record" in refused(tmp_path / "pipe")


def test_a_name_longer_than_any_file_can_have_is_told(tmp_path: Path) -> None:
    assert "cannot be" in refused(tmp_path / ("b" * 4000))


def test_a_file_that_must_not_be_written_is_told_at_once() -> None:
    with without_privileges() as folder:
        path = folder / "firm.lastbee"
        Book.open(path, NOW).close()
        path.chmod(stat.S_IRUSR)
        assert "cannot be written" in refused(path)


def test_a_folder_that_must_not_be_written_is_told_at_once() -> None:
    with without_privileges() as folder:
        path = folder / "firm.lastbee"
        Book.open(path, NOW).close()
        folder.chmod(stat.S_IRUSR | stat.S_IXUSR)
        assert "firm.lastbee cannot be" in refused(path)
        assert "new.lastbee cannot be" in refused(folder / "new.lastbee")
        folder.chmod(stat.S_IRWXU)


def test_a_file_damaged_inside_is_told_as_damaged(tmp_path: Path) -> None:
    path = tmp_path / "firm.lastbee"
    with Book.open(path, NOW) as book, book.writing() as writing:
        for number in range(500):
            writing.append(note(number, text="bees " * 100))
    content = bytearray(path.read_bytes())
    content[8192:-4096] = b"\x55" * (len(content) - 12288)
    path.write_bytes(content)
    with (
        pytest.raises(FileProblem, match="is damaged"),
        Book.open(path, NOW) as book,
        book.reading() as reading,
    ):
        list(reading.entries())


def test_faults_are_found_by_looking_the_file_over(tmp_path: Path) -> None:
    path = tmp_path / "firm.lastbee"
    with Book.open(path, NOW) as book:
        with book.writing() as writing:
            for number in range(500):
                writing.append(note(number))
        assert book.faults() == ()
    content = bytearray(path.read_bytes())
    # An id stands in its row and in the index; now they disagree.
    content[content.index(note(250).id.encode())] ^= 1
    path.write_bytes(content)
    with Book.open(path, NOW) as book:
        assert book.faults() != ()


def test_a_file_that_is_gone_while_in_use_is_not_made_anew(tmp_path: Path) -> None:
    path = tmp_path / "firm.lastbee"
    book = Book.open(path, NOW)
    book.close()
    path.unlink()
    with pytest.raises(FileProblem, match="cannot be opened"), book.reading() as reading:
        reading.count_entries()
    assert not path.exists()


def test_two_programs_that_make_the_same_file_share_it(tmp_path: Path) -> None:
    program = (
        "import sys; from pathlib import Path; from store_factory import NOW, note\n"
        "from lastbee.store.book import Book\n"
        "with Book.open(Path(sys.argv[1]), NOW) as book, book.writing() as writing:\n"
        "    writing.append(note(int(sys.argv[2])))\n"
    )
    path = tmp_path / "firm.lastbee"
    here = str(Path(__file__).parent)
    command = [sys.executable, "-c", program, str(path)]
    environment = os.environ | {"PYTHONPATH": here}
    running = [
        subprocess.Popen([*command, str(number)], env=environment) for number in range(3)
    ]  # fmt: skip
    assert [process.wait() for process in running] == [0, 0, 0]
    with Book.open(path, NOW) as book, book.reading() as reading:
        assert {entry.id for entry in reading.entries()} == {note(n).id for n in range(3)}


def test_a_copy_is_whole_and_alone_while_others_write(book: Book, tmp_path: Path) -> None:
    keep(book, card(1), card(2))
    copy = tmp_path / "copies" / "copy.lastbee"
    copy.parent.mkdir()
    copy.write_text("what was there before")
    with book.writing() as writing:
        writing.append(note(50))
        book.copy_to(copy)
    assert [path.name for path in copy.parent.iterdir()] == ["copy.lastbee"]
    with Book.open(copy, NOW) as copied, copied.reading() as reading:
        assert [found.job for found in reading.cards()] == [card(2).job, card(1).job]
        assert reading.entry(note(50).id) is None
        assert copied.faults() == ()
    with book.reading() as reading:
        assert reading.entry(note(50).id) is not None


def test_a_copy_over_itself_or_over_a_file_in_use_is_refused(book: Book, tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="is the very file"):
        book.copy_to(book.path)
    with pytest.raises(FileProblem, match="is a folder"):
        book.copy_to(tmp_path)
    with pytest.raises(FileProblem, match="cannot be opened"):
        book.copy_to(tmp_path / "no" / "copy.lastbee")
    with Book.open(tmp_path / "other.lastbee", NOW) as other:
        with other.reading() as reading:
            assert reading.count_entries() == 0
        with pytest.raises(FileProblem, match="is in use"):
            book.copy_to(other.path)


def test_a_copy_that_fails_leaves_what_was_there(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy = tmp_path / "copy.lastbee"
    copy.write_text("before")

    def broken(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", broken)
    with pytest.raises(FileProblem, match=r"copy.lastbee cannot be written \(no space left"):
        book.copy_to(copy)
    assert copy.read_text() == "before"
    assert {path.name for path in tmp_path.iterdir()} >= {"copy.lastbee"}
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_a_draft_never_takes_the_place_of_another_file_where_names_cannot_be_shared(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unsupported(*_: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(Path, "hardlink_to", unsupported)
    draft, path = tmp_path / "draft", tmp_path / "path"
    draft.write_text("new")
    assert drafts.put_where_nothing_is(draft, path)
    draft.write_text("newer")
    assert not drafts.put_where_nothing_is(draft, path)
    assert path.read_text() == "new"

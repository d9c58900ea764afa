"""Out of the record and into it: whole, unchanged, twice over, and nothing that is not sound."""

from __future__ import annotations

import json
import re
import struct
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from office_factory import all_of, desk_on, id_of, trap_out, visit, written

from lastbee.errors import FileProblem, InvalidInput, LastbeeError
from lastbee.office import archive_form
from lastbee.office.archive_form import ENTRIES, MANIFEST, entry_from_tree, line_of
from lastbee.office.demo_firm import demo_entries
from lastbee.office.demo_firm_pictures import demo_pictures
from lastbee.office.exchange import (
    read_archive,
    write_archive,
)
from lastbee.office.forecast_queue import ForecastQueue

if TYPE_CHECKING:
    from collections.abc import Callable

    from lastbee.office.desk import Desk

ROOT = Path(__file__).resolve().parents[2]


def test_an_archive_carries_everything_to_an_empty_record(
    demo: Desk, archive: Path, empty: Desk
) -> None:
    receipt = read_archive(empty, archive)
    assert len(receipt.kept) == len(demo_entries())
    assert all_of(empty) == all_of(demo)
    assert empty.stage_counts() == demo.stage_counts()
    for picture in demo_pictures().values():
        assert empty.picture(picture.sha256) == picture.jpeg
        assert empty.picture(picture.sha256, small=True)


def test_the_same_record_makes_the_same_archive(archive: Path, empty: Desk, tmp_path: Path) -> None:
    read_archive(empty, archive)
    write_archive(empty, tmp_path / "again.zip")
    assert (tmp_path / "again.zip").read_bytes() == archive.read_bytes()


def test_reading_an_archive_twice_adds_nothing(archive: Path, empty: Desk) -> None:
    first = read_archive(empty, archive)
    second = read_archive(empty, archive)
    assert second.kept == ()
    assert set(second.was_there) == set(first.kept)


def test_the_manifest_says_how_much_there_is(archive: Path) -> None:
    with zipfile.ZipFile(archive) as opened:
        manifest = json.loads(opened.read(MANIFEST))
        lines = opened.read(ENTRIES).splitlines()
        pictures = [name for name in opened.namelist() if name.startswith("pictures/")]
    assert manifest["format"] == "lastbee.archive/1"
    assert (manifest["jobs"], manifest["entries"]) == (30, len(lines))
    assert manifest["pictures"] == len(pictures) == 5


def test_what_waits_to_be_mended_is_carried_and_told(archive: Path, empty: Desk) -> None:
    receipt = read_archive(empty, archive)
    assert {problem.field for problem in receipt.problems} == {"temperature", "cone"}


def test_an_archive_that_cannot_be_written_leaves_what_was_there(
    demo: Desk, tmp_path: Path
) -> None:
    with pytest.raises(FileProblem, match=r"no folder|cannot be written"):
        write_archive(demo, tmp_path / "nowhere" / "firm.zip")
    folder = tmp_path / "folder.zip"
    folder.mkdir()
    with pytest.raises(FileProblem):
        write_archive(demo, folder)
    assert list(tmp_path.iterdir()) == [folder]


def changed(archive: Path, to: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """An archive with other files in it."""
    with zipfile.ZipFile(archive) as opened:
        files = {name: opened.read(name) for name in opened.namelist()}
    change(files)
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as written_to:
        for name, content in files.items():
            written_to.writestr(name, content)
    return to


def path_trick(files: dict[str, bytes]) -> None:
    files["../../outside.txt"] = b"x"


def absolute_path(files: dict[str, bytes]) -> None:
    files["/outside.txt"] = b"x"


def stranger(files: dict[str, bytes]) -> None:
    files["pictures/run.sh"] = b"x"


def no_manifest(files: dict[str, bytes]) -> None:
    del files[MANIFEST]


def no_entries(files: dict[str, bytes]) -> None:
    del files[ENTRIES]


def broken_manifest(files: dict[str, bytes]) -> None:
    files[MANIFEST] = b"{"


def newer(files: dict[str, bytes]) -> None:
    files[MANIFEST] = files[MANIFEST].replace(b"archive/1", b"archive/2")


def of_another_program(files: dict[str, bytes]) -> None:
    files[MANIFEST] = b'{"format": "something else"}'


def line_lost(files: dict[str, bytes]) -> None:
    files[ENTRIES] = files[ENTRIES].partition(b"\n")[2]


def picture_lost(files: dict[str, bytes]) -> None:
    del files[next(name for name in files if name.startswith("pictures/"))]


def picture_changed(files: dict[str, bytes]) -> None:
    name = next(name for name in files if name.startswith("pictures/"))
    files[name] = files[name][:-9] + b"otherwise"


def picture_of_another_kind(files: dict[str, bytes]) -> None:
    from hashlib import sha256

    name = next(name for name in files if name.startswith("pictures/"))
    del files[name]
    script = b"<svg onload='alert(1)'/>"
    files[f"pictures/{sha256(script).hexdigest()}.jpg"] = script


def picture_that_opens_not(files: dict[str, bytes]) -> None:
    from hashlib import sha256

    name = next(name for name in files if name.startswith("pictures/"))
    del files[name]
    stump = b"\xff\xd8\xff\xe0 and no more"
    files[f"pictures/{sha256(stump).hexdigest()}.jpg"] = stump


def bomb(files: dict[str, bytes]) -> None:
    name = next(name for name in files if name.startswith("pictures/"))
    files[name] = bytes(archive_form.LARGEST_PICTURE_BYTES + 1)


def endless_line(files: dict[str, bytes]) -> None:
    files[ENTRIES] = b'{"id": "' + b"x" * archive_form.LARGEST_LINE_BYTES + b'"}\n'


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (path_trick, r"does not belong there \('../../outside.txt'\)"),
        (absolute_path, "does not belong there"),
        (stranger, r"does not belong there \('pictures/run.sh'\)"),
        (no_manifest, "is no archive of a firm's record"),
        (no_entries, "is no archive of a firm's record"),
        (broken_manifest, "manifest.json that cannot be read"),
        (newer, r"another version \(lastbee.archive/2; this program reads lastbee.archive/1\)"),
        (of_another_program, "is no archive of a firm's record"),
        (line_lost, "entries where"),
        (picture_lost, "pictures where"),
        (picture_changed, "picture that was changed"),
        (picture_of_another_kind, "picture that was changed"),
        (picture_that_opens_not, "picture that cannot be opened"),
        (bomb, "too large"),
        (endless_line, "line that is too long"),
    ],
)
def test_an_unsound_archive_is_refused_whole(
    change: Callable[[dict[str, bytes]], None],
    words: str,
    archive: Path,
    empty: Desk,
    tmp_path: Path,
) -> None:
    bad = changed(archive, tmp_path / "bad.zip", change)
    with pytest.raises(FileProblem, match=words) as told:
        read_archive(empty, bad)
    assert "\n" not in str(told.value)
    assert all_of(empty) == (set(), [])


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (b"no JSON", "it is no JSON"),
        (b'{"id": NaN}', "NaN is no number in JSON"),
        (b"\xff\xfe", "it is no JSON"),
        (b"[" * 100_000, "it is no JSON"),
        (b'{"id": 1e999}', "1e999 is no number in JSON"),
        (b'{"id": ' + b"[" * 100 + b"]" * 100 + b"}", "tables within tables without end"),
        (b"[]", "it must have the keys"),
        (b"{}", "it must have the keys"),
    ],
)
def test_a_line_that_cannot_be_read_is_named(
    line: bytes, words: str, archive: Path, empty: Desk, tmp_path: Path
) -> None:
    def add(files: dict[str, bytes]) -> None:
        files[ENTRIES] += line + b"\n"

    bad = changed(archive, tmp_path / "bad.zip", add)
    with pytest.raises(InvalidInput, match=re.escape(words)) as told:
        read_archive(empty, bad)
    assert told.value.problems[0].field == f"entries.jsonl line {len(demo_entries()) + 1}"
    assert all_of(empty) == (set(), [])


@pytest.mark.parametrize(
    "change",
    [
        {"id": "not an id"},
        {"id": 7},
        {"job": 7},
        {"job": None},
        {"kind": "novel"},
        {"body": "text"},
        {"written_at": "yesterday"},
        {"written_at": "2026-07-14T08:00:00"},
        {"written_at": "0001-01-01T00:00:00+05:00"},
        {"replaces": "x"},
        {"more": 1},
    ],
)
def test_a_line_that_is_no_entry_is_refused(change: dict[str, Any]) -> None:
    tree = json.loads(line_of(visit(3)))
    assert entry_from_tree(tree) == visit(3)
    with pytest.raises(ValueError, match=r"must|no time zone|does not suit|no clock"):
        entry_from_tree(tree | change)


def test_an_entry_that_was_altered_is_refused(empty: Desk, tmp_path: Path) -> None:
    empty.take_in(trap_out(), strict=True)
    write_archive(empty, tmp_path / "true.zip")
    before = all_of(empty)

    def alter(files: dict[str, bytes]) -> None:
        files[ENTRIES] = files[ENTRIES].replace(b'"out":14}', b'"out":41}')

    bad = changed(tmp_path / "true.zip", tmp_path / "altered.zip", alter)
    with pytest.raises(InvalidInput, match="another text is kept under this id"):
        read_archive(empty, bad)
    assert all_of(empty) == before


def test_two_texts_under_one_id_are_refused(empty: Desk, tmp_path: Path) -> None:
    empty.take_in(trap_out(), strict=True)
    write_archive(empty, tmp_path / "true.zip")

    def double(files: dict[str, bytes]) -> None:
        *_, last = files[ENTRIES].splitlines(keepends=True)
        files[ENTRIES] += last.replace(b'"out":14}', b'"out":41}')
        manifest = json.loads(files[MANIFEST])
        files[MANIFEST] = json.dumps(manifest | {"entries": manifest["entries"] + 1}).encode()

    bad = changed(tmp_path / "true.zip", tmp_path / "double.zip", double)
    other = desk_on(tmp_path / "other.lastbee")
    with pytest.raises(InvalidInput, match="another text is kept under this id"):
        read_archive(other, bad)
    assert all_of(other) == (set(), [])
    other.book.close()


def test_others_write_while_pictures_are_made_ready(empty: Desk) -> None:
    class Pictures(dict[str, Any]):
        def __getitem__(self, sha: str) -> Any:
            empty.take_in([written("call", sha[:4], id_of(sha), date="2026-07-14")], strict=False)
            return super().__getitem__(sha)

    pictures = {picture.sha256: picture for picture in demo_pictures().values()}
    receipt = empty.bring_in(trap_out(), Pictures(pictures))
    assert len(receipt.kept) == len(trap_out())
    assert empty.cards().count == len(pictures) + 1
    assert all_of(empty)[1] == sorted(pictures)


def test_cards_of_an_import_that_was_cut_off_are_worked_out_later(
    empty: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    empty.queue.renew_day()

    def cut_off(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(ForecastQueue, "renew_jobs", cut_off)
    with pytest.raises(KeyboardInterrupt):
        empty.bring_in(trap_out(), {})
    monkeypatch.undo()
    assert empty.cards().count == 0
    empty.queue.renew_day()
    assert empty.cards().count == 1


@pytest.mark.parametrize("content", [b"", b"no archive", b"PK\x03\x04 cut short"])
def test_a_file_that_is_no_archive_is_refused(content: bytes, empty: Desk, tmp_path: Path) -> None:
    path = tmp_path / "bad.zip"
    path.write_bytes(content)
    with pytest.raises(FileProblem, match="damaged, or no archive"):
        read_archive(empty, path)


def test_a_file_that_is_not_there_is_told(empty: Desk, tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="cannot be read"):
        read_archive(empty, tmp_path / "none.zip")


def test_a_damaged_archive_is_refused_wherever_the_damage_is(
    archive: Path, empty: Desk, tmp_path: Path
) -> None:
    whole = archive.read_bytes()
    for place in range(0, len(whole), len(whole) // 23):
        (tmp_path / "bad.zip").write_bytes(
            whole[:place] + bytes([whole[place] ^ 0x55]) + whole[place + 1 :]
        )
        try:
            read_archive(empty, tmp_path / "bad.zip")
        except LastbeeError:
            assert all_of(empty) == (set(), [])
        else:  # the byte was one that nothing hangs on, such as a date
            break


def test_two_files_of_one_name_are_refused(archive: Path, empty: Desk, tmp_path: Path) -> None:
    path = tmp_path / "twice.zip"
    path.write_bytes(archive.read_bytes())
    with (
        pytest.warns(UserWarning, match="Duplicate name"),
        zipfile.ZipFile(path, "a") as opened,
    ):
        opened.writestr(ENTRIES, b"")
    with pytest.raises(FileProblem, match="two files of one name"):
        read_archive(empty, path)


def test_an_archive_with_a_password_is_refused(archive: Path, empty: Desk, tmp_path: Path) -> None:
    # The bit that says "encrypted" in each entry of the central directory (APPNOTE 4.4.4).
    raw = bytearray(archive.read_bytes())
    at = raw.index(b"PK\x01\x02")
    flags = struct.unpack_from("<H", raw, at + 8)[0]
    struct.pack_into("<H", raw, at + 8, flags | 1)
    (tmp_path / "locked.zip").write_bytes(raw)
    with pytest.raises(FileProblem, match="without password"):
        read_archive(empty, tmp_path / "locked.zip")


# The table of visits


def test_the_files_of_an_archive_are_those_of_the_document(archive: Path) -> None:
    text = (ROOT / "docs" / "exchange.md").read_text(encoding="utf-8")
    with zipfile.ZipFile(archive) as opened:
        names = {re.sub("[0-9a-f]{64}", "SHA", name) for name in opened.namelist()}
    assert names == {name for name in re.findall(r"`([\w/.]+\.\w+)`", text) if name in names}
    keys = re.findall(r"`(\w+)`", text.split("| key | value |")[1].split("\n\n")[0])
    assert set(json.loads(line_of(visit(3)))) <= set(keys)


# The map


# Job files

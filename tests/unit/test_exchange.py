"""Out of the record and into it: whole, unchanged, twice over, and nothing that is not sound."""

from __future__ import annotations

import csv
import io
import json
import re
import struct
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import geojson
import pytest
from office_factory import JOB, NOW, desk_in, id_of, inspection, trap_out, visit, written

from lastbee.errors import FileProblem, InvalidInput, LastbeeError
from lastbee.jobs.jobfile import parse_job, read_job
from lastbee.office import archive_form
from lastbee.office.archive_form import ENTRIES, MANIFEST, entry_from_tree, line_of
from lastbee.office.demo_firm import demo_entries
from lastbee.office.demo_firm_pictures import demo_pictures
from lastbee.office.desk import Desk
from lastbee.office.exchange import (
    read_archive,
    read_job_file,
    sites_geojson,
    visits_csv,
    write_archive,
)
from lastbee.office.forecast_queue import ForecastQueue
from lastbee.office.job_files import entries_of_job_file, job_file_of
from lastbee.office.tables_out import COLUMNS
from lastbee.store.book import Book

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))


def desk_on(path: Path) -> Desk:
    """A desk on a file, an empty one where there is none."""
    return Desk(Book.open(path, NOW), lambda: NOW)


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


def all_of(desk: Desk) -> tuple[set[str], list[str]]:
    """Every entry as its line, and every picture's name."""
    with desk.book.reading() as reading:
        return {line_of(entry) for entry in reading.entries()}, list(reading.pictures())


# The archive


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


def rows_of(text: str) -> list[dict[str, str]]:
    """The table, read by the rules of RFC 4180 alone."""
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_every_visit_that_counts_is_a_row(demo: Desk) -> None:
    rows = rows_of(visits_csv(demo))
    records = [demo.case(card.job).record for card in demo.cards().cards]
    ids = {told.entry.id for record in records for told in record.visits}
    assert len(rows) == len(ids) > 20
    assert {row["entry"] for row in rows} == ids


def test_the_table_keeps_to_rfc_4180(demo: Desk) -> None:
    text = visits_csv(demo)
    # Section 2: lines end in CRLF (rule 1), each has as many fields as the header (rule 4).
    assert text.endswith("\r\n")
    assert "\n" not in re.sub(r'"[^"]*"', "", text.replace("\r\n", ""))
    widths = {len(row) for row in csv.reader(io.StringIO(text, newline=""), strict=True)}
    assert widths == {len(COLUMNS)}


def test_measures_are_metric_whatever_was_written(tmp_path: Path) -> None:
    desk = desk_in(tmp_path)
    body = {
        "temperature": "77 F",
        "cluster": "10 x 20 cm",
        "box": {"gain": "-2 lb", "eggs": True},
        "wall": {"hum_span": "1 ft", "bees_inside": False},
        "did": {"closed_gap": True, "fed": "1 qt"},
    }
    desk.take_in([*trap_out()[:3], visit(3, **body)], strict=True)
    (row,) = rows_of(visits_csv(desk))
    # NIST Special Publication 811, appendix B: the pound, the foot and the liquid quart.
    assert float(row["temperature_degc"]) == pytest.approx(25.0)
    assert float(row["cluster_dm2"]) == pytest.approx(2.0)
    assert float(row["box_gain_kg"]) == pytest.approx(-2 * 0.45359237, rel=1e-5)
    assert float(row["wall_hum_span_m"]) == pytest.approx(0.3048)
    assert (row["box_eggs"], row["wall_bees_inside"], row["wall_hum"]) == ("yes", "no", "")
    assert re.fullmatch(r"closed_gap; fed 0\.946\d+", row["did"])
    desk.book.close()


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\n"])
def test_no_text_is_taken_for_a_formula(start: str, tmp_path: Path) -> None:
    # The starts that OWASP names under "CSV Injection".
    desk = desk_in(tmp_path)
    call = written("call", date="2026-06-28", title=f"{start}HYPERLINK(1)".strip(), hour=-370.0)
    note = f"x{start}1" if start.isspace() else f'{start}cmd|" /c calc"!A1, and more\nbelow'
    desk.take_in([call, *trap_out()[:3], visit(3, notes=note)], strict=False)
    for row in rows_of(visits_csv(desk)):
        assert not any(cell.startswith(tuple("=+@\t\r\n")) for cell in row.values())
        assert not row["notes"].startswith("-")
        assert row["notes"].removeprefix("'") == note
    desk.book.close()


def test_the_columns_are_those_of_the_document() -> None:
    text = (ROOT / "docs" / "exchange.md").read_text(encoding="utf-8")
    table = text.split("| column | what |")[1].split("\n## ")[0]
    named = [
        name
        for line in table.splitlines()
        if line.startswith("| `")
        for name in re.findall(r"`([a-z0-9_]+)`", line.split("|")[1])
    ]
    assert named == list(COLUMNS)


def test_the_files_of_an_archive_are_those_of_the_document(archive: Path) -> None:
    text = (ROOT / "docs" / "exchange.md").read_text(encoding="utf-8")
    with zipfile.ZipFile(archive) as opened:
        names = {re.sub("[0-9a-f]{64}", "SHA", name) for name in opened.namelist()}
    assert names == {name for name in re.findall(r"`([\w/.]+\.\w+)`", text) if name in names}
    keys = re.findall(r"`(\w+)`", text.split("| key | value |")[1].split("\n\n")[0])
    assert set(json.loads(line_of(visit(3)))) <= set(keys)


# The map


def test_the_map_is_geojson_by_the_reference_library(demo: Desk) -> None:
    sites = geojson.loads(sites_geojson(demo))
    assert sites.is_valid
    assert isinstance(sites, geojson.FeatureCollection)
    assert len(sites["features"]) == 30 - 1  # of the weighbridge nobody knows the place yet
    for feature in sites["features"]:
        longitude, latitude = feature["geometry"]["coordinates"]
        # Longitude first (RFC 7946, section 3.1.1).
        assert -73.0 < longitude < -72.0
        assert 42.9 < latitude < 43.3


def test_the_map_tells_no_names_and_numbers(demo: Desk) -> None:
    text = sites_geojson(demo)
    assert "555-01" not in text
    assert "Fennimore" not in text


# Job files


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_job_file_read_in_comes_out_as_the_same_job(
    path: Path, empty: Desk, tmp_path: Path
) -> None:
    read_job_file(empty, path)
    (card,) = empty.cards().cards
    out = parse_job(job_file_of(empty.case(card.job).record))
    true = read_job(path)
    # The firm's preferences hold, and what is only intended is not yet set up.
    true = replace(true, preferences=out.preferences)
    assert out == (true if true.visits else replace(true, setup=out.setup))
    if not true.visits:
        assert empty.stage_counts() == {"to decide": 1}


def test_a_job_file_read_twice_doubles_nothing(empty: Desk) -> None:
    path = ROOT / "examples" / "meadowgate_visits.toml"
    first = read_job_file(empty, path)
    assert len(first.kept) == 8
    second = read_job_file(empty, path)
    assert (second.kept, set(second.was_there)) == ((), set(first.kept))


def test_a_visit_more_in_a_job_file_adds_that_visit(empty: Desk, tmp_path: Path) -> None:
    whole = (ROOT / "examples" / "meadowgate_visits.toml").read_text(encoding="utf-8")
    parts = whole.split("[[visit]]")
    path = tmp_path / "job.toml"
    path.write_text("[[visit]]".join(parts[:-1]), encoding="utf-8")
    read_job_file(empty, path)
    path.write_text(whole, encoding="utf-8")
    assert len(read_job_file(empty, path).kept) == 1
    (card,) = empty.cards().cards
    assert card.visits == len(parts) - 1


def test_a_changed_job_file_corrects_what_it_said_before(empty: Desk, tmp_path: Path) -> None:
    old = (ROOT / "examples" / "meadowgate_visits.toml").read_text(encoding="utf-8")
    new = old.replace("out = 14,", "out = 15,").replace("R. Ash", "Dr Ash")
    assert new != old
    path = tmp_path / "job.toml"
    for text, added in ((old, 8), (new, 2), (new, 0), (old, 0)):
        path.write_text(text, encoding="utf-8")
        assert len(read_job_file(empty, path).kept) == added
    (card,) = empty.cards().cards
    record = empty.case(card.job).record
    assert (record.set_aside, card.visits) == ((), old.count("[[visit]]"))
    assert replace(record.checked_job(), preferences=parse_job(new).preferences) == parse_job(new)


def test_days_that_hold_their_time_are_read() -> None:
    text = """
title = "Bees"
site = { place = "House", latitude = 43.1, longitude = -72.4 }
inspection = { date = 2026-06-29T14:30:00 }
setup = { cone_on = 2026-07-01 }
[[visit]]
date = 2026-07-03 13:15:00
count = { minutes = 5, out = 3 }
"""
    kinds = {entry.kind: entry.body for entry in entries_of_job_file(text)}
    assert kinds["inspection"]["inspection"] == {"date": "2026-06-29", "time": "14:30"}
    assert (kinds["visit"]["date"], kinds["visit"]["time"]) == ("2026-07-03", "13:15")
    assert kinds["set-up"] == {"date": "2026-07-01"}


def test_what_a_job_file_intends_is_kept_as_a_note() -> None:
    path = ROOT / "examples" / "meadowgate.toml"
    (note,) = [
        entry
        for entry in entries_of_job_file(path.read_text(encoding="utf-8"))
        if entry.kind == "note"
    ]
    assert '"cone_on": "2026-07-01"' in note.body["text"]


def test_a_bad_job_file_is_refused_whole(empty: Desk, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text('title = "Bees"\n', encoding="utf-8")
    with pytest.raises(InvalidInput) as told:
        read_job_file(empty, path)
    assert len(told.value.problems) > 1
    assert all_of(empty) == (set(), [])


def test_a_job_that_is_only_called_in_has_a_job_file_of_what_there_is(empty: Desk) -> None:
    call = written("call", date="2026-07-14", client="R. Ashgrove", place="Orchard House")
    empty.take_in([call], strict=True)
    assert 'client = "R. Ashgrove"' in job_file_of(empty.case(JOB).record)


def test_inspections_of_two_houses_make_two_jobs() -> None:
    text = (ROOT / "examples" / "dull.toml").read_text(encoding="utf-8")
    other = text.replace('title = "', 'title = "Not ')
    assert entries_of_job_file(text)[0].job != entries_of_job_file(other)[0].job
    assert inspection().job == JOB

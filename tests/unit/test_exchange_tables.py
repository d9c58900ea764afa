"""Visits as a table, sites as a map, jobs as files: out of the record, and job files into it."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import geojson
import pytest
from office_factory import JOB, all_of, desk_in, inspection, trap_out, visit, written

from lastbee.errors import InvalidInput
from lastbee.jobs.jobfile import parse_job, read_job
from lastbee.office.exchange import (
    read_job_file,
    sites_geojson,
    visits_csv,
)
from lastbee.office.job_files import entries_of_job_file, job_file_of
from lastbee.office.tables_out import COLUMNS

if TYPE_CHECKING:
    from lastbee.office.desk import Desk

ROOT = Path(__file__).resolve().parents[2]


EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))


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

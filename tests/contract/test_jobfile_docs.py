"""The schema, the documentation, the starter and the examples say what the reader reads.

The published schema is checked by the jsonschema package, an independent reading of JSON
Schema 2020-12; TOML is parsed by the standard library.
"""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import replace
from datetime import date, time
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from jobfile_texts import VISITED, job_text, uncommented
from jsonschema import Draft202012Validator, FormatChecker

from lastbee.errors import InvalidInput
from lastbee.jobs.job import Job
from lastbee.jobs.jobfile import parse_job, read_job
from lastbee.jobs.jobfile_schema import json_schema
from lastbee.units import UNITS

ROOT = Path(__file__).resolve().parents[2]
SCHEMA = json_schema()
DOCUMENT = (ROOT / "docs" / "job-file.md").read_text(encoding="utf-8")
STARTER = files("lastbee.jobs").joinpath("starter.toml").read_text("utf-8")
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))
VALIDATOR = Draft202012Validator(SCHEMA, format_checker=FormatChecker())


def inner_table(value: dict[str, Any]) -> dict[str, Any] | None:
    """The schema of the table that a key holds, or of each of several; None for other keys."""
    reference = value.get("$ref") or value.get("items", {}).get("$ref")
    return SCHEMA["$defs"][reference.rpartition("/")[2]] if reference else None


def tables_of(schema: dict[str, Any], name: str = "") -> dict[str, dict[str, Any]]:
    """The keys of every table by its dotted name, without the tables in it."""
    inner = {key: inner_table(value) for key, value in schema["properties"].items()}
    plain = {key: value for key, value in schema["properties"].items() if inner[key] is None}
    found = {name: plain}
    for key, table in inner.items():
        if table is not None:
            found |= tables_of(table, f"{name}.{key}".lstrip("."))
    return found


def rows_of(document: str) -> dict[str, list[dict[str, str]]]:
    """The rows of the documentation's key tables, by the dotted name in the heading."""
    found: dict[str, list[dict[str, str]]] = {}
    for section in re.split(r"(?m)^## ", document)[1:]:
        heading, _, body = section.partition("\n")
        if "| key | meaning |" not in body:
            continue
        name = "" if heading == "Top of the file" else heading.strip("`[]")
        lines = [line for line in body.splitlines() if line.startswith("| `")]
        columns = ("key", "meaning", "form", "allowed", "example")
        rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
        found[name] = [dict(zip(columns, row, strict=True)) for row in rows]
    return found


TABLES = tables_of(SCHEMA)
ROWS = rows_of(DOCUMENT)
EVERY_ROW = [(table, row) for table, rows in ROWS.items() for row in rows]
ROW_IDS = [f"{table}.{row['key'].strip('`')}" for table, row in EVERY_ROW]
# What a key's example needs beside it to make a right job.
COMPANIONS: dict[str, dict[str, str | None]] = {
    "site.climate": {
        "site.climate.unit": '"F"',
        "site.climate.high": "[" + "90, " * 12 + "]",
        "site.climate.low": "[" + "5, " * 12 + "]",
        "site.climate.wet_days": "[" + "9, " * 12 + "]",
    },
    "site.climate.wet_share": {"site.climate.wet_days": None},
    "inspection.traffic": {
        "inspection.time": '"9:00"',
        "inspection.traffic.minutes": "5",
        "inspection.traffic.out": "9",
    },
    "inspection.comb.length": {
        "inspection.comb.combs": "2",
        "inspection.comb.width": '"9 in"',
    },
    "inspection.comb.width": {
        "inspection.comb.combs": "2",
        "inspection.comb.length": '"9 in"',
    },
    "visit": VISITED,
    "visit.count": {"visit.count.minutes": "5", "visit.count.out": "9"},
    "visit.elsewhere.minutes": {"visit.elsewhere.in": "9"},
    "visit.elsewhere.in": {"visit.elsewhere.minutes": "9"},
    "visit.elsewhere.pollen": {"visit.elsewhere.seen": "true"},
}


def as_json(value: object) -> object:
    """A TOML tree as JSON would hold it, days and times as their ISO text."""
    if isinstance(value, dict):
        return {key: as_json(one) for key, one in value.items()}
    if isinstance(value, list):
        return [as_json(one) for one in value]
    return value.isoformat() if isinstance(value, date | time) else value


def job_with(table: str, key: str, value: str) -> str:
    """The smallest job with one key more, and what that key needs beside it."""
    dotted = f"{table}.{key}".lstrip(".")
    top = table.partition(".")[0]
    companions: dict[str, str | None] = {}
    for name in (top, table, dotted):
        companions |= COMPANIONS.get(name, {})
    return job_text(companions | {dotted: value})


def plain_part(value: dict[str, Any]) -> dict[str, Any]:
    """The schema of a key without the words that may stand in place of its number."""
    numbers = [each for each in value.get("anyOf", []) if each.get("type") == "number"]
    return numbers[0] if numbers else value


# ---- the schema ----


def test_the_published_schema_is_the_one_that_the_reader_gives() -> None:
    path = ROOT / "docs" / "schema" / "job.schema.json"
    assert json.loads(path.read_text(encoding="utf-8")) == SCHEMA


def test_the_schema_is_a_right_schema_of_2020_12() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == Draft202012Validator.META_SCHEMA["$id"]


def test_every_key_of_the_schema_is_described_with_an_example_that_it_allows() -> None:
    for table, keys in TABLES.items():
        for key, value in keys.items():
            assert value["description"].endswith("."), f"{table}.{key}"
            assert value["examples"], f"{table}.{key}"
            for example in value["examples"]:
                Draft202012Validator(value, format_checker=FormatChecker()).validate(example)


@pytest.mark.parametrize(
    "path", [*EXAMPLES, None], ids=lambda path: path.stem if path else "starter"
)
def test_every_file_that_we_hand_out_fits_the_schema(path: Path | None) -> None:
    text = path.read_text(encoding="utf-8") if path else uncommented(STARTER)
    VALIDATOR.validate(as_json(tomllib.loads(text)))


@pytest.mark.parametrize(
    "changes",
    [
        {"title": None},
        {"site.latitude": "67"},
        {"site.latitude_deg": "43"},
        {"building.cavity": '"cupboard"'},
        {"building.year_built": "1974.5"},
        {"building.depth": "3.5"},
        {"inspection.date": '"soon"'},
        {"inspection.traffic.minutes": "500"},
        {"inspection.seen.drones": "1.5"},
        {"site.climate.high": "[1, 2]"},
        VISITED | {"visit.date": None},
        VISITED | {"setup.cone_on": None},
        VISITED | {"visit.cone": '"open"'},
        VISITED | {"visit.cluster": "3"},
        VISITED | {"visit.frames_of_bees": "3"},
        VISITED | {"visit.count.out": "3"},
        VISITED | {"visit.count.minutes": "3"},
        VISITED | {"visit.count.out": "3", "visit.count.minutes": "3", "visit.time": None},
        VISITED | {"visit.elsewhere.in": "3"},
        VISITED | {"visit.elsewhere.minutes": "3"},
        VISITED | {"visit.elsewhere.in": "3", "visit.elsewhere.minutes": "3", "visit.time": None},
        VISITED
        | {
            "visit.elsewhere.seen": "false",
            "visit.elsewhere.in": "3",
            "visit.elsewhere.minutes": "5",
        },
        VISITED
        | {
            "visit.elsewhere.seen": '"yes"',
            "visit.elsewhere.in": "0",
            "visit.elsewhere.minutes": "5",
        },
        VISITED | {"visit.elsewhere.pollen": "true"},
        VISITED | {"visit.elsewhere.pollen": "true", "visit.elsewhere.seen": '"no"'},
        VISITED
        | {
            "visit.elsewhere.pollen": "true",
            "visit.elsewhere.in": "0",
            "visit.elsewhere.minutes": "5",
        },
        VISITED | {"visit.wall.hum": "false", "visit.wall.hum_span": '"20 cm"'},
        VISITED | {"visit.box.frames_of_bees": "41"},
        VISITED | {"visit.did.gave_brood": "0"},
        VISITED | {"visit.did.fed": "1"},
    ],
)
def test_what_the_schema_refuses_the_reader_refuses(changes: dict[str, str | None]) -> None:
    text = job_text(changes)
    assert not VALIDATOR.is_valid(as_json(tomllib.loads(text)))
    with pytest.raises(InvalidInput):
        parse_job(text)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        VISITED | {"visit.time": None},
        VISITED | {"visit.count": "{}", "visit.elsewhere": "{}", "visit.time": None},
        VISITED
        | {
            "visit.date": "2026-07-08T14:00:00",
            "visit.time": None,
            "visit.count.out": "0",
            "visit.count.minutes": "5",
        },
        VISITED | {"visit.count.back_in": "0", "visit.count.minutes": "5"},
        VISITED | {"visit.cluster": '"none"', "visit.wall.thermal_area": "0"},
        VISITED | {"visit.elsewhere.seen": "false", "visit.elsewhere.pollen": "false"},
        VISITED | {"visit.wall.hum": '"yes"', "visit.wall.hum_span": '"20 cm"'},
        VISITED | {"visit.did.gave_brood": "true", "visit.did.fed": '"no"'},
    ],
)
def test_what_is_right_about_visits_the_schema_and_the_reader_accept(
    changes: dict[str, str | None],
) -> None:
    text = job_text(changes)
    VALIDATOR.validate(as_json(tomllib.loads(text)))
    assert len(parse_job(text).visits) == ("visit.date" in changes)


# ---- the documentation ----


def test_every_key_of_the_schema_has_its_row_and_no_row_is_left_over() -> None:
    documented = {table: [row["key"].strip("`") for row in rows] for table, rows in ROWS.items()}
    assert documented == {table: list(keys) for table, keys in TABLES.items() if keys}


@pytest.mark.parametrize(("table", "row"), EVERY_ROW, ids=ROW_IDS)
def test_the_example_of_each_row_makes_a_right_job(table: str, row: dict[str, str]) -> None:
    key, _, value = row["example"].strip("`").partition(" = ")
    assert key == row["key"].strip("`")
    assert row["meaning"]
    assert row["form"]
    assert isinstance(parse_job(job_with(table, key, value)), Job)


@pytest.mark.parametrize(("table", "row"), EVERY_ROW, ids=ROW_IDS)
def test_the_allowed_values_of_each_row_are_those_of_the_schema(
    table: str, row: dict[str, str]
) -> None:
    key = row["key"].strip("`")
    schema = TABLES[table][key]
    form, _, _ = row["form"].partition(", or ")
    if form == "one of a list":
        assert re.findall(r"`([^`]+)`", row["allowed"]) == schema["enum"]
    elif form == "number":
        schema = plain_part(schema)
        low, high = re.match(r"(-?[\d.,]+) to (?:(-?[\d.,]+)|the year)", row["allowed"]).groups()  # type: ignore[union-attr]
        assert float(low.replace(",", "")) == schema["minimum"]
        assert high is None or float(high.replace(",", "")) == schema["maximum"]
    elif form in ("length", "area", "mass", "volume", "temperature"):
        low, high = row["allowed"].split(" to ")
        for edge in (low, high):
            parse_job(job_with(table, key, f'"{edge}"'))
        number, _, unit = high.partition(" ")
        for beyond in (f"{float(number) * 1.01 + 0.01} {unit}", f"-99 {unit}"):
            with pytest.raises(InvalidInput, match=re.escape(f"{table}.{key}")):
                parse_job(job_with(table, key, f'"{beyond}"'))


def test_needed_keys_and_defaults_are_told_as_they_are() -> None:
    needed = {
        f"{table}.{row['key'].strip('`')}".lstrip(".")
        for table, row in EVERY_ROW
        if row["meaning"].endswith("; needed")
    }
    with pytest.raises(InvalidInput) as caught:
        parse_job("# nothing")
    assert {problem.field for problem in caught.value.problems} == needed
    listed = DOCUMENT.partition("keys are needed: ")[2].partition(".\n")[0]
    assert set(re.findall(r"`([^`]+)`", listed)) == needed


def test_every_unit_that_is_read_for_a_key_is_listed() -> None:
    for dimension, units in UNITS.items():
        line = re.search(rf"(?m)^\| {dimension} \| (.+) \|$", DOCUMENT)
        assert line is not None
        for unit in units:
            assert re.search(rf"(?<![\w ]){unit.name}\b|, {unit.name}\b", line[1]), unit.name


# ---- the starter and the examples ----


def test_the_starter_is_a_job_as_it_stands_and_with_every_key_filled_in() -> None:
    bare, full = parse_job(STARTER), parse_job(uncommented(STARTER))
    assert (bare.inspection.traffic, bare.visits) == (None, ())
    assert full.inspection.traffic is not None
    assert len(full.visits) == 1


def test_the_starter_shows_every_key_under_its_heading() -> None:
    shown: dict[str, set[str]] = {"": set()}
    table = ""
    for line in STARTER.splitlines():
        if heading := re.fullmatch(r"#?\[{1,2}([\w.]+)\]{1,2}", line):
            table = heading[1]
        shown.setdefault(table, set()).update(re.findall(r"\b([a-z_]+) = ", line))
    missing = {table: set(keys) - shown.get(table, set()) for table, keys in TABLES.items()}
    assert not any(missing.values()), missing


def test_no_line_of_what_we_hand_out_is_wider_than_a_page() -> None:
    for text in (STARTER, *(path.read_text(encoding="utf-8") for path in EXAMPLES)):
        assert max(len(line) for line in text.splitlines()) <= 100


def test_there_are_the_nine_examples_that_the_documentation_speaks_of() -> None:
    names = {
        "blocked", "contradictory", "dull", "hopeless", "long_winded", "meadowgate",
        "meadowgate_visits", "southern", "us_units",
    }  # fmt: skip
    assert {path.stem for path in EXAMPLES} == names
    assert "holds nine finished ones" in DOCUMENT


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_is_a_job(path: Path) -> None:
    job = read_job(path)
    assert job.title
    assert "invented" in path.read_text(encoding="utf-8")


def test_the_examples_are_the_cases_that_they_claim_to_be() -> None:
    jobs = {path.stem: read_job(path) for path in EXAMPLES}
    southern = jobs["southern"]
    assert southern.site.latitude_deg < 0
    assert southern.site.climate is not None
    highs = southern.site.climate.high_degc
    assert highs[0] > highs[6]  # January is the warm end there
    swarm = jobs["us_units"].inspection
    assert swarm.swarm_seen is not None
    assert (swarm.at.date() - swarm.swarm_seen).days == 9
    dull = jobs["dull"].inspection
    assert (dull.traffic, dull.comb, dull.first_seen, dull.warm_area_dm2) == (None,) * 4
    told = jobs["contradictory"].inspection
    assert told.first_seen is not None
    assert (told.at.date() - told.first_seen).days == 5
    assert told.comb is not None
    assert told.comb.colour == "black"
    hopeless = jobs["hopeless"]
    assert hopeless.inspection.capped_honey_seen is True
    assert hopeless.building.may_open_inside == "no"


def test_the_visits_of_the_examples_tell_what_they_claim_to_tell() -> None:
    jobs = {path.stem: read_job(path) for path in EXAMPLES}
    told = {name for name, job in jobs.items() if job.visits}
    assert told == {"blocked", "long_winded", "meadowgate_visits"}
    leak = jobs["meadowgate_visits"]
    assert replace(leak, visits=()) == jobs["meadowgate"]
    assert leak.setup.cone_on is not None
    days = [(visit.at.date() - leak.setup.cone_on).days for visit in leak.visits]
    assert days == [2, 9, 16, 27]
    assert [visit.elsewhere is not None and visit.elsewhere.is_seen for visit in leak.visits] == [
        False, True, False, False,
    ]  # fmt: skip
    assert [deed.kind for visit in leak.visits for deed in visit.did] == ["gap closed"]
    *_, jammed = jobs["blocked"].visits
    assert (jammed.cone_state, jammed.dead_bees, jammed.sky) == ("blocked", "many", "sun")
    assert jammed.cone is not None
    assert jammed.cone.bees_out == 0
    slow = jobs["long_winded"]
    assert slow.setup.cone_on is not None
    assert (slow.visits[-1].at.date() - slow.setup.cone_on).days == 8 * 7
    assert all(visit.cone and visit.cone.bees_out for visit in slow.visits)


def test_the_short_form_that_the_documentation_shows_is_a_visit() -> None:
    shown = re.findall(r"```toml\n(.*?)```", DOCUMENT, flags=re.DOTALL)
    assert len(shown) == 1
    (visit,) = parse_job(job_text({"setup.cone_on": "2026-07-01"}) + shown[0]).visits
    assert visit.cone is not None
    assert visit.did

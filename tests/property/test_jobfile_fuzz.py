"""Whatever stands in a job file, the answer is a job or sentences with a mend, never a traceback.

Three sources of text: random trees written as TOML with the real keys and any values, a right
file with pieces cut, doubled and swapped, and random bytes in a real file. Visits, besides,
come out sorted and once each whatever their order and number in the file.
"""

from __future__ import annotations

import json
from datetime import date, datetime, time
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jobfile_texts import VISITED, job_text, uncommented, with_visits

from lastbee.errors import FileProblem, InvalidInput, Problem
from lastbee.jobs.job import Job
from lastbee.jobs.jobfile import parse_job, read_job
from lastbee.jobs.jobfile_schema import json_schema

if TYPE_CHECKING:
    from pathlib import Path

FULL = uncommented(files("lastbee.jobs").joinpath("starter.toml").read_text("utf-8"))
SCHEMA = json_schema()
UNITS = ["m", "ft", "in", "cm", "kg", "lb", "C", "F", "dm2", "sq in", "", "parsec"]


def tables_of(schema: dict[str, Any], name: str = "") -> list[tuple[str, dict[str, Any]]]:
    """Every table of the file with its dotted name and the schema of its keys."""
    found = [(name, schema["properties"])]
    for key, value in schema["properties"].items():
        if reference := reference_of(value):
            inner = SCHEMA["$defs"][reference.rpartition("/")[2]]
            found += tables_of(inner, f"{name}.{key}".lstrip("."))
    return found


def reference_of(value: dict[str, Any]) -> str | None:
    """Where the schema of the table stands that a key holds, one or many; None for others."""
    return value.get("$ref") or value.get("items", {}).get("$ref")


TABLES = tables_of(SCHEMA)
KEYS = [
    (table, key)
    for table, keys in TABLES
    for key, value in keys.items()
    if reference_of(value) is None
]
VISIT_KEYS = [(table, key) for table, key in KEYS if table.startswith("visit")]


def toml(value: object) -> str:
    """Write a value as TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        # JSON's escapes are TOML's, but DEL must be escaped as well.
        return json.dumps(value, ensure_ascii=True).replace("\x7f", "\\u007f")
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, list):
        return "[" + ", ".join(toml(one) for one in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{toml(k)} = {toml(v)}" for k, v in value.items()) + " }"
    return repr(value)


# TOML has no lone surrogates.
TEXT = st.text(st.characters(codec="utf-8", max_codepoint=0xFFFF), max_size=30)
MEASURES = st.builds(
    "{} {}".format,
    st.integers(-5, 400) | st.floats(-5, 400).map(lambda x: f"{x:.3f}"),
    st.sampled_from(UNITS),
)
SCALARS = (
    st.booleans()
    | st.integers()
    | st.integers(-10, 130)
    | st.floats()
    | TEXT
    | MEASURES
    | st.dates()
    | st.dates(date(2026, 5, 1), date(2026, 8, 1))
    | st.datetimes()
    | st.times()
    | st.sampled_from(["yes", "no", "warm", "stud bay", "sun", "14:30", "Etc/GMT+4", "part"])
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=12) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=14,
)
RIGHT_VALUES = {
    (table, key): value["examples"][0]
    for table, keys in TABLES
    for key, value in keys.items()
    if "examples" in value
}


def assert_job_or_sentences(text: str) -> None:
    """Read `text`; if it is refused, each problem must be a sentence a person can act on."""
    try:
        job = parse_job(text)
    except InvalidInput as error:
        for problem in error.problems:
            sentence = problem.sentence
            assert problem.field
            assert problem.mend
            assert sentence.startswith(problem.field)
            assert problem.mend in sentence
            assert sentence.endswith(".")
            assert sentence.isprintable()
            assert len(sentence) < 700
    else:
        assert isinstance(job, Job)


@settings(max_examples=250)
@given(
    st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=8),
    st.dictionaries(TEXT, VALUES, max_size=2),
)
def test_any_values_under_the_real_keys(
    changes: dict[tuple[str, str], object], strange: dict[str, object]
) -> None:
    keys = {f"{table}.{key}".lstrip("."): toml(value) for (table, key), value in changes.items()}
    top = "".join(f"{toml(key)} = {toml(value)}\n" for key, value in strange.items())
    assert_job_or_sentences(top + job_text(keys))


@settings(max_examples=250)
@given(st.lists(st.dictionaries(st.sampled_from(VISIT_KEYS), VALUES, max_size=6), max_size=4))
def test_any_values_under_the_real_keys_of_visits(
    visits: list[dict[tuple[str, str], object]],
) -> None:
    written = [
        {
            f"{table}.{key}".removeprefix("visit."): toml(value)
            for (table, key), value in keys.items()
        }
        for keys in visits
    ]
    assert_job_or_sentences(with_visits(*written))


# Keys that no other key depends on: a wrong value there can be blamed on nothing else.
ALONE = [
    (table, key)
    for table, key in KEYS
    if table
    in (
        "", "building", "preferences", "inspection.warmth", "inspection.seen", "visit.box",
        "visit.did",
    )
    and key != "title"
]  # fmt: skip


@settings(max_examples=200)
@given(st.sets(st.sampled_from(KEYS), max_size=30), st.sampled_from(ALONE), VALUES)
def test_a_wrong_value_adds_its_own_problem_and_no_other(
    right: set[tuple[str, str]], place: tuple[str, str], value: object
) -> None:
    dotted = ".".join(place).lstrip(".")
    keys = {
        f"{table}.{key}".lstrip("."): toml(RIGHT_VALUES[table, key])
        for table, key in right
        if (table, key) != place
    } | VISITED
    before = fields_at_fault(job_text(keys))
    after = fields_at_fault(job_text(keys | {dotted: toml(value)}))
    assert sorted(after) in (sorted(before), sorted([*before, dotted]))


def fields_at_fault(text: str) -> list[str]:
    """The fields of the problems of a job file, none if it is right."""
    try:
        parse_job(text)
    except InvalidInput as error:
        return [problem.field.partition(" of visit ")[0] for problem in error.problems]
    return []


def measured(amounts: st.SearchStrategy[int], unit: str) -> st.SearchStrategy[str]:
    """Measures in one unit, as TOML text."""
    return amounts.map(lambda amount: f'"{amount} {unit}"')


# Right visits in July, each with a few keys; two of them may well be at the same minute.
RIGHT_VISITS = st.fixed_dictionaries(
    {"date": st.integers(1, 6).map(lambda day: f"2026-07-{day:02}")},
    optional={
        "time": st.sampled_from(['"9:00"', '"14:00"', "14:00:30"]),
        "cluster": st.just('"none"') | measured(st.integers(1, 50), "dm2"),
        "cone": st.sampled_from(['"clear"', '"blocked"']),
        "box.gain": measured(st.integers(-5, 9), "kg"),
        "wall.hum": st.sampled_from(["true", "false"]),
        "did.gave_brood": st.sampled_from(["true", "1", "2.5"]),
    },
)


@settings(max_examples=150)
@given(st.data(), st.lists(RIGHT_VISITS, max_size=6))
def test_visits_come_out_sorted_and_once_each_whatever_their_order_and_number(
    data: st.DataObject, written: list[dict[str, str]]
) -> None:
    alone = [parse_job(with_visits(visit)).visits[0] for visit in written]
    by_moment = {visit.at: visit for visit in alone}
    again = data.draw(st.lists(st.sampled_from(written), max_size=4)) if written else []
    shuffled = data.draw(st.permutations([*written, *again]))
    text = with_visits(*shuffled)
    if any(by_moment[visit.at] != visit for visit in alone):
        with pytest.raises(InvalidInput, match="at the same minute and says otherwise"):
            parse_job(text)
    else:
        expected = tuple(by_moment[moment] for moment in sorted(by_moment))
        assert parse_job(text).visits == expected


@settings(max_examples=60)
@given(st.data(), st.lists(RIGHT_VISITS, max_size=6, unique_by=lambda visit: visit["date"]))
def test_a_visit_left_out_changes_no_other(
    data: st.DataObject, written: list[dict[str, str]]
) -> None:
    kept = data.draw(st.lists(st.booleans(), min_size=len(written), max_size=len(written)))
    few = [visit for visit, keep in zip(written, kept, strict=True) if keep]
    everything = parse_job(with_visits(*written)).visits
    days = {visit["date"] for visit in few}
    assert parse_job(with_visits(*few)).visits == tuple(
        visit for visit in everything if f"{visit.at:%Y-%m-%d}" in days
    )


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """A full right file with up to six pieces cut out, doubled, swapped or overwritten."""
    text = FULL
    for _ in range(draw(st.integers(1, 6))):
        start = draw(st.integers(0, len(text)))
        length = draw(st.integers(0, 60))
        piece = text[start : start + length]
        other = draw(
            st.sampled_from(["", piece * 2, piece[::-1], piece.upper(), "\n", '"', "=", "[", "]"])
            | st.text(max_size=5)
        )
        text = text[:start] + other + text[start + length :]
    return text


@settings(max_examples=250)
@given(mutated())
def test_a_right_file_with_slips_of_the_pen(text: str) -> None:
    assert_job_or_sentences(text)


@settings(max_examples=120)
@given(st.lists(st.sampled_from(FULL.splitlines()), max_size=40))
def test_the_lines_of_a_right_file_in_any_order(lines: list[str]) -> None:
    assert_job_or_sentences("\n".join(lines))


@settings(max_examples=120)
@given(st.text(max_size=200) | st.text("[]{}=.\"'#\n a1-:", max_size=200))
def test_any_text(text: str) -> None:
    assert_job_or_sentences(text)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where each example's bytes are written, over those of the one before."""
    return tmp_path / "job.toml"


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.binary(max_size=300)
    | st.builds(
        lambda at, junk: FULL.encode()[:at] + junk + FULL.encode()[at:],
        st.integers(0, len(FULL)),
        st.binary(min_size=1, max_size=4),
    )
    | st.sampled_from(["utf-16", "utf-32", "utf-8-sig", "cp037"]).map(FULL.encode)
)
def test_any_bytes_in_a_file(path: Path, raw: bytes) -> None:
    path.write_bytes(raw)
    problems: tuple[Problem, ...] = ()
    try:
        job = read_job(path)
    except FileProblem as error:
        problems = (error.as_problem("JOB.toml"),)
        said = str(error)
    except InvalidInput as error:
        problems = error.problems
        said = problems[0].sentence
    else:
        assert isinstance(job, Job)
        said = "it is a job."
    assert said.isprintable()
    assert said.endswith(".")
    assert all(problem.mend and problem.sentence.isprintable() for problem in problems)

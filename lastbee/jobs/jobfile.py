"""Read a job file: the text a person wrote, checked, as the record that a plan is made from.

A job file is TOML; docs/job-file.md lists every key. Reading goes in three steps, each with
its own module: text to tree (`jobfile_text`), each key into SI (`jobfile_schema`, with the
kinds of `jobfile_fields`), and what the keys owe each other (`jobfile_rules`). Whatever is
wrong is collected over the last two steps and raised once.
"""

from __future__ import annotations

import re
from datetime import date, time
from typing import TYPE_CHECKING, Any

from lastbee.errors import InvalidInput, Problem
from lastbee.jobs.jobfile_text import AsSaid, text_of, tree_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from pydantic_core import ErrorDetails

    from lastbee.jobs.job import Job
    from lastbee.jobs.jobfile_schema import JobFile

MOST_PROBLEMS = 50
"""Most problems that are named; a file with more is not a job file."""

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]{1,40}")
_LONGEST_KEY = 40


def read_job(path: Path) -> Job:
    """Read a job file.

    Raises
    ------
    FileProblem
        If the file cannot be read as text.
    InvalidInput
        If it is not TOML, or is not a job; every problem is named.
    """
    return parse_job(text_of(path))


def parse_job(text: str) -> Job:
    """Read the text of a job file.

    Raises
    ------
    InvalidInput
        If it is not TOML, or is not a job; every problem is named.
    """
    tree = tree_of(text)
    # pydantic costs start-up time that `lastbee --help` need not pay.
    from lastbee.jobs.jobfile_findings import Findings
    from lastbee.jobs.jobfile_rules import job_from

    file, problems, wrong = _read_tables(tree)
    findings = Findings(wrong)
    job = job_from(file, findings)
    problems += findings.problems
    if job is None or problems:
        raise InvalidInput(_in_order(problems))
    return job


def _read_tables(tree: dict[str, Any]) -> tuple[JobFile, list[Problem], frozenset[str]]:
    """Read every key; what does not fit is noted, taken out, and the rest read without it."""
    from pydantic import ValidationError

    from lastbee.jobs.jobfile_schema import JobFile

    problems: list[Problem] = []
    wrong: set[str] = set()
    while True:
        try:
            return JobFile.model_validate(tree), problems, frozenset(wrong)
        except ValidationError as error:
            details = error.errors(include_url=False)
        for detail in details:
            keys = tuple(str(key) for key in detail["loc"])
            problems.append(_problem(keys, detail))
            wrong.add(".".join(keys))
            _take_out(tree, keys)


def _take_out(tree: dict[str, Any], keys: tuple[str, ...]) -> None:
    for key in keys[:-1]:
        tree = tree[key]
    del tree[keys[-1]]


def _problem(keys: tuple[str, ...], detail: ErrorDetails) -> Problem:
    """Word one complaint about one key."""
    name = ".".join(_shown_key(key) for key in keys)
    value = _shown_value(detail["input"])
    if detail["type"] == "unfit":
        facts = detail["ctx"]
        if facts["found"] is not None:
            value = _shown_value(facts["found"])
        return Problem(name, value, facts["mend"])
    if detail["type"] == "extra_forbidden":
        return Problem(name, value, _mend_of_unknown(keys))
    # A table was expected: nothing else is left to go wrong.
    return Problem(name, value, f"write it as a table of its own under the heading [{name}]")


def _mend_of_unknown(keys: tuple[str, ...]) -> str:
    """Find the key that was meant: near in the same table, or the same in another."""
    from difflib import get_close_matches

    known = _keys_of_tables()
    here, key = keys[:-1], keys[-1]
    for table, names in known.items():
        if key in names and table != here:
            heading = f"under the heading [{'.'.join(table)}]" if table else "above all headings"
            return f"there is no such key here, move it {heading}"
    lowered = key[:_LONGEST_KEY].casefold()
    if near := get_close_matches(lowered, known[here], n=1, cutoff=0.6):
        return f"there is no such key, write {near[0]} perhaps"
    everywhere = {name: table for table, names in known.items() for name in names}
    if near := get_close_matches(lowered, everywhere, n=1, cutoff=0.75):
        dotted = ".".join((*everywhere[near[0]], near[0]))
        return f"there is no such key, write {dotted} perhaps"
    return f"there is no such key, use one of {', '.join(known[here])}, or take it out"


def _keys_of_tables() -> Mapping[tuple[str, ...], tuple[str, ...]]:
    """List the keys that may be written in each table, by the table's dotted name."""
    from pydantic import BaseModel

    from lastbee.jobs.jobfile_schema import JobFile

    found: dict[tuple[str, ...], tuple[str, ...]] = {}

    def visit(table: type[BaseModel], at: tuple[str, ...]) -> None:
        fields = table.model_fields
        found[at] = tuple(field.alias or name for name, field in fields.items())
        for name, field in fields.items():
            kind = field.annotation
            if isinstance(kind, type) and issubclass(kind, BaseModel):
                visit(kind, (*at, name))

    visit(JobFile, ())
    return found


def _in_order(problems: Iterable[Problem]) -> list[Problem]:
    """Sort by the tables' order in the documentation, and cut what no person would read."""
    tables = list(_keys_of_tables()[()])

    def place(problem: Problem) -> int:
        table = problem.field.partition(".")[0]
        return tables.index(table) if table in tables else len(tables)

    ordered = sorted(problems, key=place)
    if len(ordered) <= MOST_PROBLEMS:
        return ordered
    more = AsSaid(f"wrong in {len(ordered) - MOST_PROBLEMS} more places")
    rest = Problem("the job file", more, "mend these first")
    return [*ordered[:MOST_PROBLEMS], rest]


def _shown_key(key: str) -> str:
    """Show a key as it would be written, on one line, cut when it is long."""
    if _BARE_KEY.fullmatch(key):
        return key
    plain = "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in key[:200])
    return f'"{plain}"' if len(plain) <= _LONGEST_KEY else f'"{plain[: _LONGEST_KEY - 3]}..."'


def _shown_value(value: object) -> object:
    """Show a TOML value in a few words whatever its size."""
    if isinstance(value, bool):
        return AsSaid("true" if value else "false")
    if isinstance(value, int) and abs(value) >= 10**18:
        return AsSaid("a number of more than 18 digits")
    if isinstance(value, int | float | date | time):
        return value
    if isinstance(value, str):
        return value[:200]
    if isinstance(value, list):
        return AsSaid("a list of one" if len(value) == 1 else f"a list of {len(value)}")
    return AsSaid("a table" if isinstance(value, dict) else "of another kind")

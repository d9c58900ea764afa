"""Read a job file: the text a person wrote, checked, as the record that a plan is made from.

A job file is TOML; docs/job-file.md lists every key. Reading goes in three steps, each with
its own module: text to tree (`jobfile_text`), each key into SI (`jobfile_schema`, with the
kinds of `jobfile_fields`), and what the keys owe each other (`jobfile_rules`). Whatever is
wrong is collected over the last two steps and raised once.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time
from typing import TYPE_CHECKING, Any

from lastbee.errors import InvalidInput, Problem
from lastbee.jobs.jobfile_names import (
    heading_of,
    mend_of_unknown,
    named,
    place_in_file,
    shown_key,
)
from lastbee.jobs.jobfile_text import AsSaid, text_of, tree_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from pydantic_core import ErrorDetails

    from lastbee.jobs.job import Job
    from lastbee.jobs.jobfile_schema import JobFile

MOST_PROBLEMS = 50
"""Most problems that are named; a file with more is not a job file."""


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
        raise InvalidInput(_told(problems, file))
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
            keys = detail["loc"]
            problems.append(_problem(keys, detail))
            wrong.add(".".join(str(key) for key in keys))
            _take_out(tree, keys)


def _take_out(tree: Any, keys: tuple[int | str, ...]) -> None:
    for key in keys[:-1]:
        tree = tree[key]
    if isinstance(tree, list):
        tree[int(keys[-1])] = {}  # those behind it keep their places
    else:
        del tree[keys[-1]]


def _problem(keys: tuple[int | str, ...], detail: ErrorDetails) -> Problem:
    """Word one complaint about one key."""
    name = ".".join(shown_key(str(key)) for key in keys)
    value = _shown_value(detail["input"])
    if detail["type"] == "unfit":
        facts = detail["ctx"]
        if facts["found"] is not None:
            value = _shown_value(facts["found"])
        return Problem(name, value, facts["mend"])
    if detail["type"] == "extra_forbidden":
        return Problem(name, value, mend_of_unknown(keys))
    if detail["type"] == "tuple_type":
        mend = (
            f"write each {name} under a heading {heading_of(keys)} of its own, in double brackets"
        )
        return Problem(name, value, mend)
    if detail["type"] == "too_long":
        return Problem(name, value, f"keep at most {detail['ctx']['max_length']} of them")
    # A table was expected: nothing else is left to go wrong.
    mend = f"write it as a table of its own under the heading {heading_of(keys)}"
    return Problem(name, value, mend)


def _told(problems: Iterable[Problem], file: JobFile) -> list[Problem]:
    """Sort as the documentation does, name as a person would, cut what nobody would read."""
    ordered = [
        replace(problem, field=named(problem.field, file))
        for problem in sorted(problems, key=lambda problem: place_in_file(problem.field))
    ]
    if len(ordered) <= MOST_PROBLEMS:
        return ordered
    more = AsSaid(f"wrong in {len(ordered) - MOST_PROBLEMS} more places")
    rest = Problem("the job file", more, "mend these first")
    return [*ordered[:MOST_PROBLEMS], rest]


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

"""Read a job file: the text a person wrote, checked, as the record that a plan is made from.

A job file is TOML; docs/job-file.md lists every key. Reading goes in three steps, each with
its own module: text to tree (`jobfile_text`), each key into SI (`jobfile_reading` by the tables
of `jobfile_schema`), and what the keys owe each other (`jobfile_rules`). Whatever is
wrong is collected over the last two steps and raised once.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from lastbee.errors import InvalidInput, Problem
from lastbee.jobs.jobfile_names import mend_of_unknown, named, place_in_file
from lastbee.jobs.jobfile_text import AsSaid, text_of, tree_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

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
    return job_of_tree(tree_of(text))


def job_of_tree(tree: Mapping[str, Any]) -> Job:
    """Read a job file that is a tree of tables and values already.

    Raises
    ------
    InvalidInput
        If it is not a job; every problem is named.
    """
    job, problems, file = _judged(tree)
    if job is None or problems:
        raise InvalidInput(_told(problems, file))
    return job


def faults_of_tree(tree: Mapping[str, Any]) -> tuple[Problem, ...]:
    """Find all that keeps a tree from being a job, by dotted key.

    The second visit's count is `visit.1.count`, whatever it may be called to a person.
    """
    return tuple(_judged(tree)[1])


def _judged(tree: Mapping[str, Any]) -> tuple[Job | None, list[Problem], JobFile]:
    """Read every key and what the keys owe each other."""
    # pydantic costs start-up time that `lastbee --help` need not pay.
    from lastbee.jobs.jobfile_findings import Findings
    from lastbee.jobs.jobfile_reading import read_tables
    from lastbee.jobs.jobfile_rules import job_from
    from lastbee.jobs.jobfile_schema import JobFile

    file, problems, wrong = read_tables(JobFile, tree, mend_of_unknown)
    findings = Findings(wrong)
    job = job_from(file, findings)
    return job, [*problems, *findings.problems], file


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

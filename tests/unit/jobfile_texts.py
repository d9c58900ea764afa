"""Job files as text, for the tests that read them: a smallest one with keys put in."""

from __future__ import annotations

import re

import pytest

from lastbee.errors import InvalidInput, Problem
from lastbee.jobs.jobfile import parse_job

SMALLEST = {
    "": {"title": '"Bees in the gable"'},
    "site": {"place": '"Quarry Row"', "latitude": "43.1", "longitude": "-72.4"},
    "inspection": {"date": "2026-06-29"},
}
CONE_ON = "2026-07-01"
# What one key of a visit needs beside it to make a right job.
VISITED: dict[str, str | None] = {
    "setup.cone_on": CONE_ON,
    "visit.date": "2026-07-08",
    "visit.time": '"14:00"',
}


def job_text(changes: dict[str, str | None] | None = None) -> str:
    """Write the smallest job file with `changes`: dotted key to TOML text, None to leave out.

    Keys of `visit` and the tables in it make one visit, at the end of the file.
    """
    tables = {name: dict(keys) for name, keys in SMALLEST.items()}
    for dotted, value in (changes or {}).items():
        table, _, key = dotted.rpartition(".")
        keys = tables.setdefault(table, {})
        if value is None:
            keys.pop(key, None)
        else:
            keys[key] = value
    of_visit = {name: tables.pop(name) for name in [*tables] if name.split(".")[0] == "visit"}
    if of_visit:
        tables |= {"visit": of_visit.pop("visit", {})} | of_visit
    lines = []
    for name, keys in tables.items():
        lines += [f"[[{name}]]" if name == "visit" else f"[{name}]"] if name else []
        lines += [f"{key} = {value}" for key, value in keys.items()]
    return "\n".join(lines) + "\n"


def with_visits(*visits: dict[str, str]) -> str:
    """Write a job file with these visits, each as dotted keys and TOML text."""
    tables = [
        "[[visit]]\n" + "".join(f"{key} = {value}\n" for key, value in visit.items())
        for visit in visits
    ]
    return job_text({"setup.cone_on": CONE_ON}) + "".join(tables)


def uncommented(text: str) -> str:
    """Take the # away before each key; remarks have a space behind theirs."""
    return re.sub(r"(?m)^#(?=\S)", "", text)


TWELVE_HIGHS = "[-1, 1, 6, 13, 20, 24, 27, 26, 22, 15, 8, 2]"
TWELVE_LOWS = "[-11, -10, -5, 1, 7, 12, 15, 14, 10, 3, -2, -7]"
TWELVE_DAYS = "[12, 11, 12, 12, 13, 12, 11, 10, 10, 10, 12, 12]"
CLIMATE = {
    "site.climate.unit": '"C"',
    "site.climate.high": TWELVE_HIGHS,
    "site.climate.low": TWELVE_LOWS,
    "site.climate.wet_days": TWELVE_DAYS,
}


def problems_of(text: str) -> tuple[Problem, ...]:
    """What is wrong with a job file's text."""
    with pytest.raises(InvalidInput) as caught:
        parse_job(text)
    return caught.value.problems


def sentence_of(text: str) -> str:
    """The sentence on a text with one fault."""
    problems = problems_of(text)
    assert len(problems) == 1, [problem.sentence for problem in problems]
    return problems[0].sentence

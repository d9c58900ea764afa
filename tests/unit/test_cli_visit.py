"""`lastbee visit`, and what visits make of `lastbee plan`, with stand-ins for the layers below."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from cli_below import Below, stand_in_below

from lastbee.cli.main import run
from lastbee.cli.visit import NO_VISIT
from lastbee.jobs.jobfile import read_job

EXAMPLES = Path(__file__).parents[2] / "examples"
Capture = pytest.CaptureFixture[str]


@pytest.fixture
def below(monkeypatch: pytest.MonkeyPatch) -> Below:
    """The stand-ins, in the place of the true modules for one test."""
    return stand_in_below(monkeypatch)


VISITED = ("first", "second")


def test_progress_goes_to_stdout_as_plain_text_of_80_columns(below: Below, capsys: Capture) -> None:
    below.visits = VISITED
    assert run(["visit", "oak.toml", "--seed", "7", "--colonies", "500"]) == 0
    out, err = capsys.readouterr()
    assert out == "progress of job of oak.toml at width 80\n"
    assert err == ""
    assert below.asked == [("job of oak.toml", 7, 500)]


def test_progress_as_json_is_all_that_stdout_gets(
    below: Below, tmp_path: Path, capsys: Capture
) -> None:
    below.visits = VISITED
    report = tmp_path / "oak.pdf"
    assert run(["visit", "oak.toml", "--json", "--pdf", str(report)]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out) == {"progress": "progress of job of oak.toml"}
    assert err == f"Report written to {report}\n"
    assert report.read_bytes() == b"%PDF- progress of job of oak.toml"


def test_a_plan_with_visits_tells_the_whole_story(below: Below, capsys: Capture) -> None:
    below.visits = VISITED
    assert run(["plan", "oak.toml", "--seed", "7"]) == 0
    assert capsys.readouterr().out == (
        "plan of job of oak.toml at width 80\nthen progress of job of oak.toml\n"
    )
    assert below.asked == [("job of oak.toml", 7, 20_000)]


def test_a_job_without_visits_is_told_what_to_do_in_one_sentence(
    below: Below, capsys: Capture
) -> None:
    assert run(["visit", "oak.toml"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("lastbee: [[visit]] is missing: ")
    assert "`lastbee plan`" in err
    assert err.count("\n") == 1
    assert below.asked == []


def test_a_missing_visit_is_told_together_with_the_rest(below: Below, capsys: Capture) -> None:
    assert run(["visit", "oak.toml", "--colonies", "1"]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert lines[0] == "lastbee: 2 things to mend:"
    assert [line.split()[0] for line in lines[1:]] == ["--colonies", "[[visit]]"]


def test_a_visit_written_as_the_sentence_says_is_read(tmp_path: Path) -> None:
    job = tmp_path / "oak.toml"
    text = (EXAMPLES / "meadowgate.toml").read_text(encoding="utf-8")
    assert read_job(write(job, text)).visits == ()
    date, clock = re.search(
        r"\[\[visit\]\], with (date = \S+), (time = \S+) and", NO_VISIT
    ).groups()  # type: ignore[union-attr]
    (visit,) = read_job(write(job, f'{text}\n[[visit]]\n{date}\n{clock}\ncone = "clear"\n')).visits
    assert visit.cone_state == "clear"
    assert (visit.at.month, visit.at.day, visit.at.hour) == (7, 8, 14)


def write(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path

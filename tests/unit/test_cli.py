"""The command line: what it takes, what it prints where, and how it ends.

The layers below are replaced by small stand-ins, so that these tests say only how the
command line itself behaves; the true plan is tested end to end elsewhere.
"""

from __future__ import annotations

import errno
import io
import json
import os
import signal
import subprocess
import sys
import textwrap
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING

import pytest
from cli_below import Below, stand_in_below
from rich.console import Console

from lastbee import __version__
from lastbee.cli.main import run
from lastbee.cli.progress import StageProgress
from lastbee.documents.whole_file import write_whole
from lastbee.errors import DegenerateWeights, FileProblem, InvalidInput, NotConverged, Problem

if TYPE_CHECKING:
    from collections.abc import Callable

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def below(monkeypatch: pytest.MonkeyPatch) -> Below:
    """The stand-ins, in the place of the true modules for one test."""
    return stand_in_below(monkeypatch)


def failing(error: BaseException) -> Callable[..., None]:
    """A step that fails with `error`."""

    def step(*_: object) -> None:
        raise error

    return step


# What it prints


def test_version_is_that_of_the_package(capsys: Capture) -> None:
    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"lastbee {__version__}\n"


def test_without_a_command_it_shows_its_help(capsys: Capture) -> None:
    assert run([]) == 0
    alone = capsys.readouterr().out
    assert run(["--help"]) == 0
    assert alone == capsys.readouterr().out
    assert "plan" in alone


def test_a_plan_goes_to_stdout_as_plain_text_of_80_columns(below: Below, capsys: Capture) -> None:
    assert run(["plan", "oak.toml"]) == 0
    out, err = capsys.readouterr()
    assert out == "plan of job of oak.toml at width 80\n"
    assert err == ""
    assert below.asked == [("job of oak.toml", 1, 20_000)]


def test_seed_and_colonies_reach_the_planner(below: Below) -> None:
    assert run(["plan", "oak.toml", "--seed", "7", "--colonies", "500"]) == 0
    assert below.asked == [("job of oak.toml", 7, 500)]


def test_json_is_all_that_stdout_gets(below: Below, tmp_path: Path, capsys: Capture) -> None:
    report = tmp_path / "oak.pdf"
    assert run(["plan", "oak.toml", "--json", "--pdf", str(report)]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out) == {"plan": "plan of job of oak.toml"}
    assert err == f"Report written to {report}\n"
    assert report.read_bytes().startswith(b"%PDF-")


def test_the_schema_is_printed_as_json_with_its_letters(below: Below, capsys: Capture) -> None:
    assert run(["schema"]) == 0
    out = capsys.readouterr().out
    assert json.loads(out) == {"title": "job", "unit": "°C"}
    assert "°" in out


# Bad input


@pytest.mark.parametrize("text", ["499", "200001", "many", "1e4", "", "9" * 5000])
def test_a_bad_number_of_colonies_is_named_with_its_range(
    text: str, below: Below, capsys: Capture
) -> None:
    assert run(["plan", "oak.toml", "--colonies", text]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("lastbee: --colonies is '")
    assert err.endswith(": give a whole number from 500 to 200,000.\n")
    assert err.count("\n") == 1
    assert below.asked == []


@pytest.mark.parametrize("count", ["500", "200000"])
def test_the_ends_of_the_range_are_inside_it(count: str, below: Below) -> None:
    assert run(["plan", "oak.toml", "--colonies", count]) == 0
    assert below.asked[0][2] == int(count)


def test_problems_of_options_file_and_report_are_told_at_once(
    below: Below, tmp_path: Path, capsys: Capture
) -> None:
    below.read = failing(InvalidInput([Problem("site.latitude", 123, "give at most 90")]))
    report = tmp_path / "nowhere" / "oak.pdf"
    words = ["plan", "oak.toml", "--seed", "-1", "--colonies", "1", "--pdf", str(report)]
    assert run(words) == 2
    lines = capsys.readouterr().err.splitlines()
    assert lines[0] == "lastbee: 4 things to mend:"
    assert [line.split()[0] for line in lines[1:]] == [
        "--seed",
        "--colonies",
        "site.latitude",
        "--pdf",
    ]


def test_a_bad_option_does_not_hide_that_the_file_is_missing(below: Below, capsys: Capture) -> None:
    below.read = failing(FileProblem("oak.toml", "cannot be read (no such file)", "check it"))
    assert run(["plan", "oak.toml", "--seed", "x"]) == 2
    err = capsys.readouterr().err
    assert "--seed is 'x'" in err
    assert "JOB.toml is 'oak.toml': it cannot be read (no such file); check it." in err


def test_a_missing_file_alone_is_one_sentence(below: Below, capsys: Capture) -> None:
    below.read = failing(FileProblem("oak.toml", "cannot be read (no such file)", "check it"))
    assert run(["plan", "oak.toml"]) == 2
    assert capsys.readouterr().err == "lastbee: oak.toml cannot be read (no such file): check it.\n"


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (["plan"], "JOB.toml"),
        (["plna"], "plna"),
        (["plan", "a.toml", "--sed", "1"], "--sed"),
        (["plan", "a.toml", "--seed"], "--seed"),
        (["plan", "a.toml", "b.toml"], "b.toml"),
        (["visit"], "JOB.toml"),
        (["visit", "a.toml", "--pfd", "x"], "--pfd"),
    ],
)
def test_a_command_line_that_cannot_be_read_points_to_its_help(
    words: list[str], named: str, capsys: Capture
) -> None:
    assert run(words) == 2
    err = capsys.readouterr().err
    assert err.startswith("lastbee: ")
    assert named in err
    assert err.endswith("--help`.\n")
    assert err.count("\n") == 1


# A report that cannot be written


@pytest.mark.parametrize("where", ["nowhere/oak.pdf", "", "file.txt/oak.pdf"])
def test_a_report_that_cannot_be_written_is_told_before_the_work(
    where: str, below: Below, tmp_path: Path, capsys: Capture
) -> None:
    (tmp_path / "file.txt").write_text("not a folder")
    assert run(["plan", "oak.toml", "--pdf", str(tmp_path / where)]) == 2
    assert "cannot be written" in capsys.readouterr().err
    assert below.asked == []


@pytest.mark.skipif(os.name != "posix", reason="the limit is that of POSIX file systems")
@pytest.mark.parametrize(("letters", "code"), [(252, 0), (255, 0), (256, 2)])
def test_a_report_may_have_the_longest_name_there_is(
    letters: int, code: int, below: Below, tmp_path: Path, capsys: Capture
) -> None:
    """Tests NAME_MAX, 255 bytes on Linux (limits.h)."""
    below.write = lambda path: write_whole(b"%PDF-", path)
    report = tmp_path / f"{'o' * (letters - 4)}.pdf"
    assert run(["plan", "oak.toml", "--pdf", str(report)]) == code
    assert ("cannot be written" in capsys.readouterr().err) == (code == 2)
    assert len(below.asked) == (code == 0)
    assert list(tmp_path.iterdir()) == ([report] if code == 0 else [])


@pytest.mark.skipif(not Path("/proc/self/comm").exists(), reason="no folder of that kind")
def test_a_file_in_a_folder_that_takes_no_new_ones_is_told_before_the_work(
    below: Below, capsys: Capture
) -> None:
    """Tests a file that may be written and, without a draft beside it, not be replaced.

    /proc takes no new file from anyone, so that this holds for the superuser too.
    """
    with Path("/proc/self/comm").open("r+b", buffering=0):
        pass
    assert run(["plan", "oak.toml", "--pdf", "/proc/self/comm"]) == 2
    assert "cannot be written" in capsys.readouterr().err
    assert below.asked == []


def test_an_existing_report_is_kept_when_the_work_fails(below: Below, tmp_path: Path) -> None:
    report = tmp_path / "oak.pdf"
    report.write_bytes(b"the report of last week")
    below.compute = failing(NotConverged("stopped short"))
    assert run(["plan", "oak.toml", "--pdf", str(report)]) == 3
    assert report.read_bytes() == b"the report of last week"


def test_checking_a_new_report_path_leaves_nothing_behind(below: Below, tmp_path: Path) -> None:
    below.compute = failing(NotConverged("stopped short"))
    assert run(["plan", "oak.toml", "--pdf", str(tmp_path / "oak.pdf")]) == 3
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_fills_while_the_report_is_written_is_a_file_problem(
    below: Below, tmp_path: Path, capsys: Capture
) -> None:
    below.write = failing(OSError(errno.ENOSPC, "No space left on device"))
    assert run(["plan", "oak.toml", "--pdf", str(tmp_path / "oak.pdf")]) == 2
    printed = capsys.readouterr()
    assert "cannot be written (no space left on device)" in printed.err
    # What was computed is not lost with the file.
    assert "plan of job of oak.toml" in printed.out


def test_a_lost_file_of_our_own_is_not_blamed_on_the_report(
    below: Below, tmp_path: Path, capsys: Capture
) -> None:
    below.write = failing(FileNotFoundError(errno.ENOENT, "No such file", "report.typ"))
    assert run(["plan", "oak.toml", "--pdf", str(tmp_path / "oak.pdf")]) == 70
    assert "report.typ" in capsys.readouterr().err


# Other ends


def test_an_engine_without_an_answer_says_so_and_leaves_with_three(
    below: Below, capsys: Capture
) -> None:
    below.compute = failing(DegenerateWeights("no colony agrees with what was seen"))
    assert run(["plan", "oak.toml"]) == 3
    assert capsys.readouterr() == (
        "",
        "lastbee has no answer for this job: no colony agrees with what was seen\n",
    )


def test_a_fault_of_our_own_is_one_sentence_without_a_trace(
    below: Below, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("LASTBEE_DEBUG", raising=False)
    below.compute = failing(ZeroDivisionError("division\nby zero"))
    # 70 is EX_SOFTWARE of sysexits.h, "internal software error" (4.3BSD; from memory).
    assert run(["plan", "oak.toml"]) == 70
    err = capsys.readouterr().err
    assert "(ZeroDivisionError: division by zero); please report it" in err
    assert "Traceback" not in err
    assert err.count("\n") == 1


def test_the_trace_is_shown_when_it_is_asked_for(
    below: Below, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LASTBEE_DEBUG", "1")
    below.compute = failing(ZeroDivisionError("division by zero"))
    assert run(["plan", "oak.toml"]) == 70
    err = capsys.readouterr().err
    assert "Traceback (most recent call last)" in err
    assert "make_plan" in err


def test_an_interrupt_ends_quietly(below: Below, capsys: Capture) -> None:
    below.compute = failing(KeyboardInterrupt())
    # 128 plus the number of the signal, as a POSIX shell reports it.
    assert run(["plan", "oak.toml"]) == 128 + signal.SIGINT
    out, err = capsys.readouterr()
    assert out == ""
    assert err.strip() == ""


DRIVER = """
import sys
from types import ModuleType

def stand_in(name, **members):
    sys.modules[name] = ModuleType(name)
    sys.modules[name].__dict__.update(members)

def print_plan(plan, console):
    for number in range(plan):
        console.print(f"line {number} \u2013 of the plan")

class Job:
    visits = ()

stand_in("lastbee.jobs.jobfile", read_job=lambda path: Job())
stand_in("lastbee.jobs.planner", make_plan=lambda job, **options: LINES)
stand_in("lastbee.documents.terminal", print_plan=print_plan)
stand_in("lastbee.documents.as_json", plan_to_json=lambda plan: "x\\n" * plan)

from lastbee.cli.main import main
main()
"""


def driver(lines: int) -> str:
    """A program that is `lastbee` with stand-ins whose plan has so many lines."""
    return f"LINES = {lines}\n" + textwrap.dedent(DRIVER)


@pytest.mark.skipif(os.name != "posix", reason="pipes and signals are those of POSIX")
@pytest.mark.parametrize("lines", [1, 100_000])
@pytest.mark.parametrize("extra", [[], ["--json"]])
def test_a_reader_that_leaves_early_causes_no_complaint(lines: int, extra: list[str]) -> None:
    # One line fits the buffer and fails at the last flush; many fail while printing.
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        [sys.executable, "-c", driver(lines), "plan", "oak.toml", *extra],
        stdout=writing,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    os.close(writing)
    assert done.stderr == ""
    # 128 plus the number of the signal, as for any program that a closed pipe ends.
    assert done.returncode == 128 + signal.SIGPIPE


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("lines", [1, 100_000])
def test_a_full_disk_under_stdout_is_one_sentence(lines: int) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-c", driver(lines), "plan", "oak.toml"],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr == (
        "lastbee: standard output cannot be written (No space left on device): "
        "check where it is sent.\n"
    )


@pytest.mark.skipif(os.name != "posix", reason="needs a POSIX shell")
def test_a_closed_stdout_is_no_fault() -> None:
    done = subprocess.run(
        ["sh", "-c", 'exec "$0" -c "$1" plan oak.toml >&-', sys.executable, driver(1)],
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "utf-8"])
def test_a_terminal_without_the_letter_shows_a_question_mark(encoding: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", driver(1), "plan", "oak.toml"],
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": encoding},
        check=True,
    )
    dash = "–" if encoding == "utf-8" else "?"
    assert done.stdout.decode(encoding).strip() == f"line 0 {dash} of the plan"


def test_help_imports_nothing_heavy() -> None:
    program = (
        "import sys\n"
        "from lastbee.cli.main import run\n"
        "run(['plan', '--help'])\n"
        "run(['visit', '--help'])\n"
        "heavy = {'numba', 'numpy', 'scipy', 'matplotlib', 'typst', 'pydantic', 'rich', 'astral'}\n"
        "print(sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "[]"


# Progress


def terminal() -> Console:
    """A console that takes itself for a terminal and keeps what it is given."""
    return Console(file=io.StringIO(), force_terminal=True, width=80, color_system=None)


def text_of(console: Console) -> str:
    """All that was written to `console` so far."""
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def test_progress_shows_the_stage_once_the_work_takes_long() -> None:
    console = terminal()
    with StageProgress(console, delay_s=3600) as progress:
        progress("Founding colonies", 0.25)
        assert text_of(console) == ""
        progress.show()
        progress("Weighing the evidence", 0.5)
    assert "Weighing the evidence" in text_of(console)
    assert "50%" in text_of(console)


def test_progress_says_nothing_about_short_work() -> None:
    console = terminal()
    with StageProgress(console, delay_s=3600) as progress:
        progress("Founding colonies", 0.5)
    progress.show()
    assert text_of(console) == ""


def test_progress_starts_no_clock_where_nobody_watches(monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[float] = []
    monkeypatch.setattr(
        "threading.Timer",
        lambda delay_s, step: SimpleNamespace(
            daemon=False, start=lambda: started.append(delay_s), cancel=lambda: None
        ),
    )
    with StageProgress(Console(file=io.StringIO())):
        pass
    assert started == []
    with StageProgress(terminal()):
        pass
    assert started == [1.0]


def test_a_stage_name_with_brackets_is_shown_as_it_is() -> None:
    console = terminal()
    with StageProgress(console, delay_s=3600) as progress:
        progress("Step [bold]", 2.0)
        progress.show()
    assert "Step [bold]" in text_of(console)
    assert "100%" in text_of(console)

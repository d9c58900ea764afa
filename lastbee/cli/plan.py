"""`lastbee plan`: from a job file to the plan, on the terminal, as JSON and on paper."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lastbee.cli.output import output_console, writing_out
from lastbee.errors import FileProblem, InvalidInput, Problem

if TYPE_CHECKING:
    from lastbee.jobs.job import Job
    from lastbee.jobs.plan import Plan

LEAST_COLONIES, MOST_COLONIES = 500, 200_000
LARGEST_SEED = 2**32 - 1


@dataclass(frozen=True, slots=True)
class _Misread:
    """An option's text that is no whole number in its range."""

    text: str


class WholeNumber(click.ParamType["int | _Misread"]):
    """A whole number from `least` to `most`.

    A bad one is kept as `_Misread` instead of stopping the parser, so that it is reported
    together with everything else that is to be mended.
    """

    name = "whole number"

    def __init__(self, least: int, most: int) -> None:
        self.least = least
        self.most = most

    def convert(
        self,
        value: str | int | _Misread,
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> int | _Misread:
        """Read `value`; see the class."""
        if isinstance(value, _Misread):
            return value
        try:
            number = int(value)
        except ValueError:
            return _Misread(str(value))
        return number if self.least <= number <= self.most else _Misread(str(value))

    def checked(self, field: str, value: int | _Misread, problems: list[Problem]) -> int:
        """Give the number of option `field`, or `least` and one more in `problems`."""
        if isinstance(value, int):
            return value
        mend = f"give a whole number from {self.least:,} to {self.most:,}"
        problems.append(Problem(field, value.text, mend))
        return self.least


SEED = WholeNumber(0, LARGEST_SEED)
COLONIES = WholeNumber(LEAST_COLONIES, MOST_COLONIES)


@click.command(short_help="Plan one job from its inspection.")
@click.argument("job_path", metavar="JOB.toml", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON, nothing else.")
@click.option(
    "--pdf",
    "pdf_path",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Also write the plan as a PDF report.",
)
@click.option(
    "--seed",
    metavar="N",
    type=SEED,
    default=1,
    show_default=True,
    help="Start of the random numbers; the same seed gives the same plan.",
)
@click.option(
    "--colonies",
    metavar="N",
    type=COLONIES,
    default=20_000,
    show_default=True,
    help=f"How many colonies to simulate, {LEAST_COLONIES} to {MOST_COLONIES}.",
)
def plan(
    job_path: Path,
    as_json: bool,
    pdf_path: Path | None,
    seed: int | _Misread,
    colonies: int | _Misread,
) -> None:
    """Plan one job: what is inside, when it will be empty, what to do and when.

    JOB.toml is the record of one inspection; `lastbee example` prints one to start
    from.
    """
    problems: list[Problem] = []
    seed_number = SEED.checked("--seed", seed, problems)
    colony_count = COLONIES.checked("--colonies", colonies, problems)
    job = _checked_job(job_path, pdf_path, problems)
    answer = _compute(job, seed=seed_number, colonies=colony_count)
    _show(answer, as_json=as_json)
    if pdf_path is not None:
        _report(answer, pdf_path)


def _show(answer: Plan, *, as_json: bool) -> None:
    """Print the plan on stdout."""
    if as_json:
        from lastbee.documents.as_json import plan_to_json

        with writing_out():
            click.echo(plan_to_json(answer))
    else:
        from lastbee.documents.terminal import print_plan

        with writing_out():
            print_plan(answer, output_console())


def _checked_job(job_path: Path, pdf_path: Path | None, problems: list[Problem]) -> Job:
    """Read the job, or raise what is wrong with it, the report's path and the options at once."""
    from lastbee.documents.whole_file import check_writable
    from lastbee.jobs.jobfile import read_job

    job: Job | None = None
    files: list[tuple[str, FileProblem]] = []
    try:
        job = read_job(job_path)
    except InvalidInput as error:
        problems = [*problems, *error.problems]
    except FileProblem as error:
        files.append(("JOB.toml", error))
    if pdf_path is not None:
        try:
            check_writable(pdf_path)
        except OSError as error:
            files.append(("--pdf", FileProblem.cannot_write(pdf_path, error)))
    if len(files) == 1 and not problems:
        raise files[0][1]
    problems = [*problems, *(error.as_problem(field) for field, error in files)]
    if job is None or problems:
        raise InvalidInput(problems)
    return job


def _compute(job: Job, *, seed: int, colonies: int) -> Plan:
    """Make the plan, with progress on stderr."""
    from rich.console import Console

    from lastbee.cli.progress import StageProgress

    with StageProgress(Console(stderr=True)) as progress:
        from lastbee.jobs.planner import make_plan

        return make_plan(job, seed=seed, colonies=colonies, progress=progress)


def _report(answer: Plan, pdf_path: Path) -> None:
    """Write the report; the plan is on the screen by now, whatever becomes of the file."""
    from lastbee.documents.pdf import write_pdf

    try:
        write_pdf(answer, pdf_path)
    except OSError as error:
        if error.filename not in (None, pdf_path, str(pdf_path)):
            raise
        raise FileProblem.cannot_write(pdf_path, error) from error
    click.echo(f"Report written to {pdf_path}", err=True)

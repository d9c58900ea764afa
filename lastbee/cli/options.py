"""What every command that answers for a job is asked: argument, options, and their check."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lastbee.errors import FileProblem, InvalidInput, Problem

if TYPE_CHECKING:
    from collections.abc import Callable

    from lastbee.jobs.job import Job

LEAST_COLONIES, MOST_COLONIES = 500, 200_000
LARGEST_SEED = 2**32 - 1


@dataclass(frozen=True, slots=True)
class Misread:
    """An option's text that is no whole number in its range."""

    text: str


class WholeNumber(click.ParamType["int | Misread"]):
    """A whole number from `least` to `most`.

    A bad one is kept as `Misread` instead of stopping the parser, so that it is reported
    together with everything else that is to be mended.
    """

    name = "whole number"

    def __init__(self, least: int, most: int) -> None:
        self.least = least
        self.most = most

    def convert(
        self,
        value: str | int | Misread,
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> int | Misread:
        """Read `value`; see the class."""
        if isinstance(value, Misread):
            return value
        try:
            number = int(value)
        except ValueError:
            return Misread(str(value))
        return number if self.least <= number <= self.most else Misread(str(value))

    def checked(self, field: str, value: int | Misread, problems: list[Problem]) -> int:
        """Give the number of option `field`, or `least` and one more in `problems`."""
        if isinstance(value, int):
            return value
        mend = f"give a whole number from {self.least:,} to {self.most:,}"
        problems.append(Problem(field, value.text, mend))
        return self.least


SEED = WholeNumber(0, LARGEST_SEED)
COLONIES = WholeNumber(LEAST_COLONIES, MOST_COLONIES)


@dataclass(frozen=True, slots=True)
class Order:
    """What was asked for, as it came from the command line."""

    job_path: Path
    as_json: bool
    pdf_path: Path | None
    seed: int | Misread
    colonies: int | Misread

    def checked(self, needs: Callable[[Job], list[Problem]] = lambda _: []) -> Request:
        """Read the job and check everything that was asked for.

        Parameters
        ----------
        needs
            Finds what else the command needs of a job that could be read.

        Raises
        ------
        FileProblem
            If a file cannot be used and nothing else is wrong.
        InvalidInput
            Otherwise, with what is wrong with job, report's path and options at once.
        """
        problems: list[Problem] = []
        seed = SEED.checked("--seed", self.seed, problems)
        colonies = COLONIES.checked("--colonies", self.colonies, problems)
        job = _checked_job(self.job_path, self.pdf_path, needs, problems)
        return Request(job, self.as_json, self.pdf_path, seed, colonies)


@dataclass(frozen=True, slots=True)
class Request:
    """What was asked for, checked."""

    job: Job
    as_json: bool
    pdf_path: Path | None
    seed: int
    colonies: int


def answers_for_a_job(what: str) -> Callable[[Callable[[Order], None]], Callable[..., None]]:
    """Give a command the argument and the options of all that answer with one `what`."""

    def decorate(command: Callable[[Order], None]) -> Callable[..., None]:
        @functools.wraps(command)
        def run(**given: Any) -> None:
            command(Order(**given))

        # Help lists options in the order in which they stand above a function.
        decorated: Callable[..., None] = run
        for parameter in reversed(_parameters(what)):
            decorated = parameter(decorated)
        return decorated

    return decorate


def _parameters(what: str) -> tuple[Callable[[Callable[..., None]], Callable[..., None]], ...]:
    return (
        click.argument("job_path", metavar="JOB.toml", type=click.Path(path_type=Path)),
        click.option(
            "--json", "as_json", is_flag=True, help=f"Print the {what} as JSON, nothing else."
        ),
        click.option(
            "--pdf",
            "pdf_path",
            metavar="FILE",
            type=click.Path(path_type=Path),
            help=f"Also write the {what} as a PDF report.",
        ),
        click.option(
            "--seed",
            metavar="N",
            type=SEED,
            default=1,
            show_default=True,
            help=f"Start of the random numbers; the same seed gives the same {what}.",
        ),
        click.option(
            "--colonies",
            metavar="N",
            type=COLONIES,
            default=20_000,
            show_default=True,
            help=f"How many colonies to simulate, {LEAST_COLONIES} to {MOST_COLONIES}.",
        ),
    )


def _checked_job(
    job_path: Path,
    pdf_path: Path | None,
    needs: Callable[[Job], list[Problem]],
    problems: list[Problem],
) -> Job:
    """Read the job, or raise what is wrong with it, the report's path and the options at once."""
    from lastbee.documents.whole_file import check_writable
    from lastbee.jobs.jobfile import read_job

    job: Job | None = None
    files: list[tuple[str, FileProblem]] = []
    try:
        job = read_job(job_path)
        problems = [*problems, *needs(job)]
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

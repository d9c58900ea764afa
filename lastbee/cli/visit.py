"""`lastbee visit`: how a running trap-out stands after its visits, and what to do next."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from lastbee.cli.options import answers_for_a_job
from lastbee.cli.output import output_console, write_report, writing_out
from lastbee.errors import Problem

if TYPE_CHECKING:
    from lastbee.cli.options import Order, Request
    from lastbee.jobs.job import Job
    from lastbee.jobs.progress import Progress

NO_VISIT = (
    "before the first visit the command is `lastbee plan`; after it, write what you saw at the end"
    ' of the job file under [[visit]], with date = 2026-07-08, time = "14:00" and a line for each'
    " thing you looked at, and run `lastbee visit` again"
)


@click.command(short_help="Say how a running trap-out stands after its visits.")
@answers_for_a_job("progress")
def visit(order: Order) -> None:
    """Say how a trap-out stands: is it working, what is wrong, when to come back.

    JOB.toml is the record of the inspection with a table [[visit]] for each visit since
    the cone went on.
    """
    request = order.checked(_needs_a_visit)
    answer = _compute(request)
    _show(answer, as_json=request.as_json)
    if request.pdf_path is not None:
        write_report(answer, request.pdf_path)


def _needs_a_visit(job: Job) -> list[Problem]:
    return [] if job.visits else [Problem("[[visit]]", None, NO_VISIT)]


def _compute(request: Request) -> Progress:
    """Take in the visits, with progress on stderr."""
    from rich.console import Console

    from lastbee.cli.progress import StageProgress

    with StageProgress(Console(stderr=True)) as tell:
        from lastbee.jobs.tracker import make_progress

        return make_progress(
            request.job, seed=request.seed, colonies=request.colonies, progress=tell
        )


def _show(answer: Progress, *, as_json: bool) -> None:
    """Print the progress on stdout."""
    if as_json:
        from lastbee.documents.as_json import progress_to_json

        with writing_out():
            click.echo(progress_to_json(answer))
    else:
        from lastbee.documents.progress_terminal import print_progress

        with writing_out():
            print_progress(answer, output_console())

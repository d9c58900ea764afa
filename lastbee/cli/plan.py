"""`lastbee plan`: from a job file to the plan, on the terminal, as JSON and on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from lastbee.cli.options import answers_for_a_job
from lastbee.cli.output import output_console, write_report, writing_out

if TYPE_CHECKING:
    from lastbee.cli.options import Order, Request
    from lastbee.jobs.plan import Plan


@click.command(short_help="Plan one job from its inspection.")
@answers_for_a_job("plan")
def plan(order: Order) -> None:
    """Plan one job: what is inside, when it will be empty, what to do and when.

    JOB.toml is the record of one inspection; `lastbee example` prints one to start
    from. Once it has visits, how the trap-out stands since then follows the plan.
    """
    request = order.checked()
    answer = _compute(request)
    _show(answer, as_json=request.as_json)
    if request.pdf_path is not None:
        write_report(answer, request.pdf_path)


def _compute(request: Request) -> Plan:
    """Make the plan and what the visits made of it, with progress on stderr."""
    from rich.console import Console

    from lastbee.cli.progress import StageProgress

    with StageProgress(Console(stderr=True)) as tell:
        from lastbee.jobs.planner import make_plan

        return make_plan(request.job, seed=request.seed, colonies=request.colonies, progress=tell)


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

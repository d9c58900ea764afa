"""The command `lastbee`: parses, calls one use case, prints.

Nothing heavy is imported until a command runs, so that `lastbee --help` answers at once.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from lastbee import __version__
from lastbee.cli import edge
from lastbee.cli.carry import copy, export_, import_
from lastbee.cli.demo import demo
from lastbee.cli.plan import plan
from lastbee.cli.serve import serve
from lastbee.cli.starting import example, schema
from lastbee.cli.visit import visit

if TYPE_CHECKING:
    from collections.abc import Sequence


@click.group(
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "terminal_width": 80},
)
@click.version_option(__version__, message="lastbee %(version)s")
@click.pass_context
def command(context: click.Context) -> None:
    """Tell what is in the wall, when the last bee will be out, what stays behind.

    From an inspection of one hidden honey bee colony to a dated plan for taking it
    out alive, and from visit to visit until the wall is closed.
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


for _each in (plan, visit, serve, demo, copy, export_, import_, schema, example):
    command.add_command(_each)


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and give the exit code; no error leaves this function.

    Parameters
    ----------
    arguments
        The words after the program's name; None takes those of this process.
    """
    _soften_output()
    words = list(sys.argv[1:] if arguments is None else arguments)
    try:
        # Not `command.main`, which ends a broken pipe in its own way and out of our sight.
        with command.make_context("lastbee", words) as context:
            command.invoke(context)
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except SystemExit as stop:
        return _after_system_exit(stop)
    except BaseException as error:
        return edge.leave(error)
    return 0


def main() -> NoReturn:
    """Run as a program."""
    sys.exit(run())


def _after_system_exit(stop: SystemExit) -> int:
    """Give the exit code after a library left on its own, as `rich` does on a broken pipe."""
    cause = stop.__context__
    if cause is not None and edge.is_broken_pipe(cause):
        return edge.leave(cause)
    return stop.code if isinstance(stop.code, int) else edge.EXIT_USAGE


def _soften_output() -> None:
    """Let a terminal that lacks a letter show a question mark; let a closed stdout be nowhere."""
    if sys.stdout is None:
        sys.stdout = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115  (lives as long as we)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            with contextlib.suppress(ValueError):
                stream.reconfigure(errors="replace")

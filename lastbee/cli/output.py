"""Standard output and reports: how they are written, and what happens when that fails."""

from __future__ import annotations

import contextlib
import sys
from typing import TYPE_CHECKING

import click

from lastbee.cli import edge
from lastbee.errors import FileProblem

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from rich.console import Console

    from lastbee.jobs.plan import Plan
    from lastbee.jobs.progress import Progress

PLAIN_WIDTH = 80


def output_console() -> Console:
    """Make a console on stdout: as wide as the terminal, or plain text of 80 columns."""
    from rich.console import Console

    if sys.stdout.isatty():
        return Console(highlight=False)
    return Console(
        width=PLAIN_WIDTH,
        color_system=None,
        force_terminal=False,
        highlight=False,
        emoji=False,
    )


@contextlib.contextmanager
def writing_out() -> Iterator[None]:
    """Turn a failure to write to stdout, such as a full disk, into a `FileProblem`.

    Raises
    ------
    FileProblem
        If what is printed inside cannot be written. A reader that left early is no
        failure: that error passes as it is.
    """
    try:
        yield
        sys.stdout.flush()
    except OSError as error:
        if edge.is_broken_pipe(error):
            raise
        edge.hush_stdout()
        raise FileProblem(
            "standard output",
            f"cannot be written ({error.strerror})",
            "check where it is sent",
        ) from error


def write_report(answer: Plan | Progress, path: Path) -> None:
    """Write the report; the answer is on the screen by now, whatever becomes of the file.

    Raises
    ------
    FileProblem
        If it cannot be written.
    """
    from lastbee.documents.pdf import write_pdf

    try:
        write_pdf(answer, path)
    except OSError as error:
        if error.filename not in (None, path, str(path)):
            raise
        raise FileProblem.cannot_write(path, error) from error
    click.echo(f"Report written to {path}", err=True)

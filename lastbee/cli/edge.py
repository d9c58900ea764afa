"""What each error means at the command line: its exit code and how it is printed.

One table says it all. An error is looked up by its class, then by its bases in order,
so a class added below `LastbeeError` has a row from the start.
"""

from __future__ import annotations

import errno
import os
import sys
from dataclasses import dataclass

import click

from lastbee.errors import EngineError, FileProblem, InvalidInput, LastbeeError

EXIT_USAGE = 2
EXIT_BUG = 70
EXIT_BROKEN_PIPE = 141
EXIT_INTERRUPTED = 130


@dataclass(frozen=True, slots=True)
class Row:
    """How one class of error leaves the program.

    Attributes
    ----------
    exit_code
        What the shell sees.
    lead
        What stands before the error's own sentence when it has only one.
    """

    exit_code: int
    lead: str


ROWS: dict[type[BaseException], Row] = {
    InvalidInput: Row(EXIT_USAGE, "lastbee: "),
    FileProblem: Row(EXIT_USAGE, "lastbee: "),
    EngineError: Row(3, "lastbee has no answer for this job: "),
    LastbeeError: Row(1, "lastbee: "),
}


def row_of(error: BaseException) -> Row | None:
    """Give the row of the nearest class of `error` in `ROWS`; None for anything foreign."""
    for ancestor in type(error).__mro__:
        if ancestor in ROWS:
            return ROWS[ancestor]
    return None


def leave(error: BaseException) -> int:
    """Print `error` on stderr as a person should see it, and give the exit code.

    Parameters
    ----------
    error
        Whatever stopped the command.
    """
    if isinstance(error, KeyboardInterrupt | click.Abort):
        return EXIT_INTERRUPTED
    if is_broken_pipe(error):
        hush_stdout()
        return EXIT_BROKEN_PIPE
    if isinstance(error, click.ClickException):
        _say(_usage_sentence(error))
        return EXIT_USAGE
    row = row_of(error)
    if row is not None:
        _say(_known(error, row))
        return row.exit_code
    if os.environ.get("LASTBEE_DEBUG") == "1":
        import traceback

        _say("".join(traceback.format_exception(error)).rstrip())
    _say(_bug_sentence(error))
    return EXIT_BUG


def is_broken_pipe(error: BaseException) -> bool:
    """Whether `error` only says that nobody reads our output any more."""
    return isinstance(error, OSError) and error.errno == errno.EPIPE


def hush_stdout() -> None:
    """Point stdout nowhere, so that the last flush of the interpreter cannot complain."""
    try:
        descriptor = sys.stdout.fileno()
    except (OSError, ValueError):
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, descriptor)
    os.close(nowhere)


def _known(error: BaseException, row: Row) -> str:
    """Word an error of our own; a list when there is more than one problem."""
    if isinstance(error, InvalidInput) and len(error.problems) > 1:
        lines = [f"lastbee: {len(error.problems)} things to mend:"]
        lines += [f"  {problem.sentence}" for problem in error.problems]
        return "\n".join(lines)
    return f"{row.lead}{error}"


def _usage_sentence(error: click.ClickException) -> str:
    """Say what was wrong with the command itself, and where its help is."""
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "lastbee"
    message = " ".join(error.format_message().split())
    return f"lastbee: {message} See `{path} --help`."


def _bug_sentence(error: BaseException) -> str:
    """Word a fault of the program itself as one sentence."""
    detail = " ".join(str(error).split())
    what = f"{type(error).__name__}: {detail}" if detail else type(error).__name__
    return (
        f"lastbee: stopped by a fault of its own ({what}); please report it with the job file "
        "and the trace that LASTBEE_DEBUG=1 shows."
    )


def _say(text: str) -> None:
    """Print on stderr; a closed stderr is nobody's loss."""
    try:
        click.echo(text, err=True)
    except OSError:
        return

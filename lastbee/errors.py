"""The errors that lastbee raises, so that a caller can catch exactly what they mean to.

The tree::

    LastbeeError                anything lastbee raises on purpose
    |-- InvalidInput            what a person wrote cannot be used; carries every `Problem`
    |-- FileProblem             a file cannot be read, is no job file at all, cannot be written
    `-- EngineError             the computation has no answer that could be stood behind
        |-- DegenerateWeights   no simulated colony agrees with the evidence
        `-- NotConverged        an iteration stopped short of its tolerance

Misuse by a programmer is a plain `ValueError` and is not in this tree. What each class
means at the command line (exit code, heading) stands in `lastbee.cli.edge`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

if TYPE_CHECKING:
    from collections.abc import Sequence
    from os import PathLike

_LONGEST_VALUE = 60


class LastbeeError(Exception):
    """Anything that lastbee raises on purpose; `str(error)` is ready to show a person."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to mend in what a person wrote.

    Attributes
    ----------
    field
        Where it stands, as it is written in the file or on the command line, for
        instance ``site.latitude`` or ``--seed``.
    value
        What was found there; None if it is missing.
    mend
        What to do, as a phrase in the imperative without a full stop, for instance
        ``give degrees north between -90 and 90``.
    """

    field: str
    value: object
    mend: str

    @property
    def sentence(self) -> str:
        """Field, value and mend as one sentence on one line."""
        found = "is missing" if self.value is None else f"is {_shown(self.value)}"
        return f"{_plain(self.field)} {found}: {_phrase(self.mend)}."


class InvalidInput(LastbeeError):
    """What a person wrote cannot be used.

    Attributes
    ----------
    problems
        Every `Problem` found, never just the first; at least one.

    Raises
    ------
    ValueError
        If `problems` is empty.
    """

    def __init__(self, problems: Sequence[Problem]) -> None:
        if not problems:
            raise ValueError("InvalidInput needs at least one problem; problems is empty")
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__(self.problems)

    def __str__(self) -> str:
        """One sentence a line."""
        return "\n".join(problem.sentence for problem in self.problems)


class FileProblem(LastbeeError):
    """A file that cannot be read, is no job file at all, or cannot be written.

    Attributes
    ----------
    path
        The file as it was named.
    trouble
        What is wrong with it, continuing the path: ``is a folder``.
    mend
        What to do, in the imperative without a full stop.
    """

    def __init__(self, path: str | PathLike[str], trouble: str, mend: str) -> None:
        self.path = str(path)
        self.trouble = trouble
        self.mend = mend
        super().__init__(self.path, trouble, mend)

    def __str__(self) -> str:
        """Path, trouble and mend as one sentence on one line."""
        return f"{_plain(self.path)} {_phrase(self.trouble)}: {_phrase(self.mend)}."

    def as_problem(self, field: str) -> Problem:
        """Give this as one `Problem` among others, `field` being where the path was named."""
        return Problem(field, self.path, f"it {self.trouble}; {self.mend}")

    @classmethod
    def cannot_read(cls, path: str | PathLike[str], cause: OSError) -> Self:
        """Say that `path` cannot be opened for reading, and why the system refused."""
        return cls(path, f"cannot be read ({_reason(cause)})", "check its name and permissions")

    @classmethod
    def too_large(cls, path: str | PathLike[str], size_bytes: int, limit_bytes: int) -> Self:
        """Say that `path` holds `size_bytes`, more than the `limit_bytes` of any job file."""
        return cls(
            path,
            f"is too large ({size_bytes:,} bytes; a job file has at most {limit_bytes:,})",
            "check that it is the job file",
        )

    @classmethod
    def cannot_write(cls, path: str | PathLike[str], cause: OSError) -> Self:
        """Say that `path` cannot be written, and why the system refused."""
        return cls(
            path,
            f"cannot be written ({_reason(cause)})",
            "name a file in a folder that exists and that you may write to",
        )


class EngineError(LastbeeError):
    """The computation has no answer that could be stood behind; the message says why."""


class DegenerateWeights(EngineError):
    """No simulated colony agrees with the evidence: all weights are zero, or one is NaN."""


class NotConverged(EngineError):
    """An iteration stopped short of its tolerance."""


def _shown(value: object) -> str:
    """Put `value` on one line, text in quotation marks, cut when it is long."""
    text = repr(value) if isinstance(value, str) else _plain(str(value))
    if len(text) > _LONGEST_VALUE:
        text = text[: _LONGEST_VALUE - 3] + "..."
    return text


def _phrase(text: str) -> str:
    """Put `text` on one line, without the full stop that the sentence around it ends with."""
    return _plain(" ".join(text.split())).rstrip(".")


def _plain(text: str) -> str:
    """Escape the control characters of `text`, so that it cannot disturb a terminal."""
    return "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in text)


def _reason(cause: OSError) -> str:
    """Give the system's own words for `cause`, in lower case and without the path."""
    if not cause.strerror:
        return type(cause).__name__
    return cause.strerror[:1].lower() + cause.strerror[1:]

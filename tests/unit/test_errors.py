"""The error tree: what it promises in its docstring, and how its sentences read."""

from __future__ import annotations

import errno
import pickle
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

import lastbee.errors
from lastbee.cli import edge
from lastbee.errors import (
    DegenerateWeights,
    EngineError,
    FileProblem,
    InvalidInput,
    LastbeeError,
    NotConverged,
    Problem,
)


def classes_below(root: type[LastbeeError]) -> set[type[LastbeeError]]:
    """Every class of the tree that lastbee.errors itself defines, with its root."""
    found = {root}
    for child in root.__subclasses__():
        if child.__module__ == lastbee.errors.__name__:
            found |= classes_below(child)
    return found


EXAMPLES: list[LastbeeError] = [
    LastbeeError("it stopped"),
    InvalidInput([Problem("site.latitude", 123, "give degrees between -90 and 90")]),
    FileProblem("oak.toml", "is a folder", "name the job file in it"),
    EngineError("no answer"),
    DegenerateWeights("no colony agrees"),
    NotConverged("stopped after 50 rounds"),
]


def test_the_tree_in_the_docstring_is_the_tree_of_classes() -> None:
    text = lastbee.errors.__doc__ or ""
    tree = text.split("::", 1)[1].split("Misuse", 1)[0]
    named = set(re.findall(r"^[ |`-]*([A-Z]\w+)  ", tree, flags=re.MULTILINE))
    assert named == {kind.__name__ for kind in classes_below(LastbeeError)}


def test_there_is_an_example_of_every_class() -> None:
    assert {type(error) for error in EXAMPLES} == classes_below(LastbeeError)


@pytest.mark.parametrize("error", EXAMPLES, ids=lambda error: type(error).__name__)
def test_every_class_has_a_row_at_the_edge(error: LastbeeError) -> None:
    row = edge.row_of(error)
    assert row is not None
    # Exit codes from 64 on have meanings of their own (sysexits.h of 4.3BSD; from memory).
    assert 1 <= row.exit_code < 64


def test_a_class_added_later_takes_the_row_of_its_base() -> None:
    class LaterError(NotConverged):
        """Stands for a class that does not exist yet."""

    assert edge.row_of(LaterError("x")) == edge.ROWS[EngineError]


def test_bad_input_and_bad_files_leave_with_two_and_the_engine_with_three() -> None:
    assert edge.ROWS[InvalidInput].exit_code == 2
    assert edge.ROWS[FileProblem].exit_code == 2
    assert edge.ROWS[EngineError].exit_code == 3


@pytest.mark.parametrize("error", EXAMPLES, ids=lambda error: type(error).__name__)
def test_an_error_comes_back_whole_from_another_process(error: LastbeeError) -> None:
    again = pickle.loads(pickle.dumps(error))  # noqa: S301  (our own bytes)
    assert type(again) is type(error)
    assert str(again) == str(error)
    assert getattr(again, "problems", None) == getattr(error, "problems", None)


def test_a_problem_names_field_value_and_mend() -> None:
    problem = Problem("site.latitude", 123, "give degrees between -90 and 90")
    assert problem.sentence == "site.latitude is 123: give degrees between -90 and 90."


def test_text_is_quoted_and_a_full_stop_not_doubled() -> None:
    problem = Problem("building.covering", "straw", "choose one of wood, brick.")
    assert problem.sentence == "building.covering is 'straw': choose one of wood, brick."


def test_a_missing_value_is_called_missing() -> None:
    problem = Problem("inspection.at", None, "give the date and time of the inspection")
    assert problem.sentence == (
        "inspection.at is missing: give the date and time of the inspection."
    )


def test_a_long_value_is_cut() -> None:
    sentence = Problem("title", "x" * 10_000, "shorten it to 200 characters").sentence
    assert len(sentence) < 120
    assert sentence.endswith("...: shorten it to 200 characters.")


@given(st.text(), st.one_of(st.text(), st.integers(), st.floats(), st.none(), st.lists(st.text())))
def test_a_sentence_is_one_printable_line_whatever_was_written(field: str, value: object) -> None:
    # A job file comes from anywhere; a control sequence in it must not reach the terminal.
    assert Problem(field, value, "mend it").sentence.isprintable()
    assert FileProblem(field, str(value), "mend it").__str__().isprintable()


def test_invalid_input_carries_every_problem_one_a_line() -> None:
    problems = [Problem(f"field{number}", number, "mend it") for number in range(3)]
    error = InvalidInput(problems)
    assert error.problems == tuple(problems)
    assert str(error).splitlines() == [problem.sentence for problem in problems]


def test_invalid_input_without_a_problem_is_a_mistake_of_the_programmer() -> None:
    with pytest.raises(ValueError, match="problems is empty"):
        InvalidInput([])


def test_a_file_problem_gives_the_reason_of_the_system() -> None:
    # The words for ENOENT are those of POSIX strerror().
    cause = OSError(errno.ENOENT, "No such file or directory", "oak.toml")
    assert str(FileProblem.cannot_read("oak.toml", cause)) == (
        "oak.toml cannot be read (no such file or directory): check its name and permissions."
    )


def test_a_file_problem_without_a_reason_names_the_kind_of_failure() -> None:
    assert "(TimeoutError)" in str(FileProblem.cannot_write("oak.pdf", TimeoutError()))


def test_a_file_that_is_too_large_is_told_both_sizes() -> None:
    sentence = str(FileProblem.too_large("oak.toml", 2_000_000, 1_000_000))
    assert "2,000,000 bytes" in sentence
    assert "1,000,000" in sentence


def test_a_file_problem_can_stand_among_other_problems() -> None:
    error = FileProblem("oak.pdf", "cannot be written (read-only file system)", "name another")
    assert error.as_problem("--pdf").sentence == (
        "--pdf is 'oak.pdf': it cannot be written (read-only file system); name another."
    )

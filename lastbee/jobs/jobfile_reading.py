"""Read a tree of written values into tables, key by key, with every fault named.

What does not fit is noted and taken out, so that the rest can still be read and judged.
"""

from __future__ import annotations

from copy import deepcopy
from datetime import date, time
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from lastbee.errors import Problem
from lastbee.jobs.jobfile_names import heading_of, shown_key
from lastbee.jobs.jobfile_text import AsSaid

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pydantic_core import ErrorDetails

    from lastbee.jobs.jobfile_table import Table

    Keys = tuple[int | str, ...]

_Tables = TypeVar("_Tables", bound="Table")


def read_tables(
    kind: type[_Tables], tree: Mapping[str, Any], mend_of_unknown: Callable[[Keys], str]
) -> tuple[_Tables, list[Problem], frozenset[str]]:
    """Read every key of `tree`; what does not fit is noted, and the rest read without it.

    Parameters
    ----------
    kind
        The table that the tree should be.
    tree
        What was written; it is not changed.
    mend_of_unknown
        Says what to do about a key that there is not.

    Returns
    -------
    The tables, the problems by dotted key, and the dotted keys that are wrong.
    """
    rest = deepcopy(dict(tree))
    problems: list[Problem] = []
    wrong: set[str] = set()
    while True:
        try:
            return kind.model_validate(rest), problems, frozenset(wrong)
        except ValidationError as error:
            details = error.errors(include_url=False)
        for detail in details:
            keys = detail["loc"]
            problems.append(_problem(keys, detail, mend_of_unknown))
            wrong.add(".".join(str(key) for key in keys))
            _take_out(rest, keys)


def _take_out(tree: Any, keys: Keys) -> None:
    for key in keys[:-1]:
        tree = tree[key]
    if isinstance(tree, list):
        tree[int(keys[-1])] = {}  # those behind it keep their places
    else:
        del tree[keys[-1]]


def _problem(keys: Keys, detail: ErrorDetails, mend_of_unknown: Callable[[Keys], str]) -> Problem:
    """Word one complaint about one key."""
    name = ".".join(shown_key(str(key)) for key in keys)
    value = _shown_value(detail["input"])
    if detail["type"] == "unfit":
        facts = detail["ctx"]
        if facts["found"] is not None:
            value = _shown_value(facts["found"])
        return Problem(name, value, facts["mend"])
    if detail["type"] == "extra_forbidden":
        return Problem(name, value, mend_of_unknown(keys))
    if detail["type"] == "tuple_type":
        mend = (
            f"write each {name} under a heading {heading_of(keys)} of its own, in double brackets"
        )
        return Problem(name, value, mend)
    if detail["type"] == "too_long":
        return Problem(name, value, f"keep at most {detail['ctx']['max_length']} of them")
    # A table was expected: nothing else is left to go wrong.
    mend = f"write it as a table of its own under the heading {heading_of(keys)}"
    return Problem(name, value, mend)


def _shown_value(value: object) -> object:
    """Show a written value in a few words whatever its size."""
    if isinstance(value, bool):
        return AsSaid("true" if value else "false")
    if isinstance(value, int) and abs(value) >= 10**18:
        return AsSaid("a number of more than 18 digits")
    if isinstance(value, int | float | date | time):
        return value
    if isinstance(value, str):
        return value[:200]
    if isinstance(value, list):
        return AsSaid("a list of one" if len(value) == 1 else f"a list of {len(value)}")
    return AsSaid("a table" if isinstance(value, dict) else "of another kind")

"""Plan and progress as JSON for other programs, and the schemas that they keep to."""

from __future__ import annotations

import json
import math
import re
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from numbers import Integral, Real
from typing import TYPE_CHECKING, Any, TypeVar

from lastbee.jobs import plan, progress

if TYPE_CHECKING:
    from pydantic import TypeAdapter

    from lastbee.jobs.plan import Plan
    from lastbee.jobs.progress import Progress

_Record = TypeVar("_Record")

_VERSIONS = {"Plan": plan.SCHEMA, "Progress": progress.SCHEMA}
_DIALECT = "https://json-schema.org/draft/2020-12/schema"

# More digits would differ from one processor to the next, and mean nothing.
_SIGNIFICANT_DIGITS = 6

# A list of plain numbers, one a line as the encoder breaks it. A raw line break never
# stands inside a JSON string, so that no text of the plan can match.
_NUMBER_LIST = re.compile(r"\[\n([\s\d.,eE+-]+)\]")


def plan_to_json(answer: Plan) -> str:
    """Write a plan as JSON text that keeps to `plan_schema`.

    Keys stand in the order of the record, dates as ISO 8601 days, moments with their offset
    from UTC, numbers with six significant digits. The text is plain ASCII, so that every
    pipe carries it.

    Parameters
    ----------
    answer
        The whole answer for one job.

    Returns
    -------
    Indented JSON, one object, without a line break at its end.

    Raises
    ------
    ValueError
        If a number is not finite; the sentence names its place in the plan.
    """
    return _json_text(answer, "plan")


def progress_to_json(answer: Progress) -> str:
    """Write the progress of a trap-out as JSON text that keeps to `progress_schema`.

    Form, result and errors are those of `plan_to_json`.
    """
    return _json_text(answer, "progress")


def plan_schema() -> dict[str, Any]:
    """Build the JSON Schema (draft 2020-12) of a plan from its records.

    The schema is closed: a key that is not listed belongs to another version.
    """
    return _schema_of(plan.Plan, plan.SCHEMA)


def progress_schema() -> dict[str, Any]:
    """Build the JSON Schema of a progress, as `plan_schema` does that of a plan."""
    return _schema_of(progress.Progress, progress.SCHEMA)


def plan_schema_text() -> str:
    """Write the schema as it is published in docs/schema/plan.schema.json."""
    return json.dumps(plan_schema(), indent=2) + "\n"


def progress_schema_text() -> str:
    """Write the schema as it is published in docs/schema/progress.schema.json."""
    return json.dumps(progress_schema(), indent=2) + "\n"


def adapter_of(record: type[_Record]) -> TypeAdapter[_Record]:
    """Give what checks and reads a plan or a progress."""
    from pydantic import TypeAdapter

    # The two records name each other, and so import each other for the type checker alone.
    names = {"date": date, "datetime": datetime, **vars(plan), **vars(progress)}
    adapter = TypeAdapter(record)
    adapter.rebuild(_types_namespace=names)
    return adapter


def _schema_of(record: type[Any], version: str) -> dict[str, Any]:
    built = adapter_of(record).json_schema(mode="serialization")
    bodies = {record.__name__: built, **built["$defs"]}
    for body in bodies.values():
        body["additionalProperties"] = False
    for name, its_version in _VERSIONS.items():
        if name in bodies:
            bodies[name]["properties"]["schema"] = {"const": its_version, "type": "string"}
    return {"$schema": _DIALECT, "$id": f"urn:lastbee:{version.replace('/', ':')}", **built}


def _json_text(record: Plan | Progress, place: str) -> str:
    text = json.dumps(_plain(record, place), indent=2, allow_nan=False)
    return _NUMBER_LIST.sub(_on_one_line, text)


def _on_one_line(found: re.Match[str]) -> str:
    return f"[{' '.join(found.group(1).split())}]"


def _plain(value: Any, place: str) -> Any:
    """Turn records into what JSON knows, naming the place of a number that it does not."""
    if is_dataclass(value) and not isinstance(value, type):
        return {
            part.name: _plain(getattr(value, part.name), f"{place}.{part.name}")
            for part in fields(value)
        }
    if isinstance(value, tuple):
        return [_plain(item, f"{place}[{number}]") for number, item in enumerate(value)]
    if isinstance(value, date):
        return value.isoformat()
    if value is None or isinstance(value, (str, bool)):
        return value
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real):
        return _finite(float(value), place)
    msg = f"{place} is a {type(value).__name__}, which a document cannot hold"
    raise TypeError(msg)


def _finite(value: float, place: str) -> float:
    if not math.isfinite(value):
        msg = f"{place} is {value}; a document holds finite numbers only"
        raise ValueError(msg)
    return float(f"{value:.{_SIGNIFICANT_DIGITS}g}") + 0.0  # + 0.0 turns -0.0 into 0.0

"""The plan as JSON for other programs, and the schema that it keeps to."""

from __future__ import annotations

import json
import math
import re
from dataclasses import fields, is_dataclass
from datetime import date
from numbers import Integral, Real
from typing import TYPE_CHECKING, Any

from lastbee.jobs.plan import SCHEMA

if TYPE_CHECKING:
    from lastbee.jobs.plan import Plan

_DIALECT = "https://json-schema.org/draft/2020-12/schema"

# More digits would differ from one processor to the next, and mean nothing.
_SIGNIFICANT_DIGITS = 6

# A list of plain numbers, one a line as the encoder breaks it. A raw line break never
# stands inside a JSON string, so that no text of the plan can match.
_NUMBER_LIST = re.compile(r"\[\n([\s\d.,eE+-]+)\]")


def plan_to_json(plan: Plan) -> str:
    """Write a plan as JSON text that keeps to `plan_schema`.

    Keys stand in the order of the record, dates as ISO 8601 days, numbers with six
    significant digits. The text is plain ASCII, so that every pipe carries it.

    Parameters
    ----------
    plan
        The whole answer for one job.

    Returns
    -------
    Indented JSON, one object, without a line break at its end.

    Raises
    ------
    ValueError
        If a number is not finite; the sentence names its place in the plan.
    """
    text = json.dumps(_plain(plan, "plan"), indent=2, allow_nan=False)
    return _NUMBER_LIST.sub(_on_one_line, text)


def plan_schema() -> dict[str, Any]:
    """Build the JSON Schema (draft 2020-12) of a plan from its records.

    The schema is closed: a key that is not listed belongs to another version.
    """
    from pydantic import TypeAdapter

    from lastbee.jobs.plan import Plan

    built = TypeAdapter(Plan).json_schema(mode="serialization")
    built["properties"]["schema"] = {"const": SCHEMA, "type": "string"}
    for record in (built, *built["$defs"].values()):
        record["additionalProperties"] = False
    return {"$schema": _DIALECT, "$id": f"urn:lastbee:{SCHEMA.replace('/', ':')}", **built}


def plan_schema_text() -> str:
    """Write the schema as it is published in docs/schema/plan.schema.json."""
    return json.dumps(plan_schema(), indent=2) + "\n"


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
    msg = f"{place} is a {type(value).__name__}, which a plan cannot hold"
    raise TypeError(msg)


def _finite(value: float, place: str) -> float:
    if not math.isfinite(value):
        msg = f"{place} is {value}; a plan holds finite numbers only"
        raise ValueError(msg)
    return float(f"{value:.{_SIGNIFICANT_DIGITS}g}") + 0.0  # + 0.0 turns -0.0 into 0.0

"""What the tables of a job file are made of: keys that may be absent, and no others.

Keys that an inspection and a visit share are read by the kinds here, so that one vocabulary
serves both.

pydantic is used in the tables, at the edge, and nowhere else; `lastbee.jobs.jobfile` imports
them only when a file is read.
"""

from __future__ import annotations

from datetime import date, time
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from lastbee.jobs.jobfile_fields import choice, clock, day, day_or_moment, flag, measure, text

# What a bare number most likely means where lengths are short.
SMALL = ("in", "cm")

Flag = Annotated[bool | None, flag()]
Day = Annotated[date | None, day()]
DayOrMoment = Annotated[date | None, day_or_moment()]
Clock = Annotated[time | None, clock()]
Temperature = Annotated[float | None, measure("temperature", "-30 C", "55 C")]
Sky = Annotated[str | None, choice("sun", "cloud", "rain")]
Wind = Annotated[str | None, choice("calm", "breeze", "strong")]
Hand = Annotated[str | None, choice("warm", "none")]
HumSpan = Annotated[float | None, measure("length", "5 cm", "15 m", usual=SMALL)]
Notes = Annotated[str | None, text(4000, "the notes", many_lines=True)]

WALL_AREA = measure("area", "0.1 dm2", "500 dm2", per_si=100.0)
"""Reads an area of wall or comb in dm2."""


class Table(BaseModel):
    """A table of the file: no key that is not named, nothing changed once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


def key(description: str, *examples: object, alias: str | None = None) -> Any:
    """Describe one key; every key may be absent."""
    return Field(default=None, description=description, examples=list(examples), alias=alias)


def table(kind: type[Table]) -> Any:
    """Describe a table within a table; an absent one is as good as an empty one."""
    return Field(default_factory=kind)

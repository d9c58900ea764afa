"""The tables of a visit, and their keys: what is read of one call at a running trap-out.

A visit is written under `[[visit]]`; weather, warmth and sound carry the keys and the words
that they have under `[inspection]`. What the keys owe each other is judged in
`lastbee.jobs.jobfile_visits`, and stated here for the schema as far as a schema can say it.
"""

from __future__ import annotations

from typing import Annotated, Any, get_args

from pydantic import ConfigDict

from lastbee.jobs import visit
from lastbee.jobs.jobfile_fields import (
    choice,
    done_or,
    measure,
    none_or,
    number,
    whole,
)
from lastbee.jobs.jobfile_table import (
    WALL_AREA,
    Clock,
    DayOrMoment,
    Flag,
    Hand,
    HumSpan,
    Notes,
    Sky,
    Table,
    Temperature,
    Wind,
    key,
    table,
)

_Area = Annotated[float | None, none_or(WALL_AREA)]
_Minutes = Annotated[float | None, number(0.5, 120.0, "how long was counted in minutes")]


def _bees(what: str) -> Any:
    return whole(0, 20_000, what)


def _both(*conditions: dict[str, Any]) -> dict[str, Any]:
    """Forbid two things at once, each given as the schema of one key."""
    keys = [name for condition in conditions for name in condition]
    properties = {name: schema for each in conditions for name, schema in each.items()}
    return {"not": {"properties": properties, "required": keys}}


_NO, _YES = {"enum": [False, "no"]}, {"enum": [True, "yes"]}
_SOME_BEES = {"minimum": 1}


class CountTable(Table):
    """Bees counted at the cone."""

    minutes: _Minutes = key("How long was counted, in minutes.", 5)
    bees_out: Annotated[int | None, _bees("the bees that came out of the cone")] = key(
        "Bees that came out of the cone's tip in that time.", 18, alias="out"
    )
    back_in: Annotated[int | None, _bees("the bees that walked back in")] = key(
        "Bees that walked back in by the cone in that time.", 0
    )

    model_config = ConfigDict(
        json_schema_extra={
            "dependentRequired": {"out": ["minutes"], "back_in": ["minutes"]},
            "dependentSchemas": {
                "minutes": {"anyOf": [{"required": ["out"]}, {"required": ["back_in"]}]}
            },
        }
    )


class ElsewhereTable(Table):
    """Bees going in anywhere but the box, within reach of the exit."""

    seen: Flag = key("Whether any were seen going in.", True)
    minutes: _Minutes = key("How long was counted, in minutes.", 5)
    bees_in: Annotated[int | None, _bees("the bees that went in")] = key(
        "Bees that went in in that time.", 9, alias="in"
    )
    pollen: Flag = key("Whether they carried pollen.", True)

    model_config = ConfigDict(
        json_schema_extra={
            "dependentRequired": {"in": ["minutes"], "minutes": ["in"]},
            "dependentSchemas": {
                "pollen": {"anyOf": [{"required": ["seen"]}, {"required": ["in"]}]}
            },
            "allOf": [
                _both({"seen": _NO}, {"in": _SOME_BEES}),
                _both({"seen": _YES}, {"in": {"const": 0}}),
                _both({"pollen": _YES}, {"seen": _NO}),
                _both({"pollen": _YES}, {"in": {"const": 0}}),
            ],
        }
    )


class BoxTable(Table):
    """What the box shows."""

    frames_of_bees: Annotated[
        float | None, number(0.0, 40.0, "the deep frames covered with bees on both faces")
    ] = key("Deep frames covered with bees on both faces.", 3.5)
    gain: Annotated[float | None, measure("mass", "-30 kg", "100 kg", is_signed=True)] = key(
        "Weight of the box less that on the day it was set, hive parts added since taken off.",
        "1.2 kg",
        "-0.5 kg",
    )
    eggs: Flag = key("Eggs were seen.", True)
    queen: Flag = key("A queen was seen.", False)
    robbing: Flag = key(
        "Fighting, wax chips, strange bees or wasps at the entrance of the box.", False
    )
    hanging_out: Flag = key("Bees of the box hang outside it in the heat.", False)


class WallTable(Table):
    """What the wall tells: sound, warmth, a look inside."""

    hum: Flag = key("A hum was heard, with the ear or a stethoscope on the wall.", True)
    hum_span: HumSpan = key("Longest stretch of wall over which the hum is heard.", "60 cm")
    hand: Hand = key("What the flat hand feels on the wall.", "none")
    thermal_area: _Area = key("Area of the warm patch on a thermal picture.", "20 x 20 cm", "none")
    bees_inside: Flag = key(
        "Live bees were seen inside, through a small hole or with an inspection camera.", False
    )

    model_config = ConfigDict(
        json_schema_extra={"allOf": [_both({"hum": _NO}, {"hum_span": {}})]},
    )


class DidTable(Table):
    """What was done, after everything was looked at."""

    cone: Annotated[str | None, choice("cleared", "refitted")] = key(
        "The cone was cleared of bees and dirt; or refitted, which is anything more: moved, "
        "replaced, lengthened, narrowed.",
        "cleared",
    )
    closed_gap: Flag = key("A gap was closed.", True)
    brushed_in: Flag = key("The cluster on the wall was brushed into the box.", True)
    gave_brood: Annotated[
        bool | float | None, done_or(number(0.25, 10.0, "the frames of open brood"))
    ] = key("Frames of open brood put into the box, or true.", 1, True)
    gave_queen: Flag = key("A queen was put into the box.", True)
    added_box: Annotated[
        bool | float | None, done_or(number(0.0, 20.0, "the frames of bees in the added box"))
    ] = key("A box was added: the frames of bees in it, 0 for an empty one, or true.", 3, True)
    moved_box_closer: Flag = key("The box was moved closer to the exit.", True)
    shaded_box: Flag = key("The box was shaded.", True)
    reduced_entrance: Flag = key("The entrance of the box was made smaller.", True)
    fed: Annotated[bool | float | None, done_or(measure("volume", "0.1 l", "40 l"))] = key(
        "Syrup fed to the box, or true.", "1 l", True
    )


_TIMED: dict[str, Any] = {
    "anyOf": [{"required": ["time"]}, {"properties": {"date": {"pattern": "[T ]"}}}]
}


def _counted(within: str, name: str) -> dict[str, Any]:
    """Ask for a time of day where bees were counted."""
    counted = {"properties": {within: {"required": [name]}}, "required": [within]}
    return {"if": counted, "then": _TIMED}


class VisitTable(Table):
    """One visit to the running trap-out; what was seen comes before what was done."""

    visited_on: DayOrMoment = key("Day of the visit.", "2026-07-08", alias="date")
    visited_at: Clock = key(
        "Local time of the visit, 24 hours; noon if absent. Needed with a count.",
        "14:00",
        alias="time",
    )
    temperature: Temperature = key("Air temperature in the shade.", "77 F")
    sky: Sky = key("The sky.", "sun")
    wind: Wind = key("The wind.", "calm")
    cone: Annotated[visit.ConeState | None, choice(*get_args(visit.ConeState))] = key(
        "How free the way out through the cone is.", "clear"
    )
    cluster: _Area = key("Size of the cluster of bees hanging on the wall.", "20 x 15 cm", "none")
    dead_bees: Annotated[visit.DeadBees | None, choice(*get_args(visit.DeadBees))] = key(
        "Dead bees in the cone and below it.", "some"
    )
    notes: Notes = key("Anything else, in your own words.", "Bees go in at the sill.")
    count: CountTable = table(CountTable)
    elsewhere: ElsewhereTable = table(ElsewhereTable)
    box: BoxTable = table(BoxTable)
    wall: WallTable = table(WallTable)
    did: DidTable = table(DidTable)

    model_config = ConfigDict(
        json_schema_extra={"allOf": [_counted("count", "minutes"), _counted("elsewhere", "in")]}
    )

"""The tables of a job file and their keys, in the words of the trade.

One class for each table. A field's annotation holds the `Kind` that reads it, its description
is what the schema and the documentation say of it. Every key may be absent here: which ones a
job cannot do without, and which ones must agree with each other, is judged in
`lastbee.jobs.jobfile_rules`, so that one run names every fault of a file.

pydantic is used here, at the edge, and nowhere else; `lastbee.jobs.jobfile` imports this
module only when a file is read.
"""

from __future__ import annotations

from datetime import date, time
from typing import Annotated, Any, get_args

from pydantic import BaseModel, ConfigDict, Field

from lastbee.jobs import job
from lastbee.jobs.jobfile_fields import (
    choice,
    clock,
    day,
    day_or_moment,
    flag,
    measure,
    number,
    text,
    twelve,
    whole,
    yes_no,
    zone,
)

# What a bare number most likely means where lengths are short.
_SMALL = ("in", "cm")

_YesNo = Annotated[job.YesNo | None, yes_no()]
_Flag = Annotated[bool | None, flag()]
_Day = Annotated[date | None, day()]
_Weight = Annotated[float | None, number(0.0, 1000.0, "a weight in visits' worth of trouble")]
_Monthly = Annotated[tuple[float | str, ...] | None, twelve("temperatures", with_unit=True)]
_Shares = Annotated[tuple[float, ...] | None, twelve("numbers", with_unit=False)]


def _key(description: str, *examples: object, alias: str | None = None) -> Any:
    """Describe one key; every key may be absent."""
    return Field(default=None, description=description, examples=list(examples), alias=alias)


def _table(kind: type[BaseModel]) -> Any:
    return Field(default_factory=kind)


class _Table(BaseModel):
    """A table of the file: no key that is not named, nothing changed once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


class ClimateTable(_Table):
    """Monthly normals of the nearest weather station, January first."""

    unit: Annotated[str | None, choice("C", "F")] = _key(
        "Unit of high and low where they are plain numbers.", "F"
    )
    high: _Monthly = _key(
        "Mean daily maximum of each month.", [30, 33, 42, 55, 67, 76, 81, 79, 71, 59, 46, 35]
    )
    low: _Monthly = _key(
        "Mean daily minimum of each month.", [12, 14, 23, 34, 44, 54, 59, 57, 50, 38, 29, 19]
    )
    wet_days: _Shares = _key(
        "Days of each month lost to rain or strong wind.",
        [12, 11, 12, 12, 13, 12, 11, 10, 10, 10, 12, 12],
    )
    wet_share: _Shares = _key(
        "The same as a share of all days, 0 to 1; write this or wet_days.",
        [0.4, 0.4, 0.4, 0.4, 0.4, 0.4, 0.35, 0.3, 0.3, 0.3, 0.4, 0.4],
    )


class SiteTable(_Table):
    """Where the colony is."""

    place: Annotated[str | None, text(120, "the place", is_needed=True)] = _key(
        "Where the building stands, as the report should name it.", "Meadowgate, Ostrel Vale"
    )
    latitude: Annotated[
        float | None, number(-66.0, 66.0, "degrees north, south below zero, such as 43.1")
    ] = _key("Degrees north of the equator, south below zero.", 43.1)
    longitude: Annotated[
        float | None, number(-180.0, 180.0, "degrees east, west below zero, such as -72.4")
    ] = _key("Degrees east of Greenwich, west below zero.", -72.4)
    time_zone: Annotated[str | None, zone()] = _key(
        "IANA name of the time zone that the times in this file are in; without it the whole "
        "hours that the longitude gives, without summer time.",
        "Etc/GMT+4",
    )
    exposing_comb: Annotated[str | None, choice("allowed", "barred", "unknown")] = _key(
        "Whether local rules let other bees get at comb and honey (needed to rob out).", "allowed"
    )
    climate: ClimateTable = _table(ClimateTable)


class BuildingTable(_Table):
    """What the colony sits in and what may be done to it."""

    cavity: Annotated[job.CavityKind | None, choice(*get_args(job.CavityKind))] = _key(
        "What kind of hollow the nest is in.", "stud bay"
    )
    width: Annotated[float | None, measure("length", "2 cm", "15 m", usual=_SMALL)] = _key(
        "Clear width of the cavity, along the wall.", "14 1/2 in"
    )
    depth: Annotated[float | None, measure("length", "2 cm", "2 m", usual=_SMALL)] = _key(
        "Clear depth of the cavity, into the wall.", "3 1/2 in"
    )
    length: Annotated[float | None, measure("length", "10 cm", "15 m")] = _key(
        "Clear length of the cavity, along the studs, joists or rafters.", "2.4 m"
    )
    covering: Annotated[job.Covering | None, choice(*get_args(job.Covering))] = _key(
        "What closes the cavity outside.", "wood"
    )
    inside_finish: Annotated[job.InsideFinish | None, choice(*get_args(job.InsideFinish))] = _key(
        "What closes the cavity inside.", "plasterboard"
    )
    entrance_height: Annotated[float | None, measure("length", "0 m", "60 m")] = _key(
        "Height of the exit above the ground that a ladder would stand on.", "14 ft"
    )
    year_built: Annotated[int | None, whole(1500, 2100, "the year built")] = _key(
        "Year the building was put up; old paint and asbestos hang on it.", 1974
    )
    may_open_outside: _YesNo = _key("Whether the outside may be opened.", "no")
    may_open_inside: _YesNo = _key("Whether the inside may be opened.", "yes")
    other_gaps_closable: _YesNo = _key(
        "Whether every gap but one can be found and closed bee-tight.", "yes"
    )
    power_line_near: _YesNo = _key("Whether a power line is near the work.", "no")


class PeopleTable(_Table):
    """Who is at risk and when the bees must be gone."""

    allergic_person: _YesNo = _key("Whether anyone who lives or works there is allergic.", "no")
    public_path_near: _YesNo = _key("Whether the public passes close by.", "no")
    gone_by: _Day = _key("Day by which the bees must be gone.", "2026-09-01")


class TrafficTable(_Table):
    """Bees counted at the exit."""

    minutes: Annotated[float | None, number(0.5, 120.0, "the minutes counted")] = _key(
        "How long was counted.", 5
    )
    bees_out: Annotated[int | None, whole(0, 20_000, "the bees that flew out")] = _key(
        "Bees that flew out in that time.", 138, alias="out"
    )
    bees_in: Annotated[int | None, whole(0, 20_000, "the bees that came in")] = _key(
        "Bees that came in in that time.", 131, alias="in"
    )


class CombTable(_Table):
    """Comb that was in view."""

    extent: Annotated[str | None, choice("whole", "part")] = _key(
        'Whether the whole nest was in view or a part of it ("part" if absent).', "part"
    )
    combs: Annotated[int | None, whole(1, 60, "the combs seen")] = _key("Combs seen.", 3)
    area: Annotated[float | None, measure("area", "0.1 dm2", "500 dm2", per_si=100.0)] = _key(
        "Area of all comb seen, one face of each comb counted.", "12 dm2"
    )
    length: Annotated[float | None, measure("length", "1 cm", "5 m", usual=_SMALL)] = _key(
        "Length of a comb, in place of area: area = combs x length x width.", "12 in"
    )
    width: Annotated[float | None, measure("length", "1 cm", "2 m", usual=_SMALL)] = _key(
        "Width of a comb, in place of area.", "6 in"
    )
    colour: Annotated[job.CombColour | None, choice(*get_args(job.CombColour))] = _key(
        "Colour of the darkest comb seen.", "yellow"
    )


class WarmthTable(_Table):
    """Warmth of the wall over the nest."""

    thermal_area: Annotated[float | None, measure("area", "0.1 dm2", "500 dm2", per_si=100.0)] = (
        _key("Area of the warm patch on a thermal picture.", "30 x 40 cm")
    )
    hand: Annotated[str | None, choice("warm", "none")] = _key(
        "What the flat hand feels on the wall.", "warm"
    )


class SoundTable(_Table):
    """Sound of the wall."""

    hum_span: Annotated[float | None, measure("length", "5 cm", "15 m", usual=_SMALL)] = _key(
        "Longest stretch of wall over which the hum is heard.", "60 cm"
    )


class SeenTable(_Table):
    """Yes or no sightings; leave out what nobody looked for."""

    pollen: _Flag = _key("Bees carry pollen in.", True)
    drones: _Flag = _key("Drones fly.", False)
    orientation_flights: _Flag = _key("Young bees hover facing the exit in numbers.", True)
    capped_brood: _Flag = _key("Capped brood was seen.", True)
    capped_honey: _Flag = _key("Capped honey was seen.", False)


class InspectionTable(_Table):
    """What was seen, heard and felt at the wall, and what the client told."""

    inspected_on: Annotated[date | None, day_or_moment()] = _key(
        "Day of the inspection.", "2026-06-29", alias="date"
    )
    inspected_at: Annotated[time | None, clock()] = _key(
        "Local time of the inspection, 24 hours; noon if absent. Needed with a traffic count.",
        "14:30",
        alias="time",
    )
    temperature: Annotated[float | None, measure("temperature", "-30 C", "55 C")] = _key(
        "Air temperature in the shade.", "75 F"
    )
    sky: Annotated[str | None, choice("sun", "cloud", "rain")] = _key("The sky.", "sun")
    wind: Annotated[str | None, choice("calm", "breeze", "strong")] = _key("The wind.", "calm")
    first_seen: _Day = _key("Day the client first saw bees there.", "2026-06-02")
    swarm_seen: _Day = _key("Day a swarm was seen moving in.", "2026-06-01")
    sprayed: _Day = _key("Day someone last sprayed the nest.", "2026-06-10")
    hanging_cluster_only: _Flag = _key("Only a hanging cluster in the open, no comb.", False)
    notes: Annotated[str | None, text(4000, "the notes", many_lines=True)] = _key(
        "Anything else, in your own words.", "Second gap under the sill."
    )
    traffic: TrafficTable = _table(TrafficTable)
    comb: CombTable = _table(CombTable)
    warmth: WarmthTable = _table(WarmthTable)
    sound: SoundTable = _table(SoundTable)
    seen: SeenTable = _table(SeenTable)


class SetupTable(_Table):
    """What is intended."""

    cone_on: _Day = _key("Day the cone goes on.", "2026-07-01")
    box: Annotated[job.BoxContents | None, choice(*get_args(job.BoxContents))] = _key(
        "What the box beside the exit holds.", "queenright nucleus"
    )
    rob_out: _Flag = _key("Whether the honey is to be robbed out at the end.", True)


class PreferencesTable(_Table):
    """How the firm weighs outcomes, and the units it reads."""

    units: Annotated[str | None, choice("metric", "us")] = _key(
        "Units that the plan is written in.", "us"
    )
    confidence: Annotated[
        float | None, number(0.5, 0.999, "the confidence as a share such as 0.95")
    ] = _key("Confidence of the safe dates.", 0.95)
    honey_limit: Annotated[float | None, measure("mass", "0 kg", "100 kg")] = _key(
        "Honey that may stay behind without opening the wall.", "5 kg"
    )
    bees_lost_weight: _Weight = _key("Trouble of losing all bees, in visits' worth of trouble.", 20)
    honey_left_weight_per_kg: _Weight = _key(
        "Trouble of each kilogram of honey left, in visits' worth.", 1
    )
    week_weight: _Weight = _key("Trouble of each week that the job takes, in visits' worth.", 0.5)
    opening_weight: _Weight = _key("Trouble of opening and mending the wall, in visits' worth.", 12)


class JobFile(_Table):
    """One trap-out job: the place, the building, the inspection and what is intended."""

    title: Annotated[str | None, text(120, "the title", is_needed=True)] = _key(
        "Name of the job, on every page of the report.", "Bees behind the north wall"
    )
    client: Annotated[str | None, text(120, "the client's name")] = _key(
        "Whom the report is for.", "R. Ashgrove"
    )
    prepared_by: Annotated[str | None, text(120, "your name")] = _key(
        "Who inspected and who answers for the report.", "T. Wick"
    )
    site: SiteTable = _table(SiteTable)
    building: BuildingTable = _table(BuildingTable)
    people: PeopleTable = _table(PeopleTable)
    inspection: InspectionTable = _table(InspectionTable)
    setup: SetupTable = _table(SetupTable)
    preferences: PreferencesTable = _table(PreferencesTable)


REQUIRED: dict[type[BaseModel], tuple[str, ...]] = {
    JobFile: ("title", "site", "inspection"),
    SiteTable: ("place", "latitude", "longitude"),
    InspectionTable: ("date",),
}
"""The keys that a job cannot do without."""


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema of a job file, with dates and times as their ISO text."""
    schema = JobFile.model_json_schema(by_alias=True)
    tables: dict[str, Any] = schema.pop("$defs")
    for kind, keys in REQUIRED.items():
        table = schema if kind is JobFile else tables[kind.__name__]
        table["required"] = list(keys)
    for table in (schema, *tables.values()):
        table.pop("title", None)
        for key in table["properties"].values():
            key.pop("title", None)
            if key.get("default", 0) is None:
                del key["default"]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "lastbee job file",
        **schema,
        "$defs": tables,
    }

"""The tables of a job file and their keys, in the words of the trade.

One class for each table. A field's annotation holds the `Kind` that reads it, its description
is what the schema and the documentation say of it. Every key may be absent here: which ones a
job cannot do without, and which ones must agree with each other, is judged in
`lastbee.jobs.jobfile_rules`, so that one run names every fault of a file.

Visits have a module of their own, `lastbee.jobs.jobfile_visit_tables`.
"""

from __future__ import annotations

from typing import Annotated, Any, get_args

from pydantic import BaseModel, ConfigDict, Field

from lastbee.jobs import job
from lastbee.jobs.jobfile_fields import (
    choice,
    measure,
    number,
    text,
    twelve,
    whole,
    yes_no,
    zone,
)
from lastbee.jobs.jobfile_table import (
    SMALL,
    WALL_AREA,
    Clock,
    Day,
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
from lastbee.jobs.jobfile_visit_tables import VisitTable

MOST_VISITS = 120
"""Most visits of one job: more than one for each day that a forecast reaches."""

_YesNo = Annotated[job.YesNo | None, yes_no()]
_Weight = Annotated[float | None, number(0.0, 1000.0, "a weight in visits' worth of trouble")]
_Monthly = Annotated[tuple[float | str, ...] | None, twelve("temperatures", with_unit=True)]
_Shares = Annotated[tuple[float, ...] | None, twelve("numbers", with_unit=False)]


class ClimateTable(Table):
    """Monthly normals of the nearest weather station, January first."""

    unit: Annotated[str | None, choice("C", "F")] = key(
        "Unit of high and low where they are plain numbers.", "F"
    )
    high: _Monthly = key(
        "Mean daily maximum of each month.", [30, 33, 42, 55, 67, 76, 81, 79, 71, 59, 46, 35]
    )
    low: _Monthly = key(
        "Mean daily minimum of each month.", [12, 14, 23, 34, 44, 54, 59, 57, 50, 38, 29, 19]
    )
    wet_days: _Shares = key(
        "Days of each month lost to rain or strong wind.",
        [12, 11, 12, 12, 13, 12, 11, 10, 10, 10, 12, 12],
    )
    wet_share: _Shares = key(
        "The same as a share of all days, 0 to 1; write this or wet_days.",
        [0.4, 0.4, 0.4, 0.4, 0.4, 0.4, 0.35, 0.3, 0.3, 0.3, 0.4, 0.4],
    )


class SiteTable(Table):
    """Where the colony is."""

    place: Annotated[str | None, text(120, "the place", is_needed=True)] = key(
        "Where the building stands, as the report should name it.", "Meadowgate, Ostrel Vale"
    )
    latitude: Annotated[
        float | None, number(-66.0, 66.0, "degrees north, south below zero, such as 43.1")
    ] = key("Degrees north of the equator, south below zero.", 43.1)
    longitude: Annotated[
        float | None, number(-180.0, 180.0, "degrees east, west below zero, such as -72.4")
    ] = key("Degrees east of Greenwich, west below zero.", -72.4)
    time_zone: Annotated[str | None, zone()] = key(
        "IANA name of the time zone that the times in this file are in; without it the whole "
        "hours that the longitude gives, without summer time.",
        "Etc/GMT+4",
    )
    exposing_comb: Annotated[str | None, choice("allowed", "barred", "unknown")] = key(
        "Whether local rules let other bees get at comb and honey (needed to rob out).", "allowed"
    )
    climate: ClimateTable = table(ClimateTable)


class BuildingTable(Table):
    """What the colony sits in and what may be done to it."""

    cavity: Annotated[job.CavityKind | None, choice(*get_args(job.CavityKind))] = key(
        "What kind of hollow the nest is in.", "stud bay"
    )
    width: Annotated[float | None, measure("length", "2 cm", "15 m", usual=SMALL)] = key(
        "Clear width of the cavity, along the wall.", "14 1/2 in"
    )
    depth: Annotated[float | None, measure("length", "2 cm", "2 m", usual=SMALL)] = key(
        "Clear depth of the cavity, into the wall.", "3 1/2 in"
    )
    length: Annotated[float | None, measure("length", "10 cm", "15 m")] = key(
        "Clear length of the cavity, along the studs, joists or rafters.", "2.4 m"
    )
    covering: Annotated[job.Covering | None, choice(*get_args(job.Covering))] = key(
        "What closes the cavity outside.", "wood"
    )
    inside_finish: Annotated[job.InsideFinish | None, choice(*get_args(job.InsideFinish))] = key(
        "What closes the cavity inside.", "plasterboard"
    )
    entrance_height: Annotated[float | None, measure("length", "0 m", "60 m")] = key(
        "Height of the exit above the ground that a ladder would stand on.", "14 ft"
    )
    year_built: Annotated[int | None, whole(1500, 2100, "the year built")] = key(
        "Year the building was put up; old paint and asbestos hang on it.", 1974
    )
    may_open_outside: _YesNo = key("Whether the outside may be opened.", "no")
    may_open_inside: _YesNo = key("Whether the inside may be opened.", "yes")
    other_gaps_closable: _YesNo = key(
        "Whether every gap but one can be found and closed bee-tight.", "yes"
    )
    power_line_near: _YesNo = key("Whether a power line is near the work.", "no")


class PeopleTable(Table):
    """Who is at risk and when the bees must be gone."""

    allergic_person: _YesNo = key("Whether anyone who lives or works there is allergic.", "no")
    public_path_near: _YesNo = key("Whether the public passes close by.", "no")
    gone_by: Day = key("Day by which the bees must be gone.", "2026-09-01")


class TrafficTable(Table):
    """Bees counted at the exit."""

    minutes: Annotated[float | None, number(0.5, 120.0, "the minutes counted")] = key(
        "How long was counted.", 5
    )
    bees_out: Annotated[int | None, whole(0, 20_000, "the bees that flew out")] = key(
        "Bees that flew out in that time.", 138, alias="out"
    )
    bees_in: Annotated[int | None, whole(0, 20_000, "the bees that came in")] = key(
        "Bees that came in in that time.", 131, alias="in"
    )


class CombTable(Table):
    """Comb that was in view."""

    extent: Annotated[str | None, choice("whole", "part")] = key(
        'Whether the whole nest was in view or a part of it ("part" if absent).', "part"
    )
    combs: Annotated[int | None, whole(1, 60, "the combs seen")] = key("Combs seen.", 3)
    area: Annotated[float | None, WALL_AREA] = key(
        "Area of all comb seen, one face of each comb counted.", "12 dm2"
    )
    length: Annotated[float | None, measure("length", "1 cm", "5 m", usual=SMALL)] = key(
        "Length of a comb, in place of area: area = combs x length x width.", "12 in"
    )
    width: Annotated[float | None, measure("length", "1 cm", "2 m", usual=SMALL)] = key(
        "Width of a comb, in place of area.", "6 in"
    )
    colour: Annotated[job.CombColour | None, choice(*get_args(job.CombColour))] = key(
        "Colour of the darkest comb seen.", "yellow"
    )


class WarmthTable(Table):
    """Warmth of the wall over the nest."""

    thermal_area: Annotated[float | None, WALL_AREA] = key(
        "Area of the warm patch on a thermal picture.", "30 x 40 cm"
    )
    hand: Hand = key("What the flat hand feels on the wall.", "warm")


class SoundTable(Table):
    """Sound of the wall."""

    hum_span: HumSpan = key("Longest stretch of wall over which the hum is heard.", "60 cm")


class SeenTable(Table):
    """Yes or no sightings; leave out what nobody looked for."""

    pollen: Flag = key("Bees carry pollen in.", True)
    drones: Flag = key("Drones fly.", False)
    orientation_flights: Flag = key("Young bees hover facing the exit in numbers.", True)
    capped_brood: Flag = key("Capped brood was seen.", True)
    capped_honey: Flag = key("Capped honey was seen.", False)


class InspectionTable(Table):
    """What was seen, heard and felt at the wall, and what the client told."""

    inspected_on: DayOrMoment = key("Day of the inspection.", "2026-06-29", alias="date")
    inspected_at: Clock = key(
        "Local time of the inspection, 24 hours; noon if absent. Needed with a traffic count.",
        "14:30",
        alias="time",
    )
    temperature: Temperature = key("Air temperature in the shade.", "75 F")
    sky: Sky = key("The sky.", "sun")
    wind: Wind = key("The wind.", "calm")
    first_seen: Day = key("Day the client first saw bees there.", "2026-06-02")
    swarm_seen: Day = key("Day a swarm was seen moving in.", "2026-06-01")
    sprayed: Day = key("Day someone last sprayed the nest.", "2026-06-10")
    hanging_cluster_only: Flag = key("Only a hanging cluster in the open, no comb.", False)
    notes: Notes = key("Anything else, in your own words.", "Second gap under the sill.")
    traffic: TrafficTable = table(TrafficTable)
    comb: CombTable = table(CombTable)
    warmth: WarmthTable = table(WarmthTable)
    sound: SoundTable = table(SoundTable)
    seen: SeenTable = table(SeenTable)


class SetupTable(Table):
    """What is intended."""

    cone_on: Day = key(
        "Day the cone goes on; once there are visits, the day it really went on.", "2026-07-01"
    )
    box: Annotated[job.BoxContents | None, choice(*get_args(job.BoxContents))] = key(
        "What the box beside the exit holds.", "queenright nucleus"
    )
    rob_out: Flag = key("Whether the honey is to be robbed out at the end.", True)


class PreferencesTable(Table):
    """How the firm weighs outcomes, and the units it reads."""

    units: Annotated[str | None, choice("metric", "us")] = key(
        "Units that the plan is written in.", "us"
    )
    confidence: Annotated[
        float | None, number(0.5, 0.999, "the confidence as a share such as 0.95")
    ] = key("Confidence of the safe dates.", 0.95)
    honey_limit: Annotated[float | None, measure("mass", "0 kg", "100 kg")] = key(
        "Honey that may stay behind without opening the wall.", "5 kg"
    )
    bees_lost_weight: _Weight = key("Trouble of losing all bees, in visits' worth of trouble.", 20)
    honey_left_weight_per_kg: _Weight = key(
        "Trouble of each kilogram of honey left, in visits' worth.", 1
    )
    week_weight: _Weight = key("Trouble of each week that the job takes, in visits' worth.", 0.5)
    opening_weight: _Weight = key("Trouble of opening and mending the wall, in visits' worth.", 12)


class JobFile(Table):
    """One trap-out job: the place, the building, the inspection and what is intended."""

    title: Annotated[str | None, text(120, "the title", is_needed=True)] = key(
        "Name of the job, on every page of the report.", "Bees behind the north wall"
    )
    client: Annotated[str | None, text(120, "the client's name")] = key(
        "Whom the report is for.", "R. Ashgrove"
    )
    prepared_by: Annotated[str | None, text(120, "your name")] = key(
        "Who inspected and who answers for the report.", "T. Wick"
    )
    site: SiteTable = table(SiteTable)
    building: BuildingTable = table(BuildingTable)
    people: PeopleTable = table(PeopleTable)
    inspection: InspectionTable = table(InspectionTable)
    setup: SetupTable = table(SetupTable)
    preferences: PreferencesTable = table(PreferencesTable)
    visit: tuple[VisitTable, ...] = Field(
        default_factory=tuple,
        max_length=MOST_VISITS,
        description="Visits to the running trap-out, in any order.",
    )

    model_config = ConfigDict(
        json_schema_extra={
            "if": {"properties": {"visit": {"minItems": 1}}, "required": ["visit"]},
            "then": {
                "properties": {"setup": {"required": ["cone_on"]}},
                "required": ["setup"],
            },
        }
    )


REQUIRED: dict[type[BaseModel], tuple[str, ...]] = {
    JobFile: ("title", "site", "inspection"),
    SiteTable: ("place", "latitude", "longitude"),
    InspectionTable: ("date",),
    VisitTable: ("date",),
}
"""The keys that a job cannot do without."""


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema of a job file, with dates and times as their ISO text."""
    schema = JobFile.model_json_schema(by_alias=True)
    definitions: dict[str, Any] = schema.pop("$defs")
    for kind, keys in REQUIRED.items():
        definition = schema if kind is JobFile else definitions[kind.__name__]
        definition["required"] = list(keys)
    for definition in (schema, *definitions.values()):
        definition.pop("title", None)
        for written in definition["properties"].values():
            written.pop("title", None)
            if written.get("default", 0) is None:
                del written["default"]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "lastbee job file",
        **schema,
        "$defs": definitions,
    }

"""The form of an inspection: the wall first, then the building, then what the client tells."""

from __future__ import annotations

from typing import TYPE_CHECKING, get_args

from lastbee.jobs import job
from lastbee.methods import cautions
from lastbee.web.forms.form import AREA, LENGTH, SMALL_LENGTH, Field, Form, Option, Section, options
from lastbee.web.forms.photo_fields import photos_beside
from lastbee.web.forms.weather_fields import day_and_time, weather

if TYPE_CHECKING:
    from lastbee.methods.circumstances import Circumstances
    from lastbee.web.forms.situation import Situation

_LAW = (Option("allowed", "allowed"), Option("barred", "barred"), Option("unknown", "nobody knows"))
_HAND = (Option("warm", "warm"), Option("none", "not warm"))


def inspection_form(situation: Situation) -> Form:
    """An inspection, in the tables of a job file."""
    c = situation.circumstances
    return Form(
        kind="inspection",
        title="Inspection",
        lead="Write what you see, hear, feel and are told. What you leave alone counts as not "
        "known, never as no.",
        sections=(
            _exit(c), _wall(), _comb(), _building(c), _may(), _people(), _client(), _site(),
            Section(
                "When, and the weather",
                (*day_and_time("inspection.", of="the inspection"), *weather("inspection.")),
            ),
            Section("Notes", (Field("inspection.notes", "Anything else", "long-text"),)),
            photos_beside(),
        ),
        submit="Keep this inspection",
    )  # fmt: skip


def _exit(c: Circumstances) -> Section:
    return Section(
        "At the exit",
        (
            Field(
                "inspection.traffic", "Count bees at the exit", "counter",
                hint="From the side, five minutes.",
                parts=(
                    Field("inspection.traffic.out", "Flying out", "stepper"),
                    Field("inspection.traffic.in", "Coming in", "stepper"),
                    Field("inspection.traffic.minutes", "Minutes counted", "stepper", step=0.5),
                ),
            ),
            Field("inspection.seen.pollen", "They carry pollen in", "yes-no"),
            Field("inspection.seen.drones", "Drones fly", "yes-no"),
            Field(
                "inspection.seen.orientation_flights", "Young bees learn the place", "yes-no",
                hint="Hovering in numbers, facing the exit.",
            ),
            Field(
                "inspection.hanging_cluster_only", "Only a cluster in the open, no comb", "yes-no"
            ),
        ),
        caution=cautions.joined(cautions.stings(c), cautions.height(c)),
    )  # fmt: skip


def _wall() -> Section:
    return Section(
        "On the wall",
        (
            Field("inspection.sound.hum_span", "Hum heard along", "measure", scale=SMALL_LENGTH),
            Field("inspection.warmth.hand", "To the flat hand", "choice", _HAND),
            Field(
                "inspection.warmth.thermal_area", "Warm patch on a thermal picture", "measure",
                scale=AREA, hint="Before sunrise or well after sunset.",
            ),
        ),
    )  # fmt: skip


def _comb() -> Section:
    return Section(
        "Comb in view",
        (
            Field(
                "inspection.comb.extent", "In view was", "choice",
                (Option("whole", "the whole nest"), Option("part", "a part of it")),
            ),
            Field("inspection.comb.combs", "Combs seen", "stepper", low=1.0),
            Field(
                "inspection.comb.area", "Area of all comb seen", "measure", scale=AREA,
                hint="One face of each comb; or the size of one below.",
            ),
            Field("inspection.comb.length", "Length of a comb", "measure", scale=SMALL_LENGTH),
            Field("inspection.comb.width", "Width of a comb", "measure", scale=SMALL_LENGTH),
            Field(
                "inspection.comb.colour", "Darkest comb", "choice",
                options(*get_args(job.CombColour)),
            ),
            Field("inspection.seen.capped_brood", "Capped brood", "yes-no"),
            Field("inspection.seen.capped_honey", "Capped honey", "yes-no"),
        ),
        lead="Leave this folded if no comb was in view.",
        is_folded=True,
    )  # fmt: skip


def _building(c: Circumstances) -> Section:
    return Section(
        "Building",
        (
            Field(
                "building.cavity", "The nest is in a", "choice",
                options(*get_args(job.CavityKind)), blank="not known",
            ),
            Field(
                "building.entrance_height", "Height of the exit above ground", "measure",
                scale=LENGTH, hint="Measured from the ground.",
            ),
            Field(
                "building.covering", "Outside", "choice", options(*get_args(job.Covering)),
                blank="not known",
            ),
            Field(
                "building.inside_finish", "Inside", "choice",
                options(*get_args(job.InsideFinish), open="open, no finish"), blank="not known",
            ),
            Field("building.year_built", "Year built", "number"),
            Field("building.width", "Hollow, along the wall", "measure", scale=SMALL_LENGTH),
            Field("building.depth", "Hollow, into the wall", "measure", scale=SMALL_LENGTH),
            Field("building.length", "Hollow, along the studs or joists", "measure", scale=LENGTH),
            _yes_no("building.power_line_near", "A power line is near the work"),
        ),
        caution=cautions.joined(
            "Look for lines before a ladder, pole or tape goes up.", cautions.opening(c),
        ),
    )  # fmt: skip


def _may() -> Section:
    return Section(
        "What may be done",
        (
            _yes_no("building.may_open_outside", "Outside may be opened"),
            _yes_no("building.may_open_inside", "Inside may be opened"),
            _yes_no(
                "building.other_gaps_closable", "All gaps but one can be closed",
                hint="Found, reached and made bee-tight.",
            ),
            Field(
                "site.exposing_comb", "Other bees at comb and honey, by the law here", "choice",
                _LAW, hint="Robbing out needs it. The apiary inspector knows.", blank="not asked",
            ),
        ),
        lead="Ask the owner.",
    )  # fmt: skip


def _people() -> Section:
    return Section(
        "People",
        (
            _yes_no("people.allergic_person", "Somebody there is allergic to stings"),
            _yes_no("people.public_path_near", "The public passes close by"),
            Field("people.gone_by", "The bees must be gone by", "day"),
        ),
    )


def _client() -> Section:
    return Section(
        "What the client tells",
        (
            Field("inspection.first_seen", "Bees first seen", "day"),
            Field("inspection.swarm_seen", "A swarm seen moving in", "day"),
            Field(
                "inspection.sprayed", "Somebody sprayed", "day",
                hint="The last time. Sprayed honey is fit for neither bees nor people.",
            ),
        ),
        is_folded=True,
    )  # fmt: skip


def _site() -> Section:
    return Section(
        "Where",
        (
            Field("site.place", "Place", "text", hint="As the report should name it."),
            Field(
                "site.position", "Position", "position",
                hint="Sun and season are worked out from it.",
                parts=(
                    Field("site.latitude", "Degrees north", "number", hint="South: minus"),
                    Field("site.longitude", "Degrees east", "number", hint="West: minus"),
                ),
            ),
            Field("site.time_zone", "Time zone", "text", hint="Left empty, that of the firm."),
        ),
        is_folded=True,
    )  # fmt: skip


def _yes_no(name: str, label: str, hint: str = "") -> Field:
    return Field(name, label, "yes-no", hint=hint, blank="not known", as_words=True)

"""The form of a visit, in the order in which a technician on a ladder looks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.methods import cautions
from lastbee.web.forms.form import (
    AREA,
    MASS,
    SMALL_LENGTH,
    VOLUME,
    Field,
    Form,
    Option,
    Section,
    Tick,
    options,
)
from lastbee.web.forms.photo_fields import photos_beside
from lastbee.web.forms.weather_fields import day_and_time, weather

if TYPE_CHECKING:
    from lastbee.methods.circumstances import Circumstances
    from lastbee.web.forms.situation import Situation

_DRILLING = (
    "Before a hole is drilled, look for wires, pipes and ducts, old paint (lead) and boards "
    f"(asbestos). {cautions.LOCAL}"
)


def visit_form(situation: Situation) -> Form:
    """A visit to the running trap-out; what was seen comes before what was done."""
    c = situation.circumstances
    return Form(
        kind="visit",
        title="Visit",
        lead="Write what you found, then what you did. What you leave alone stays not looked at.",
        sections=(
            _cone(c), _elsewhere(), _cluster(c), _box(), _wall(), _did(c),
            Section("Notes", (Field("notes", "Anything else", "long-text"),)),
            photos_beside(),
            Section("When, and the weather", (*day_and_time(of="the visit"), *weather())),
        ),
        submit="Keep this visit",
    )  # fmt: skip


def _cone(c: Circumstances) -> Section:
    return Section(
        "Cone",
        (
            Field(
                "cone", "Way out through the cone", "choice",
                options("clear", "partly blocked", "blocked"),
            ),
            Field(
                "count", "Count bees at the cone", "counter",
                hint="Fewer than ten out? Count for ten minutes.",
                parts=(
                    Field("count.out", "Out of the tip", "stepper"),
                    Field("count.back_in", "Back in by the cone", "stepper"),
                    Field("count.minutes", "Minutes counted", "stepper", step=0.5),
                ),
            ),
            Field(
                "dead_bees", "Dead bees in and below the cone", "choice",
                options("none", "some", "many"),
            ),
        ),
        caution=cautions.joined(
            cautions.stings(c, brief=True), cautions.height(c, brief=True), cautions.LOCAL
        ),
    )  # fmt: skip


def _elsewhere() -> Section:
    return Section(
        "Going in elsewhere",
        (
            Field(
                "elsewhere.seen", "Bees going in anywhere but the box", "yes-no",
                hint="Within reach of the exit: corners, sills, eaves, vents.",
            ),
            Field(
                "elsewhere", "Count them", "counter", is_folded=True,
                parts=(
                    Field("elsewhere.in", "Going in", "stepper"),
                    Field("elsewhere.minutes", "Minutes counted", "stepper", step=0.5),
                ),
            ),
            Field("elsewhere.pollen", "They carry pollen", "yes-no"),
        ),
    )  # fmt: skip


def _cluster(c: Circumstances) -> Section:
    return Section(
        "Cluster on the wall",
        (
            Field(
                "cluster", "Size of the cluster", "measure", scale=AREA,
                tick=Tick("No cluster there", "none"), hint="Wide and high, from where you stand.",
            ),
        ),
        caution=cautions.height(c, brief=True),
    )  # fmt: skip


def _box() -> Section:
    return Section(
        "Box",
        (
            Field(
                "box.frames_of_bees", "Frames of bees", "stepper", step=0.5,
                hint="Deep frames covered on both faces. 0 is a box without bees.",
            ),
            Field("box.eggs", "Eggs seen", "yes-no"),
            Field("box.queen", "Queen seen", "yes-no"),
            Field(
                "box.robbing", "Robbing at the box", "yes-no",
                hint="Fighting, wax chips, strange bees or wasps at its entrance.",
            ),
            Field("box.hanging_out", "Its bees hang out in the heat", "yes-no"),
            Field(
                "box.gain", "Gained since it was set", "measure", scale=MASS,
                hint="With a minus sign if it lost. Hive parts added since taken off.",
            ),
        ),
        caution=cautions.lifting(),
    )  # fmt: skip


def _wall() -> Section:
    return Section(
        "Wall",
        (
            Field("wall.hum", "A hum in the wall", "yes-no", hint="Ear or stethoscope."),
            Field("wall.hum_span", "Hum heard along", "measure", scale=SMALL_LENGTH),
            Field("wall.hand", "To the flat hand", "choice", _HAND),
            Field(
                "wall.thermal_area", "Warm patch on a thermal picture", "measure", scale=AREA,
                tick=Tick("No warm patch", "none"), hint="Before sunrise or well after sunset.",
            ),
            Field(
                "wall.bees_inside", "Live bees seen inside", "yes-no",
                hint="Through a small hole or with an inspection camera.",
            ),
        ),
        caution=_DRILLING,
        is_folded=True,
    )  # fmt: skip


_HAND = (Option("warm", "warm"), Option("none", "not warm"))


def _did(c: Circumstances) -> Section:
    return Section(
        "What I did",
        (
            Field(
                "did.cone", "The cone", "choice",
                (Option("cleared", "cleared"), Option("refitted", "refitted")),
                hint="Refitted is anything more than clearing it.", blank="left as it is",
            ),
            Field("did.closed_gap", "Closed a gap", "tick"),
            Field("did.brushed_in", "Brushed the cluster into the box", "tick"),
            Field("did.shaded_box", "Shaded the box", "tick"),
            Field("did.reduced_entrance", "Made the box's entrance smaller", "tick"),
            Field("did.moved_box_closer", "Moved the box closer to the exit", "tick"),
            Field("did.gave_queen", "Gave the box a queen", "tick"),
            Field(
                "did.gave_brood", "Frames of open brood", "stepper", step=0.5,
                tick=Tick("Gave open brood", value=True),
            ),
            Field(
                "did.added_box", "Frames of bees in it", "stepper", step=0.5,
                tick=Tick("Added a box", value=True), hint="0 for an empty one.",
            ),
            Field(
                "did.fed", "How much", "measure", scale=VOLUME,
                tick=Tick("Fed syrup", value=True), hint="Spilt syrup draws robbers.",
            ),
        ),
        lead="After all of the above was looked at. Count again afterwards and that is a second "
        "visit.",
        caution=cautions.joined(
            cautions.stings(c, brief=True), cautions.height(c, brief=True),
            "Come down from a ladder before anything that needs both hands.",
            cautions.scraping(c), cautions.vents(),
        ),
    )  # fmt: skip

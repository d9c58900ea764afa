"""Forms of the set-up and of what becomes of the box."""

from __future__ import annotations

from typing import TYPE_CHECKING, get_args

from lastbee.jobs import job
from lastbee.methods import cautions
from lastbee.web.forms.form import Field, Form, Option, Section, options
from lastbee.web.forms.photo_fields import photos_beside
from lastbee.web.forms.weather_fields import day_and_time

if TYPE_CHECKING:
    from lastbee.web.forms.situation import Situation


def set_up_form(situation: Situation) -> Form:
    """Cone and box on, other gaps closed."""
    c = situation.circumstances
    return Form(
        kind="set-up",
        title="Set-up",
        lead="The day the cone went on is the day that everything is counted from.",
        sections=(
            Section(
                "Gaps and cone",
                (
                    Field("date", "Day the cone went on", "day", is_needed=True),
                    Field("time", "Time", "clock"),
                    Field("gaps_closed", "Gaps closed", "stepper"),
                    Field(
                        "inside_closed", "Ways into the rooms closed too", "yes-no",
                        blank="not said", as_words=True,
                    ),
                ),
                caution=cautions.joined(
                    cautions.stings(c), cautions.height(c), cautions.scraping(c), cautions.vents()
                ),
            ),
            Section(
                "Box",
                (
                    Field(
                        "box", "It holds", "choice", options(*get_args(job.BoxContents)),
                        blank="not said",
                    ),
                    _label("box_label", situation),
                    Field(
                        "rob_out", "Honey to be robbed out at the end", "yes-no", blank="not said"
                    ),
                ),
                caution=cautions.lifting(),
            ),
            Section("Notes", (Field("notes", "Anything else", "long-text"),)),
            photos_beside(),
        ),
        submit="Keep this set-up",
    )  # fmt: skip


def box_form(situation: Situation) -> Form:
    """What became of the box."""
    return Form(
        kind="box",
        title="Box",
        sections=(
            Section(
                "What became of it",
                (
                    Field(
                        "what", "The box was", "choice",
                        options("moved", "checked", "merged", "lost"), is_needed=True,
                    ),
                    *day_and_time(of="it"),
                    Field("place", "Where it stands now", "text"),
                    Field(
                        "queen", "Its queen", "choice",
                        (
                            Option("seen", "seen"), Option("eggs seen", "eggs seen"),
                            Option("not seen", "neither seen"),
                        ),
                    ),
                    _label("label", situation),
                    Field("notes", "Anything else", "long-text"),
                ),
                caution=cautions.joined(
                    cautions.stings(situation.circumstances, brief=True), cautions.lifting()
                ),
            ),
            photos_beside(),
        ),
        submit="Keep this",
    )  # fmt: skip


def _label(name: str, situation: Situation) -> Field:
    known = tuple(Option(label, label) for label in situation.boxes)
    return Field(name, "Label on the box", "text", known)

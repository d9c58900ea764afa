"""Forms of what needs few words: a note, photographs, and a further call about a job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.web.forms.form import Field, Form, Section, options
from lastbee.web.forms.photo_fields import OF, photos_field
from lastbee.web.forms.weather_fields import day_and_time

if TYPE_CHECKING:
    from lastbee.web.forms.situation import Situation

_CALLERS = ("owner", "tenant", "neighbour", "manager", "other")
_RESULTS = ("inspection booked", "advice given", "call back", "not ours")


def note_form(_situation: Situation) -> Form:
    """Something to remember."""
    return Form(
        kind="note",
        title="Note",
        sections=(
            Section(
                "",
                (
                    Field("text", "Note", "long-text", is_needed=True),
                    *day_and_time(of="the note"),
                ),
            ),
        ),
        submit="Keep this note",
    )


def photo_form(_situation: Situation) -> Form:
    """Photographs, each an entry of its own."""
    return Form(
        kind="photo",
        title="Photographs",
        lead="Where a picture was taken is removed from it, unless you tick that it is kept.",
        sections=(
            Section(
                "",
                (
                    photos_field(),
                    Field("picture", "The picture", "picture"),
                    Field("of", "It shows", "choice", OF, blank="not said"),
                    Field("caption", "In words", "long-text"),
                    Field("keeps_location", "Keep where it was taken", "tick"),
                    Field(
                        "date", "Day it was taken", "day",
                        hint="Left empty, as the camera says.",
                    ),
                    Field("time", "Time", "clock"),
                ),
            ),
        ),
        submit="Keep these photographs",
    )  # fmt: skip


def call_form(situation: Situation) -> Form:
    """A further call about a job, or one set right; the first call's answers stay."""
    return Form(
        kind="call",
        title="Call",
        sections=(
            Section(
                "What came of it",
                (
                    Field("result", "The call ended with", "choice", options(*_RESULTS),
                          blank="not said"),
                    Field("inspect_on", "Inspection on", "day"),
                    Field("inspect_at", "At", "clock"),
                    Field("inspect_by", "By", "person"),
                    Field("notes", "Anything else", "long-text"),
                    *day_and_time(of="the call"),
                ),
            ),
            Section(
                "Who and where, if that is new",
                (
                    Field("client", "Caller", "text"),
                    Field("phone", "Number", "phone"),
                    Field("who_called", "They are the", "choice", options(*_CALLERS),
                          blank="not said"),
                    Field("place", "Place", "text"),
                    Field("title", "Name of the job", "text"),
                    _yes_no("allergic_person", "Somebody there is allergic to stings"),
                    _yes_no("public_path_near", "The public passes close by"),
                    Field(
                        "position", "Position", "position",
                        parts=(
                            Field("latitude", "Degrees north", "number", hint="South: minus"),
                            Field("longitude", "Degrees east", "number", hint="West: minus"),
                        ),
                    ),
                ),
            ),
        ),
        submit="Keep this call",
    )  # fmt: skip


def _yes_no(name: str, label: str) -> Field:
    return Field(name, label, "yes-no", blank="not asked", as_words=True)

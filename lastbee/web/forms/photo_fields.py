"""Photographs: the field that takes them, and what is said of them."""

from __future__ import annotations

from lastbee.web.forms.form import Field, Option, Section

PHOTOS, PHOTOS_OF, PHOTOS_KEEP = "photos", "photos.of", "photos.keeps_location"
"""Names under which photographs beside another entry are posted."""

OF = (
    Option("exit", "exit"), Option("gap", "gap"), Option("cone", "cone"), Option("box", "box"),
    Option("wall", "wall"), Option("inside", "inside"), Option("closed", "closed gap"),
    Option("other", "other"),
)  # fmt: skip
_NO_PLACE = "Where a picture was taken is removed from it"


def photos_field() -> Field:
    """Any number of photographs, from the camera or the phone's own store."""
    return Field(PHOTOS, "Take or choose photographs", "photos", is_beside=True)


def photos_beside() -> Section:
    """Photographs that a visit brings home with it."""
    return Section(
        "Photographs",
        (
            photos_field(),
            Field(PHOTOS_OF, "They show", "choice", OF, blank="not said", is_beside=True),
            Field(PHOTOS_KEEP, "Keep where they were taken", "tick", is_beside=True),
        ),
        lead=f"{_NO_PLACE}, unless you tick that it is kept.",
        is_folded=True,
    )

"""Day, time and weather: the fields that more than one form begins with."""

from __future__ import annotations

from lastbee.web.forms.form import TEMPERATURE, Field, options


def day_and_time(prefix: str = "", *, of: str) -> tuple[Field, ...]:
    """Day and time of something that happened; `of` names it."""
    return (
        Field(f"{prefix}date", f"Day of {of}", "day", is_needed=True),
        Field(f"{prefix}time", "Time", "clock"),
    )


def weather(prefix: str = "") -> tuple[Field, ...]:
    """The weather at that hour."""
    return (
        Field(f"{prefix}temperature", "Air, in the shade", "measure", scale=TEMPERATURE),
        Field(f"{prefix}sky", "Sky", "choice", options("sun", "cloud", "rain")),
        Field(f"{prefix}wind", "Wind", "choice", options("calm", "breeze", "strong")),
    )

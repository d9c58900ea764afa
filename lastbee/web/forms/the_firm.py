"""Forms of what concerns the whole firm: its people, its kit and its settings."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from lastbee.jobs.jobfile import faults_of_tree
from lastbee.jobs.jobfile_climate import DAYS_OF_MONTH
from lastbee.record.tables import faults_of_body
from lastbee.web.forms.amounts import number_of, text_of_number
from lastbee.web.forms.form import MASS, Field, Form, Option, Section, options

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lastbee.errors import Problem
    from lastbee.web.forms.form import Posted

DOES = options("calls", "inspections", "ladder", "visits", "carpentry", "closing")
SORTS = options("cone", "box", "ladder", "vacuum", "camera", "other")

NORMALS = (
    ("high", "Mean daily high"),
    ("low", "Mean daily low"),
    ("wet_days", "Days lost to rain or strong wind"),
)
"""Monthly normals that the page of the firm asks for, as a job file names them."""

MONTHS = 12

_STAND_IN_DAY = "2026-07-14"
_STAND_IN_PLACE = {"place": "a place", "latitude": 45.0, "longitude": 0.0}
_OF_THE_FIRM = ("site.climate", "site.time_zone", "site.longitude", "preferences")


def person_form() -> Form:
    """Somebody of the firm."""
    return Form(
        kind="person",
        title="Person",
        sections=(
            Section(
                "",
                (
                    Field("name", "Name", "text", is_needed=True),
                    Field("phone", "Telephone", "phone"),
                    Field("does", "Does", "ticks", DOES),
                ),
            ),
        ),
        submit="Keep this person",
    )


def kit_form() -> Form:
    """A thing that is taken along."""
    return Form(
        kind="kit",
        title="Kit",
        sections=(
            Section(
                "",
                (
                    Field("name", "What it is", "text", is_needed=True),
                    Field("sort", "Sort", "choice", SORTS, blank="not said"),
                    Field("count", "How many", "stepper"),
                    Field("label", "Label on it", "text", hint="For instance N1 to N12"),
                    Field("at", "Where it is", "text", hint="For instance van, or yard"),
                    Field("notes", "Notes", "long-text"),
                ),
            ),
        ),
        submit="Keep this kit",
    )


def firm_form() -> Form:
    """What the firm's jobs start from; the normals by month stand in a table of their own."""
    return Form(
        kind="firm",
        title="Firm",
        sections=(
            Section(
                "Name and place",
                (
                    Field("name", "Name", "text", hint="On every page and every report"),
                    Field("place", "Place", "text", hint="Where the firm works from"),
                ),
            ),
            Section(
                "Where its jobs are",
                (
                    Field("latitude", "Latitude", "number", hint="Degrees north, such as 43.1"),
                    Field("longitude", "Longitude", "number", hint="Degrees east; west has a -"),
                    Field(
                        "time_zone", "Time zone", "text",
                        hint="IANA name, such as Etc/GMT+4; left empty, as the longitude says",
                    ),
                ),
                lead="For jobs whose own place nobody wrote down: sun and season depend on it.",
            ),
            _reports(),
            _weather_by_month(),
        ),
        submit="Keep these settings",
    )  # fmt: skip


def _reports() -> Section:
    return Section(
        "How reports are written, and when a wall may be closed",
        (
            Field(
                "preferences.units", "Units", "choice",
                (Option("metric", "metric (C, m, kg)"), Option("us", "US (F, ft, lb)")),
                blank="not said",
            ),
            Field(
                "preferences.confidence", "Confidence that the wall is empty", "number",
                hint="As a share, 0.5 to 0.999; left empty, 0.95",
            ),
            Field(
                "preferences.honey_limit", "Honey that may stay behind", "measure",
                hint="Left empty, 5 kg", scale=MASS,
            ),
            Field(
                "warranty_months", "Months of warranty", "number",
                hint="Left empty, 12",
            ),
        ),
    )  # fmt: skip


def _weather_by_month() -> Section:
    # The page shows these as one table of months; what is wrong is said at each.
    return Section(
        "Weather by month",
        (
            Field("climate.unit", "Unit of the temperatures", "choice", is_beside=True),
            *(Field(f"climate.{key}", name, "text", is_beside=True) for key, name in NORMALS),
        ),
        lead=(
            "Normals of the nearest weather station; may be left out. Without them rough "
            "ones are taken from the latitude, and every forecast says so."
        ),
    )


def climate_of_post(posted: Posted) -> dict[str, Any]:
    """Read the table of months; empty where nobody wrote anything in it."""
    rows: dict[str, Any] = {}
    for key, _ in NORMALS:
        written = [posted_month(posted, key, month) for month in range(MONTHS)]
        if any(written):
            rows[key] = [number_of(one) for one in written]
    if rows and (unit := "".join(posted.get("climate.unit", ())).strip()):
        rows["unit"] = unit
    return rows


def posted_month(posted: Posted, key: str, month: int) -> str:
    """What stands in one field of the table of months, January being 0."""
    return "".join(posted.get(f"climate.{key}.{month}", ())[-1:]).strip()


def posted_of_climate(climate: Any) -> dict[str, list[str]]:
    """Give what a browser would post for normals; shares of wet days are told as days."""
    if not isinstance(climate, dict):
        return {}
    posted = {"climate.unit": [str(climate["unit"])]} if "unit" in climate else {}
    for key, _ in NORMALS:
        row = climate.get(key, _days_of_shares(climate) if key == "wet_days" else ())
        for month, value in enumerate(row if isinstance(row, list | tuple) else ()):
            posted[f"climate.{key}.{month}"] = [text_of_number(value)]
    return posted


def _days_of_shares(climate: Mapping[str, Any]) -> list[float]:
    shares = climate.get("wet_share", ())
    if not all(isinstance(share, int | float) for share in shares):
        return []
    return [round(share * days, 1) for share, days in zip(shares, DAYS_OF_MONTH, strict=False)]


def problems_of_settings(body: Mapping[str, Any]) -> tuple[Problem, ...]:
    """Find what is wrong with settings, also what their keys owe each other.

    A zone must suit the longitude and lows lie below highs; the job file knows these rules,
    so the settings are tried out on a job that has nothing else.
    """
    by_key = faults_of_body("firm", body)
    if by_key:
        return by_key
    site = _STAND_IN_PLACE | {
        key: body[key] for key in ("latitude", "longitude", "time_zone", "climate") if key in body
    }
    if "longitude" not in body:
        site.pop("time_zone", None)
    tree = {
        "title": "Settings on trial",
        "site": site,
        "inspection": {"date": _STAND_IN_DAY},
        "preferences": body.get("preferences", {}),
    }
    return tuple(
        _within_settings(fault)
        for fault in faults_of_tree(tree)
        if fault.field.startswith(_OF_THE_FIRM)
    )


def _within_settings(fault: Problem) -> Problem:
    return replace(fault, field=fault.field.removeprefix("site."))

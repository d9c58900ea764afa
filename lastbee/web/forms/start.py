"""What a form starts from: job, zone, units, the day and hour, weather that somebody read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, cast
from zoneinfo import ZoneInfo

from starlette.exceptions import HTTPException

from lastbee.record.at_the_wall import UNKNOWN
from lastbee.record.due import months_after
from lastbee.record.entry import is_id
from lastbee.web.forms.catalogue import form_of
from lastbee.web.forms.form import UNIT
from lastbee.web.forms.reading import value_at
from lastbee.web.forms.situation import Situation, situation_of
from lastbee.web.render import desk_of, firm_of, now_of

if TYPE_CHECKING:
    from datetime import datetime

    from starlette.requests import Request

    from lastbee.office.case import Case
    from lastbee.office.weather import Weather
    from lastbee.web.forms.form import Form
    from lastbee.words import UnitSystem

UNITS_COOKIE = "lastbee-units"
_SYSTEMS = ("metric", "us")


@dataclass(frozen=True, slots=True)
class Ground:
    """What a form stands on.

    `case` is None where nothing of the job has come in yet: a phone may hand in a visit
    before the call that opened its job. `now` is the moment in the site's own zone.
    """

    job: str
    form: Form
    case: Case | None
    situation: Situation
    units: UnitSystem
    now: datetime

    @property
    def title(self) -> str:
        """Name of the job."""
        return self.case.record.title if self.case else "A job that has not come in yet"

    @property
    def zone(self) -> ZoneInfo:
        """Time zone of the site."""
        return cast("ZoneInfo", self.now.tzinfo)


@dataclass(frozen=True, slots=True)
class Suggested:
    """Weather that may be filled in: the section that it belongs to, what it would fill in.

    `words` says the weather, `source` whose reading it is.
    """

    section: str
    words: str
    source: str
    posted: dict[str, list[str]] = field(default_factory=dict)


def ground_of(request: Request, kind: str, *, may_be_new: bool = False) -> Ground:
    """What a form of a kind stands on.

    Raises
    ------
    HTTPException
        If there is no such job; with `may_be_new`, only if its address is none.
    """
    job = str(request.path_params["job"])
    case = _case(request, job)
    if case is None and not (may_be_new and is_id(job)):
        raise HTTPException(404, "There is no such job.")
    situation = Situation(UNKNOWN) if case is None else situation_of(case)
    return Ground(
        job, form_of(kind, situation), case, situation,
        _units(request), now_of(request).astimezone(_zone(request, case)),
    )  # fmt: skip


def starting_posted(ground: Ground) -> dict[str, list[str]]:
    """What a new form has in it: the day, the hour, and what is known of the people there."""
    names = {one.name for one in ground.form.fields}
    start: dict[str, list[str]] = {}
    for prefix in ("", "inspection."):
        if f"{prefix}date" in names and ground.form.kind != "photo":
            start[f"{prefix}date"] = [ground.now.date().isoformat()]
            start[f"{prefix}time"] = [f"{ground.now:%H:%M}"]
    if ground.form.kind == "inspection" and ground.case is not None:
        for name in ("people.allergic_person", "people.public_path_near"):
            known = value_at(ground.case.record.tree, name)
            if known is not None:
                start[name] = [str(known)]
    if "warranty_until" in names and ground.case is not None:
        closed = ground.case.record.close_out
        since = ground.now.date() if closed is None else closed.on
        until = months_after(since, ground.case.firm.warranty_months)
        start["warranty_until"] = [until.isoformat()]
    return {name: said for name, said in start.items() if name in names}


def suggested(request: Request, ground: Ground) -> Suggested | None:
    """Weather that somebody of the firm read nearby a little while ago."""
    names = {one.name for one in ground.form.fields}
    prefix = next((p for p in ("", "inspection.") if f"{p}temperature" in names), None)
    if prefix is None:
        return None
    weather = desk_of(request).weather_at(ground.job, now_of(request))
    if weather is None:
        return None
    posted: dict[str, list[str]] = {}
    if weather.temperature_degc is not None:
        number, unit = _temperature(weather.temperature_degc, ground.units)
        posted |= {f"{prefix}temperature": [number], f"{prefix}temperature{UNIT}": [unit]}
    for key, word in (("sky", weather.sky), ("wind", weather.wind)):
        if word is not None:
            posted[f"{prefix}{key}"] = [word]
    section = next(
        one.title
        for one in ground.form.sections
        if any(field.name == f"{prefix}temperature" for field in one.fields)
    )
    return Suggested(section, _weather_words(weather, ground.units), weather.source, posted)


def _weather_words(weather: Weather, units: UnitSystem) -> str:
    said = []
    if weather.temperature_degc is not None:
        said.append(" °".join(_temperature(weather.temperature_degc, units)))
    said += [word for word in (weather.sky, weather.wind) if word is not None]
    return "Suggested: " + ", ".join(said)


def _temperature(value_degc: float, units: UnitSystem) -> tuple[str, str]:
    if units == "us":
        return f"{value_degc * 9.0 / 5.0 + 32.0:.0f}", "F"
    return f"{round(value_degc, 1):g}", "C"


def _case(request: Request, job: str) -> Case | None:
    try:
        return desk_of(request).case(job) if is_id(job) else None
    except LookupError:
        return None


def _zone(request: Request, case: Case | None) -> ZoneInfo:
    written = None if case is None else value_at(case.record.tree, "site.time_zone")
    try:
        return ZoneInfo(str(written or firm_of(request).time_zone))
    except (ValueError, OSError, LookupError):
        return ZoneInfo("UTC")


def _units(request: Request) -> UnitSystem:
    """Units of the user's choice: just chosen, as the form had them, as last time, the firm's."""
    asked = request.query_params.get("units"), request.cookies.get(UNITS_COOKIE)
    chosen = next((one for one in asked if one in _SYSTEMS), None)
    return cast("UnitSystem", chosen) if chosen else firm_of(request).units

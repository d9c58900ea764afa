"""Weather to suggest on a form: what the crew itself wrote down nearby, a little while ago.

No forecast and no station is asked: there is no signal at the wall. A reading is offered only
as long as it is likely to hold where the next wall stands, and it always says whose it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from lastbee import units
from lastbee.record.record import record_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from lastbee.record.card import Card
    from lastbee.record.chains import Told
    from lastbee.record.firm import Firm
    from lastbee.store.reading import Reading

NEAR_KM = 25.0
"""Farther than this another wall may have other weather: assumed."""

RECENT = timedelta(hours=2)
"""Older than this the day may have turned: assumed."""

EARTH_RADIUS_KM = 6371.0
MOST_JOBS_ASKED = 50


@dataclass(frozen=True, slots=True)
class Weather:
    """Weather as somebody of the firm wrote it down.

    `temperature_degc`, `sky` and `wind` are None where that was not written; `at` is when, in
    the site's own zone; `distance_km` how far from there, None where either place is not
    known; `source` says in a few words whose reading it is.
    """

    at: datetime
    temperature_degc: float | None
    sky: str | None
    wind: str | None
    distance_km: float | None
    source: str


def weather_near(reading: Reading, job: str, at: datetime, firm: Firm) -> Weather | None:
    """Find the reading nearest in time to a moment, within `RECENT` and `NEAR_KM`.

    Parameters
    ----------
    reading
        The firm's file.
    job
        The job that weather is wanted for.
    at
        The moment, aware.
    firm
        The firm; its zone is that of sites which have none of their own.
    """
    here = reading.card(job)
    since = at - RECENT
    # Cards come with the one touched last first; what was written since then stands in front.
    cards = [card for card in reading.cards(limit=MOST_JOBS_ASKED) if card.touched_at >= since]
    found = [
        weather
        for card in cards
        for weather in _readings(reading, card, here, firm)
        if abs(weather.at - at) <= RECENT and (weather.distance_km or 0.0) <= NEAR_KM
    ]
    return min(found, key=lambda one: (abs(one.at - at), one.distance_km or 0.0), default=None)


def distance_km(
    latitude_deg: float, longitude_deg: float, other_latitude_deg: float, other_longitude_deg: float
) -> float:
    """Distance along the ground, by the haversine formula on a sphere.

    References
    ----------
    Sinnott, R. W., "Virtues of the haversine", Sky and Telescope 68(2), 159, 1984 (from
    memory).
    """
    north, other_north = math.radians(latitude_deg), math.radians(other_latitude_deg)
    east = math.radians(other_longitude_deg - longitude_deg)
    half = (
        math.sin((other_north - north) / 2.0) ** 2
        + math.cos(north) * math.cos(other_north) * math.sin(east / 2.0) ** 2
    )
    return 2.0 * EARTH_RADIUS_KM * math.asin(math.sqrt(min(1.0, half)))


def _readings(reading: Reading, card: Card, here: Card | None, firm: Firm) -> Iterator[Weather]:
    record = record_of(card.job, reading.entries_of(card.job), firm)
    zone = ZoneInfo(record.tree["site"].get("time_zone", firm.time_zone))
    apart = _apart(card, here)
    is_here = here is not None and here.job == card.job
    for told in _timed(record.told):
        body = told.body.get("inspection", told.body)
        weather = Weather(
            at=datetime.combine(told.on, told.at, zone),  # type: ignore[arg-type]
            temperature_degc=_degc(body.get("temperature")),
            sky=_word(body.get("sky")),
            wind=_word(body.get("wind")),
            distance_km=0.0 if is_here else apart,
            source=_source(told, card, is_here=is_here),
        )
        if (weather.temperature_degc, weather.sky, weather.wind) != (None, None, None):
            yield weather


def _timed(told: Iterable[Told]) -> Iterator[Told]:
    """Inspections and visits that count and have a time of day."""
    for one in told:
        if one.kind in ("inspection", "visit") and one.counts and one.at is not None:
            yield one


def _apart(card: Card, here: Card | None) -> float | None:
    if here is None:
        return None
    places = (here.latitude_deg, here.longitude_deg, card.latitude_deg, card.longitude_deg)
    if None in places:
        return None
    return distance_km(*places)  # type: ignore[arg-type]


def _source(told: Told, card: Card, *, is_here: bool) -> str:
    who = told.entry.person or "the crew"
    place = "here" if is_here else f"at {card.place or card.title}"
    return f"{who}, {place}, {told.at:%H:%M}"


def _degc(written: Any) -> float | None:
    try:
        return units.temperature_degc(written) if isinstance(written, str) else None
    except units.NotAMeasure:
        return None


def _word(written: Any) -> str | None:
    return written if isinstance(written, str) else None

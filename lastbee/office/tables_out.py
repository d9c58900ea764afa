"""Tables for people: visits for a spreadsheet, sites for a map.

References
----------
RFC 4180, "Common Format and MIME Type for Comma-Separated Values (CSV) Files", 2005.
RFC 7946, "The GeoJSON Format", 2016.
"""

from __future__ import annotations

import csv
import io
import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from lastbee.jobs.jobfile_visit_tables import DidTable, VisitTable
    from lastbee.record.chains import Told
    from lastbee.record.record import Record

# A spreadsheet takes a cell that begins so for a formula, which could reach out to the world.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
_DEGREE_DECIMALS = 6  # a hand's breadth on the ground


def visits_csv_of(records: Iterable[Record]) -> str:
    """Write each visit that counts as one row under a header; lines end as RFC 4180 says."""
    written = io.StringIO()
    rows = csv.writer(written, lineterminator="\r\n")
    rows.writerow(COLUMNS)
    for record in records:
        for told in record.visits:
            rows.writerow(_row(record, told))
    return written.getvalue()


def sites_geojson_of(records: Iterable[Record]) -> str:
    """Write each job of which somebody wrote down the place as a point.

    Names and numbers of clients are left out: a map is soon passed on.
    """
    features = [
        _feature(record, place) for record in records if (place := record.position) is not None
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}, indent=1) + "\n"


def _row(record: Record, told: Told) -> list[Any]:
    from lastbee.jobs.jobfile_visit_tables import VisitTable

    table = VisitTable.model_validate(dict(told.body))
    about: dict[str, Any] = {
        "job": record.job,
        "entry": told.entry.id,
        "title": record.title,
        "place": record.place,
        "date": told.on.isoformat(),
        "time": "" if told.at is None else f"{told.at:%H:%M}",
        "person": told.entry.person,
    }
    seen = {name: read(table) for name, read in _SEEN.items()}
    return [_cell({**about, **seen}[column]) for column in COLUMNS]


def _cell(value: object) -> object:
    """One cell; text that a spreadsheet would compute is led by an apostrophe."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, str) and value.startswith(_FORMULA_STARTS):
        return f"'{value}"
    return value


def _deeds(did: DidTable) -> str:
    """What was done, as the keys of a job file with their amounts: "closed_gap; fed 1"."""
    words = []
    for key in type(did).model_fields:
        value = getattr(did, key)
        if value is True:
            words.append(key)
        elif value is not None and value is not False:
            words.append(f"{key} {value:g}" if isinstance(value, float) else f"{key} {value}")
    return "; ".join(words)


_SEEN: Mapping[str, Callable[[VisitTable], object]] = {
    "temperature_degc": lambda visit: visit.temperature,
    "sky": lambda visit: visit.sky,
    "wind": lambda visit: visit.wind,
    "cone": lambda visit: visit.cone,
    "cluster_dm2": lambda visit: visit.cluster,
    "dead_bees": lambda visit: visit.dead_bees,
    "count_minutes": lambda visit: visit.count.minutes,
    "count_out": lambda visit: visit.count.bees_out,
    "count_back_in": lambda visit: visit.count.back_in,
    "elsewhere_seen": lambda visit: visit.elsewhere.seen,
    "elsewhere_minutes": lambda visit: visit.elsewhere.minutes,
    "elsewhere_in": lambda visit: visit.elsewhere.bees_in,
    "elsewhere_pollen": lambda visit: visit.elsewhere.pollen,
    "box_frames_of_bees": lambda visit: visit.box.frames_of_bees,
    "box_gain_kg": lambda visit: visit.box.gain,
    "box_eggs": lambda visit: visit.box.eggs,
    "box_queen": lambda visit: visit.box.queen,
    "box_robbing": lambda visit: visit.box.robbing,
    "box_hanging_out": lambda visit: visit.box.hanging_out,
    "wall_hum": lambda visit: visit.wall.hum,
    "wall_hum_span_m": lambda visit: visit.wall.hum_span,
    "wall_hand": lambda visit: visit.wall.hand,
    "wall_thermal_area_dm2": lambda visit: visit.wall.thermal_area,
    "wall_bees_inside": lambda visit: visit.wall.bees_inside,
    "did": lambda visit: _deeds(visit.did),
    "notes": lambda visit: visit.notes,
}

COLUMNS = ("job", "entry", "title", "place", "date", "time", "person", *_SEEN)
"""The header of the table of visits."""


def _feature(record: Record, place: tuple[float, float]) -> dict[str, Any]:
    latitude, longitude = place
    point = [round(longitude, _DEGREE_DECIMALS), round(latitude, _DEGREE_DECIMALS)]
    return {
        "type": "Feature",
        "id": record.job,
        "geometry": {"type": "Point", "coordinates": point},
        "properties": {
            "title": record.title,
            "place": record.place,
            "opened_on": record.told[0].on.isoformat(),
            "last_on": record.told[-1].on.isoformat(),
            "visits": len(record.visits),
        },
    }

"""Weather that a form suggests: a reading of the crew itself, near in place and time, or none."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest
from office_factory import JOB, desk_in, id_of, trap_out, visit, written

from lastbee.office.weather import distance_km

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from lastbee.office.desk import Desk

HERE, NEAR, FAR = id_of("here"), id_of("near"), id_of("far")
AT = datetime(2026, 7, 14, 14, 0, tzinfo=ZoneInfo("Etc/GMT+4"))


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A firm with a job here, one 11 km north of it and one 111 km north."""
    made = desk_in(tmp_path)
    for job, latitude in ((HERE, 43.0), (NEAR, 43.1), (FAR, 44.0)):
        call = written(
            "call", job=job, hour=-400.0, date="2026-06-27", latitude=latitude, longitude=-72.4
        )
        told = [entry for entry in trap_out(job) if entry.kind != "visit"]
        site = {"place": f"House at {latitude}"}
        told[0] = replace(told[0], body={**told[0].body, "site": site})
        made.take_in([call, *told], strict=True)
    yield made
    made.book.close()


def test_a_reading_nearby_an_hour_ago_is_offered_with_its_source(desk: Desk) -> None:
    body = {"temperature": "77 F", "sky": "sun", "wind": "breeze", "time": "13:30"}
    desk.take_in([visit(14, NEAR, hour=5.6, **body)], strict=True)
    weather = desk.weather_at(HERE, AT)
    assert weather is not None
    assert (weather.sky, weather.wind, weather.at) == ("sun", "breeze", AT - timedelta(minutes=30))
    assert weather.temperature_degc == pytest.approx(25.0)
    # A tenth of a degree of latitude is 11.1 km: the metre was made a ten-millionth of the
    # quarter of a meridian.
    assert weather.distance_km == pytest.approx(1e4 / 90 / 10, rel=0.01)
    assert weather.source == "M. Sedge, at House at 43.1, 13:30"


@pytest.mark.parametrize(
    ("job", "body", "at"),
    [
        pytest.param(FAR, {"temperature": "25 C"}, AT, id="too far away"),
        pytest.param(NEAR, {"temperature": "25 C"}, AT + timedelta(hours=3), id="too long ago"),
        pytest.param(NEAR, {}, AT, id="nothing said of the weather"),
        pytest.param(NEAR, {"temperature": "25"}, AT, id="set aside"),
    ],
)
def test_no_other_reading_is(desk: Desk, job: str, body: dict[str, str], at: datetime) -> None:
    desk.take_in([visit(14, job, hour=5.6, **body)], strict=False)
    assert desk.weather_at(HERE, at) is None


def test_the_nearest_in_time_is_taken(desk: Desk) -> None:
    early = visit(14, HERE, hour=4.2, time="12:10", temperature="20 C")
    late = visit(14, NEAR, hour=5.6, time="13:40", temperature="25 C")
    desk.take_in([early, late], strict=True)
    weather = desk.weather_at(HERE, AT)
    assert weather is not None
    assert weather.temperature_degc == pytest.approx(25.0)
    first = desk.weather_at(HERE, AT - timedelta(minutes=105))
    assert first is not None
    assert (first.temperature_degc, first.source) == (
        pytest.approx(20.0),
        "M. Sedge, here, 12:10",
    )


def test_an_unknown_job_is_offered_what_there_is(desk: Desk) -> None:
    desk.take_in([visit(14, HERE, hour=5.6, sky="cloud")], strict=True)
    weather = desk.weather_at(JOB, AT)
    assert weather is not None
    assert weather.distance_km is None


def test_distances_are_those_of_a_sphere() -> None:
    # A quarter of the way round, and no way at all.
    quarter = 6371.0 * 3.14159265 / 2.0
    assert distance_km(0.0, 0.0, 0.0, 90.0) == pytest.approx(quarter)
    assert distance_km(0.0, 12.0, 90.0, -45.0) == pytest.approx(quarter)
    assert distance_km(43.1, -72.4, 43.1, -72.4) == 0.0
    assert distance_km(10.0, 179.5, 10.0, -179.5) < 120.0


def test_the_hour_is_that_of_the_site_where_it_has_a_zone_of_its_own(desk: Desk) -> None:
    job = id_of("over the border")
    told = [entry for entry in trap_out(job) if entry.kind != "visit"]
    site = {"place": "House", "latitude": 43.0, "longitude": -72.4, "time_zone": "Etc/GMT+5"}
    told[0] = replace(told[0], body={**told[0].body, "site": site})
    desk.take_in([*told, visit(14, job, hour=5.6, temperature="25 C", time="12:30")], strict=True)
    weather = desk.weather_at(HERE, AT)
    assert weather is not None
    assert weather.at == AT - timedelta(minutes=30)

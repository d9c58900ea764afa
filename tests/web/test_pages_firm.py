"""The firm's page: settings that forecasts start from, the record going out and coming in.

The rules for places, zones and normals are those of the job file (docs/job-file.md), whose own
tests hold them to their sources; here they must be said at the field that breaks them.
"""

from __future__ import annotations

import csv
import html
import io
import json
import re
import zipfile
from dataclasses import replace
from pathlib import Path
from tempfile import gettempdir
from typing import TYPE_CHECKING

import pytest
from web_factory import FIRM, HERE, firm_at, handful, hidden_of, id_of

from lastbee.errors import FileProblem

if TYPE_CHECKING:
    from httpx2 import Response
    from starlette.testclient import TestClient

SETTINGS = {key: str(value) for key, value in FIRM.items()}
HIGH = [-1, 1, 6, 13, 20, 24, 27, 26, 22, 15, 8, 2]
LOW = [-11, -10, -5, 1, 7, 12, 15, 14, 10, 3, -2, -7]
WET = [12, 11, 12, 12, 13, 12, 11, 10, 10, 10, 12, 12.5]


def months(**rows: list[float]) -> dict[str, str]:
    """The table of months as a browser posts it."""
    return {
        f"climate.{key}.{month}": f"{value}".replace("-", "−")
        for key, row in rows.items()
        for month, value in enumerate(row)
    }


def save(client: TestClient, data: dict[str, str]) -> tuple[int, str]:
    """Post settings as the page does: the status and the text that come back."""
    hidden = hidden_of(client, "/firm")
    answer = client.post("/firm", data=hidden | data, headers=HERE)
    return answer.status_code, html.unescape(answer.text)


def bring_in(client: TestClient, name: str, content: bytes) -> Response:
    """Post a file as the page does."""
    return client.post("/import", files={"file": (name, content)}, headers=HERE)


def test_the_page_shows_what_is_set_and_saving_it_changes_nothing(client: TestClient) -> None:
    text = client.get("/firm").text
    fields = dict(re.findall(r'<input id="[^"]*" name="([^"]+)"[^>]* value="([^"]*)"', text))
    assert {key: fields[key] for key in SETTINGS} == SETTINGS
    status, text = save(client, fields)
    assert status == 200
    assert "Settings kept." in text
    assert dict(firm_at(client).settings) == FIRM


def test_all_settings_are_kept_as_a_correction(client: TestClient) -> None:
    data = SETTINGS | months(high=HIGH, low=LOW, wet_days=WET)
    data |= {"climate.unit": "C", "warranty_months": "24", "preferences.units": "us"}
    data |= {"preferences.confidence": "0.97", "preferences.honey_limit": "4 kg"}
    assert save(client, data)[0] == 200
    found = firm_at(client)
    assert found.settings["climate"] == {"unit": "C", "high": HIGH, "low": LOW, "wet_days": WET}
    assert (found.units, found.confidence, found.warranty_months) == ("us", 0.97, 24)
    assert found.told is not None
    assert len(found.told.all) == 2
    # The page gives back what it took.
    text = client.get("/firm").text
    assert re.search(r'name="climate.low.0" value="-11"', text)
    assert re.search(r'name="climate.wet_days.11" value="12.5"', text)


def test_settings_that_have_no_field_here_stay(client: TestClient) -> None:
    told = firm_at(client).told
    assert told is not None
    body = FIRM | {"preferences": {"confidence": 0.9, "week_weight": 0.25}}
    corrected = replace(told.entry, id=id_of(700), body=body, replaces=told.entry.id)
    client.app.state.desk.take_in([corrected], strict=True)  # type: ignore[attr-defined]
    assert save(client, SETTINGS | {"preferences.confidence": "0.8"})[0] == 200
    assert firm_at(client).preferences == {"confidence": 0.8, "week_weight": 0.25}


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"latitude": "north"}, "Latitude is 'north'"),
        ({"latitude": "80"}, "Latitude is 80"),
        ({"time_zone": "Vermont"}, "Time zone is 'Vermont'"),
        ({"time_zone": "Etc/GMT-9"}, "Longitude is -72.4"),
        ({"preferences.confidence": "95"}, "Confidence that the wall is empty is 95"),
        ({"warranty_months": "-1"}, "Months of warranty is -1"),
        ({"climate.high.0": "3", "climate.unit": "C"}, "write twelve temperatures"),
        (months(high=HIGH, low=LOW, wet_days=WET), "Unit of the temperatures is missing"),
        (
            months(high=LOW, low=HIGH, wet_days=WET) | {"climate.unit": "C"},
            "write a low for January that is not above its high of -11 C",
        ),
        (
            months(high=HIGH, low=LOW, wet_days=[*WET[:11], 40]) | {"climate.unit": "C"},
            "for December, write a number of days from 0 to 31",
        ),
    ],
)
def test_what_cannot_be_used_is_said_and_nothing_is_kept(
    client: TestClient, changed: dict[str, str], sentence: str
) -> None:
    status, text = save(client, SETTINGS | changed)
    assert status == 422
    assert sentence in text
    assert dict(firm_at(client).settings) == FIRM
    for name, value in changed.items():
        assert f'name="{name}"' in text
        assert f'value="{value}"' in text


def test_an_empty_firm_can_be_set_up(empty_client: TestClient) -> None:
    assert save(empty_client, SETTINGS)[0] == 200
    assert dict(firm_at(empty_client).settings) == FIRM
    assert "Quiet Walls" in empty_client.get("/").text


def test_the_archive_holds_the_whole_record_and_adds_nothing_to_it(client: TestClient) -> None:
    answer = client.get("/export/firm.zip")
    assert answer.headers["content-disposition"] == 'attachment; filename="firm-2026-07-14.zip"'
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        lines = archive.read("entries.jsonl").splitlines()
    assert len(lines) == len(handful())
    again = bring_in(client, "firm.zip", answer.content)
    assert again.status_code == 200
    assert f"Nothing new, {len(lines)} entries were here already" in again.text


def test_tables_for_people_are_what_they_say(client: TestClient) -> None:
    answer = client.get("/export/visits.csv")
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    (row,) = csv.DictReader(io.StringIO(answer.text))
    assert row["date"] == "2026-07-10"
    sites = client.get("/export/sites.geojson")
    assert sites.headers["content-type"] == "application/geo+json"
    assert json.loads(sites.text)["type"] == "FeatureCollection"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("job.toml", b"title = "),
        ("photo.jpg", b"\xff\xd8\xff"),
        ("a.zip", b"PK\x03\x04"),
        ("e", b""),
    ],
)
def test_a_file_that_is_none_of_ours_is_refused_by_its_own_name(
    client: TestClient, name: str, content: bytes
) -> None:
    answer = bring_in(client, name, content)
    assert answer.status_code == 422
    assert "brought-in" not in answer.text
    assert str(gettempdir()) not in answer.text


def test_a_record_that_cannot_be_written_is_no_fault_of_the_file(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise FileProblem("firm.lastbee", "has no room to grow", "make room")

    monkeypatch.setattr(client.app.state.desk, "take_in", full)  # type: ignore[attr-defined]
    file = Path("examples/meadowgate_visits.toml")
    answer = bring_in(client, file.name, file.read_bytes())
    assert answer.status_code == 503
    assert "firm.lastbee has no room to grow" in answer.text


def test_without_a_file_it_is_asked_for(client: TestClient) -> None:
    answer = client.post("/import", data={"other": "1"}, headers=HERE)
    assert answer.status_code == 422
    assert "Choose a file first" in answer.text


def test_a_job_file_becomes_a_job(empty_client: TestClient) -> None:
    file = Path("examples/meadowgate_visits.toml")
    answer = bring_in(empty_client, file.name, file.read_bytes())
    assert answer.status_code == 200
    assert "entries kept" in answer.text
    assert empty_client.get("/jobs?stage=trapping").text.count('class="whole"') == 1

"""Reading a job file: what comes out of a right one.

Zones are checked against the IANA data through zoneinfo, and month lengths against the
calendar of the standard library.
"""

from __future__ import annotations

import calendar
from dataclasses import fields, is_dataclass
from datetime import datetime, timedelta
from importlib.resources import files
from typing import TYPE_CHECKING, get_args, get_type_hints
from zoneinfo import ZoneInfo

import pytest
from jobfile_texts import (
    CLIMATE,
    job_text,
    sentence_of,
    uncommented,
)

from lastbee.jobs import job as record
from lastbee.jobs.jobfile import parse_job
from lastbee.jobs.jobfile_climate import DAYS_OF_MONTH
from lastbee.jobs.jobfile_rules import zone_of
from lastbee.jobs.jobfile_schema import (
    CombTable,
    InspectionTable,
    PreferencesTable,
    SiteTable,
    json_schema,
)

if TYPE_CHECKING:
    from pydantic import BaseModel

# ---- what comes out of a right file ----


def test_the_smallest_job_knows_nothing_beyond_its_five_keys() -> None:
    job = parse_job(job_text())
    assert job == record.Job(
        title="Bees in the gable",
        site=record.Site("Quarry Row", 43.1, -72.4, "Etc/GMT+5"),
        inspection=record.Inspection(datetime(2026, 6, 29, 12, tzinfo=ZoneInfo("Etc/GMT+5"))),
    )


def test_every_field_of_the_record_can_be_reached_from_a_file() -> None:
    text = uncommented(files("lastbee.jobs").joinpath("starter.toml").read_text("utf-8"))
    changes = {
        "building.power_line_near": '"yes"',
        "people.allergic_person": '"yes"',
        "people.public_path_near": '"yes"',
        "inspection.comb.extent": '"whole"',
        "setup.rob_out": "false",
        "setup.box": '"lure"',
        "preferences.confidence": "0.9",
        "preferences.honey_limit": '"9 kg"',
        "preferences.bees_lost_weight": "11",
        "preferences.honey_left_weight_per_kg": "12",
        "preferences.week_weight": "13",
        "preferences.opening_weight": "14",
    }
    for dotted, value in changes.items():
        table, _, key = dotted.rpartition(".")
        head, heading, tail = text.partition(f"[{table}]")
        assert f"\n{key} = " in tail
        before, _, after = tail.partition(f"\n{key} = ")
        text = f"{head}{heading}{before}\n{key} = {value}\n{after.partition(chr(10))[2]}"
    # Most deeds have nothing to count.
    read = [leaf for leaf in leaves(parse_job(text)) if leaf[1] or not leaf[0].endswith(".amount")]
    unreached = [name for name, value in read if value in (None, "", "other")]
    assert unreached == []
    usual = dict(leaves(parse_job(job_text())))
    same = [
        name
        for name, value in read
        if value == usual.get(name) and name not in ("site.latitude_deg", "site.longitude_deg")
    ]
    assert same == []


def leaves(value: object, name: str = "") -> list[tuple[str, object]]:
    """Every value of a record with its dotted name, those of several records one by one."""
    if isinstance(value, tuple) and any(is_dataclass(each) for each in value):
        numbered = [leaves(each, f"{name}.{place}") for place, each in enumerate(value)]
        return [leaf for each in numbered for leaf in each]
    if not is_dataclass(value) or isinstance(value, type):
        return [(name, value)]
    return [
        leaf
        for each in fields(value)
        for leaf in leaves(getattr(value, each.name), f"{name}.{each.name}".lstrip("."))
    ]


def test_measures_come_out_in_si_whatever_they_were_written_in() -> None:
    job = parse_job(
        job_text(
            {
                "building.width": '"14 1/2 in"',
                "building.depth": '"89 mm"',
                "building.entrance_height": '"14\' 6\\""',
                "inspection.temperature": '"77 F"',
                "inspection.warmth.thermal_area": '"30 x 40 cm"',
                "inspection.sound.hum_span": '"2 ft"',
                "preferences.honey_limit": '"11 lb"',
            }
        )
    )
    # Factors: NIST SP 811, appendix B.8.
    assert job.building.cavity_width_m == pytest.approx(0.3683)
    assert job.building.cavity_depth_m == pytest.approx(0.089)
    assert job.building.entrance_height_m == pytest.approx(4.4196)
    assert job.inspection.temperature_degc == pytest.approx(25.0)
    assert job.inspection.warm_area_dm2 == pytest.approx(12.0)
    assert job.inspection.hum_span_m == pytest.approx(0.6096)
    assert job.preferences.honey_limit_kg == pytest.approx(4.98951607)


def test_comb_area_is_combs_times_length_times_width() -> None:
    comb = parse_job(
        job_text(
            {
                "inspection.comb.combs": "4",
                "inspection.comb.length": '"30 cm"',
                "inspection.comb.width": '"20 cm"',
            }
        )
    ).inspection.comb
    assert comb is not None
    assert comb.area_dm2 == pytest.approx(24.0)
    assert comb.extent == "part"


def test_empty_tables_are_as_good_as_none() -> None:
    text = job_text() + "[inspection.traffic]\n[inspection.comb]\n[site.climate]\n[setup]\n"
    assert parse_job(text) == parse_job(job_text())


def test_climate_in_fahrenheit_numbers_and_in_celsius_text_is_the_same() -> None:
    fahrenheit = CLIMATE | {
        "site.climate.unit": '"F"',
        "site.climate.high": "[32, 50, 50, 50, 50, 50, 50, 50, 50, 50, 50, 50]",
        "site.climate.low": "[14, 14, 14, 14, 14, 14, 14, 14, 14, 14, 14, 14]",
    }
    celsius = fahrenheit | {
        "site.climate.unit": '"C"',
        "site.climate.high": "[0, " + ", ".join(['"10 C"'] * 11) + "]",
        "site.climate.low": "[" + ", ".join(['"-10 C"'] * 12) + "]",
    }
    climates = [parse_job(job_text(keys)).site.climate for keys in (fahrenheit, celsius)]
    first, second = climates
    assert first is not None
    assert second is not None
    assert first.high_degc == pytest.approx((0.0,) + (10.0,) * 11)
    assert first.high_degc == pytest.approx(second.high_degc)
    assert first.low_degc == pytest.approx(second.low_degc)
    assert not first.is_assumed


def test_wet_days_become_shares_of_the_days_of_each_month() -> None:
    climate = parse_job(job_text(CLIMATE)).site.climate
    assert climate is not None
    assert climate.wet_day_share[0] == pytest.approx(12 / 31)
    assert climate.wet_day_share[3] == pytest.approx(12 / 30)
    # Mean month lengths over four years, by the standard library's calendar.
    mean = [
        sum(calendar.monthrange(year, month)[1] for year in range(2021, 2025)) / 4
        for month in range(1, 13)
    ]
    assert list(DAYS_OF_MONTH) == mean


@pytest.mark.parametrize(
    ("written", "read"),
    [('"yes"', "yes"), ('"No"', "no"), ('"unknown"', "unknown"), ("true", "yes"), ("false", "no")],
)
def test_yes_and_no_may_be_words_or_truth_values(written: str, read: str) -> None:
    job = parse_job(job_text({"building.may_open_inside": written}))
    assert job.building.may_open_inside == read


@pytest.mark.parametrize("written", ['"stud bay"', '"Stud-Bay"', '"stud_bay"', '" STUD  bay"'])
def test_choices_forgive_capitals_hyphens_and_underscores(written: str) -> None:
    assert parse_job(job_text({"building.cavity": written})).building.cavity == "stud bay"


def test_a_choice_in_the_file_is_a_choice_in_the_record() -> None:
    pairs: list[tuple[type[BaseModel], str, type, str]] = [
        (SiteTable, "exposing_comb", record.Site, "exposing_comb"),
        (InspectionTable, "sky", record.Inspection, "sky"),
        (InspectionTable, "wind", record.Inspection, "wind"),
        (CombTable, "extent", record.CombSeen, "extent"),
        (PreferencesTable, "units", record.Preferences, "units"),
    ]
    tables = json_schema()["$defs"]
    for table, key, kind, name in pairs:
        hint = get_type_hints(kind)[name]
        options = [option for option in get_args(hint) if option is not type(None)]
        literal = [o for option in options for o in (get_args(option) or (option,))]
        assert tables[table.__name__]["properties"][key]["enum"] == literal


# ---- time and place ----


@pytest.mark.parametrize(
    "keys",
    [
        {"inspection.time": '"14:30"'},
        {"inspection.time": "14:30:00"},
        {"inspection.date": "2026-06-29T14:30:00"},
        {"inspection.date": "2026-06-29 14:30:00"},
        {"inspection.date": '"2026-06-29"', "inspection.time": '"14.30"'},
    ],
)
def test_day_and_time_are_local_to_the_site(keys: dict[str, str | None]) -> None:
    at = parse_job(job_text(keys | {"site.time_zone": '"America/New_York"'})).inspection.at
    assert at.replace(tzinfo=None) == datetime(2026, 6, 29, 14, 30)  # noqa: DTZ001
    # Daylight time there is UTC-4 in June (IANA time zone data).
    assert at.utcoffset() == timedelta(hours=-4)


@pytest.mark.parametrize("longitude", [-180, -172.6, -72.4, -7.6, -7.4, 0, 7.6, 100, 151.2, 180])
def test_the_zone_without_a_name_is_the_whole_hours_nearest_to_the_sun(longitude: float) -> None:
    offset = datetime(2026, 6, 29, tzinfo=ZoneInfo(zone_of(longitude))).utcoffset()
    assert offset is not None
    assert abs(offset / timedelta(hours=1) - longitude / 15.0) <= 0.5


def test_a_time_that_the_clocks_skip_is_refused() -> None:
    """Clocks there went from 2 to 3 o'clock on 8 March 2026 (IANA time zone data)."""
    keys = {
        "site.time_zone": '"America/New_York"',
        "inspection.date": "2026-03-08",
        "inspection.time": '"02:30"',
    }
    sentence = sentence_of(job_text(keys))
    assert sentence.startswith("inspection.time is 02:30:00: write a time that exists")


def test_a_forgotten_minus_sign_of_the_longitude_is_found_by_the_zone() -> None:
    keys = {"site.longitude": "72.4", "site.time_zone": '"America/New_York"'}
    sentence = sentence_of(job_text(keys))
    assert sentence.startswith("site.longitude is 72.4: ")
    assert "west with a minus sign" in sentence


@pytest.mark.parametrize(
    ("longitude", "zone"),
    # From memory: places whose clocks stray furthest from the sun.
    [("75.9", "Asia/Shanghai"), ("-8.9", "Europe/Madrid"), ("-157.4", "Pacific/Kiritimati")],
)
def test_clocks_that_stray_from_the_sun_by_law_are_accepted(longitude: str, zone: str) -> None:
    keys = {"site.longitude": longitude, "site.time_zone": f'"{zone}"'}
    assert parse_job(job_text(keys)).site.time_zone == zone

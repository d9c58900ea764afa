"""Reading a job file: what is said of a wrong one.

Sentences are checked for the field, the value as written and the mend. Ranges and order
rules are the product's own.
"""

from __future__ import annotations

import os
from datetime import date
from typing import TYPE_CHECKING

import pytest
from jobfile_texts import (
    CLIMATE,
    TWELVE_DAYS,
    TWELVE_HIGHS,
    TWELVE_LOWS,
    job_text,
    problems_of,
    sentence_of,
)

from lastbee.errors import FileProblem
from lastbee.jobs.jobfile import MOST_PROBLEMS, parse_job, read_job
from lastbee.jobs.jobfile_schema import (
    JobFile,
)
from lastbee.jobs.jobfile_text import LARGEST_FILE_BYTES

if TYPE_CHECKING:
    from pathlib import Path


# ---- what is said of a wrong key ----


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        # Missing, and written as nothing.
        ({"title": None}, "title is missing: write a name for the job"),
        ({"site.place": None}, "site.place is missing: write where it is"),
        ({"site.latitude": None}, "site.latitude is missing: write degrees north"),
        ({"site.longitude": None}, "site.longitude is missing: write degrees east"),
        ({"inspection.date": None}, "inspection.date is missing: write the day"),
        ({"title": '"  "'}, "title is '  ': write the title between the quotes."),
        ({"client": '""'}, "client is '': write the client's name between the quotes, or leave"),
        # Measures without a unit, with the wrong one, out of range, of another type.
        (
            {"building.entrance_height": "14"},
            'building.entrance_height is 14: write the unit too, such as "14 ft" or "14 m".',
        ),
        (
            {"building.depth": "3.5"},
            'building.depth is 3.5: write the unit too, such as "3.5 in" or "3.5 cm".',
        ),
        (
            {"building.depth": '"3.5"'},
            'building.depth is \'3.5\': write the unit too, such as "3.5 in" or "3.5 cm".',
        ),
        ({"inspection.temperature": "75"}, 'write the unit too, such as "75 F" or "75 C".'),
        ({"building.depth": '"3 kg"'}, "kg is a unit of mass"),
        ({"building.depth": '"1 cm"'}, "is '1 cm': write a length from 2 cm to 2 m."),
        ({"building.length": '"16 m"'}, "is '16 m': write a length from 10 cm to 15 m."),
        ({"building.entrance_height": '"61 m"'}, "write a length from 0 m to 60 m."),
        ({"inspection.temperature": '"-31 C"'}, "write a temperature from -30 C to 55 C."),
        ({"inspection.temperature": '"140 F"'}, "write a temperature from -30 C to 55 C."),
        ({"inspection.warmth.thermal_area": '"6 m2"'}, "write an area from 0.1 dm2 to 500 dm2."),
        ({"building.depth": "true"}, "building.depth is true: write a length from 2 cm"),
        ({"building.depth": '["3 in"]'}, "building.depth is a list of one: write a length"),
        ({"building.depth": "{ a = 1 }"}, "building.depth is a table: write a length"),
        ({"building.depth": "nan"}, "building.depth is nan: write a length from 2 cm"),
        # Numbers.
        ({"site.latitude": "67"}, "site.latitude is 67: write degrees north, south below zero"),
        ({"site.latitude": "-66.5"}, "site.latitude is -66.5: "),
        ({"site.latitude": "nan"}, "site.latitude is nan: "),
        ({"site.latitude": "inf"}, "site.latitude is inf: "),
        ({"site.latitude": "true"}, "site.latitude is true: "),
        ({"site.latitude": '"43.1"'}, "site.latitude is '43.1': leave out the quotes and write"),
        ({"site.latitude": '"43 N"'}, "site.latitude is '43 N': write degrees north"),
        ({"site.latitude": "9" * 400}, "site.latitude is a number of more than 18 digits: "),
        ({"site.latitude": "0x" + "f" * 9000}, "is a number of more than 18 digits: "),
        ({"site.longitude": "181"}, "site.longitude is 181: write degrees east"),
        ({"building.year_built": "1499"}, "write the year built as a whole number from 1500"),
        ({"building.year_built": "1974.5"}, "write the year built as a whole number"),
        ({"building.year_built": "2027"}, "write a year that is not after the inspection in 2026"),
        ({"preferences.confidence": "95"}, "write the confidence as a share such as 0.95"),
        ({"preferences.week_weight": "-1"}, "write a weight in visits' worth of trouble, from 0"),
        ({"inspection.comb.combs": "0"}, "write the combs seen as a whole number from 1 to 60"),
        # Choices and truth values.
        ({"building.cavity": '"stud way"'}, 'write "stud bay" perhaps, or one of "stud bay", '),
        ({"building.covering": "3"}, 'building.covering is 3: write one of "wood", "vinyl"'),
        ({"inspection.sky": '"glass"'}, "inspection.sky is 'glass': write one of \"sun\", "),
        ({"building.may_open_inside": '"maybe"'}, 'write "yes", "no" or "unknown".'),
        ({"inspection.seen.drones": '"few"'}, "write true or false, or leave the key out"),
        ({"inspection.seen.drones": "1"}, "write true or false, or leave the key out"),
        # Days and times.
        ({"inspection.date": '"29 June"'}, "write the day as year-month-day, such as 2026-06-29."),
        ({"inspection.date": "20260629"}, "inspection.date is 20260629: write the day as year"),
        ({"inspection.date": "2026-06-29T10:00:00Z"}, "write the local time without an offset"),
        ({"inspection.date": "1989-12-31"}, "write a day between the years 1990 and 2100."),
        ({"inspection.date": "0001-01-01"}, "write a day between the years 1900 and 2100."),
        ({"inspection.time": '"25:00"'}, "write the local time in 24 hours"),
        ({"inspection.time": '"2 pm"'}, "write the local time in 24 hours"),
        (
            {"inspection.date": "2026-06-29T10:00:00", "inspection.time": '"11:00"'},
            "inspection.time is 11:00:00: keep the time in date or in time, not in both.",
        ),
        ({"inspection.first_seen": "2026-06-01T10:00:00"}, "such as 2026-06-29, without a time."),
        (
            {"inspection.first_seen": "2026-06-30"},
            "inspection.first_seen is 2026-06-30: write a day that is not after the inspection "
            "on 2026-06-29.",
        ),
        ({"inspection.swarm_seen": "2026-06-30"}, "write a day that is not after the inspection"),
        ({"inspection.sprayed": "2026-06-30"}, "write a day that is not after the inspection"),
        ({"inspection.first_seen": "1926-06-29"}, "write a day within forty years before"),
        ({"setup.cone_on": "2026-06-28"}, "write a day that is not before the inspection"),
        ({"setup.cone_on": "2027-07-02"}, "write a day within a year after the inspection."),
        (
            {"setup.cone_on": "2026-07-02", "people.gone_by": "2026-07-01"},
            "people.gone_by is 2026-07-01: write a day after the cone goes on, on 2026-07-02.",
        ),
        ({"people.gone_by": "2026-06-01"}, "write a day after the inspection on 2026-06-29."),
        # Zone.
        ({"site.time_zone": '"America/New_Yrok"'}, 'write "America/New_York" perhaps'),
        ({"site.time_zone": '"EDT"'}, "write the IANA name of the zone"),
        ({"site.time_zone": '"../../etc/passwd"'}, "write the IANA name of the zone"),
        ({"site.time_zone": '"/etc/localtime"'}, "write the IANA name of the zone"),
        ({"site.time_zone": "-5"}, "write the IANA name of the zone"),
        # Text.
        ({"title": "3"}, "title is 3: write the title as text in quotes."),
        ({"title": f'"{"x" * 121}"'}, "write the title in at most 120 characters."),
        ({"title": '"a\\nb"'}, "write the title on one line without control characters."),
        ({"title": '"a\\u001b[31m"'}, "write the title on one line without control characters."),
        ({"title": '"a\\u202eb"'}, "write the title on one line without control characters."),
        ({"inspection.notes": '"a\\u0007"'}, "write the notes without control characters."),
        # Tables that owe a key.
        (
            {"inspection.traffic.minutes": "5", "inspection.time": '"9:00"'},
            "traffic.out is missing: ",
        ),
        ({"inspection.traffic.out": "5", "inspection.time": '"9:00"'}, "minutes is missing: write"),
        (
            {"inspection.traffic.out": "5", "inspection.traffic.minutes": "5"},
            'inspection.time is missing: write when the bees were counted, such as time = "14:30".',
        ),
        (
            {"inspection.comb.combs": "2", "inspection.comb.length": '"20 cm"'},
            "inspection.comb.width is missing: write the width of a comb",
        ),
        (
            {"inspection.comb.length": '"20 cm"', "inspection.comb.width": '"20 cm"'},
            "inspection.comb.combs is missing: write how many combs",
        ),
        (
            {
                "inspection.comb.combs": "60",
                "inspection.comb.length": '"1 m"',
                "inspection.comb.width": '"1 m"',
            },
            "inspection.comb.length is '1 m': write combs of at most 500 dm2 in all",
        ),
        (
            {
                "inspection.comb.combs": "2",
                "inspection.comb.length": '"1 dm"',
                "inspection.comb.width": '"1 dm"',
                "inspection.comb.area": '"2 dm2"',
            },
            "inspection.comb.area is '2 dm2': keep either area or the length and width",
        ),
        # Climate.
        (CLIMATE | {"site.climate.unit": None}, "site.climate.unit is missing: write unit ="),
        (CLIMATE | {"site.climate.high": None}, "site.climate.high is missing: write twelve"),
        (CLIMATE | {"site.climate.wet_days": None}, "site.climate.wet_days is missing: write"),
        (CLIMATE | {"site.climate.high": "[1, 2]"}, "is a list of 2: write twelve temperatures"),
        (CLIMATE | {"site.climate.high": "3"}, "site.climate.high is 3: write twelve temperatures"),
        (
            CLIMATE | {"site.climate.high": TWELVE_HIGHS.replace("24", '"x"')},
            "site.climate.high is 'x': for June, write a temperature with its unit",
        ),
        (
            CLIMATE | {"site.climate.high": TWELVE_HIGHS.replace("24", "240")},
            "site.climate.high is 240: for June, write a temperature from -50 C to 55 C.",
        ),
        (
            CLIMATE | {"site.climate.high": TWELVE_HIGHS.replace("24", "true")},
            "site.climate.high is true: write twelve temperatures",
        ),
        (
            CLIMATE | {"site.climate.low": TWELVE_LOWS.replace("15", "28")},
            "site.climate.low is '28 C': write a low for July that is not above its high of 27 C.",
        ),
        (
            CLIMATE | {"site.climate.wet_days": TWELVE_DAYS.replace("13", "32")},
            "site.climate.wet_days is 32: for May, write a number of days from 0 to 31.",
        ),
        (
            CLIMATE | {"site.climate.wet_share": "[" + "0.5, " * 12 + "]"},
            "keep either wet_days or wet_share.",
        ),
        # Keys and tables that do not exist, or not there.
        (
            {"building.entrance_hieght": '"14 ft"'},
            "building.entrance_hieght is '14 ft': there is no such key, write entrance_height",
        ),
        ({"building.Cavity": '"soffit"'}, "there is no such key, write cavity perhaps."),
        ({"building.cone_on": "2026-07-01"}, "move it under the heading [setup]."),
        ({"site.title": '"x"'}, "move it above all headings."),
        ({"people.entrance_hight": '"4 m"'}, "write building.entrance_height perhaps."),
        ({"inspection.seen.wasps": "true"}, "use one of pollen, drones, orientation_flights, "),
        ({"bilding.depth": '"3 in"'}, "bilding is a table: there is no such key, write [building]"),
        ({'"a\\nb"': "1"}, '"a\\nb" is 1: there is no such key'),
        ({"building": "3"}, "building is 3: write it as a table of its own under the heading [b"),
        ({"inspection.comb": '"yes"'}, "a table of its own under the heading [inspection.comb]."),
    ],
)
def test_one_fault_gives_one_sentence(changes: dict[str, str | None], sentence: str) -> None:
    said = sentence_of(job_text(changes))
    assert sentence in said
    assert said.endswith(".")
    assert said.isprintable()


def test_a_table_in_double_brackets_is_told_to_use_single_ones() -> None:
    said = sentence_of(job_text() + "[[setup]]\n")
    assert (
        said == "setup is a list of one: write it as a table of its own under the heading [setup]."
    )


def test_all_faults_are_told_at_once_in_the_order_of_the_tables() -> None:
    text = job_text(
        {
            "inspection.first_seen": "2026-07-30",
            "setup.cone_on": "2026-01-01",
            "building.depth": "3.5",
            "building.colour": '"red"',
            "site.latitude": "99",
            "title": None,
            "people.gone_by": "tomorrow".join('""'),
        }
        | CLIMATE
        | {"site.climate.low": TWELVE_LOWS.replace("-10", "40").replace("-5", "41")}
    )
    assert [problem.field for problem in problems_of(text)] == [
        "title",
        "site.latitude",
        "site.climate.low",
        "site.climate.low",
        "building.depth",
        "building.colour",
        "people.gone_by",
        "inspection.first_seen",
        "setup.cone_on",
    ]


def test_a_key_that_is_wrong_is_not_called_missing_as_well() -> None:
    assert [p.field for p in problems_of(job_text({"inspection.date": '"soon"'}))] == [
        "inspection.date"
    ]
    keys = {"inspection.traffic.out": '"many"', "inspection.time": '"9:00"'}
    assert [p.field for p in problems_of(job_text(keys))] == [
        "inspection.traffic.out",
        "inspection.traffic.minutes",
    ]
    text = 'title = "x"\nsite = 3\n[inspection]\ndate = 2026-06-29\n'
    assert [p.field for p in problems_of(text)] == ["site"]


def test_no_more_problems_are_told_than_a_person_would_read() -> None:
    text = job_text({f"setup.x{n}": "1" for n in range(2000)})
    problems = problems_of(text)
    assert len(problems) == MOST_PROBLEMS + 1
    assert problems[-1].sentence == (
        f"the job file is wrong in {2000 - MOST_PROBLEMS} more places: mend these first."
    )


# ---- what is said of text that is not TOML ----


@pytest.mark.parametrize(
    ("line", "mend"),
    [
        ("height = 14 ft", 'put the number with its unit in quotes, such as "14 ft".'),
        ("height = 14' 6\"", 'put the number with its unit in quotes, such as "14 ft".'),
        ("temperature = 72°F", 'put the number with its unit in quotes, such as "14 ft".'),
        ("weight = 2,5", "write a decimal point, or put the number with its unit in quotes."),
        ("time = 14:30", 'put the time in quotes, such as time = "14:30".'),
        ("date = 2026-06-29T14:30", "write the seconds too, such as 2026-06-29T14:30:00."),
        ("date = 6/29/2026", "write a date that exists as year-month-day"),
        ("date = 2026-02-30", "write a date that exists as year-month-day"),
        ("sky = sun", 'put the text after the equals sign in quotes, such as sky = "sun".'),
        ("drones = True", "write true or false in small letters."),
        ("sky: 'sun'", "write an equals sign, not a colon, between key and value."),
        ("sky = \u201csun\u201d", 'use straight quotes, "like these".'),
        ('sky = "sun', "close the quotes on the same line."),
        ('sky = "s\\un"', "write each backslash twice, or leave it out."),
        ("sky =", "write a value after the equals sign, or put # before the line."),
        ("a remark", "write key = value, or put # before a remark."),
        ("[people", "close the heading with ], such as [inspection]."),
        ("high = [1, 2", "mend the line so that it is TOML ("),
        ("\x1b[31m", "mend the line so that it is TOML ("),
        ("title = 'again'", "keep only one of the keys or headings that are written twice."),
    ],
)
def test_a_slip_in_the_writing_is_named_with_its_line(line: str, mend: str) -> None:
    said = sentence_of(f'title = "Bees"\n{line}\n')
    assert said.startswith("line 2 is ")
    assert mend in said
    assert said.isprintable()


def test_headings_written_twice_are_named() -> None:
    said = sentence_of(job_text() + "[site]\n")
    assert "keep only one of the keys or headings that are written twice" in said


@pytest.mark.parametrize(
    "lines",
    [
        "[visit]\ndate = 2026-07-08\n[visit]\n",
        "[visit]\ndate = 2026-07-08\n[[visit]]\n",
        "[visit.count]\nminutes = 5\n[[visit]]\n",
        "[[visit]]\n[visit.count]\nminutes = 5\n[visit.count]\n",
        "[[visit]]\ndate = 2026-07-08\ndate = 2026-07-09\n",
        "[[visit]]\n[visit.did]\nfed = true\nfed = true\n",
    ],
)
def test_a_visit_without_its_own_heading_is_told_of_the_double_brackets(lines: str) -> None:
    said = sentence_of(job_text() + lines)
    last = lines.splitlines()[-1]
    assert said.endswith(
        f"is '{last}': write [[visit]] in double brackets above each visit, and nothing in it "
        "twice."
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "the job file is empty: write the job into it"),
        (" \n\t\n", "the job file is empty: write the job into it"),
        ("a = " + "[" * 5000 + "]" * 5000, "the job file is nested too deeply: "),
        ("a = " + "{a = " * 5000, "the job file is nested too deeply: "),
        (".".join("a" * 40_000) + " = 1", "the job file is nested too deeply: "),
        ('" ".' * 20_000 + "a = 1", "the job file is nested too deeply: "),
        ("a = " + "9" * 5000, "a number in the job file is thousands of digits long: "),
        ("#" * (LARGEST_FILE_BYTES + 1), "the job file is 100,001 characters long: "),
        ("# only a remark", "title is missing: "),
    ],
    ids=lambda text: text[:12],
)
def test_text_that_holds_no_job_is_told_so(text: str, said: str) -> None:
    assert problems_of(text)[0].sentence.startswith(said)


# ---- what is said of a file that cannot be read ----


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with one right job file."""
    (tmp_path / "gable.toml").write_text(job_text(), encoding="utf-8")
    return tmp_path


def said_of(path: Path) -> str:
    """What is said of a file, without the path."""
    with pytest.raises(FileProblem) as caught:
        read_job(path)
    said = str(caught.value)
    assert said.isprintable()
    return said.removeprefix(f"{path} ")


def test_a_file_is_read_with_or_without_byte_order_mark_and_carriage_returns(folder: Path) -> None:
    expected = parse_job(job_text())
    assert read_job(folder / "gable.toml") == expected
    text = job_text().replace("\n", "\r\n")
    (folder / "marked.toml").write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert read_job(folder / "marked.toml") == expected


def test_a_missing_file_is_answered_with_the_nearest_name(folder: Path) -> None:
    said = said_of(folder / "gabel.toml")
    assert said == "does not exist: check the name, perhaps gable.toml is meant."
    assert said_of(folder / "no" / "x.toml") == "does not exist: check the name and the folder."


def test_a_folder_and_a_pipe_are_not_job_files(folder: Path) -> None:
    assert said_of(folder) == "is a folder: name the job file in it."
    os.mkfifo(folder / "pipe.toml")
    assert said_of(folder / "pipe.toml") == "is not a file: name a job file."


def test_a_file_too_large_is_refused_unread(folder: Path) -> None:
    path = folder / "large.toml"
    with path.open("wb") as file:
        file.truncate(50 * 2**30)  # 50 GiB of nothing; reading it would not end
    assert said_of(path).startswith("is too large (53,687,091,200 bytes; a job file has at most")


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (job_text().encode("utf-16"), "is in UTF-16, not in UTF-8: save it as UTF-8 text."),
        (
            b'title = "x"\nclient = "Mme Ren\xe9e"\n',
            "is not in UTF-8 (a sign on line 2 cannot be read): save it as UTF-8 text.",
        ),
        (bytes(range(256)), "is not a text file: name a job file, or start again from what"),
        (b"\x00\x01\x02", "is not a text file: name a job file, or start again from what"),
    ],
)
def test_what_is_not_utf8_text_is_told_so(folder: Path, raw: bytes, said: str) -> None:
    path = folder / "odd.toml"
    path.write_bytes(raw)
    assert said_of(path).startswith(said)


def test_a_name_that_no_file_can_have_is_told_so(folder: Path) -> None:
    with pytest.raises(FileProblem) as caught:
        read_job(folder / "a\x00b.toml")
    assert str(caught.value).isprintable()
    with pytest.raises(FileProblem) as caught:
        read_job(folder / ("x" * 5000 + ".toml"))
    assert str(caught.value).isprintable()


def test_the_tables_of_the_file_are_frozen_once_read() -> None:
    file = JobFile.model_validate({"title": "x"})
    with pytest.raises(ValueError, match="frozen"):
        file.title = "y"


def test_days_may_be_written_as_text() -> None:
    job = parse_job(job_text({"inspection.first_seen": '"2026-06-02"'}))
    assert job.inspection.first_seen == date(2026, 6, 2)

"""Visits in a job file: what comes out of right ones, and what is said of wrong ones.

Limits and rules of order are the product's own; factors of units are those of NIST SP 811,
appendix B.8. Simpson 1969 counts 1,400 bees to a deep frame, by way of Burgett & Burikam 1985.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import get_args
from zoneinfo import ZoneInfo

import pytest
from jobfile_texts import (
    CONE_ON,
    VISITED,
    job_text,
    problems_of,
    sentence_of,
    with_visits,
)

from lastbee.forecast.trapout import TRAP_DAYS
from lastbee.jobs import visit as record
from lastbee.jobs.jobfile import parse_job
from lastbee.jobs.jobfile_schema import MOST_VISITS
from lastbee.jobs.jobfile_visits import LATEST_VISIT_DAYS

ZONE = ZoneInfo("Etc/GMT+5")


def at(day: int, hour: int = 12, minute: int = 0) -> datetime:
    """A moment in July at the site of the smallest job."""
    return datetime(2026, 7, day, hour, minute, tzinfo=ZONE)


def visit_of(keys: dict[str, str | None]) -> record.Visit:
    """The one visit of a job file with these keys, `visit.` left out."""
    (visit,) = parse_job(visited(keys)).visits
    return visit


def visited(keys: dict[str, str | None]) -> str:
    """A job file of one visit with these keys, `visit.` left out."""
    return job_text(VISITED | {f"visit.{key}": value for key, value in keys.items()})


# ---- what comes out of right ones ----


def test_a_job_without_visits_has_none() -> None:
    assert parse_job(job_text()).visits == ()
    assert parse_job("visit = []\n" + job_text()).visits == ()


def test_a_visit_with_nothing_but_its_day_is_a_visit_at_noon() -> None:
    assert visit_of({"time": None}) == record.Visit(at(8))


def test_empty_tables_of_a_visit_are_as_good_as_none() -> None:
    empty = dict.fromkeys(("count", "elsewhere", "box", "wall", "did"), "{}")
    assert visit_of({"time": None, **empty}) == record.Visit(at(8))


def test_everything_that_is_seen_and_done_comes_out_in_si() -> None:
    visit = visit_of(
        {
            "temperature": '"77 F"',
            "sky": '"sun"',
            "wind": '"breeze"',
            "cone": '"partly-blocked"',
            "cluster": '"20 x 15 cm"',
            "dead_bees": '"many"',
            "notes": '"Windy corner."',
            "count.minutes": "5",
            "count.out": "18",
            "count.back_in": "2",
            "elsewhere.seen": "true",
            "elsewhere.minutes": "10",
            "elsewhere.in": "9",
            "elsewhere.pollen": "true",
            "box.frames_of_bees": "3.5",
            "box.gain": '"-1 lb 8 oz"',
            "box.eggs": "true",
            "box.queen": "false",
            "box.robbing": "false",
            "box.hanging_out": "true",
            "wall.hum": "true",
            "wall.hum_span": '"2 ft"',
            "wall.hand": '"none"',
            "wall.thermal_area": '"2 sq ft"',
            "wall.bees_inside": "true",
            "did.cone": '"Cleared"',
            "did.gave_brood": "1",
            "did.fed": '"2 quarts"',
        }
    )
    assert visit == record.Visit(
        at=at(8, 14),
        temperature_degc=pytest.approx(25.0),
        sky="sun",
        wind="breeze",
        cone=record.ConeCount(5.0, 18, 2),
        cone_state="partly blocked",
        elsewhere=record.Elsewhere(10.0, 9, is_seen=True, pollen_carried=True),
        cluster_dm2=pytest.approx(3.0),
        dead_bees="many",
        box=record.BoxSeen(
            frames_of_bees=3.5,
            gain_kg=pytest.approx(-0.680388555),
            eggs_seen=True,
            queen_seen=False,
            is_robbed=False,
            hangs_out=True,
        ),
        wall=record.WallSensed(
            hum_heard=True,
            hum_span_m=pytest.approx(0.6096),
            warm_to_hand=False,
            warm_area_dm2=pytest.approx(18.580608),
            bees_seen_inside=True,
        ),
        did=(
            record.Deed("cone cleared"),
            record.Deed("brood given", 1.0),
            record.Deed("fed", pytest.approx(1.892705892)),
        ),
        notes="Windy corner.",
    )


@pytest.mark.parametrize("written", ['"none"', '" None "', "0", "0.0"])
def test_none_is_a_finding_of_zero(written: str) -> None:
    visit = visit_of({"cluster": written, "wall.thermal_area": written})
    assert visit.cluster_dm2 == 0.0
    assert visit.wall is not None
    assert visit.wall.warm_area_dm2 == 0.0


def test_zero_bees_are_a_count() -> None:
    visit = visit_of(
        {
            "count.minutes": "10",
            "count.out": "0",
            "elsewhere.minutes": "5",
            "elsewhere.in": "0",
            "box.frames_of_bees": "0",
        }
    )
    assert visit.cone == record.ConeCount(10.0, 0, None)
    assert visit.elsewhere == record.Elsewhere(5.0, 0, None, None)
    assert visit.box is not None
    assert visit.box.frames_of_bees == 0.0


def test_no_pollen_on_no_bees_is_not_a_finding() -> None:
    visit = visit_of({"elsewhere.seen": "false", "elsewhere.pollen": "false"})
    assert visit.elsewhere == record.Elsewhere(None, None, is_seen=False, pollen_carried=None)


def test_many_bees_out_of_a_blocked_cone_are_for_the_forecast_to_judge() -> None:
    visit = visit_of({"cone": '"blocked"', "count.minutes": "5", "count.out": "200"})
    assert visit.cone_state == "blocked"


@pytest.mark.parametrize(
    ("written", "gain_kg"),
    [
        ('"1.2 kg"', 1.2),
        ('"+1,2 kg"', 1.2),
        ('"-0.5 kg"', -0.5),
        ('"\u2212 500 g"', -0.5),
        ('"\u2013500 g"', -0.5),
        ('"0 kg"', 0.0),
    ],
)
def test_the_box_may_gain_or_lose(written: str, gain_kg: float) -> None:
    box = visit_of({"box.gain": written}).box
    assert box is not None
    assert box.gain_kg == pytest.approx(gain_kg)


@pytest.mark.parametrize(
    ("key", "written", "deed"),
    [
        ("cone", '"cleared"', record.Deed("cone cleared")),
        ("cone", '"refitted"', record.Deed("cone refitted")),
        ("closed_gap", "true", record.Deed("gap closed")),
        ("brushed_in", '"yes"', record.Deed("cluster brushed in")),
        ("gave_brood", "true", record.Deed("brood given")),
        ("gave_brood", "2", record.Deed("brood given", 2.0)),
        ("gave_queen", "true", record.Deed("queen given")),
        ("added_box", "true", record.Deed("box added")),
        ("added_box", "0", record.Deed("box added", 0.0)),
        ("added_box", "3", record.Deed("box added", 4200.0)),
        ("moved_box_closer", "true", record.Deed("box moved closer")),
        ("shaded_box", "true", record.Deed("box shaded")),
        ("reduced_entrance", "true", record.Deed("entrance reduced")),
        ("fed", "true", record.Deed("fed")),
        ("fed", '"500 ml"', record.Deed("fed", 0.5)),
        ("fed", "false", None),
        ("added_box", '"no"', None),
        ("closed_gap", "false", None),
    ],
)
def test_each_deed_is_read_with_how_much_of_it(
    key: str, written: str, deed: record.Deed | None
) -> None:
    assert visit_of({f"did.{key}": written}).did == ((deed,) if deed else ())


def test_every_kind_of_deed_can_be_written() -> None:
    keys = [
        "closed_gap", "brushed_in", "gave_brood", "gave_queen", "added_box", "moved_box_closer",
        "shaded_box", "reduced_entrance", "fed",
    ]  # fmt: skip
    everything: dict[str, str | None] = {f"did.{key}": "true" for key in keys}
    done = {
        deed.kind
        for cone in ('"cleared"', '"refitted"')
        for deed in visit_of(everything | {"did.cone": cone}).did
    }
    assert done == set(get_args(record.DeedKind))


# ---- when ----


@pytest.mark.parametrize(
    "when",
    [
        {"date": "2026-07-08", "time": '"14:00"'},
        {"date": "2026-07-08", "time": "14:00:59"},
        {"date": "2026-07-08T14:00:00", "time": None},
    ],
)
def test_a_visit_is_at_a_minute_of_the_sites_clock(when: dict[str, str | None]) -> None:
    assert visit_of(when).at == at(8, 14)


def test_visits_come_out_in_order_of_time_and_once_each() -> None:
    late, early = {"date": "2026-07-20"}, {"date": "2026-07-08", "dead_bees": '"some"'}
    again = {"date": '"2026-07-08"', "dead_bees": '"SOME"'}
    visits = parse_job(with_visits(late, early, again)).visits
    assert visits == (record.Visit(at(8), dead_bees="some"), record.Visit(at(20)))


def test_the_latest_visit_leaves_some_days_of_the_forecast() -> None:
    assert 7 <= TRAP_DAYS - LATEST_VISIT_DAYS <= 14
    last = datetime.fromisoformat(CONE_ON) + timedelta(days=LATEST_VISIT_DAYS)
    assert visit_of({"date": f"{last:%Y-%m-%d}"}).at.date() == last.date()


def test_a_visit_on_the_day_of_the_cone_is_right() -> None:
    assert visit_of({"date": CONE_ON}).at == at(1, 14)


# ---- what is said of wrong ones ----

COUNTED: dict[str, str | None] = {"elsewhere.minutes": "5", "elsewhere.in": "3"}


@pytest.mark.parametrize(
    ("keys", "sentence"),
    [
        ({"date": None}, "visit.date of visit 1 is missing: write the day"),
        ({"date": '"soon"'}, "visit.date of visit 1 is 'soon': write the day as year-month-day"),
        (
            {"date": "2026-06-30"},
            "visit.date of visit 1 (2026-06-30) is 2026-06-30: write a day that is not before the "
            "cone went on, on 2026-07-01, or mend setup.cone_on.",
        ),
        (
            {"date": "2026-10-22"},
            "write a day within 112 days after the cone went on, on 2026-07-01, or start a new",
        ),
        ({"date": "1989-07-08"}, "write a day between the years 1990 and 2100."),
        ({"time": '"2 pm"'}, "visit.time of visit 1 (2026-07-08) is '2 pm': write the local time"),
        (
            {"date": "2026-07-08T14:00:00"},
            "visit.time of visit 1 (2026-07-08) is 14:00:00: keep the time in date or in time",
        ),
        (
            {"time": None, "count.minutes": "5", "count.out": "3"},
            "visit.time of visit 1 (2026-07-08) is missing: write when the bees were counted",
        ),
        ({"time": None, **COUNTED}, "visit.time of visit 1 (2026-07-08) is missing: "),
        ({"sky": '"fog"'}, "visit.sky of visit 1 (2026-07-08) is 'fog': write one of \"sun\", "),
        ({"cone": '"clogged"'}, 'write one of "clear", "partly blocked", "blocked".'),
        ({"cluster": "3"}, 'write the unit too, such as "3 sq ft" or "3 dm2", or "none".'),
        ({"cluster": '"0 dm2"'}, 'write an area from 0.1 dm2 to 500 dm2, or "none".'),
        ({"cluster": '"big"'}, 'such as "12 dm2" or "30 x 40 cm", or "none".'),
        ({"dead_bees": "3"}, 'visit.dead_bees of visit 1 (2026-07-08) is 3: write one of "none"'),
        # Counts.
        ({"count.out": "3"}, "visit.count.minutes of visit 1 (2026-07-08) is missing: write how"),
        ({"count.minutes": "3"}, "visit.count.out of visit 1 (2026-07-08) is missing: write the"),
        ({"count.minutes": "0", "count.out": "3"}, "is 0: write how long was counted in minutes"),
        ({"count.minutes": "5", "count.out": "-1"}, "out of the cone as a whole number from 0 to"),
        (
            {"count.minutes": "5", "count.out": "3", "count.in": "2"},
            "visit.count.in of visit 1 (2026-07-08) is 2: there is no such key here, write "
            "back_in.",
        ),
        # Elsewhere.
        ({"elsewhere.in": "3"}, "visit.elsewhere.minutes of visit 1 (2026-07-08) is missing: "),
        ({"elsewhere.minutes": "3"}, "visit.elsewhere.in of visit 1 (2026-07-08) is missing: "),
        (
            COUNTED | {"elsewhere.seen": "false"},
            "visit.elsewhere.seen of visit 1 (2026-07-08) is false: write true or leave it out, "
            "since 3 went in, or mend in = 3.",
        ),
        (
            COUNTED | {"elsewhere.seen": "false", "elsewhere.pollen": "true"},
            "visit.elsewhere.seen of visit 1 (2026-07-08) is false: write true or leave it out",
        ),
        (
            COUNTED | {"elsewhere.seen": "true", "elsewhere.in": "0"},
            "is true: leave it out, or leave out in = 0 if bees went in at another time.",
        ),
        (
            {"elsewhere.pollen": "true"},
            "visit.elsewhere.seen of visit 1 (2026-07-08) is missing: write whether any bees went",
        ),
        ({"elsewhere.pollen": "false"}, "visit.elsewhere.seen of visit 1 (2026-07-08) is missing"),
        (
            {"elsewhere.pollen": "true", "elsewhere.seen": "false"},
            "visit.elsewhere.pollen of visit 1 (2026-07-08) is true: leave it out, since no bees",
        ),
        (
            COUNTED | {"elsewhere.pollen": "true", "elsewhere.in": "0"},
            "visit.elsewhere.pollen of visit 1 (2026-07-08) is true: leave it out, since no bees",
        ),
        # Box and wall.
        ({"box.frames_of_bees": "41"}, "covered with bees on both faces, from 0 to 40."),
        ({"box.gain": "-0.4"}, 'is -0.4: write the unit too, such as "-0.4 lb" or "-0.4 kg".'),
        ({"box.gain": '"-0.4"'}, 'write the unit too, such as "-0.4 lb" or "-0.4 kg".'),
        ({"box.gain": '"-31 kg"'}, "write a mass from -30 kg to 100 kg."),
        ({"box.gain": '"--1 kg"'}, "visit.box.gain of visit 1 (2026-07-08) is '--1 kg': "),
        ({"box.gain": '""'}, "write a mass with its unit"),
        ({"wall.hum": "false", "wall.hum_span": '"20 cm"'}, "since hum_span is written, or leave"),
        ({"wall.hand": '"cool"'}, 'write one of "warm", "none".'),
        # Deeds.
        ({"did.cone": '"mended"'}, 'write one of "cleared", "refitted".'),
        ({"did.cone": "true"}, 'is true: write one of "cleared", "refitted".'),
        ({"did.closed_gap": "1"}, "write true or false, or leave the key out"),
        ({"did.gave_brood": "0"}, "write the frames of open brood, from 0.25 to 10, or true."),
        ({"did.gave_brood": '"2"'}, "leave out the quotes and write 2, or true."),
        ({"did.added_box": '"some"'}, "write the frames of bees in the added box, from 0 to 20, o"),
        ({"did.fed": "1"}, 'write the unit too, such as "1 qt" or "1 l", or true.'),
        ({"did.fed": '"1 kg"'}, "(kg is a unit of mass), or true."),
        ({"did.fed": '"50 l"'}, "write a volume from 0.1 l to 40 l, or true."),
        # Keys in the wrong place, and tables written otherwise.
        ({"out": "3"}, "there is no such key here, move it under the heading [visit.count]."),
        ({"in": "3"}, "there is no such key here, move it under the heading [visit.elsewhere]."),
        ({"box.hand": '"warm"'}, "move it under the heading [visit.wall]."),
        ({"did.notes": '"x"'}, "move it under the heading [[visit]]."),
        ({"frames": "3"}, "there is no such key"),
        ({"frame_of_bees": "3"}, "there is no such key, write visit.box.frames_of_bees perhaps."),
        (
            {"box": '"full"'},
            "visit.box of visit 1 (2026-07-08) is 'full': write it as a table of its own under the "
            "heading [visit.box].",
        ),
    ],
)
def test_one_fault_of_a_visit_gives_one_sentence(
    keys: dict[str, str | None], sentence: str
) -> None:
    said = sentence_of(visited(keys))
    assert sentence in said
    assert said.endswith(".")
    assert said.isprintable()


def test_visits_ask_for_the_day_of_the_cone() -> None:
    said = sentence_of(job_text({"visit.date": "2026-07-08"}))
    assert said == (
        "setup.cone_on is missing: write the day on which the cone really went on, since there "
        "are visits, such as cone_on = 2026-07-01."
    )


def test_a_cone_day_that_is_wrong_is_not_called_missing_as_well() -> None:
    keys = VISITED | {"setup.cone_on": '"soon"', "visit.date": "2026-06-01"}
    # Without a cone the inspection of 29 June is the first day there is.
    assert [problem.sentence for problem in problems_of(job_text(keys))] == [
        "setup.cone_on is 'soon': write the day as year-month-day, such as 2026-06-29.",
        "visit.date of visit 1 (2026-06-01) is 2026-06-01: write a day that is not before the "
        "inspection on 2026-06-29.",
    ]


def test_a_visit_is_not_before_the_inspection_of_the_same_day() -> None:
    keys = VISITED | {"setup.cone_on": "2026-06-29", "visit.date": "2026-06-29"}
    keys |= {"inspection.time": '"15:30"'}
    said = sentence_of(job_text(keys))
    assert said == (
        "visit.time of visit 1 (2026-06-29) is 14:00:00: write a time that is not before the "
        "inspection at 15:30 that day."
    )
    in_one = keys | {"visit.date": "2026-06-29T14:00:00", "visit.time": None}
    assert sentence_of(job_text(in_one)).startswith("visit.date of visit 1 (2026-06-29) is 14:00:")
    assert parse_job(job_text(keys | {"visit.time": '"15:30"'})).visits
    assert parse_job(job_text(keys | {"visit.time": None})).visits


def test_two_visits_at_one_minute_that_differ_are_both_named() -> None:
    calm, windy = (
        {"date": "2026-07-08", "time": '"14:00"', "wind": f'"{wind}"'}
        for wind in ("calm", "strong")
    )
    text = with_visits(calm, {"date": "2026-07-20"}, windy, calm)
    assert sentence_of(text) == (
        "visit.date of visit 3 (2026-07-08) is 2026-07-08 14:00: mend the day or write the time "
        "of both, since visit 1 is at the same minute and says otherwise, or keep only one of the "
        "two."
    )


def test_of_two_visits_at_one_minute_a_wrong_key_is_told_and_no_quarrel() -> None:
    wrong = {"date": "2026-07-08", "wind": '"gale"'}
    assert [p.field for p in problems_of(with_visits({"date": "2026-07-08"}, wrong))] == [
        "visit.wind of visit 2 (2026-07-08)"
    ]


def test_all_faults_of_all_visits_are_told_at_once_in_the_order_of_the_file() -> None:
    text = with_visits(
        {"date": "2026-07-20", "wind": '"gale"', "count.out": "3"},
        {"time": '"9:00"', "elsewhere.seen": "false", "elsewhere.pollen": "true"},
        {"date": "2026-06-01", "box.egg": "true"},
    )
    assert [problem.field for problem in problems_of(text + "[preferences]\nunit = 3\n")] == [
        "preferences.unit",
        "visit.wind of visit 1 (2026-07-20)",
        "visit.time of visit 1 (2026-07-20)",
        "visit.count.minutes of visit 1 (2026-07-20)",
        "visit.date of visit 2",
        "visit.elsewhere.pollen of visit 2",
        "visit.box.egg of visit 3 (2026-06-01)",
        "visit.date of visit 3 (2026-06-01)",
    ]


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("visit = 3", "visit is 3: write each visit under a heading [[visit]] of its own, in d"),
        ("visit = { date = 2026-07-08 }", "visit is a table: write each visit under a heading"),
        (
            "visit = [3]",
            "visit 1 is 3: write it as a table of its own under the heading [[visit]].",
        ),
        ("[[visits]]", "visits is a list of one: there is no such key, write [[visit]] perhaps."),
        ("[count]", "count is a table: there is no such key here, write its heading as [visit.cou"),
        ("[[setup.visit]]", "setup.visit is a list of one: there is no such key here, write its h"),
    ],
)
def test_visits_under_another_heading_are_told_the_right_one(line: str, sentence: str) -> None:
    text = job_text({"setup.cone_on": CONE_ON})
    text = text + line if line.startswith("[") else f"{line}\n{text}"
    assert sentence in sentence_of(text)


def test_a_visit_that_is_no_table_leaves_the_others_their_numbers() -> None:
    listed = '[3, { date = 2026-07-08, sky = "fog" }]'
    text = f"visit = {listed}\n" + job_text({"setup.cone_on": CONE_ON})
    assert [problem.field for problem in problems_of(text)] == [
        "visit 1",
        "visit.sky of visit 2 (2026-07-08)",
    ]


def test_more_visits_than_days_are_refused() -> None:
    day = {"date": "2026-07-08"}
    assert len(parse_job(with_visits(*[day] * MOST_VISITS)).visits) == 1
    assert sentence_of(with_visits(*[day] * (MOST_VISITS + 1))) == (
        f"visit is a list of {MOST_VISITS + 1}: keep at most {MOST_VISITS} of them."
    )

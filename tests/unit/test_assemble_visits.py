"""From what a person wrote of a visit to items, deeds and days."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import get_args
from zoneinfo import ZoneInfo

import pytest

from lastbee.colony.course import Deed, DeedKind
from lastbee.evidence import at_cone
from lastbee.evidence.in_box import BoxGain
from lastbee.forecast.runs import Seen, Watch
from lastbee.jobs import visit as record
from lastbee.jobs.assemble import assemble
from lastbee.jobs.assemble_visits import flight_at, visit_items, watch_of
from lastbee.jobs.job import Inspection, Job, Setup, Site
from lastbee.jobs.visit import BoxSeen, ConeCount, Elsewhere, Visit, WallSensed
from lastbee.planning.flying import FlightNow

ZONE = ZoneInfo("Etc/GMT+5")
CONE_ON = date(2026, 6, 3)
JOB = Job(
    title="Bees in the gable",
    site=Site("Quarry Row", 43.1, -72.4, "Etc/GMT+5"),
    inspection=Inspection(datetime(2026, 6, 1, 14, tzinfo=ZONE)),
    setup=Setup(CONE_ON),
)
QUESTION = assemble(JOB)
FLYING = FlightNow(0.8, 9.5)
NO_BOX = BoxSeen(None, None, None, None, None, None)
NO_WALL = WallSensed(None, None, None, None, None)


def at(day: int, hour: int = 14) -> datetime:
    return datetime(2026, 6, day, hour, tzinfo=ZONE)


def watch(*visits: Visit) -> Watch:
    return watch_of(replace(JOB, visits=visits), QUESTION)


def readings(visit: Visit, frames_given: float = 0.0) -> dict[str, float]:
    return {item.key: item.value for item in visit_items(visit, FLYING, frames_given)}


def box(**seen: object) -> Visit:
    return Visit(at(10), box=replace(NO_BOX, **seen))


def wall(**sensed: object) -> Visit:
    return Visit(at(10), wall=replace(NO_WALL, **sensed))


def elsewhere(**seen: object) -> Visit:
    return Visit(at(10), elsewhere=replace(Elsewhere(None, None, None, None), **seen))


# Zeros and answers of no are findings like any other.
WRITTEN: list[tuple[Visit, dict[str, float]]] = [
    (Visit(at(10)), {}),
    (Visit(at(10), temperature_degc=9.0, sky="rain", wind="calm", notes="Nobody in."), {}),
    (Visit(at(10), cone=ConeCount(5.0, 0, None)), {"cone out": 0.0}),
    (Visit(at(10), cone=ConeCount(5.0, None, 2)), {"cone in": 2.0}),
    (Visit(at(10), cone=ConeCount(5.0, 18, 0)), {"cone out": 18.0, "cone in": 0.0}),
    (Visit(at(10), cone_state="clear"), {"cone state": 0.0}),
    (Visit(at(10), cone_state="blocked"), {"cone state": 2.0}),
    (Visit(at(10), dead_bees="some"), {"dead bees": 1.0}),
    (Visit(at(10), cluster_dm2=0.0), {"wall cluster": 0.0}),
    (Visit(at(10), cluster_dm2=3.5), {"wall cluster": 3.5}),
    (elsewhere(is_seen=False), {"elsewhere seen": 0.0}),
    (elsewhere(minutes=5.0, bees_in=0), {"elsewhere": 0.0}),
    # Who counted has seen; one sighting is not taken for two.
    (elsewhere(minutes=5.0, bees_in=9, is_seen=True), {"elsewhere": 9.0}),
    (
        elsewhere(is_seen=True, pollen_carried=True),
        {"elsewhere seen": 1.0, "elsewhere pollen": 1.0},
    ),
    (Visit(at(10), box=NO_BOX), {}),
    (box(frames_of_bees=0.0), {"box frames": 0.0}),
    (box(gain_kg=-0.4, eggs_seen=False), {"box gain": -0.4, "box eggs": 0.0}),
    (box(queen_seen=True, is_robbed=False), {"box queen": 1.0, "box robbed": 0.0}),
    (box(hangs_out=True), {"box hangs out": 1.0}),
    (Visit(at(10), wall=NO_WALL), {}),
    (wall(hum_heard=False), {"hum heard": 0.0}),
    # A span that is measured has been heard.
    (wall(hum_heard=True, hum_span_m=0.4), {"hum": 0.4}),
    (wall(warm_area_dm2=0.0, warm_to_hand=False), {"warm patch": 0.0, "warm hand": 0.0}),
    (wall(bees_seen_inside=True), {"bees inside": 1.0}),
]


@pytest.mark.parametrize(("visit", "wanted"), WRITTEN, ids=range(len(WRITTEN)))
def test_each_sighting_is_one_item_and_what_was_not_looked_at_is_none(
    visit: Visit, wanted: dict[str, float]
) -> None:
    assert readings(visit) == wanted


def test_every_sighting_there_is_has_an_item() -> None:
    """Tests a visit at which everything was looked at, field by field of the records."""
    full = Visit(
        at(10), 24.0, "sun", "calm", ConeCount(5.0, 10, 0), "clear",
        Elsewhere(5.0, 3, True, False), 2.0, "some", BoxSeen(4.0, 1.0, True, True, False, False),
        WallSensed(True, 0.5, True, 4.0, False),
    )  # fmt: skip
    keys = list(readings(full))
    assert len(keys) == len(set(keys)) == 17


def test_words_of_the_records_are_those_of_the_items() -> None:
    """Tests that a state written is the state read, and every deed one of the engine's."""
    assert get_args(record.ConeState) == at_cone.CONE_STATES
    assert get_args(record.DeadBees) == at_cone.DEAD_BEES
    assert {kind.value for kind in DeedKind} == set(get_args(record.DeedKind))
    for state in get_args(record.ConeState):
        (item,) = visit_items(Visit(at(10), cone_state=state), FLYING, 0.0)
        assert item.reading == state


def test_what_is_done_counts_from_the_next_morning() -> None:
    """Tests deeds with their amounts, in order, and the day of each visit."""
    first = Visit(at(10), did=(record.Deed("gap closed"), record.Deed("fed", 1.5)))
    second = Visit(at(15), did=(record.Deed("box added", 4200.0),))
    of = watch(first, second)
    cone = QUESTION.cone_day
    assert of.cone_day == cone == QUESTION.year.index_of(CONE_ON)
    assert of.visits == (Seen(cone + 7, (), cone + 7), Seen(cone + 12, (), cone + 12))
    assert of.deeds == (
        Deed(cone + 8, DeedKind.GAP_CLOSED),
        Deed(cone + 8, DeedKind.FED, 1.5),
        Deed(cone + 13, DeedKind.BOX_ADDED, 4200.0),
    )
    assert of.inspected == QUESTION.items


def test_a_second_visit_of_the_day_sees_what_the_first_did() -> None:
    """Tests three calls on one day, of which the second does something, and one the day after."""
    calls = [Visit(at(10, hour)) for hour in (9, 12, 16)]
    calls[1] = replace(calls[1], did=(record.Deed("cone cleared"),))
    of = watch(*calls, Visit(at(11)))
    day = QUESTION.cone_day + 7
    assert [(s.day, s.rates_day) for s in of.visits] == [
        (day, day), (day, day), (day, day + 1), (day + 1, day + 1),
    ]  # fmt: skip


def test_visits_count_in_order_of_time_and_once_each() -> None:
    """Tests records given in any order, one of them twice."""
    early, late = Visit(at(8), dead_bees="some"), Visit(at(20), cone_state="clear")
    assert watch(late, early, late) == watch(early, late)
    assert replace(JOB, visits=(late, early, late)).visits == (early, late)


def test_frames_given_weigh_at_later_visits_and_not_at_their_own() -> None:
    """Tests the frames that a box has had when it is weighed: a frame of brood, then two."""
    weighed = replace(NO_BOX, gain_kg=1.0)
    given = (
        (record.Deed("brood given"), record.Deed("fed", 2.0)),
        (record.Deed("brood given", 2.0),),
    )
    of = watch(
        Visit(at(5), box=weighed, did=given[0]),
        Visit(at(9), box=weighed, did=given[1]),
        Visit(at(14), box=weighed),
    )
    gains = [item for visit in of.visits for item in visit.items]
    assert all(isinstance(item, BoxGain) for item in gains)
    assert [item.frames_added for item in gains] == [0.0, 1.0, 3.0]  # type: ignore[attr-defined]


def test_on_the_day_of_the_cone_nothing_is_read_off_a_wall_that_is_still_bare() -> None:
    """Tests a call some hours after the cone went on, and the same sightings a day later."""
    early, later = (
        Visit(at(day, 16), cone=ConeCount(5.0, 9, 4), cluster_dm2=6.0, dead_bees="some")
        for day in (3, 4)
    )
    first, second = watch(early, later).visits
    assert first.day == QUESTION.cone_day
    assert [item.key for item in first.items] == ["cone out"]
    assert [item.key for item in second.items] == [
        "cone out", "cone in", "dead bees", "wall cluster",
    ]  # fmt: skip


def test_a_box_that_another_was_added_to_is_weighed_no_more() -> None:
    """Tests that the weight counts up to the visit at which it was added, and not after."""
    weighed = replace(NO_BOX, gain_kg=3.0, frames_of_bees=4.0)
    of = watch(
        Visit(at(8), box=weighed, did=(record.Deed("box added", 1400.0),)),
        Visit(at(12), box=weighed),
    )
    assert [[item.key for item in seen.items] for seen in of.visits] == [
        ["box frames", "box gain"], ["box frames"],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("weather", "least", "most"),
    [
        ({"temperature_degc": 25.0, "sky": "sun", "wind": "calm"}, 0.8, 1.0),
        ({"temperature_degc": 9.0, "sky": "rain", "wind": "strong"}, 0.0, 0.02),
        ({"temperature_degc": 9.0, "sky": "sun", "wind": "calm"}, 0.0, 0.02),
    ],
)
def test_flight_is_that_of_the_hour_and_its_weather(
    weather: dict[str, object], least: float, most: float
) -> None:
    """Tests full flight in sun above 20 degC and none below 12 or in rain (Burrill & Dietz 1981;
    Lundie 1925)."""
    visit = Visit(at(10, 13), **weather)  # type: ignore[arg-type]
    flying = flight_at(visit, JOB.site)
    assert least <= flying.activity <= most
    (item,) = watch(replace(visit, cone=ConeCount(5.0, 3, None))).visits[0].items
    assert item.activity == flying.activity  # type: ignore[attr-defined]


def test_at_night_nothing_flies() -> None:
    assert flight_at(Visit(at(10, 2), 25.0, "sun", "calm"), JOB.site).activity < 1e-6

"""The words of a running trap-out: readings, explanations, the next visit, steps, looks."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from progress_pieces import clearance, empty, next_visit, visit
from scene_factory import scenes
from test_methods import OPEN_WALL

from lastbee.colony.course import MENDS, PRIOR, Trouble
from lastbee.colony.layout import Sky
from lastbee.evidence import at_cone, cues, in_box, outside
from lastbee.forecast.diagnosis import Explanation, Sign
from lastbee.jobs.assemble import assemble
from lastbee.jobs.comeback import FOLLOW_UP, Chosen, counting_hours, next_visit_row
from lastbee.jobs.explained import trouble_rows
from lastbee.jobs.job import Climate, Inspection, Job, Preferences, Setup, Site
from lastbee.jobs.readings import reading_words
from lastbee.jobs.running_steps import Ahead, running_steps
from lastbee.jobs.sightings import seen_and_left
from lastbee.jobs.standing import Standing
from lastbee.jobs.story import weather_words
from lastbee.jobs.troubles import TOLD, caution_of
from lastbee.jobs.visit import BoxSeen, ConeCount, Deed, Elsewhere, Visit
from lastbee.jobs.visit_looks import LEAST_BITS, USUAL, Tells, visit_looks
from lastbee.methods.schedule import Cause, Cost, NextVisit, Outlook, Why
from lastbee.methods.visits import Schedule

if TYPE_CHECKING:
    from lastbee.evidence.item import Item
    from lastbee.evidence.scene import Scene
    from lastbee.jobs.plan import Step
    from lastbee.jobs.progress import TroubleRow

ZONE = ZoneInfo("Etc/GMT+4")
GOOD = (0.9, 9.0)
HIGH_WALL = replace(OPEN_WALL, entrance_height_m=5.0, power_line_near="unknown")
OLD_WALL = replace(HIGH_WALL, year_built=1920)
# Invented normals of a cool inland valley.
CLIMATE = Climate(
    (-1, 1, 6, 13, 20, 24, 27, 26, 22, 15, 8, 2),
    (-11, -10, -5, 1, 7, 12, 15, 14, 10, 3, -2, -7),
    (0.4, 0.35, 0.35, 0.3, 0.25, 0.22, 0.2, 0.2, 0.22, 0.28, 0.35, 0.4),
)
SITE = Site("Quarry Row", 43.1, -72.4, "Etc/GMT+4", CLIMATE)
JOB = Job(
    "Bees in the gable", SITE, Inspection(datetime(2026, 6, 1, 14, tzinfo=ZONE)),
    setup=Setup(date(2026, 6, 3)),
    visits=(Visit(datetime(2026, 6, 10, 13, tzinfo=ZONE)),),
)  # fmt: skip


# ---- readings ----


@pytest.mark.parametrize(
    ("item", "metric", "us"),
    [
        (at_cone.bees_out(0.0, 10.0, *GOOD), "none in 10 min", None),
        (at_cone.bees_out(14.0, 5.0, *GOOD), "14 in 5 min", None),
        (at_cone.cone_state(1.0), "partly blocked", None),
        (outside.cluster_on_wall(0.0), "none", None),
        (outside.cluster_on_wall(18.6), "19 dm²", "2 sq ft"),
        (in_box.frames_of_bees(3.5, 0.9), "3.5 deep frames", None),
        (in_box.frames_of_bees(0.0, 0.9), "none", None),
        (in_box.BoxGain(1.2), "up 1.2 kg", "up 2.6 lb"),
        (in_box.BoxGain(-0.4), "down 0.4 kg", "down 0.9 lb"),
        (in_box.BoxGain(0.0), "unchanged", None),
        (cues.hum_span(0.41), "0.4 m", "1.3 ft"),
        (cues.warm_area_or_none(0.0), "none", None),
        (cues.warm_area_or_none(12.0), "12 dm²", "1.3 sq ft"),
        (cues.hum_heard(0.0), "not heard", None),
        (in_box.robbing_at_box(1.0, 0.9), "seen", None),
    ],
)
def test_readings_are_told_in_the_units_of_the_reader(
    item: Item[Scene], metric: str, us: str | None
) -> None:
    """Tests each kind of reading; 0.4536 kg a pound, 9.29 dm2 a square foot, 0.3048 m a foot."""
    assert reading_words(item, "metric") == metric
    assert reading_words(item, "us") == (us or metric)


# ---- explanations ----


def explained(
    *log_odds: float, trouble: Trouble = Trouble.CLOGGED, units: str = "metric"
) -> TroubleRow:
    """One explanation with so many signs, all of the first visit."""
    signs = tuple(Sign(0, in_box.BoxGain(1.0 + i), odds) for i, odds in enumerate(log_odds))
    e = Explanation(trouble, 0.6, signs)
    still = np.full(len(Trouble), 0.05)
    job = replace(JOB, preferences=Preferences(units=units))  # type: ignore[arg-type]
    tells = Tells(visit_looks(), np.zeros((len(visit_looks()), len(Trouble))))
    return trouble_rows((e,), still, tells, job, HIGH_WALL)[0]


def test_signs_are_told_with_how_telling_they_are() -> None:
    """Tests e^2 = 7.4, e^3 = 20.1 and e^2.4 = 11.0 times, and what is hardly a sign."""
    row = explained(2.0, 3.0, 0.6, -0.6, -2.4)
    assert row.speaks_for == (
        "Weight of the box, 10 Jun: up 2 kg; 20 times likelier with this than without it",
        "Weight of the box, 10 Jun: up 1 kg; 7 times likelier with this than without it",
    )
    assert row.speaks_against == (
        "Weight of the box, 10 Jun: up 5 kg; 11 times likelier without it than with this",
    )
    assert (row.probability, row.still) == (0.6, 0.05)


def test_no_sign_is_told_as_more_than_fifty_times_and_no_more_than_three_are() -> None:
    """Tests readings that no model could have foretold."""
    row = explained(4.0, 5.0, 900.0, 1.0)
    assert len(row.speaks_for) == 3
    assert all("50 times" in said for said in row.speaks_for)


def test_a_trap_out_that_runs_well_is_held_against_trouble() -> None:
    row = explained(1.0, -1.0, trouble=Trouble.NONE, units="us")
    assert row.speaks_for[0].endswith("3 times likelier if it runs well than with trouble")
    assert row.speaks_against[0].endswith("3 times likelier with trouble than if it runs well")
    assert "up 2.2 lb" in row.speaks_for[0]
    assert row.caution == ""


@pytest.mark.parametrize("trouble", list(Trouble), ids=lambda t: t.name)
def test_a_remedy_that_can_hurt_carries_its_caution(trouble: Trouble) -> None:
    """Tests stings at every remedy, height at the wall, lead where it is scraped."""
    said = caution_of(trouble, OLD_WALL)
    if trouble == Trouble.NONE:
        assert said == ""
        return
    assert said.startswith("Stings: suit and veil")
    assert ("Height" in said) == TOLD[trouble].is_high
    assert ("lead" in said) == TOLD[trouble].is_scraping
    assert ("foulbrood" in said) == (trouble == Trouble.ROBBED)


def test_what_a_deed_can_mend_has_a_remedy_to_do() -> None:
    """Tests the things to bring for each trouble, and that only the endless ones have no deed."""
    for trouble in MENDS:
        assert TOLD[trouble].bring
    assert set(PRIOR) - set(MENDS) == {
        Trouble.NONE, Trouble.QUEEN_STAYS, Trouble.SECOND_COLONY, Trouble.STALLED,
    }  # fmt: skip


# ---- looks ----


def tells(**bits: float) -> Tells:
    """What each look tells of a leak, and of whether anything is wrong."""
    looks = visit_looks()
    told = np.zeros((len(looks), len(Trouble)))
    for i, look in enumerate(looks):
        told[i, [Trouble.NONE, Trouble.LEAK]] = bits.get(look.key.replace(" ", "_"), 0.0)
    return Tells(looks, told)


def test_the_best_look_is_the_one_that_tells_most_or_else_the_usual() -> None:
    some = tells(count=0.3, tip=0.5, wall=0.5 * LEAST_BITS)
    assert some.best_for(Trouble.LEAK).key == "tip"
    assert some.best_for(Trouble.ROBBED).key == USUAL[Trouble.ROBBED] == "box door"
    assert [look.key for look in some.in_order()] == ["tip", "count"]
    assert tells().in_order() == ()
    assert set(USUAL) == set(Trouble)


def test_every_look_can_be_imagined() -> None:
    """Tests that each look reads numbers off any scene, and that its label is a clause."""
    scene = scenes(wall=[0.0, 900.0, 20.0], is_robbed=[0.0, 1.0, 0.0])
    for look in visit_looks():
        assert look.label[0].islower()
        for item in look.items:
            drawn = item.draw(scene, np.random.default_rng(1))
            assert np.isfinite(drawn).all()
            for value in drawn.tolist():
                assert np.isfinite(item.log_density(value, scene)).all()


# ---- the next visit ----


@pytest.mark.parametrize("on", [date(2026, 6, 21), date(2026, 9, 20), date(2026, 5, 1)])
def test_hours_for_counting_are_in_the_warm_part_of_the_day(on: date) -> None:
    """Tests hours after eight and before eight: bees fly above 12 degC and in light (Burrill &
    Dietz 1981; Vicens & Bosch 2000)."""
    first, last = counting_hours(on, SITE).split(",")[0].split(" to ")
    assert "08:00" <= first < "13:00" < last <= "20:00"


def test_in_winter_no_hours_are_promised() -> None:
    """Tests a month in which nothing flies, and that the sentence still says what to do."""
    icy = replace(SITE, climate=replace(CLIMATE, high_degc=(-25.0,) * 12, low_degc=(-40.0,) * 12))
    assert counting_hours(date(2026, 1, 10), icy) == "at the warmest hour of a dry day"


QUESTION = assemble(JOB)


def chosen(why: Why, trouble: Trouble = Trouble.LEAK, *, follows_up: bool = False) -> Chosen:
    """A choice of the third of four days."""
    first = QUESTION.cone_day + 8
    outlooks = tuple(
        Outlook(
            Schedule((first + i,), 7), Cost(total_of, 0.0, 0.0, 0.0, 0.0), 0.0, 0.0, 0.0, 0.0,
            np.zeros(len(Trouble)),
        )
        for i, total_of in enumerate((4.0, 3.5, 3.03125, 3.2))
    )  # fmt: skip
    return Chosen(
        NextVisit(first + 2, outlooks, why), trouble, tells(count=0.3, tip=0.5), follows_up
    )


def test_the_next_visit_is_told_with_its_day_its_looks_and_its_bag() -> None:
    why = Why(Cause.VISITS, Cause.TROUBLE, Trouble.LEAK)
    row = next_visit_row(chosen(why), QUESTION, JOB, HIGH_WALL)
    assert row.on == date(2026, 6, 13)
    assert [option.on for option in row.alternatives] == [
        date(2026, 6, 11) + timedelta(days=i) for i in range(4)
    ]
    assert [option.cost for option in row.alternatives] == [4.0, 3.5, 3.031, 3.2]
    assert [look.split()[0] for look in row.look_for] == ["watch", "count"]
    assert TOLD[Trouble.LEAK].bring in row.bring
    assert "Stings" in row.caution
    assert "Height" in row.caution
    assert row.why == (
        "Sooner would tell too little to be worth the climb; later would let trouble run on "
        "unseen (above all: leak: another way in)."
    )


@pytest.mark.parametrize(
    ("why", "start"),
    [
        (Why(None, None, None), "Of the days on which bees fly, 13 Jun costs least."),
        (Why(None, Cause.IDLE, None), "Later would leave an empty wall open"),
        (Why(Cause.IDLE, None, None), "Sooner would come too early to close."),
        (Why(Cause.TROUBLE, Cause.VISITS, None), "Sooner would find less to put right; later"),
        (Why(None, Cause.TROUBLE, Trouble.NONE), "Later would let trouble run on unseen."),
    ],
)
def test_reasons_for_the_day_are_whole_sentences(why: Why, start: str) -> None:
    said = next_visit_row(chosen(why, Trouble.NONE), QUESTION, JOB, OPEN_WALL).why
    assert said.startswith(start)
    assert said.endswith(".")


def test_a_visit_that_follows_up_says_so() -> None:
    row = next_visit_row(chosen(Why(None, None, None), follows_up=True), QUESTION, JOB, OPEN_WALL)
    assert row.why == FOLLOW_UP


# ---- steps ----


def row(which: Trouble, still: float) -> TroubleRow:
    found = explained(trouble=which)
    return replace(found, still=still)


def steps(
    *rows: TroubleRow,
    is_clear: bool = False,
    trap_days: int = 14,
    seen: tuple[Trouble, ...] = (),
) -> tuple[Step, ...]:
    """The steps of a trap-out with these explanations."""
    cleared = clearance(0.97 if is_clear else 0.1, first=40, later=44)
    standing = Standing(
        trap_days, rows, visit(14, 13, (), (), "As forecast."), cleared, empty(30, 38, 49),
        empty(30, 38, 49), None, 0.6 if trap_days < 56 else 0.1, seen=seen,
    )  # fmt: skip
    coming = None if is_clear or trap_days >= 56 else next_visit(21)
    return running_steps(
        Ahead(date(2026, 7, 28), standing, coming, cleared, "Open from inside"), HIGH_WALL
    )


def test_likely_trouble_is_put_right_first_and_unlikely_looked_for() -> None:
    """Tests a named leak beside a possible cluster, a stall too unlikely to name, and the rest."""
    found = steps(
        row(Trouble.CLUSTER, 0.2), row(Trouble.LEAK, 0.6), row(Trouble.STALLED, 0.1),
        row(Trouble.NONE, 0.1),
    )  # fmt: skip
    assert found[0].what == TOLD[Trouble.LEAK].remedy
    assert found[1].what.startswith("To see whether it is so (bees hang on the wall instead of")
    assert [step.what.split(",")[0] for step in found[2:]] == [
        "Visit",
        "To call it empty: look in through a small hole with a camera",
    ]
    assert [step.when for step in found] == sorted(step.when for step in found)
    assert all("Stings" in step.caution for step in found[:3])


def test_what_was_seen_and_left_comes_before_what_is_likely() -> None:
    """Tests a blocked cone that the figures do not believe, beside a likely leak."""
    found = steps(
        row(Trouble.LEAK, 0.6), row(Trouble.CLOGGED, 0.02), row(Trouble.NONE, 0.38),
        seen=(Trouble.CLOGGED,),
    )  # fmt: skip
    assert found[0].what.startswith("Seen and not yet put right (cone clogged): clear dead bees")
    assert found[1].what == TOLD[Trouble.LEAK].remedy


def seen_at(**seen: object) -> tuple[Trouble, ...]:
    return seen_and_left(Visit(datetime(2026, 6, 10, 13, tzinfo=ZONE), **seen))  # type: ignore[arg-type]


def test_trouble_in_plain_sight_is_seen_until_something_is_done_about_it() -> None:
    """Tests each such sighting, what is too little to be one, and a deed that is for it."""
    nothing = BoxSeen(None, None, None, None, None, None)
    plain: dict[Trouble, dict[str, object]] = {
        Trouble.CLOGGED: {"cone_state": "partly blocked"},
        Trouble.LEAK: {"elsewhere": Elsewhere(5.0, 3, None, None)},
        Trouble.WALKED_BACK: {"cone": ConeCount(5.0, 9, 3)},
        Trouble.ROBBED: {"box": replace(nothing, is_robbed=True)},
        Trouble.BOX_LEFT: {"box": replace(nothing, frames_of_bees=0.0)},
    }
    for trouble, sight in plain.items():
        assert seen_at(**sight) == (trouble,)
        for deed in MENDS[trouble]:
            assert seen_at(**sight, did=(Deed(deed.value),)) == ()
        assert seen_at(**sight, did=(Deed("fed"),)) == (trouble,)
    assert seen_at(elsewhere=Elsewhere(None, None, True, True)) == (Trouble.LEAK,)
    for little in (
        {"cone_state": "clear"},
        {"elsewhere": Elsewhere(5.0, 2, None, None)},
        {"cone": ConeCount(5.0, 9, 2)},
        {"box": replace(nothing, is_robbed=False, frames_of_bees=0.5)},
        {},
    ):
        assert seen_at(**little) == ()


@pytest.mark.parametrize(
    ("weather", "metric", "us"),
    [
        ({}, (), ()),
        ({"temperature_degc": 25.0}, ("Weather: 25 °C",), ("Weather: 77 °F",)),
        (
            {"temperature_degc": -3.0, "sky": "rain", "wind": "strong"},
            ("Weather: -3 °C, rain, strong",),
            ("Weather: 27 °F, rain, strong",),
        ),
        ({"sky": "sun"}, ("Weather: sun",), ("Weather: sun",)),
    ],
)
def test_weather_is_told_in_one_clause(
    weather: dict[str, object], metric: tuple[str, ...], us: tuple[str, ...]
) -> None:
    """Tests degrees by F = 1.8 C + 32."""
    seen = Visit(datetime(2026, 6, 10, 13, tzinfo=ZONE), **weather)  # type: ignore[arg-type]
    assert weather_words(seen, "metric") == metric
    assert weather_words(seen, "us") == us


def test_what_is_over_has_one_step() -> None:
    """Tests an empty wall and a trap-out that failed; the exit is never plugged on bees."""
    (close,) = steps(row(Trouble.NONE, 0.9), row(Trouble.LEAK, 0.1), is_clear=True)
    assert close.what.startswith("Deal with what is left and close for good")
    for caution in ("Stings", "Height", "Two lift"):
        assert caution in close.caution
    (decide,) = steps(row(Trouble.LEAK, 0.8), row(Trouble.NONE, 0.2), trap_days=70)
    assert decide.what == (
        "Stop and decide anew with the client; the figures speak for: open from inside"
    )
    assert "never plugged" in decide.caution


def test_sky_of_the_question_reaches_over_the_visits() -> None:
    """Tests that a visit as late as a file allows still has days of weather before it."""
    assert len(QUESTION.year.sky) > QUESTION.cone_day + 112 + 7
    assert (QUESTION.year.sky[:, Sky.FLIGHT_H] >= 0.0).all()

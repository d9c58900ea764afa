"""The whole answer for running trap-outs: the example jobs, from file to words and JSON."""

from __future__ import annotations

import functools
import json
import re
from dataclasses import fields, is_dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import jsonschema
import numba
import pytest

from lastbee.documents.as_json import adapter_of, progress_schema, progress_to_json
from lastbee.forecast.trapout import TRAP_DAYS
from lastbee.jobs.jobfile import read_job
from lastbee.jobs.planner import make_plan
from lastbee.jobs.progress import SCHEMA, Progress
from lastbee.jobs.tracker import DECIDING, FINDING, FOLLOWING, make_progress
from lastbee.jobs.troubles import TROUBLE_OF_KEY
from lastbee.jobs.trust import LEAST_EFFECTIVE_TRACKED
from lastbee.jobs.visit import Deed
from lastbee.methods.schedule import TIE_VISITS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lastbee.jobs.job import Job

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("meadowgate_visits", "blocked", "long_winded")
COLONIES, FEW = 2200, 500


@pytest.fixture(scope="module", autouse=True)
def one_thread() -> Iterator[None]:
    """Simulate small clouds without waking other cores for each."""
    threads = numba.get_num_threads()
    numba.set_num_threads(1)
    yield
    numba.set_num_threads(threads)


@functools.cache
def job_of(name: str) -> Job:
    return read_job(EXAMPLES / f"{name}.toml")


@functools.cache
def progress_of(name: str) -> Progress:
    """The answer for an example, once for the module."""
    return make_progress(job_of(name), colonies=COLONIES)


@functools.cache
def rough(name: str, seed: int = 1, units: str = "metric") -> Progress:
    """A rougher answer of few colonies."""
    job = job_of(name)
    preferences = replace(job.preferences, units=units)
    return make_progress(replace(job, preferences=preferences), seed=seed, colonies=FEW)


def sentences(value: object) -> Iterator[str]:
    """Every text in a record, wherever it stands."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from sentences(item)
    elif is_dataclass(value):
        for field in fields(value):
            yield from sentences(getattr(value, field.name))


@pytest.fixture(params=NAMES)
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


# ---- what is said of the examples ----


def test_a_leak_that_was_closed_leaves_a_trap_out_that_works() -> None:
    """Tests meadowgate_visits.toml, whose last visits count few bees and hear none."""
    told = progress_of("meadowgate_visits")
    assert told.kind in ("working", "slow")
    assert told.troubles[0].key == "sound"
    assert told.next_visit is not None
    assert told.next_visit.on > told.as_of
    # The visit that found the gap put the day off, and what came after brought it back.
    leaky = told.visits[1]
    assert leaky.did == ("closed a gap",)
    assert any(seen.startswith("Bees going in elsewhere: 9 in 5 min") for seen in leaky.seen)
    assert leaky.empty_after.likely is not None
    assert leaky.empty_before.likely is not None
    assert leaky.empty_after.likely >= leaky.empty_before.likely
    # A month after the cone, silent and cold: few are left of several thousand.
    bees = next(q for q in told.now if q.key == "bees_in_wall")
    assert bees.median < 0.2 * told.visits[0].bees_before.median[0]


def test_a_jammed_cone_is_named() -> None:
    """Tests blocked.toml: a blocked cone with dead bees, nothing out on a fine day, a hum."""
    told = progress_of("blocked")
    first = told.troubles[0]
    assert first.key == "clogged"
    assert first.probability > 0.7
    assert "cone clogged" in told.headline.lower()
    assert any(said.startswith("State of the cone, 24 Jun: blocked") for said in first.speaks_for)
    # It was refitted at once: nine such deeds in ten and more help (common practice).
    assert first.still < 0.2 * first.probability


def test_a_trap_out_that_will_not_end_has_failed() -> None:
    """Tests long_winded.toml: eight weeks, and a core of bees on its stores."""
    told = progress_of("long_winded")
    assert told.kind == "failed"
    assert told.next_visit is None
    assert {row.key for row in told.troubles[:2]} <= {"queen_stays", "stalled"}
    assert "decide anew" in told.headline
    assert len(told.changed) == 1


def test_failed_jobs_alone_carry_a_new_comparison(name: str) -> None:
    told = progress_of(name)
    assert bool(told.methods) == (told.kind == "failed")
    if told.methods:
        assert sum(row.status == "recommended" for row in told.methods) == 1
        best = next(row for row in told.methods if row.status == "recommended")
        assert best.label[1:] in told.steps[0].what
    else:
        assert told.next_visit is not None


def test_a_blocked_cone_that_nobody_cleared_is_trouble_and_its_remedy_a_step() -> None:
    """Tests the same visits without the deed, and that the remedy comes with its cautions."""
    job = job_of("blocked")
    untouched = replace(job, visits=tuple(replace(visit, did=()) for visit in job.visits))
    told = make_progress(untouched, colonies=FEW)
    assert told.kind == "trouble"
    assert told.headline.startswith("Cone clogged: ")
    assert told.troubles[0].key == "clogged"
    assert told.troubles[0].still == pytest.approx(told.troubles[0].probability, abs=0.05)
    first = told.steps[0]
    assert first.what.startswith("Seen and not yet put right (cone clogged): clear dead bees")
    assert first.when == told.as_of
    assert "Stings" in first.caution
    assert "If it is put right at the next visit" in told.changed[1]


# ---- what holds for every answer ----


def test_chances_of_the_explanations_add_up(name: str) -> None:
    told = progress_of(name)
    assert {row.key for row in told.troubles} == set(TROUBLE_OF_KEY)
    assert sum(row.probability for row in told.troubles) == pytest.approx(1.0)
    assert sum(row.still for row in told.troubles) == pytest.approx(1.0)
    chances = [row.probability for row in told.troubles]
    assert chances == sorted(chances, reverse=True)
    for row in told.troubles:
        assert len(row.speaks_for) <= 3
        assert not set(row.speaks_for) & set(row.speaks_against)
        assert row.settled_by.endswith(".")


def test_the_story_has_a_row_for_each_visit_in_order(name: str) -> None:
    told, job = progress_of(name), job_of(name)
    assert [row.at for row in told.visits] == [visit.at for visit in job.visits]
    assert told.as_of == job.visits[-1].at.date()
    assert [len(row.did) for row in told.visits] == [len(visit.did) for visit in job.visits]
    for row in told.visits:
        assert row.seen
        assert 0.0 < row.surprise <= 1.0
    for before, after in pairwise(told.visits):
        assert after.bees_before == before.bees_after
        assert after.empty_before == before.empty_after


def test_steps_come_in_order_of_date_and_none_is_over(name: str) -> None:
    told = progress_of(name)
    assert told.steps
    days = [step.when for step in told.steps]
    assert days == sorted(days)
    assert days[0] >= told.as_of
    assert all(step.until is None or step.until >= step.when for step in told.steps)


def test_the_next_visit_is_as_cheap_as_any_of_those_weighed(name: str) -> None:
    visit = progress_of(name).next_visit
    if visit is not None:
        costs = {option.on: option.cost for option in visit.alternatives}
        assert costs[visit.on] <= min(costs.values()) + TIE_VISITS
        assert [*costs] == sorted(costs)
        assert re.fullmatch(r"\d\d:\d\d to \d\d:\d\d, dry, in sun, little wind", visit.hours)
        assert visit.bring


def test_bands_and_curves_span_the_forecast(name: str) -> None:
    told = progress_of(name)
    assert len(told.empty_by) == TRAP_DAYS
    assert all(0.0 <= p <= 1.0 for p in told.empty_by)
    of_visits = [b for row in told.visits for b in (row.bees_before, row.bees_after)]
    for band in (*told.bands, *of_visits):
        rows = [
            getattr(band, f.name) for f in fields(band) if f.name not in ("key", "label", "unit")
        ]
        assert {len(row) for row in rows} == {TRAP_DAYS}
        assert all(list(day) == sorted(day) for day in zip(*rows, strict=True))
    for milestone in told.milestones:
        dates = [d for d in (milestone.early, milestone.likely, milestone.safe) if d is not None]
        assert dates == sorted(dates)


def test_clearance_has_its_checks_the_fastest_first(name: str) -> None:
    clearance = progress_of(name).clearance
    assert 0.0 <= clearance.probability_empty <= 1.0
    assert clearance.is_clear == (clearance.probability_empty >= clearance.confidence)
    days = [check.on for check in clearance.checks if check.on is not None]
    assert days == sorted(days)
    assert all(check.on is None for check in clearance.checks[len(days) :])


def test_what_is_left_is_dealt_with_in_one_way(name: str) -> None:
    told = progress_of(name)
    assert sum(row.status == "recommended" for row in told.close_out) == 1
    assert told.closing_list


# ---- words ----

RAW = re.compile(r"\bnan\b|\bNone\b|np\.|\binf\b|\d\.\d{3,}|\d{5,}|\bTrue\b|\bFalse\b|[<>{}\[\]]")
METRIC = re.compile(r"\d\s?(kg|g|dm²|dm2|cm|mm|m|km|l|L|°C)(?![\w²])")
OF_US = re.compile(r"\d\s?(lb|sq ft|°F)(?!\w)")


@functools.cache
def answer(name: str, units: str) -> Progress:
    return progress_of(name) if units == "metric" else rough(name, units=units)


ANSWERS = [*((name, "metric") for name in NAMES), ("meadowgate_visits", "us")]


@pytest.mark.parametrize(("which", "units"), ANSWERS)
def test_every_sentence_is_clean(which: str, units: str) -> None:
    """Tests spaces, stops, rounding, and that no value of the program shows through."""
    told = answer(which, units)
    for said in sentences(replace(told, schema="", title="", client="", place="", prepared_by="")):
        assert "  " not in said
        assert said == said.strip()
        assert not re.search(r"\.\.|,,|;;| [.,;:]|\(\)", said), said
        assert not RAW.search(said), said


def test_us_files_are_answered_in_us_units() -> None:
    """Tests every sentence but for metric sizes put in brackets behind those of the trade."""
    told = answer("meadowgate_visits", "us")
    assert all(q.unit not in ("kg", "g", "dm²", "m") for q in told.now)
    assert {band.unit for band in told.bands} == {"bees", "cells", "lb", "bees/day"}
    for said in sentences(told):
        # What a technician wrote stands in his own words.
        if not said.startswith("Note: "):
            assert not METRIC.search(re.sub(r"\([^)]*\)", "", said)), said
    weights = [said for said in sentences(told) if said.startswith("Weight of the box: ")]
    assert weights == ["Weight of the box: down 0.9 lb", "Weight of the box: up 3.5 lb",
                       "Weight of the box: up 6.8 lb"]  # fmt: skip
    assert "Weather: 77 °F, sun, calm" in sentences(told)


def test_metric_files_are_answered_in_metric_units(name: str) -> None:
    for said in sentences(progress_of(name)):
        assert not OF_US.search(said), said


# ---- the same answer ----


def test_the_same_seed_gives_the_same_answer_and_another_nearly_the_same() -> None:
    """Tests all of a rough answer for the job with a jammed cone."""
    one, other = rough("blocked"), rough("blocked", seed=2)
    assert make_progress(job_of("blocked"), seed=1, colonies=FEW) == one
    assert one != other
    assert other.troubles[0].key == one.troubles[0].key == "clogged"


def test_a_plan_tells_the_same_story() -> None:
    """Tests that a plan with visits and a visit command agree to the last digit."""
    job = job_of("blocked")
    assert make_plan(job, seed=1, colonies=FEW).progress == rough("blocked")


def test_a_correction_gives_the_answer_of_a_job_without_the_mistake() -> None:
    """Tests a count misread tenfold and a deed that was never done, both mended afterwards."""
    job = job_of("blocked")
    first = job.visits[0]
    assert first.cone is not None
    misread = replace(
        first, cone=replace(first.cone, bees_out=60), did=(*first.did, Deed("gap closed"))
    )
    mistaken = replace(job, visits=(misread, *job.visits[1:]))
    wrong = make_progress(mistaken, seed=1, colonies=FEW)
    mended = replace(mistaken, visits=(first, *mistaken.visits[1:]))
    assert wrong != rough("blocked")
    assert make_progress(mended, seed=1, colonies=FEW) == rough("blocked")


def test_json_holds_the_whole_answer(name: str) -> None:
    """Tests the schema, and that what is read back is written as the same text."""
    told = progress_of(name)
    text = progress_to_json(told)
    held = json.loads(text)
    jsonschema.Draft202012Validator(progress_schema()).validate(held)
    assert held["schema"] == SCHEMA
    assert set(held) == {field.name for field in fields(Progress)}
    again = adapter_of(Progress).validate_json(text)
    assert progress_to_json(again) == text
    assert again.headline == told.headline
    assert [row.at for row in again.visits] == [row.at for row in told.visits]


# ---- how it is run ----


def test_stages_are_told_in_order_and_to_their_end() -> None:
    told: list[tuple[str, float]] = []
    job = job_of("blocked")
    make_progress(job, colonies=FEW, progress=lambda stage, share: told.append((stage, share)))
    assert list(dict.fromkeys(stage for stage, _ in told)) == [FINDING, FOLLOWING, DECIDING]
    for stage in (FINDING, FOLLOWING, DECIDING):
        shares = [share for name, share in told if name == stage]
        assert shares == sorted(shares)
        assert (shares[0], shares[-1]) == pytest.approx((0.0, 1.0))


def test_a_job_without_visits_has_no_progress() -> None:
    with pytest.raises(ValueError, match="without visits"):
        make_progress(replace(job_of("blocked"), visits=()), colonies=FEW)


def test_a_thin_answer_says_so_and_only_a_thin_one() -> None:
    """Tests what the strands are worth against the words, in thin answers and better ones."""
    found = [answer(*which).trust for which in ANSWERS]
    for trust in found:
        is_thin = trust.effective_colonies < LEAST_EFFECTIVE_TRACKED
        assert is_thin == any("more colonies" in warning for warning in trust.warnings)
        assert trust.is_trusted == (not trust.warnings)
    assert [trust.colonies for trust in found] == [COLONIES] * 3 + [FEW]
    assert not all(trust.is_trusted for trust in found)

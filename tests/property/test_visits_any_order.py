"""Visits written in any order, left out or written twice: one answer, and never a traceback."""

from __future__ import annotations

import functools
import re
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, get_args
from zoneinfo import ZoneInfo

import numba
import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from lastbee.documents.as_json import progress_to_json
from lastbee.forecast.posterior import condition
from lastbee.jobs.assemble import assemble
from lastbee.jobs.assemble_visits import watch_of
from lastbee.jobs.jobfile import parse_job
from lastbee.jobs.tracker import progress_of
from lastbee.jobs.visit import (
    BoxSeen,
    ConeCount,
    ConeState,
    DeadBees,
    Deed,
    DeedKind,
    Elsewhere,
    Visit,
    WallSensed,
)

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator

    from lastbee.forecast.posterior import Posterior
    from lastbee.jobs.job import Job
    from lastbee.jobs.progress import Progress

EXAMPLE = (Path(__file__).parents[2] / "examples" / "meadowgate_visits.toml").read_text("utf-8")
HEAD, *VISITS = re.split(r"(?m)^(?=\[\[visit\]\])", EXAMPLE)
COLONIES = 600
# Each example is a whole answer, which takes a second: too long for shrinking.
FEW = settings(
    max_examples=3, phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)  # fmt: skip


@pytest.fixture(scope="module", autouse=True)
def one_thread() -> Iterator[None]:
    """Simulate small clouds without waking other cores for each."""
    threads = numba.get_num_threads()
    numba.set_num_threads(1)
    yield
    numba.set_num_threads(threads)


@functools.cache
def inspected() -> tuple[Job, Posterior]:
    """The job before any visit, and the colonies that agree with its inspection."""
    job = parse_job(HEAD)
    question = assemble(job)
    rng = np.random.default_rng(95)
    return job, condition(question.items, question.founding, question.year.sky, COLONIES, rng)


def answer(job: Job) -> Progress:
    """The progress of a job with the example's inspection, whatever its visits."""
    return progress_of(job, assemble(job), inspected()[1], seed=1, tell=lambda _stage, _share: None)


# ---- the example's own visits ----


def text_of(order: tuple[int, ...]) -> str:
    """The example's file with these visits, in this order."""
    return HEAD + "".join(VISITS[i] for i in order)


@functools.cache
def batch(order: frozenset[int]) -> Progress:
    """The answer with these visits, each once and in order of time."""
    return answer(parse_job(text_of(tuple(sorted(order)))))


ORDERS = st.lists(st.integers(0, len(VISITS) - 1), min_size=1, max_size=7).map(tuple)


@given(ORDERS)
@FEW
def test_visits_in_any_order_give_the_answer_of_the_batch(order: tuple[int, ...]) -> None:
    """Tests orders, omissions and repeats of the four visits, as a file and as records."""
    visits = parse_job(EXAMPLE).visits
    written = parse_job(text_of(order))
    recorded = replace(written, visits=tuple(visits[i] for i in order))
    assert recorded == written
    assert answer(recorded) == batch(frozenset(order))


def test_the_orders_differ_in_more_than_their_order() -> None:
    """Tests the check itself: fewer visits give another answer."""
    assert batch(frozenset({0})) != batch(frozenset({0, 1}))


# ---- any visits at all ----

CONE_ON, ZONE = date(2026, 7, 1), ZoneInfo("Etc/GMT+4")


def maybe(values: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    """What was looked at, or not."""
    return st.none() | values


FLAG = maybe(st.booleans())
AREA = maybe(st.just(0.0) | st.floats(0.1, 500.0))
MINUTES = st.floats(0.5, 120.0)
# As wild as a job file allows.
BEES = st.integers(0, 20_000) | st.integers(0, 30)
MOMENTS = st.builds(
    lambda days, minute: (
        datetime.combine(CONE_ON, time(), ZONE) + timedelta(days=days, minutes=minute)
    ),
    st.integers(0, 112),
    st.integers(0, 1439),
)
ANY_VISIT = st.builds(
    Visit,
    at=MOMENTS,
    temperature_degc=maybe(st.floats(-20.0, 45.0)),
    sky=maybe(st.sampled_from(["sun", "cloud", "rain"])),
    wind=maybe(st.sampled_from(["calm", "breeze", "strong"])),
    cone=maybe(st.builds(ConeCount, MINUTES, maybe(BEES), maybe(BEES))),
    cone_state=maybe(st.sampled_from(get_args(ConeState))),
    elsewhere=maybe(st.builds(Elsewhere, maybe(MINUTES), maybe(BEES), FLAG, FLAG)),
    cluster_dm2=AREA,
    dead_bees=maybe(st.sampled_from(get_args(DeadBees))),
    box=maybe(
        st.builds(
            BoxSeen, maybe(st.floats(0.0, 40.0)), maybe(st.floats(-30.0, 100.0)), FLAG, FLAG,
            FLAG, FLAG,
        )
    ),
    wall=maybe(st.builds(WallSensed, FLAG, maybe(st.floats(0.05, 10.0)), FLAG, AREA, FLAG)),
    did=st.lists(
        st.builds(
            Deed, st.sampled_from(get_args(DeedKind)), maybe(st.floats(0.25, 10.0))
        ),
        max_size=3,
    ).map(tuple),
)  # fmt: skip
ANY_VISITS = st.lists(ANY_VISIT, min_size=1, max_size=4, unique_by=lambda visit: visit.at)


@given(ANY_VISITS, st.randoms(use_true_random=False))
@settings(max_examples=60)
def test_any_visits_in_any_order_are_what_is_known_of_one_trap_out(
    visits: list[Visit], dice: random.Random
) -> None:
    """Tests all that the forecast is made from: items, days and deeds."""
    job = inspected()[0]
    question = assemble(job)
    in_order = replace(job, visits=tuple(sorted(visits, key=lambda visit: visit.at)))
    mixed = [*visits, *dice.choices(visits, k=3)]
    dice.shuffle(mixed)
    assert replace(job, visits=tuple(mixed)) == in_order
    watch = watch_of(replace(job, visits=tuple(mixed)), question)
    assert watch == watch_of(in_order, question)
    assert [seen.day for seen in watch.visits] == sorted(seen.day for seen in watch.visits)


@given(ANY_VISITS)
@settings(FEW, max_examples=5)
def test_any_visits_give_an_answer_that_can_be_written_down(visits: list[Visit]) -> None:
    """Tests visits that make no sense together: odd as they are, each has an answer."""
    told = answer(replace(inspected()[0], visits=tuple(visits)))
    assert sum(row.probability for row in told.troubles) == pytest.approx(1.0)
    assert len(told.visits) == len(visits)
    assert "NaN" not in progress_to_json(told)

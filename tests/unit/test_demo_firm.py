"""The demo firm: every stage is there, everything in it is sound or meant not to be."""

from __future__ import annotations

import hashlib
import io
import json
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from PIL import Image

from lastbee.jobs.jobfile import parse_job
from lastbee.office.archive_form import line_of
from lastbee.office.demo_firm import MORNING, demo_clock, demo_entries
from lastbee.office.demo_firm_pictures import demo_pictures
from lastbee.office.desk import Desk
from lastbee.office.forecaster import Forecaster
from lastbee.office.job_files import job_file_of
from lastbee.record.card import OPEN_STAGES
from lastbee.store.book import Book
from lastbee.triage.questions import NOT_KNOWN, QUESTIONS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from lastbee.record.record import Record


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """The demo firm's desk on its first morning."""
    folder: Path = tmp_path_factory.mktemp("demo")
    made = Desk(Book.open(folder / "demo.lastbee", MORNING), lambda: MORNING)
    pictures = {picture.sha256: picture for picture in demo_pictures().values()}
    made.take_in(demo_entries(), pictures, strict=False)
    yield made
    made.book.close()


def records(desk: Desk) -> list[Record]:
    """All thirty."""
    return [desk.case(card.job).record for card in desk.cards().cards]


def test_there_are_thirty_jobs_in_every_stage(desk: Desk) -> None:
    counts = desk.stage_counts()
    assert sum(counts.values()) == 30
    # What is "to close" after a trap-out only a forecast can tell; here it is a cut-out.
    assert set(counts) == {*OPEN_STAGES, "warranty", "over", "ended"}


def test_it_is_the_same_every_time() -> None:
    first, second = demo_entries(), demo_entries()
    assert first == second
    assert len({entry.id for entry in first}) == len(first)


def test_it_begins_on_a_tuesday_at_eight_and_nothing_is_from_later(desk: Desk) -> None:
    assert (MORNING.isoweekday(), f"{MORNING:%H:%M}") == (2, "08:00")
    assert all(entry.written_at <= MORNING for entry in demo_entries())
    assert desk.day() == date(2026, 7, 14)


def test_its_clock_runs_on_from_there() -> None:
    moments = iter([datetime(2030, 1, 1, tzinfo=UTC), datetime(2030, 1, 1, 0, 5, tzinfo=UTC)])
    clock = demo_clock(lambda: next(moments))
    assert clock() == MORNING + timedelta(minutes=5)


def test_one_entry_waits_to_be_mended_and_no_other(desk: Desk) -> None:
    aside = [told for record in records(desk) for told in record.set_aside]
    assert [told.kind for told in aside] == ["visit"]
    assert len(desk.today().questions) == 1
    assert desk.firm().set_aside == ()


def test_there_is_a_correction_a_rival_pair_and_something_taken_back(desk: Desk) -> None:
    told = [one for record in records(desk) for one in record.told]
    assert any(one.earlier and not one.rivals and not one.is_withdrawn for one in told)
    assert sum(1 for one in told if one.rivals) == 1
    assert sum(1 for one in told if one.is_withdrawn) == 1


def test_jobs_end_in_every_way_of_the_brief(desk: Desk) -> None:
    ended = {record.ended.body["why"] for record in records(desk) if record.ended is not None}
    assert ended == {"other", "handed on", "refused", "client said no"}
    closed = [record.close_out for record in records(desk) if record.close_out is not None]
    assert any(told.body.get("reason") for told in closed)
    assert any(record.open_callback is not None for record in records(desk))


def test_every_inspected_job_can_be_forecast_and_written_as_a_job_file(desk: Desk) -> None:
    inspected = [record for record in records(desk) if record.inspection is not None]
    assert len(inspected) >= 20
    for record in inspected:
        assert parse_job(job_file_of(record)) == record.checked_job()


def test_answers_on_the_phone_are_answers_to_the_questions(desk: Desk) -> None:
    known = {question.key: {answer.key for answer in question.answers} for question in QUESTIONS}
    given = [
        pair
        for record in records(desk)
        for call in record.all("call")
        for pair in call.body.get("answers", {}).items()
    ]
    assert len(given) > 20
    assert all(answer in {*known[question], NOT_KNOWN} for question, answer in given)


def test_people_and_kit_are_there(desk: Desk) -> None:
    firm = desk.firm()
    assert len(firm.people) == 4
    assert {told.body["sort"] for told in firm.kit} >= {"cone", "box", "ladder"}


def test_numbers_to_call_are_those_kept_for_fiction() -> None:
    # 555-0100 to 555-0199 are set aside for fiction in North America (from memory).
    phones = [entry.body["phone"] for entry in demo_entries() if "phone" in entry.body]
    assert phones
    assert all(phone.startswith("555-01") and len(phone) == 8 for phone in phones)


def test_pictures_are_small_bare_and_all_used() -> None:
    used = {entry.body["picture"] for entry in demo_entries() if entry.kind == "photo"}
    pictures = demo_pictures()
    assert used == {picture.sha256 for picture in pictures.values()}
    for picture in pictures.values():
        assert hashlib.sha256(picture.jpeg).hexdigest() == picture.sha256
        assert len(picture.jpeg) < 60_000
        with Image.open(io.BytesIO(picture.jpeg)) as image:
            assert (image.format, dict(image.getexif())) == ("JPEG", {})


def test_every_entry_is_plain_json() -> None:
    for entry in demo_entries():
        assert json.loads(line_of(entry))["body"] == entry.body


@pytest.mark.long
def test_its_trap_outs_stand_as_they_are_meant_to(desk: Desk) -> None:
    Forecaster(desk.queue, colonies=2_000).run_all()
    kinds = {card.place.partition(",")[0]: card.standing_kind for card in desk.cards().cards}
    assert kinds["Dairy"] == "empty"
    assert kinds["Toll Cottage"] == "trouble"
    assert kinds["School House"] == "go"
    assert kinds["The Bakehouse"] == "refuse"
    likeliest = {
        card.place.partition(",")[0]: progress.troubles[0].key
        for card in desk.cards().cards
        if (progress := desk.case(card.job).progress) is not None
    }
    assert likeliest["Orchard House"] == "sound"
    assert likeliest["Toll Cottage"] == "leak"
    assert likeliest["Keeper's Lodge"] == "clogged"
    assert likeliest["Tithe Barn"] == "cluster"
    assert likeliest["Pump House"] == "robbed"
    assert desk.stage_counts()["to close"] == 2
    assert not any(desk.forecast(card.job).state == "failed" for card in desk.cards().cards)

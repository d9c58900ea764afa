"""The desk: what is taken in, what is refused, what lists and pages are then told."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from hashlib import sha256
from typing import TYPE_CHECKING

import pytest
from office_factory import (
    FIRM,
    JOB,
    NOW,
    correction,
    decision,
    desk_in,
    id_of,
    inspection,
    set_up,
    trap_out,
    visit,
    written,
)
from plan_factory import go_plan
from progress_factory import empty_progress, leak_progress, story_plan

from lastbee.documents.as_json import plan_to_json
from lastbee.office.case import Plans
from lastbee.office.demo_firm import MORNING, demo_entries
from lastbee.office.demo_firm_pictures import demo_pictures
from lastbee.record.entry import is_id
from lastbee.record.forecast import Forecast

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from lastbee.office.desk import Desk


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A desk on the file of a firm without jobs."""
    made = desk_in(tmp_path)
    yield made
    made.book.close()


def count_of(desk: Desk) -> int:
    """Entries that are kept."""
    with desk.book.reading() as reading:
        return reading.count_entries()


# What comes in


def test_a_form_that_breaks_a_rule_keeps_nothing_and_says_why(desk: Desk) -> None:
    before = count_of(desk)
    receipt = desk.take_in([visit(3)], strict=True)
    assert receipt.kept == ()
    assert [problem.field for problem in receipt.problems] == ["date"]
    assert "set-up" in receipt.problems[0].sentence
    assert count_of(desk) == before


def test_an_outbox_is_kept_whatever_it_says(desk: Desk) -> None:
    stray = visit(3)
    receipt = desk.take_in([stray], strict=False)
    assert receipt.kept == (stray.id,)
    assert receipt.by_entry.keys() == {stray.id}
    assert desk.entry(stray.id) == stray
    assert [card.questions for card in desk.today().questions] == [1]


def test_what_was_set_aside_counts_once_what_it_rests_on_has_come_in(desk: Desk) -> None:
    desk.take_in([visit(3)], strict=False)
    receipt = desk.take_in([set_up(), decision(), inspection()], strict=False)
    assert receipt.problems == ()
    case = desk.case(JOB)
    assert len(case.record.visits) == 1
    assert desk.today().questions == ()


def test_one_problem_among_many_entries_of_a_form_keeps_them_all_out(desk: Desk) -> None:
    bad = written("note", "bad", date="2026-07-14")
    receipt = desk.take_in([inspection(), bad], strict=True)
    assert receipt.by_entry.keys() == {bad.id}
    with pytest.raises(LookupError):
        desk.case(JOB)


def test_entries_of_one_form_may_rest_on_one_another(desk: Desk) -> None:
    assert desk.take_in(trap_out(), strict=True).problems == ()
    assert desk.case(JOB).record.visits[0].body["count"] == {"minutes": 5, "out": 14}


def test_handing_in_twice_changes_nothing_and_is_no_error(desk: Desk) -> None:
    first = desk.take_in(trap_out(), strict=True)
    kept, card = count_of(desk), desk.cards().cards[0]
    second = desk.take_in(trap_out(), strict=True)
    assert (second.kept, second.problems) == ((), ())
    assert second.was_there == first.kept
    assert (count_of(desk), desk.cards().cards[0]) == (kept, card)


def test_what_waits_to_be_mended_is_said_again_when_it_is_handed_in_again(desk: Desk) -> None:
    """The first answer may have been lost on its way to the phone."""
    early = written("visit", date="2026-06-01")
    first = desk.take_in([*trap_out(), early], strict=False)
    second = desk.take_in([early], strict=False)
    assert (second.kept, second.was_there) == ((), (early.id,))
    assert second.problems == first.problems != ()


def test_an_entry_twice_in_one_posting_is_kept_once(desk: Desk) -> None:
    receipt = desk.take_in([inspection(), inspection()], strict=True)
    assert receipt.kept == (inspection().id,)


def test_a_correction_counts_and_the_first_word_stays(desk: Desk) -> None:
    call = written("call", date="2026-07-14", client="R. Ashgrove")
    desk.take_in([call, correction(call, date="2026-07-14", client="R. Ashgrave")], strict=True)
    assert desk.cards().cards[0].client == "R. Ashgrave"
    assert desk.entry(call.id) == call


def test_closing_before_any_forecast_wants_a_reason(desk: Desk) -> None:
    desk.take_in(trap_out(), strict=True)
    close = written("close-out", date="2026-07-14", way="rob out")
    assert [p.field for p in desk.take_in([close], strict=True).problems] == ["reason"]
    told = replace(close, body={**close.body, "reason": "The client insists."})
    assert desk.take_in([told], strict=True).problems == ()


def test_what_is_kept_is_heard_of_once(tmp_path: Path) -> None:
    heard: list[int] = []
    desk = desk_in(tmp_path, heard=lambda: heard.append(1))
    heard.clear()
    desk.take_in([inspection()], strict=True)
    desk.take_in([inspection()], strict=True)
    desk.take_in([visit(3)], strict=True)
    assert heard == [1]
    desk.book.close()


def test_pictures_are_kept_with_the_entry_that_names_them(desk: Desk) -> None:
    picture = demo_pictures()["knot hole"]
    photo = written("photo", date="2026-07-14", picture=picture.sha256)
    desk.take_in([inspection(), photo], {picture.sha256: picture}, strict=True)
    kept = desk.picture(picture.sha256)
    assert kept is not None
    assert sha256(kept).hexdigest() == picture.sha256
    assert desk.picture(picture.sha256, small=True) == picture.small_jpeg
    assert desk.picture("0" * 64) is None
    assert desk.case(JOB).record.last("photo") is not None


# Forecasts asked for in the same breath


def test_an_inspection_asks_for_a_forecast_and_a_note_does_not_change_it(desk: Desk) -> None:
    desk.take_in([written("call", date="2026-06-28", place="Orchard House")], strict=True)
    assert desk.forecast(JOB).state == "none"
    desk.take_in([inspection()], strict=True)
    asked = desk.forecast(JOB)
    assert asked.state == "waiting"
    desk.take_in([written("note", date="2026-07-14", text="Key is under the pot.")], strict=True)
    assert desk.forecast(JOB) == asked
    desk.take_in([decision(), set_up(), visit(3)], strict=True)
    assert desk.forecast(JOB).asked != asked.asked


def test_new_settings_of_the_firm_ask_every_job_anew(desk: Desk) -> None:
    other = id_of("other job")
    desk.take_in([inspection(), inspection(other)], strict=True)
    before = {job: desk.forecast(job).asked for job in (JOB, other)}
    with desk.book.reading() as reading:
        (firm,) = reading.firm_entries()
    desk.take_in([correction(firm, **FIRM, preferences={"confidence": 0.99})], strict=True)
    assert all(desk.forecast(job).asked != asked for job, asked in before.items())


def test_a_firm_without_a_place_is_told_what_a_forecast_lacks(desk: Desk) -> None:
    homeless = inspection()
    bare = {"inspection": homeless.body["inspection"], "site": {"place": "Orchard House"}}
    with desk.book.reading() as reading:
        (firm,) = reading.firm_entries()
    desk.take_in([correction(firm, name="Quiet Walls")], strict=True)
    desk.take_in([replace(homeless, body=bare)], strict=True)
    forecast = desk.forecast(JOB)
    assert (forecast.state, forecast.asked) == ("none", "")
    assert "latitude" in forecast.problem
    assert forecast.problem.endswith(".")


def test_a_job_that_has_ended_is_forecast_no_more(desk: Desk) -> None:
    desk.take_in([inspection()], strict=True)
    ended = written("ended", date="2026-07-14", why="client said no")
    desk.take_in([ended], strict=True)
    assert desk.forecast(JOB).state == "none"
    desk.take_in([correction(ended, withdrawn="He rang again.")], strict=True)
    assert desk.forecast(JOB).state == "waiting"


# What is asked


def test_a_case_has_the_plan_of_the_last_forecast(desk: Desk) -> None:
    desk.take_in(trap_out(), strict=True)
    assert desk.case(JOB).plan is None
    order = desk.queue.take()
    assert order is not None
    text = plan_to_json(story_plan(leak_progress()))
    desk.queue.answer(order, text)
    case = desk.case(JOB)
    assert case.plan is not None
    assert json.loads(plan_to_json(case.plan)) == json.loads(text)
    assert case.progress is case.plan.progress
    assert (case.today, case.firm.name) == (date(2026, 7, 14), "Quiet Walls")
    assert desk.cards().cards[0].standing == leak_progress().headline


def test_an_unknown_job_is_not_found(desk: Desk) -> None:
    with pytest.raises(LookupError):
        desk.case(id_of("nobody's"))


def test_the_day_is_that_of_the_firm(desk: Desk) -> None:
    # Noon UTC is eight in the morning four hours behind it: the same day. At three, it is not.
    assert desk.day() == date(2026, 7, 14)
    late = type(desk)(desk.book, lambda: NOW.replace(hour=3))
    assert late.day() == date(2026, 7, 13)


def test_an_id_is_of_version_7_and_made_of_the_clock_and_the_randomness(tmp_path: Path) -> None:
    desk = desk_in(tmp_path, randomness=lambda count: b"\1" * count)
    assert is_id(desk.new_id())
    assert desk.new_id() == desk.new_id()
    # RFC 9562, section 5.7: the first 48 bits are the milliseconds since 1970.
    milliseconds = int(desk.new_id().replace("-", "")[:12], 16)
    assert milliseconds == NOW.timestamp() * 1000
    desk.book.close()


def test_lists_are_cut_into_pages_and_cost_two_questions(tmp_path: Path) -> None:
    desk = desk_in(tmp_path)
    desk.take_in(demo_entries(), strict=False)
    with desk.book.counting() as statements:
        first = desk.cards(size=12)
    assert len(statements) == 2
    assert (first.count, first.pages, len(first.cards)) == (30, 3, 12)
    assert len(desk.cards(page=3, size=12).cards) == 6
    assert desk.cards(page=99, size=12).page == 3
    assert desk.cards(page=-1, size=12).page == 1
    pages = [card.job for page in (1, 2, 3) for card in desk.cards(page=page, size=12).cards]
    assert len(set(pages)) == 30
    assert sum(desk.stage_counts().values()) == 30
    assert desk.cards(search="ferry").cards[0].place == "Ferry House, Ostrel Water"
    assert desk.cards(["trapping"], "ferry").count == 1
    assert desk.cards(search="nobody of that name").pages == 1
    desk.book.close()


def test_today_has_what_is_due_and_no_more(tmp_path: Path) -> None:
    desk = desk_in(tmp_path)
    desk.take_in(demo_entries(), strict=False)
    today = desk.today()
    assert today.day == MORNING.date()
    assert all(card.due is not None and card.due.on <= today.day for card in today.due)
    week = desk.today(date(2026, 7, 21))
    assert {card.job for card in today.due} < {card.job for card in week.due}
    desk.book.close()


# Plans read back


def test_plans_are_read_once_and_few_are_kept() -> None:
    plans = Plans(most=2)
    text = plan_to_json(go_plan())
    kept = [Forecast(id_of(name), "a", "a", text, NOW, "done") for name in ("1", "2", "3")]
    first = [plans.plan_of(forecast) for forecast in kept]
    assert first[0] is not None
    assert json.loads(plan_to_json(first[0])) == json.loads(text)
    assert plans.plan_of(kept[2]) is first[2]
    assert plans.plan_of(kept[0]) is not first[0]


@pytest.mark.parametrize("text", ["", "{}", "no JSON", '{"schema": "lastbee.plan/1"}'])
def test_a_plan_that_cannot_be_read_is_no_plan(text: str) -> None:
    assert Plans().plan_of(Forecast(JOB, "a", "a", text, NOW, "done")) is None
    assert Plans().plan_of(None) is None


# A forecast that does not know everything


def test_a_forecast_from_before_the_last_visit_does_not_let_a_wall_be_closed(desk: Desk) -> None:
    desk.take_in(trap_out(), strict=True)
    order = desk.queue.take()
    assert order is not None
    desk.queue.answer(order, plan_to_json(story_plan(empty_progress())))
    closing = written("close-out", date="2026-07-13", way="close as it is")
    first = desk.take_in([visit(12), closing], strict=True)
    assert [problem.field for problem in first.problems] == ["reason"]
    assert "no forecast says yet" in first.problems[0].sentence
    assert desk.take_in([closing], strict=True).problems == ()


def test_other_words_under_an_id_that_is_kept_become_a_correction(desk: Desk) -> None:
    """Somebody goes back in the browser, changes a field, and keeps the form once more."""
    call = written("call", date="2026-07-14", client="R. Ashgrove")
    changed = replace(call, body={**call.body, "client": "R. Ashgrave"})
    desk.take_in([call], strict=True)
    for _ in range(2):
        receipt = desk.take_in([changed], strict=True)
        assert receipt.was_there == (call.id,)
        (told,) = desk.case(JOB).record.all("call")
        assert told.body["client"] == "R. Ashgrave"
        assert told.earlier == (call,)


def test_another_thing_under_an_id_that_is_kept_is_kept_too(desk: Desk) -> None:
    call = written("call", date="2026-07-14", client="R. Ashgrove")
    note = replace(call, kind="note", body={"date": "2026-07-14", "text": "Dog bites."})
    desk.take_in([call], strict=True)
    desk.take_in([note], strict=False)
    record = desk.case(JOB).record
    assert (len(record.all("call")), len(record.all("note"))) == (1, 1)

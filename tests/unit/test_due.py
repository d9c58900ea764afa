"""Where a job stands and what is due on it, from the call to the end of the warranty."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from plan_factory import go_plan
from progress_factory import (
    empty_progress,
    failed_progress,
    leak_progress,
    story_plan,
    working_progress,
)
from record_factory import CALL, CERTIFICATE, STORY, Writer

from lastbee.record.due import (
    BY_DAY,
    card_of,
    due_of,
    months_after,
    stage_of,
    standing_of,
    warranty_until,
)
from lastbee.record.firm import Firm
from lastbee.record.record import record_of

TODAY = date(2026, 7, 14)


def record_until(kind, *more):
    writer = Writer()
    entries = [*writer.story(kind), *(writer.write(kind, body) for kind, body in more)]
    return record_of(writer.job, entries, Firm())


@pytest.mark.parametrize(
    ("kind", "stage", "page", "on"),
    [
        ("call", "to inspect", "inspection", date(2026, 6, 29)),
        ("inspection", "to decide", "decision", date(2026, 6, 29)),
        ("decision", "to set up", "set-up", date(2026, 7, 1)),
        ("set-up", "trapping", "visit", date(2026, 7, 3)),
        ("visit", "trapping", "visit", date(2026, 7, 10)),
        ("close-out", "to certify", "certificate", date(2026, 8, 10)),
        ("certificate", "warranty", None, date(2027, 8, 10)),
    ],
)
def test_each_stage_is_followed_by_what_the_trade_does_next(kind, stage, page, on):
    """Common practice, no source: call, look, decide, set up, visit, close, certify."""
    record = record_until(kind)
    due = due_of(record, None, TODAY)
    assert stage_of(record, None, TODAY) == stage
    assert (due.page, due.on) == (page, on)


def test_a_call_without_a_day_is_phoned_back_today():
    writer = Writer()
    call = {key: value for key, value in CALL.items() if not key.startswith("inspect")}
    record = record_of(writer.job, [writer.write("call", call)], Firm())
    due = due_of(record, None, TODAY)
    assert stage_of(record, None, TODAY) == "call"
    assert (due.on, due.page) == (TODAY, "call")


def test_a_job_that_ended_has_nothing_due():
    record = record_until("call", ("ended", {"date": "2026-07-01", "why": "client said no"}))
    assert stage_of(record, None, TODAY) == "ended"
    assert due_of(record, None, TODAY) is None


def test_the_forecast_names_the_next_visit_with_its_hours_and_its_caution():
    progress = working_progress()
    due = due_of(record_until("visit"), story_plan(progress), TODAY)
    following = progress.next_visit
    assert (due.on, due.hours, due.why) == (following.on, following.hours, following.why)
    assert due.caution == following.caution


def test_trouble_that_is_likely_is_said_where_the_visit_is_asked_for():
    progress = leak_progress()
    due = due_of(record_until("visit"), story_plan(progress), TODAY)
    assert due.why.startswith(progress.headline)
    assert due.why.endswith(progress.next_visit.why)


def test_a_forecast_older_than_the_last_visit_names_no_day():
    progress = working_progress()
    after = progress.next_visit.on + timedelta(days=1)
    record = record_until("visit", ("visit", {"date": after.isoformat()}))
    assert due_of(record, story_plan(progress), TODAY).on == after + timedelta(days=7)


def test_an_empty_wall_is_closed_the_way_that_the_forecast_recommends():
    record, plan = record_until("visit"), story_plan(empty_progress())
    assert stage_of(record, plan.progress, TODAY) == "to close"
    due = due_of(record, plan, TODAY)
    (way,) = [row.label for row in plan.progress.close_out if row.status == "recommended"]
    assert due.page == "close-out"
    assert way in due.what


def test_a_trap_out_that_failed_is_decided_anew_and_presses():
    due = due_of(record_until("visit"), story_plan(failed_progress()), TODAY)
    assert due.page == "decision"
    assert due.urgency >= 0.5


def test_people_at_risk_come_first():
    writer = Writer()
    safe, allergic = (
        due_of(record_of(writer.job, [writer.write("call", body)], Firm()), None, TODAY)
        for body in (CALL, {**CALL, "allergic_person": "yes"})
    )
    assert allergic.urgency > safe.urgency
    assert "allergic" in allergic.caution
    assert "allergic" not in safe.caution


def test_the_client_who_calls_under_the_warranty_comes_before_its_end():
    call = {"date": "2026-09-01", "what": "Two bees at the sill"}
    due = due_of(record_until("certificate", ("callback", call)), None, date(2026, 9, 2))
    assert (due.page, due.on, due.why) == ("callback", date(2026, 9, 1), call["what"])
    mended = due_of(
        record_until("certificate", ("callback", {**call, "mended": "yes"})), None, TODAY
    )
    assert mended.what == "Warranty ends"


def test_a_warranty_runs_the_firms_months_unless_the_certificate_says_otherwise():
    assert warranty_until(record_until("certificate")) == date(2027, 8, 10)
    until = {**CERTIFICATE, "warranty_until": "2028-01-31"}
    writer = Writer()
    entries = [*writer.story("close-out"), writer.write("certificate", until)]
    record = record_of(writer.job, entries, Firm())
    assert warranty_until(record) == date(2028, 1, 31)
    assert stage_of(record, None, date(2028, 2, 1)) == "over"
    assert due_of(record, None, date(2028, 2, 1)) is None
    with pytest.raises(ValueError, match="certificate"):
        warranty_until(record_until("call"))


@pytest.mark.parametrize(
    ("day", "months", "expected"),
    [
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2026, 12, 5), 1, date(2027, 1, 5)),
        (date(2026, 8, 11), 120, date(2036, 8, 11)),
        (date(2026, 8, 31), 0, date(2026, 8, 31)),
    ],
)
def test_months_are_added_as_a_calendar_does(day, months, expected):
    """Python's own calendar: the last day of a shorter month stands in for the 29th to 31st."""
    assert months_after(day, months) == expected


def test_hours_at_the_wall_are_those_at_which_bees_fly_unless_agreed_otherwise():
    booked = due_of(record_until("call"), None, TODAY)
    assert booked.hours == CALL["inspect_at"]
    assert due_of(record_until("decision"), None, TODAY).hours == BY_DAY


def test_once_a_way_is_agreed_on_it_is_that_way_that_is_told_of():
    plan = go_plan()
    assert standing_of(record_until("decision"), plan)[0] == plan.verdict.headline
    other = {"date": "2026-06-30", "way": "cut-out inside"}
    words, kind = standing_of(record_until("inspection", ("decision", other)), plan)
    assert words.startswith("Agreed on: Cut-out from inside")
    assert kind == "agreed"
    assert standing_of(record_until("visit"), story_plan(working_progress()))[1] == "working"


def test_a_card_says_what_a_list_needs():
    record = record_until("visit", ("visit", {"date": "2026-07-08", "cone": "cleer"}))
    plan = replace(go_plan(), progress=working_progress())
    card = card_of(record, plan, TODAY)
    assert (card.job, card.title, card.client) == (record.job, CALL["title"], CALL["client"])
    assert (card.visits, card.questions, card.photos) == (1, 1, 0)
    assert (card.standing, card.standing_kind) == (plan.progress.headline, "working")
    assert card.opened_at < card.touched_at
    assert (card.latitude_deg, card.longitude_deg) == (43.1, -72.4)


@pytest.mark.parametrize("kind", [kind for kind, _ in STORY])
def test_work_at_the_wall_carries_its_caution(kind):
    due = due_of(record_until(kind), None, TODAY)
    if due.page in ("inspection", "set-up", "visit", "close-out"):
        assert "Stings" in due.caution
        assert "Height" in due.caution


def test_work_at_the_wall_that_comes_again_carries_its_caution_in_brief():
    """Three lines of some 45 letters, as a phone shows them; before, there were twelve."""
    allergic = ("call", {**CALL, "allergic_person": "yes", "public_path_near": "yes"})
    call = ("callback", {"date": "2026-09-01", "what": "Two bees at the sill"})
    empty = story_plan(empty_progress())
    first = due_of(record_until("decision", allergic), None, TODAY)
    again = {
        "visit": due_of(record_until("visit", allergic), None, TODAY),
        "close-out": due_of(record_until("visit", allergic), empty, TODAY),
        "callback": due_of(record_until("certificate", allergic, call), None, TODAY),
    }
    assert len(first.caution) > 400
    for page, due in again.items():
        assert due.page == page
        assert len(due.caution) < 250
        for word in ("Stings", "Height", "allergic", "auto-injector"):
            assert word in due.caution


def test_once_another_way_is_agreed_on_that_is_what_is_due():
    anew = ("decision", {"date": "2026-07-20", "way": "cut-out outside"})
    record, plan = record_until("visit", anew), story_plan(failed_progress())
    due = due_of(record, plan, TODAY)
    assert stage_of(record, plan.progress, TODAY) == "to close"
    assert (due.what, due.on) == ("Do what was agreed on", date(2026, 7, 20))


def test_who_goes_on_with_a_trap_out_all_the_same_is_not_asked_again():
    anew = ("decision", {"date": "2026-07-20", "way": "trap-out", "reason": "One week more."})
    plan = story_plan(failed_progress())
    assert due_of(record_until("visit"), plan, TODAY).page == "decision"
    assert due_of(record_until("visit", anew), plan, TODAY).page == "visit"

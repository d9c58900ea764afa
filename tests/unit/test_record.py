"""The record of a job: what its entries come to, in turn, corrected, taken back, set aside."""

from __future__ import annotations

import tomllib
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from progress_factory import empty_progress, leak_progress
from record_factory import (
    CALL,
    CERTIFICATE,
    CLOSE_OUT,
    DECISION,
    FIRM,
    INSPECTION,
    SET_UP,
    VISIT,
    Writer,
)

from lastbee.errors import InvalidInput
from lastbee.jobs.jobfile import read_job
from lastbee.jobs.jobfile_schema import MOST_VISITS
from lastbee.record.due import warranty_until
from lastbee.record.entry import JOB_KINDS, WITHDRAWN
from lastbee.record.firm import Firm, firm_of
from lastbee.record.job_tree import UNTITLED, fingerprint
from lastbee.record.record import record_of
from lastbee.record.rules import not_yet, problems_of
from lastbee.record.tables import BODIES


def sentences(record):
    return [problem.sentence for told in record.set_aside for problem in told.problems]


def test_a_call_alone_is_a_record_and_no_job():
    writer = Writer()
    record = record_of(writer.job, writer.story("call"), Firm())
    assert (record.title, record.client, record.place) == (
        CALL["title"],
        CALL["client"],
        CALL["place"],
    )
    assert record.set_aside == ()
    with pytest.raises(InvalidInput, match=r"inspection\.date is missing"):
        record.checked_job()


def test_a_record_without_a_call_has_a_title_all_the_same():
    writer = Writer()
    note = writer.write("note", {"date": "2026-06-20", "text": "Somebody rang, line broke."})
    assert record_of(writer.job, [note], Firm()).title == UNTITLED


def test_the_example_written_as_entries_is_the_same_job(example_tree):
    writer, tree = Writer(), example_tree
    inspected = {key: tree[key] for key in ("inspection", "site", "building", "people")}
    entries = [
        writer.write("call", {**CALL, "client": tree["client"], "title": tree["title"]}),
        writer.write("inspection", inspected),
        writer.write("decision", DECISION),
        writer.write("set-up", {**SET_UP, "date": tree["setup"]["cone_on"]}),
        *(writer.write("visit", visit) for visit in tree["visit"]),
    ]  # fmt: skip
    record = record_of(writer.job, entries, Firm())
    assert record.checked_job() == read_job(Path("examples/meadowgate_visits.toml"))


@pytest.fixture
def example_tree():
    """The example with visits, as the JSON that a body holds."""

    def plain(value):
        if isinstance(value, dict):
            return {key: plain(one) for key, one in value.items()}
        if isinstance(value, list):
            return [plain(one) for one in value]
        return value.isoformat() if isinstance(value, date) else value

    return plain(tomllib.loads(Path("examples/meadowgate_visits.toml").read_text("utf-8")))


def test_the_firm_stands_in_where_the_job_says_nothing():
    writer = Writer()
    inspection = {key: INSPECTION[key] for key in ("inspection", "building")}
    entries = [writer.write("call", CALL), writer.write("inspection", inspection)]
    firm = firm_of([writer.write("firm", FIRM)])
    job = record_of(writer.job, entries, firm).checked_job()
    assert (job.site.latitude_deg, job.site.time_zone) == (43.0, "Etc/GMT+4")
    assert (job.preferences.units, job.preferences.confidence) == ("us", 0.9)
    assert job.people.allergic_person == "no"


@pytest.mark.parametrize(
    ("kind", "body", "first"),
    [
        ("decision", DECISION, "the inspection"),
        ("set-up", SET_UP, "the decision"),
        ("visit", VISIT, "the set-up"),
        ("box", {"date": "2026-07-20", "what": "moved"}, "the set-up"),
        ("close-out", CLOSE_OUT, "the set-up"),
        ("certificate", CERTIFICATE, "how the wall was closed"),
        ("callback", {"date": "2026-09-01", "what": "Two bees"}, "how the wall was closed"),
    ],
)
def test_what_rests_on_something_that_nobody_wrote_is_set_aside(kind, body, first):
    writer = Writer()
    entry = writer.write(kind, body)
    record = record_of(writer.job, [entry], Firm())
    assert record.last(kind) is None
    (told,) = record.set_aside
    assert told.entry == entry
    assert first in told.problems[0].mend


def test_it_counts_as_soon_as_the_rest_has_come_in():
    writer = Writer()
    story = writer.story("certificate")
    record = record_of(writer.job, reversed(story), Firm())
    assert record.set_aside == ()
    assert record.certificate is not None


def test_a_visit_that_makes_no_sense_does_not_keep_the_others_from_counting():
    writer = Writer()
    early = {**VISIT, "date": "2026-06-01"}
    garbled = {**VISIT, "date": "2026-07-05", "cone": "cleer"}
    entries = [*writer.story("visit"), writer.write("visit", early), writer.write("visit", garbled)]
    record = record_of(writer.job, entries, Firm())
    assert [told.body for told in record.visits] == [VISIT]
    said = sentences(record)
    assert any("or correct the set-up" in sentence for sentence in said)
    assert any(sentence.startswith("cone is 'cleer'") for sentence in said)
    assert len(record.checked_job().visits) == 1


def test_a_day_that_has_come_nowhere_yet_is_refused_on_a_form():
    writer = Writer()
    visit = writer.write("visit", VISIT)
    assert not_yet(visit, datetime(2026, 7, 2, 9, tzinfo=UTC))[0].field == "date"
    # It is the third already where days begin first.
    assert not_yet(visit, datetime(2026, 7, 2, 10, tzinfo=UTC)) == ()
    inspection = writer.write("inspection", INSPECTION)
    (problem,) = not_yet(inspection, datetime(2026, 6, 1, tzinfo=UTC))
    assert problem.field == "inspection.date"


def test_more_visits_than_a_job_can_have_are_set_aside_one_by_one():
    writer = Writer()
    story = writer.story("set-up")
    visits = [
        writer.write("visit", {"date": f"2026-07-{2 + n // 20:02d}", "time": f"{n % 20:02d}:30"})
        for n in range(MOST_VISITS + 3)
    ]
    record = record_of(writer.job, [*story, *visits], Firm())
    assert len(record.visits) == MOST_VISITS
    assert [told.entry for told in record.set_aside] == visits[-3:]


def test_what_was_taken_back_no_longer_counts_and_is_still_there():
    writer = Writer()
    *story, visit = writer.story("visit")
    back = writer.write("visit", {WITHDRAWN: "wrong house"}, replaces=visit.id)
    record = record_of(writer.job, [*story, visit, back], Firm())
    assert record.visits == ()
    assert record.set_aside == ()
    assert any(told.is_withdrawn and told.earlier == (visit,) for told in record.told)


def test_taking_back_what_others_rest_on_is_refused_by_name():
    writer = Writer()
    story = writer.story("visit")
    record = record_of(writer.job, story, Firm())
    setup = next(entry for entry in story if entry.kind == "set-up")
    back = writer.write("set-up", {WITHDRAWN: "wrong house"}, replaces=setup.id)
    (problem,) = problems_of(record, back, None)
    assert "visit" in problem.mend


def test_nothing_but_notes_comes_after_the_end():
    writer = Writer()
    ended = writer.write("ended", {"date": "2026-07-01", "why": "client said no"})
    note = writer.write("note", {"date": "2026-07-09", "text": "They rang again."})
    late = writer.write("inspection", {**INSPECTION, "inspection": {"date": "2026-07-09"}})
    record = record_of(writer.job, [*writer.story("call"), ended, note, late], Firm())
    assert [told.kind for told in record.set_aside] == ["inspection"]
    assert record.last("note") is not None


def test_closing_below_the_confidence_wants_a_written_reason():
    writer = Writer()
    record = record_of(writer.job, writer.story("visit"), Firm())
    closing = writer.write("close-out", CLOSE_OUT)
    (problem,) = problems_of(record, closing, None)
    assert problem.field == "reason"
    with_reason = writer.write("close-out", {**CLOSE_OUT, "reason": "The roof came off."})
    assert problems_of(record, with_reason, None) == ()


def test_a_way_that_the_plan_refuses_wants_a_written_reason():
    writer = Writer()
    record = record_of(writer.job, writer.story("inspection"), Firm())
    decision = writer.write("decision", DECISION)
    assert problems_of(record, decision, None) == ()
    (problem,) = problems_of(record, decision, None, frozenset({"trap-out"}))
    assert problem.field == "reason"


def test_a_way_other_than_a_trap_out_needs_no_cone():
    writer = Writer()
    story = writer.story("inspection")
    cut = writer.write("decision", {"date": "2026-06-30", "way": "cut-out inside"})
    done = writer.write("close-out", {"date": "2026-07-02", "way": "cut-out inside"})
    record = record_of(writer.job, [*story, cut, done], Firm())
    assert record.set_aside == ()
    assert record.close_out is not None
    assert problems_of(record_of(writer.job, [*story, cut], Firm()), done, None) == ()


def test_every_kind_of_entry_has_a_body_and_asks_for_what_it_cannot_do_without():
    assert set(JOB_KINDS) <= set(BODIES)
    writer = Writer()
    for kind, body in BODIES.items():
        if kind in JOB_KINDS:
            record = record_of(writer.job, [writer.write(kind, {})], Firm())
            fields = {problem.field for told in record.set_aside for problem in told.problems}
            assert fields == {name for name, _ in body.required}


def test_the_fingerprint_changes_with_what_is_forecast_and_with_nothing_else():
    writer = Writer()
    story = writer.story("visit")
    tree = record_of(writer.job, story, Firm()).tree
    note = writer.write("note", {"date": "2026-07-09", "text": "Dog bites."})
    assert fingerprint(record_of(writer.job, [*story, note], Firm()).tree) == fingerprint(tree)
    more = writer.write("visit", {**VISIT, "date": "2026-07-10"})
    assert fingerprint(record_of(writer.job, [*story, more], Firm()).tree) != fingerprint(tree)


def test_another_way_agreed_on_later_does_not_undo_the_set_up():
    """A trap-out that failed is followed by a cut-out; its cone and visits are history."""
    writer = Writer()
    story = writer.story("visit")
    later = writer.write("decision", {"date": "2026-07-20", "way": "cut-out outside"})
    record = record_of(writer.job, [*story, later], Firm())
    assert (record.set_aside, record.missing) == ((), ())
    assert record.setup is not None
    assert not record.is_trap_out


def test_a_set_up_after_another_way_was_agreed_on_is_set_aside():
    writer = Writer()
    cut = writer.write("decision", {"date": "2026-06-30", "way": "cut-out outside"})
    setup = writer.write("set-up", SET_UP)
    record = record_of(writer.job, [*writer.story("inspection"), cut, setup], Firm())
    assert [told.entry for told in record.set_aside] == [setup]


def test_words_count_however_they_are_spelled():
    """A job file or a program may write what the tables forgive; see docs/job-file.md."""
    writer = Writer()
    story = {entry.kind: entry for entry in writer.story("certificate")}
    spelled = [
        story["call"],
        writer.write("inspection", {**INSPECTION, "people": {"allergic_person": True}}),
        writer.write("decision", {**DECISION, "way": "Trap_Out"}),
        story["set-up"],
        writer.write("visit", {**VISIT, "time": "9.30", "did": {"closed_gap": "no", "fed": "1 l"}}),
        story["close-out"],
        writer.write("certificate", {**CERTIFICATE, "warranty_until": " 2027-01-31 "}),
        writer.write("callback", {"date": "2026-09-01", "what": "Two bees", "mended": True}),
    ]
    record = record_of(writer.job, spelled, Firm())
    assert record.set_aside == ()
    assert record.is_trap_out
    assert record.tree["people"]["allergic_person"] == "yes"
    (visit,) = record.visits
    assert (visit.body["time"], visit.body["did"]) == ("09:30", {"closed_gap": False, "fed": "1 l"})
    assert visit.entry.body["time"] == "9.30"
    assert warranty_until(record) == date(2027, 1, 31)
    assert record.open_callback is None


@pytest.mark.parametrize("until", ["decision", "visit"])
def test_a_deadline_that_passed_before_the_cone_went_on_stops_nothing(until):
    writer = Writer()
    story = writer.story(until)
    hurried = {**INSPECTION, "people": {"gone_by": "2026-06-30"}}
    story[1] = writer.write("inspection", hurried)
    record = record_of(writer.job, story, Firm())
    assert (record.set_aside, record.missing) == ((), ())
    assert record.checked_job().people.gone_by is None
    for kept in (date(2026, 7, 1), date(2026, 7, 30)):
        in_time = {**INSPECTION, "people": {"gone_by": kept.isoformat()}}
        story[1] = writer.write("inspection", in_time)
        assert record_of(writer.job, story, Firm()).checked_job().people.gone_by == kept


def test_a_cone_meant_for_a_day_before_the_inspection_is_told_at_the_decision():
    writer = Writer()
    record = record_of(writer.job, writer.story("inspection"), Firm())
    decision = writer.write("decision", {**DECISION, "cone_on": "2026-06-01"})
    (problem,) = problems_of(record, decision, None)
    assert problem.field == "cone_on"


def test_a_zone_of_the_firm_that_is_wrong_sets_no_inspection_aside():
    writer = Writer()
    story = writer.story("visit")
    story[1] = writer.write(
        "inspection", {**INSPECTION, "site": {"latitude": 43, "longitude": -72}}
    )
    firm = firm_of([writer.write("firm", {"time_zone": "Etc/GMT-4"})])
    record = record_of(writer.job, story, firm)
    assert record.set_aside == ()
    assert [problem.field for problem in record.missing] == ["site.longitude"]
    # Where the firm's own longitude vouches for its zone, the inspection is to be mended.
    firm = firm_of([writer.write("firm", {"time_zone": "Etc/GMT-4", "longitude": 60.0})])
    (told,) = record_of(writer.job, story, firm).set_aside
    assert told.kind == "inspection"


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"longitude": 72.0}, "longitude"),
        ({"climate": {"unit": "C", "high": [1] * 12, "low": [2] * 12, "wet_days": [9] * 12}},
         "climate.low"),
        ({"climate": {"unit": "C", "high": [1] * 12, "low": [0] * 12}}, "climate.wet_days"),
    ],
)  # fmt: skip
def test_settings_that_no_job_could_be_forecast_with_are_set_aside(more, field):
    writer = Writer()
    good, bad = writer.write("firm", FIRM), writer.write("firm", FIRM | more)
    firm = firm_of([good, bad])
    assert firm.settings == FIRM
    (told,) = firm.set_aside
    assert {problem.field for problem in told.problems} == {field}


def test_a_name_that_a_device_garbled_does_not_keep_a_job_from_its_forecast():
    writer = Writer()
    story = [
        writer.write(entry.kind, entry.body, person="T.\tWick\x07" + "x" * 200)
        for entry in writer.story("visit")
    ]
    job = record_of(writer.job, story, Firm()).checked_job()
    assert job.prepared_by.startswith("T. Wick x")


def test_a_closing_without_its_reason_is_told_when_the_certificate_is_written():
    """What came from a phone without signal was kept unasked."""
    writer = Writer()
    record = record_of(writer.job, writer.story("close-out"), Firm())
    certificate = writer.write("certificate", CERTIFICATE)
    (problem,) = problems_of(record, certificate, leak_progress())
    assert "correct the close-out first" in problem.mend
    assert problems_of(record, certificate, empty_progress()) == ()
    assert problems_of(record, certificate, None) == ()
    reason = writer.write("close-out", {**CLOSE_OUT, "reason": "The roof came off."})
    record = record_of(writer.job, [*writer.story("visit"), reason], Firm())
    assert problems_of(record, certificate, leak_progress()) == ()

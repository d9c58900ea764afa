"""What was written once, corrected, corrected twice over, or taken back."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from record_factory import (
    FIRM,
    MORNING,
    VISIT,
    Writer,
)

from lastbee.record.entry import SETTLES, WITHDRAWN
from lastbee.record.firm import Firm, firm_of
from lastbee.record.record import record_of


def test_a_correction_counts_from_then_on_and_the_earlier_words_stay():
    writer = Writer()
    *story, visit = writer.story("visit")
    mended = writer.write("visit", {**VISIT, "cone": "blocked"}, replaces=visit.id)
    record = record_of(writer.job, [mended, *story, visit], Firm())
    (told,) = record.visits
    assert told.entry == mended
    assert told.earlier == (visit,)
    assert told.rivals == ()


def test_of_two_corrections_made_without_knowing_of_each_other_both_are_shown():
    writer = Writer()
    *story, visit = writer.story("visit")
    one = writer.write("visit", {**VISIT, "notes": "from the ladder"}, replaces=visit.id)
    two = writer.write("visit", {**VISIT, "notes": "from the van"}, replaces=visit.id)
    (told,) = record_of(writer.job, [two, one, visit, *story], Firm()).visits
    assert (told.entry, told.rivals, told.earlier) == (two, (one,), (visit,))


def test_of_two_corrections_the_one_written_last_counts_whichever_form_was_opened_first():
    writer = Writer()
    *story, visit = writer.story("visit")
    long_open = writer.new_id()
    one = writer.write("visit", {**VISIT, "notes": "one"}, replaces=visit.id)
    last = replace(one, id=long_open, written_at=one.written_at + timedelta(minutes=1))
    (told,) = record_of(writer.job, [*story, visit, last, one], Firm()).visits
    assert told.entry == last


@pytest.fixture
def rivals():
    """A writer, the entries of a job whose visit two people corrected, and the two corrections."""
    writer = Writer()
    story = writer.story("visit")
    one, two = (
        writer.write("visit", {**VISIT, "notes": notes}, replaces=story[-1].id)
        for notes in ("from the ladder", "from the van")
    )
    return writer, [*story, one, two], one, two


@pytest.mark.parametrize("body", [{**VISIT, "notes": "both"}, {WITHDRAWN: "wrong house"}])
def test_a_correction_whose_writer_saw_both_settles_it(rivals, body):
    writer, entries, one, two = rivals
    settled = writer.write("visit", {**body, SETTLES: [one.id]}, replaces=two.id)
    for written in ([*entries, settled], [settled, *reversed(entries)]):
        told = record_of(writer.job, written, Firm()).told[-1]
        assert (told.entry, told.rivals, told.problems) == (settled, (), ())
        assert told.earlier == (entries[-3], one, two)
        assert told.body == body


def test_it_counts_even_if_its_device_has_a_slow_clock(rivals):
    writer, entries, one, two = rivals
    slow = MORNING - timedelta(days=2)
    body = {**VISIT, SETTLES: [one.id]}
    settled = writer.write("visit", body, replaces=two.id, written_at=slow)
    assert record_of(writer.job, [*entries, settled], Firm()).visits[0].entry == settled


def test_what_its_writer_was_not_shown_stays_a_rival(rivals):
    writer, entries, one, two = rivals
    settled = writer.write("visit", {**VISIT, SETTLES: [one.id]}, replaces=two.id)
    unseen = writer.write("visit", {**VISIT, "notes": "from the yard"}, replaces=one.id)
    (told,) = record_of(writer.job, [*entries, settled, unseen], Firm()).visits
    assert (told.entry, told.rivals) == (unseen, (settled,))


def test_a_correction_of_what_settled_it_brings_no_rival_back(rivals):
    writer, entries, one, two = rivals
    settled = writer.write("visit", {**VISIT, SETTLES: [one.id]}, replaces=two.id)
    again = writer.write("visit", VISIT, replaces=settled.id)
    (told,) = record_of(writer.job, [*entries, settled, again], Firm()).visits
    assert (told.entry, told.rivals) == (again, ())


@pytest.mark.parametrize("named", [None, 7, "x", {"a": 1}, [None, {}, []], ["no id"]])
def test_settling_nothing_that_is_there_changes_nothing(rivals, named):
    writer, entries, _, two = rivals
    more = writer.write("visit", {**VISIT, SETTLES: named}, replaces=two.id)
    record = record_of(writer.job, [*entries, more], Firm())
    assert (len(record.visits[0].rivals), record.set_aside) == (1, ())
    assert SETTLES not in record.visits[0].body


def test_an_entry_that_claims_to_settle_itself_is_not_lost():
    writer = Writer()
    own = writer.new_id()
    visit = replace(writer.write("visit", {**VISIT, SETTLES: [own]}), id=own)
    (told,) = record_of(writer.job, [*writer.story("set-up"), visit], Firm()).visits
    assert (told.entry, told.rivals) == (visit, ())


def test_of_settings_written_on_two_phones_those_written_last_count():
    writer = Writer()
    one, two = writer.write("firm", FIRM), writer.write("firm", {**FIRM, "name": "Two"})
    assert firm_of([two, one]).name == "Two"
    again = writer.write("firm", {**FIRM, "name": "One"}, replaces=one.id)
    assert firm_of([again, two, one]).name == "One"


def test_a_correction_counts_even_if_its_device_has_a_slow_clock():
    writer = Writer()
    *story, visit = writer.story("visit")
    slow = MORNING - timedelta(days=2)
    mended = writer.write("visit", {**VISIT, "notes": "x"}, replaces=visit.id, written_at=slow)
    (told,) = record_of(writer.job, [*story, visit, mended], Firm()).visits
    assert told.entry == mended


def test_a_correction_that_comes_before_what_it_corrects_is_kept():
    writer = Writer()
    *story, visit = writer.story("visit")
    mended = writer.write("visit", {**VISIT, "notes": "x"}, replaces=visit.id)
    (told,) = record_of(writer.job, [*story, mended], Firm()).visits
    assert told.entry == mended


def test_corrections_in_a_ring_lose_nothing():
    writer = Writer()
    story = writer.story("set-up")
    first, second = writer.new_id(), writer.new_id()
    one = writer.write("visit", VISIT)
    ring = [
        type(one)(first, writer.job, "visit", VISIT, MORNING, replaces=second),
        type(one)(second, writer.job, "visit", VISIT, MORNING, replaces=first),
    ]
    (told,) = record_of(writer.job, [*story, *ring], Firm()).visits
    assert {entry.id for entry in told.all} == {first, second}

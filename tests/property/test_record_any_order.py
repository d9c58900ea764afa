"""Whatever order phones hand entries in, and however often, the same record comes out."""

from __future__ import annotations

import dataclasses
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st
from record_factory import DECISION, MORNING, VISIT, Writer

from lastbee.record.chains import told_of
from lastbee.record.entry import SETTLES, WITHDRAWN, Entry
from lastbee.record.firm import Firm
from lastbee.record.record import record_of

_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=12),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=4)
    ),
    max_leaves=12,
)
_BODY = st.dictionaries(
    st.sampled_from(
        ["date", "time", "way", "inspection", "text", "cone", "visit", WITHDRAWN, SETTLES, "x"]
    ),
    _JSON,
    max_size=5,
)
_KIND = st.sampled_from(
    ["call", "inspection", "decision", "set-up", "visit", "close-out", "note", "ended", "photo"]
)


def a_days_work() -> tuple[str, list[Entry]]:
    """A job with corrections, a withdrawal, rivals, some of them settled, and a garbled visit."""
    writer = Writer()
    story = writer.story("visit")
    visit, decision = story[-1], story[2]
    more = [
        writer.write("visit", {**VISIT, "date": "2026-07-10"}, device="tablet"),
        writer.write("visit", {**VISIT, "cone": "cleer"}),
        writer.write("visit", {**VISIT, "notes": "one"}, replaces=visit.id, device="tablet"),
        writer.write("visit", {**VISIT, "notes": "two"}, replaces=visit.id),
        writer.write("decision", {**DECISION, "agreed_with": "R. A."}, replaces=decision.id),
    ]
    slow = MORNING - timedelta(days=1)
    last = [
        writer.write("visit", {WITHDRAWN: "was next door"}, replaces=more[0].id),
        writer.write("visit", {**VISIT, SETTLES: [more[2].id]}, replaces=more[3].id),
        writer.write("visit", {**VISIT, "notes": "three"}, replaces=more[3].id, written_at=slow),
    ]
    return writer.job, [*story, *more, *last]


JOB, ENTRIES = a_days_work()
RECORD = record_of(JOB, ENTRIES, Firm())


@given(st.lists(st.sampled_from(ENTRIES), max_size=8), st.randoms(use_true_random=False))
def test_order_and_repeats_change_nothing(again, random):
    shuffled = [*ENTRIES, *again]
    random.shuffle(shuffled)
    assert record_of(JOB, shuffled, Firm()) == RECORD


@given(st.lists(st.sampled_from(ENTRIES), max_size=12))
def test_no_entry_is_ever_lost(some):
    record = record_of(JOB, some, Firm())
    assert {entry.id for told in record.told for entry in told.all} == {one.id for one in some}


@given(
    st.lists(
        st.tuples(_KIND, _BODY, st.integers(0, 6), st.none() | st.sets(st.integers(0, 8))),
        max_size=6,
    ),
    st.randoms(use_true_random=False),
)
def test_nothing_that_may_be_written_breaks_the_record(written, random):
    writer, entries = Writer(), []
    ids = [writer.new_id() for _ in range(9)]
    for place, (kind, body, back, settled) in enumerate(written):
        replaces = entries[-back].id if 0 < back <= len(entries) else None
        named = {} if settled is None else {SETTLES: [ids[one] for one in settled]}
        entry = writer.write(kind, body | named, replaces=replaces)
        entries.append(dataclasses.replace(entry, id=ids[place]))
    record = record_of(writer.job, entries, Firm())
    assert {entry.id for told in record.told for entry in told.all} == {e.id for e in entries}
    assert record.title
    assert len(told_of(entries)) == len(record.told)
    random.shuffle(entries)
    assert record_of(writer.job, entries, Firm()) == record

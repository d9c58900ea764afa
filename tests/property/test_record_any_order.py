"""Whatever order phones hand entries in, and however often, the same record comes out."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from record_factory import DECISION, VISIT, Writer

from lastbee.record.chains import told_of
from lastbee.record.entry import WITHDRAWN, Entry
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
    st.sampled_from(["date", "time", "way", "inspection", "text", "cone", "visit", WITHDRAWN, "x"]),
    _JSON,
    max_size=5,
)
_KIND = st.sampled_from(
    ["call", "inspection", "decision", "set-up", "visit", "close-out", "note", "ended", "photo"]
)


def a_days_work() -> tuple[str, list[Entry]]:
    """A job with corrections, a withdrawal, rivals and a garbled visit."""
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
    last = writer.write("visit", {WITHDRAWN: "was next door"}, replaces=more[0].id)
    return writer.job, [*story, *more, last]


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


@given(st.lists(st.tuples(_KIND, _BODY, st.integers(0, 6)), max_size=6))
def test_nothing_that_may_be_written_breaks_the_record(written):
    writer, entries = Writer(), []
    for kind, body, back in written:
        replaces = entries[-back].id if 0 < back <= len(entries) else None
        entries.append(writer.write(kind, body, replaces=replaces))
    record = record_of(writer.job, entries, Firm())
    assert {entry.id for told in record.told for entry in told.all} == {e.id for e in entries}
    assert record.title
    assert len(told_of(entries)) == len(record.told)

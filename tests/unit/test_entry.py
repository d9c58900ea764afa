"""Entries and the ids that devices make."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta

import pytest
from record_factory import Writer

from lastbee.record.entry import Entry, is_id, new_id


def test_an_id_is_the_one_of_the_standard():
    """RFC 9562, appendix A.6: the example of a version 7 value."""
    bits = 0xCC3 << 68 | 0x18C4DC0C0C07398F & (2**62 - 1)
    at = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=0x017F22E279B0)
    made = new_id(at, bits.to_bytes(10, "big"))
    assert made == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
    assert (uuid.UUID(made).version, uuid.UUID(made).variant) == (7, uuid.RFC_4122)


@pytest.mark.parametrize("randomness", [bytes(10), b"\xff" * 10])
def test_any_randomness_makes_an_id_and_later_ids_sort_later(randomness):
    at = datetime(2026, 7, 14, 8, tzinfo=UTC)
    first = new_id(at, randomness)
    second = new_id(at + timedelta(milliseconds=1), bytes(10))
    assert is_id(first)
    assert first < second


def test_an_id_needs_ten_bytes():
    with pytest.raises(ValueError, match="10"):
        new_id(datetime(2026, 7, 14, tzinfo=UTC), b"few")


@pytest.mark.parametrize("bad", ["", "x" * 36, "017F22E2-79B0-7CC3-98C4-DC0C0C07398F", "../etc"])
def test_what_is_no_id_is_refused(bad):
    assert not is_id(bad)
    with pytest.raises(ValueError, match="UUID"):
        Entry(bad, None, "firm", {}, datetime(2026, 7, 14, tzinfo=UTC))


def test_an_entry_of_a_job_names_it_and_one_of_the_firm_does_not():
    writer, at = Writer(), datetime(2026, 7, 14, tzinfo=UTC)
    with pytest.raises(ValueError, match="job"):
        Entry(writer.new_id(), None, "visit", {}, at)
    with pytest.raises(ValueError, match="job"):
        Entry(writer.new_id(), writer.job, "firm", {}, at)
    with pytest.raises(ValueError, match="kind"):
        Entry(writer.new_id(), writer.job, "gossip", {}, at)


def test_a_moment_without_zone_is_refused_and_any_other_is_kept_in_utc():
    writer = Writer()
    with pytest.raises(ValueError, match="zone"):
        Entry(writer.new_id(), None, "firm", {}, datetime(2026, 7, 14))  # noqa: DTZ001
    from zoneinfo import ZoneInfo

    at = datetime(2026, 7, 14, 8, tzinfo=ZoneInfo("Etc/GMT+4"))
    assert Entry(writer.new_id(), None, "firm", {}, at).written_at.hour == 12


@pytest.mark.parametrize("year", [1, 1969, 9999])
def test_a_moment_beyond_all_clocks_is_refused(year):
    with pytest.raises(ValueError, match="no clock"):
        Entry(Writer().new_id(), None, "firm", {}, datetime(year, 6, 1, tzinfo=UTC))

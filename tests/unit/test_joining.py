"""Devices that join by a link: their passes, and how a lost one is shut out.

A pass must be such that it can neither be guessed nor made from another one; the length of the
secret is held to OWASP's figure for session identifiers, the hash is HMAC (RFC 2104).
"""

from __future__ import annotations

import hmac
import re
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from store_factory import NOW

from lastbee.office.joining import FRESH, SEEN_AGAIN, Joining, joining_secret, make_new_link
from lastbee.store.book import Book

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from lastbee.store.device import Device

SECRET = "wick-and-smoker-in-the-shed"  # noqa: S105  (opens nothing)


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = NOW

    def __call__(self) -> datetime:
        return self.now

    def pass_by(self, span: timedelta) -> None:
        self.now += span


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """An empty firm's file."""
    with Book.open(tmp_path / "firm.lastbee", NOW) as opened:
        yield opened


@pytest.fixture
def joining(book: Book, clock: Clock) -> Joining:
    return Joining(book, clock, SECRET)


def test_the_secret_is_long_and_stays_the_same(book: Book) -> None:
    secret = joining_secret(book)
    assert joining_secret(book) == secret
    # OWASP asks for 64 bits at least; each of these letters carries six.
    assert len(secret) * 6 >= 128
    assert re.fullmatch(r"[\w-]+", secret)


def test_a_device_that_joined_is_known_by_its_pass(joining: Joining) -> None:
    phone, tablet = joining.join("Ladder phone"), joining.join("Tablet")
    assert phone != tablet
    found = joining.device_of(phone)
    assert found is not None
    assert (found.name, found.joined_at, found.last_seen) == ("Ladder phone", NOW, None)
    assert {device.name for device in joining.devices()} == {"Ladder phone", "Tablet"}


def test_a_pass_is_the_id_with_its_keyed_hash(joining: Joining) -> None:
    # RFC 2104 by way of `hmac.new`, put together here from the three parts it takes.
    shown = joining.join("Ladder phone")
    id_, _, proof = shown.partition(".")
    made = hmac.new(SECRET.encode(), f"lastbee device {id_}".encode(), "sha256").hexdigest()
    assert proof == made
    assert SECRET not in shown


def test_no_pass_can_be_made_up(joining: Joining) -> None:
    mine, other = joining.join("Ladder phone"), joining.join("Tablet")
    (id_, _, proof), (other_id, _, _) = mine.partition("."), other.partition(".")
    guesses = ["", ".", id_, f"{id_}.", f".{proof}", f"{other_id}.{proof}", mine[:-1], f"{mine}.",
               mine.upper(), f"{mine}é", f"{id_}.{'0' * 64}"]  # fmt: skip
    assert [guess for guess in guesses if joining.device_of(guess) is not None] == []


def test_a_pass_of_an_id_that_never_joined_opens_nothing(joining: Joining, book: Book) -> None:
    other = Joining(book, lambda: NOW, SECRET)
    shown = other.join("Lost phone")
    assert joining.device_of(shown) is not None
    assert other.shut_out(shown.partition(".")[0])
    # Its hash is right for ever; only the list of those who joined says no.
    assert other.device_of(shown) is None


def test_a_device_that_is_shut_out_is_out_at_once_and_joins_as_another(joining: Joining) -> None:
    lost, other = joining.join("Lost phone"), joining.join("Tablet")
    id_ = lost.partition(".")[0]
    assert joining.shut_out(id_)
    assert not joining.shut_out(id_)
    assert joining.device_of(lost) is None
    assert joining.device_of(other) is not None
    anew = joining.join("Lost phone", lost)
    assert anew.partition(".")[0] != id_
    assert joining.device_of(lost) is None


def test_a_device_that_joins_twice_is_called_by_its_new_name(joining: Joining) -> None:
    shown = joining.join("Phone")
    assert joining.join("Ladder phone", shown) == shown
    assert [device.name for device in joining.devices()] == ["Ladder phone"]


def test_what_another_process_changes_counts_within_seconds(
    joining: Joining, book: Book, clock: Clock
) -> None:
    shown = joining.join("Lost phone")
    assert joining.device_of(shown) is not None
    with book.writing() as writing:
        writing.remove_device(shown.partition(".")[0])
    clock.pass_by(FRESH)
    assert joining.device_of(shown) is None
    assert timedelta(seconds=10) > FRESH


def test_a_new_link_shuts_every_device_out_wherever_the_file_is_served(
    joining: Joining, book: Book, clock: Clock
) -> None:
    shown = joining.join("Lost phone")
    make_new_link(book)
    clock.pass_by(FRESH)
    assert joining.device_of(shown) is None
    assert not joining.opens(SECRET)
    assert joining.opens(joining_secret(book))
    assert joining.devices() == ()


def test_pages_ask_the_file_nothing_between_two_looks(joining: Joining, book: Book) -> None:
    shown = joining.join("Ladder phone")
    with book.counting() as statements:
        joining.device_of(shown)
        first = len(statements)
        for _ in range(50):
            joining.device_of(shown)
    assert 0 < first <= 2
    assert len(statements) == first


def test_a_clock_that_is_set_back_keeps_no_device_in(
    joining: Joining, book: Book, clock: Clock
) -> None:
    shown = joining.join("Lost phone")
    assert joining.device_of(shown) is not None
    with book.writing() as writing:
        writing.remove_device(shown.partition(".")[0])
    clock.pass_by(-timedelta(days=1))
    assert joining.device_of(shown) is None


def test_a_device_is_noted_as_seen_once_an_hour(joining: Joining, book: Book, clock: Clock) -> None:
    def seen() -> Device:
        device = joining.device_of(shown)
        assert device is not None
        with book.counting() as statements:
            joining.note_seen(device)
        written.append(len(statements))
        (kept,) = joining.devices()
        return kept

    shown, written = joining.join("Ladder phone"), []
    assert seen().last_seen == NOW
    clock.pass_by(SEEN_AGAIN - timedelta(seconds=1))
    assert seen().last_seen == NOW
    clock.pass_by(timedelta(seconds=1))
    assert seen().last_seen == NOW + SEEN_AGAIN
    assert written == [1, 0, 1]
    # A program that begins anew goes by what the file says.
    again = Joining(book, clock, SECRET)
    clock.pass_by(timedelta(minutes=5))
    again.note_seen(*again.devices())
    assert again.devices()[0].last_seen == NOW + SEEN_AGAIN

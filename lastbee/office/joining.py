"""Joining: which devices may come in beyond this computer, and how one is shut out again.

There are no passwords. The joining link carries a secret; whoever opens it gives the device a
name, and the device gets a pass of its own. A pass is the id of the device with a keyed hash of
it under the secret (HMAC, RFC 2104), so that none can be made up; and it opens only while the
device is among those that joined, so that a lost phone can be shut out alone.

Another process may let devices in or out of the same file, so the file is asked anew every few
seconds, and never for each page.
"""

from __future__ import annotations

import hmac
import os
import secrets
from dataclasses import dataclass
from datetime import timedelta
from threading import Lock
from typing import TYPE_CHECKING

from lastbee.record.entry import new_id
from lastbee.store.device import Device

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from lastbee.store.book import Book
    from lastbee.store.writing import Writing

FRESH = timedelta(seconds=3)
"""How long it is taken for true who has joined."""

SEEN_AGAIN = timedelta(hours=1)
"""How long a device is about before it is noted once more that it was there."""

_SECRET = "joining_secret"  # noqa: S105  (the name of the setting, not the secret)
_SECRET_BYTES, _ID_BYTES = 24, 10


def joining_secret(book: Book) -> str:
    """Give the secret of the joining link, made on first use and kept in the file."""
    with book.writing() as writing:
        return writing.setting(_SECRET) or _new_secret(writing)


def make_new_link(book: Book) -> None:
    """Make a new secret and shut every device out, also where the file is served already."""
    with book.writing() as writing:
        for device in writing.devices():
            writing.remove_device(device.id)
        _new_secret(writing)


def _new_secret(writing: Writing) -> str:
    secret = secrets.token_urlsafe(_SECRET_BYTES)
    writing.keep_setting(_SECRET, secret)
    return secret


@dataclass(frozen=True, slots=True)
class _Known:
    """What the file said a moment ago."""

    secret: str
    devices: Mapping[str, Device]
    read_at: datetime


class Joining:
    """The devices of a firm and their passes; safe to use from several threads.

    Parameters
    ----------
    book
        The firm's file.
    clock
        Gives the moment, aware.
    secret
        Secret of the joining link; one that was put into the file since takes its place.
    """

    def __init__(self, book: Book, clock: Callable[[], datetime], secret: str) -> None:
        self._book = book
        self._clock = clock
        self._secret = secret
        self._lock = Lock()
        self._known: _Known | None = None
        self._noted: dict[str, datetime] = {}

    def opens(self, shown: str) -> bool:
        """Whether the joining link carries the secret."""
        return _is_same(shown, self._now_known().secret)

    def join(self, name: str, shown: str = "") -> str:
        """Let a device join under a name, and give it its pass.

        One that shows a pass that opens is called by the new name and stays the same device.
        """
        known, device = self._now_known(), self.device_of(shown)
        with self._book.writing() as writing:
            if device is None or not writing.rename_device(device.id, name):
                now = self._clock()
                device = Device(new_id(now, os.urandom(_ID_BYTES)), name, now)
                writing.join_device(device)
        self._ask_anew()
        return _pass_of(device.id, known.secret)

    def device_of(self, shown: str) -> Device | None:
        """The device that a pass belongs to; None for one that opens nothing."""
        known = self._now_known()
        id_ = shown.partition(".")[0]
        is_ours = _is_same(shown, _pass_of(id_, known.secret))
        return known.devices.get(id_) if is_ours else None

    def note_seen(self, device: Device) -> None:
        """Note that a device was there, unless that was done within the hour.

        Raises
        ------
        FileProblem
            If the file cannot be written.
        """
        now = self._clock()
        with self._lock:
            last = self._noted.get(device.id, device.last_seen)
            if last is not None and _is_within(SEEN_AGAIN, last, now):
                return
            self._noted[device.id] = now
        with self._book.writing() as writing:
            writing.see_device(device.id, now)

    def devices(self) -> tuple[Device, ...]:
        """All devices that may come in, the first first."""
        with self._book.reading() as reading:
            return reading.devices()

    def shut_out(self, id_: str) -> bool:
        """Let a device in no more; what it wrote stays. False where it was not in."""
        with self._book.writing() as writing:
            was_in = writing.remove_device(id_)
        self._ask_anew()
        return was_in

    def _now_known(self) -> _Known:
        with self._lock:
            now = self._clock()
            if self._known is None or not _is_within(FRESH, self._known.read_at, now):
                self._known = self._read(now)
            return self._known

    def _read(self, now: datetime) -> _Known:
        with self._book.reading() as reading:
            devices = {device.id: device for device in reading.devices()}
            return _Known(reading.setting(_SECRET) or self._secret, devices, now)

    def _ask_anew(self) -> None:
        with self._lock:
            self._known = None


def _pass_of(id_: str, secret: str) -> str:
    proof = hmac.digest(secret.encode(), f"lastbee device {id_}".encode(), "sha256")
    return f"{id_}.{proof.hex()}"


def _is_same(shown: str, true: str) -> bool:
    """Compare in a time that tells nothing of where they differ."""
    return hmac.compare_digest(shown.encode(), true.encode())


def _is_within(span: timedelta, since: datetime, now: datetime) -> bool:
    """Whether `now` lies in the span that begins at `since`; not where a clock was set back."""
    return timedelta(0) <= now - since < span

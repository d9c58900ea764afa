"""What can be written to the firm's file, all of one transaction or nothing of it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sqlalchemy import insert, select, update

from lastbee.store.forecasting import Forecasting
from lastbee.store.rows import card_values, entry_values
from lastbee.store.tables import cards, devices, entries, jobs, pictures, settings

if TYPE_CHECKING:
    from datetime import datetime

    from lastbee.record.card import Card
    from lastbee.record.entry import Entry
    from lastbee.store.device import Device

_SHA256 = re.compile(r"[0-9a-f]{64}")


class Writing(Forecasting):
    """Changes to the file, and questions that see them."""

    def append(self, entry: Entry) -> bool:
        """Keep an entry for good.

        Parameters
        ----------
        entry
            The entry. The first one of a job gives the job its number.

        Returns
        -------
        False if an entry with its id is kept already; that one then stays as it is.

        Raises
        ------
        ValueError
            If its body holds a number that JSON has no sign for.
        """
        known = select(entries.c.received).where(entries.c.id == entry.id)
        if self._connection.scalar(known) is not None:
            return False
        values = entry_values(entry)
        if entry.job is not None and self.number_of(entry.job) is None:
            self._connection.execute(insert(jobs).values(job=entry.job))
        self._connection.execute(insert(entries).values(values))
        return True

    def keep_card(self, card: Card) -> None:
        """Keep the card of a job in place of its last one; its number is the file's to give.

        Raises
        ------
        ValueError
            If the job has no entries.
        """
        number = self.number_of(card.job)
        if number is None:
            raise ValueError(f"job is {card.job!r}, of which there are no entries")
        self._put(cards, {"job": card.job}, card_values(card, number))

    def keep_picture(self, sha: str, jpeg: bytes, small_jpeg: bytes) -> bool:
        """Keep a picture with its small twin.

        Parameters
        ----------
        sha
            Its name: SHA-256 in 64 hexadecimal digits, as the entry has it.
        jpeg, small_jpeg
            The picture, and the one that lists show.

        Returns
        -------
        False if one of that name is kept already; that one then stays.

        Raises
        ------
        ValueError
            If `sha` is no such name.
        """
        if not _SHA256.fullmatch(sha):
            raise ValueError(f"sha is {sha!r}; it must have 64 hexadecimal digits in lower case")
        if self.has_picture(sha):
            return False
        self._connection.execute(insert(pictures).values(sha=sha, small=small_jpeg, jpeg=jpeg))
        return True

    def join_device(self, device: Device) -> None:
        """Let a device join, or join anew under another name."""
        values = {"name": device.name, "joined_at": device.joined_at}
        self._put(devices, {"id": device.id}, values | {"last_seen": device.last_seen})

    def rename_device(self, id_: str, name: str) -> bool:
        """Call a device something else; False where it never joined."""
        return self._change(update(devices).where(devices.c.id == id_).values(name=name))

    def see_device(self, id_: str, at: datetime) -> bool:
        """Note when a device was last there; False where it never joined."""
        return self._change(update(devices).where(devices.c.id == id_).values(last_seen=at))

    def remove_device(self, id_: str) -> bool:
        """Let a device join no more; its entries stay. False where it never joined."""
        return self._change(devices.delete().where(devices.c.id == id_))

    def keep_setting(self, name: str, value: str) -> None:
        """Set a setting of this file."""
        self._put(settings, {"name": name}, {"value": value})

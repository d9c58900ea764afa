"""What every form posts beside its fields: the entry that it writes, who writes it and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, cast

from lastbee.record.entry import SETTLES, Entry, is_id, is_of_a_clock
from lastbee.web.render import device_of, fresh_id, now_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.requests import Request

    from lastbee.record.entry import EntryKind
    from lastbee.web.forms.form import Posted

_LONGEST_NAME = 120


@dataclass(frozen=True, slots=True)
class Hidden:
    """The hidden fields of a form.

    `replaces` is the entry that it corrects, empty for a new one; `settles` are those that its
    page showed beside it, see `lastbee.record.entry.SETTLES`.
    """

    entry_id: str
    written_at: str
    device: str = ""
    person: str = ""
    replaces: str = ""
    settles: tuple[str, ...] = ()

    @classmethod
    def fresh(cls, request: Request, replaces: str = "", settles: tuple[str, ...] = ()) -> Hidden:
        """For a form that nobody has filled in yet."""
        written_at = now_of(request).isoformat(timespec="milliseconds")
        device = device_of(request)
        return cls(fresh_id(request), written_at, device, replaces=replaces, settles=settles)

    @classmethod
    def of(cls, posted: Posted, request: Request, replaces: str = "") -> Hidden:
        """As it was posted; what cannot be so is made anew."""
        fresh = cls.fresh(request)

        def said(name: str) -> str:
            return " ".join(" ".join(posted.get(name, ())).split())[:_LONGEST_NAME]

        return cls(
            entry_id=said("entry_id") if is_id(said("entry_id")) else fresh.entry_id,
            written_at=said("written_at") if moment_of(said("written_at")) else fresh.written_at,
            device=said("device") or fresh.device,
            person=said("person"),
            replaces=said("replaces") if is_id(said("replaces")) else replaces,
            settles=tuple(dict.fromkeys(filter(is_id, posted.get(SETTLES, ())))),
        )

    def entry(self, job: str | None, kind: str, body: Mapping[str, Any]) -> Entry:
        """The entry that the form makes of a body.

        The same form posted twice makes the same entry, so that a press too many does no harm.
        """
        written_at = moment_of(self.written_at)
        if written_at is None:
            raise ValueError(f"written_at is {self.written_at!r}; it must be a moment with a zone")
        settled = {SETTLES: list(self.settles)} if self.settles else {}
        return Entry(
            id=self.entry_id, job=job, kind=cast("EntryKind", kind), body={**body, **settled},
            written_at=written_at, device=self.device, person=self.person,
            replaces=self.replaces or None,
        )  # fmt: skip


def moment_of(written: str) -> datetime | None:
    """The moment that a device says it wrote at; None for what no clock could say."""
    try:
        moment = datetime.fromisoformat(written)
        return moment.astimezone(UTC) if moment.tzinfo and is_of_a_clock(moment) else None
    except (ValueError, OverflowError):
        return None

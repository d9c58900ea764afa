"""What was written once, corrected, corrected twice over, or taken back.

Entries that correct one another form a chain. The one written last counts; a correction that
was made without knowing of another is a rival and is shown beside it, so that no word of
either is lost, until a correction whose writer saw both settles it. Nothing here depends on the
order in which entries came in.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from typing import TYPE_CHECKING, Any

from lastbee.jobs.jobfile_fields import Unfit, clock, day_or_moment
from lastbee.record.tables import read_body

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from lastbee.errors import Problem
    from lastbee.record.entry import Entry

_DAY, _CLOCK = day_or_moment(), clock()
_NOON = time(12)


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that was told, as it stands now.

    Attributes
    ----------
    entry
        The entry that counts: the last one written.
    body
        What it says, in one spelling where it can be used (`lastbee.record.tables.read_body`).
    first
        The one that everything here goes back to; the same where nothing was corrected.
    earlier
        Entries that were corrected or settled, oldest first.
    rivals
        Other corrections of what `entry` corrects, made without knowing of it.
    problems
        Why it cannot be used as it stands; none if it can.
    """

    entry: Entry
    body: Mapping[str, Any]
    first: Entry
    earlier: tuple[Entry, ...] = ()
    rivals: tuple[Entry, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def kind(self) -> str:
        """What sort of thing it is."""
        return self.entry.kind

    @property
    def all(self) -> tuple[Entry, ...]:
        """Every entry of the chain."""
        return (*self.earlier, *self.rivals, self.entry)

    @property
    def is_withdrawn(self) -> bool:
        """Whether it was taken back."""
        return self.entry.is_withdrawal

    @property
    def counts(self) -> bool:
        """Whether the record may build on it."""
        return not self.problems and not self.is_withdrawn

    @property
    def on(self) -> date:
        """The day it happened, or that it was written where no day can be read."""
        return day_of(self.body) or day_of(self.first.body) or self.first.written_at.date()

    @property
    def at(self) -> time | None:
        """The local time it happened, None where nobody wrote it down."""
        return clock_of(self.body)

    @property
    def order(self) -> tuple[date, time, str]:
        """Where it stands in the story: by day and time it happened, then as written."""
        return self.on, self.at or _NOON, self.first.id


def told_of(entries: Iterable[Entry]) -> tuple[Told, ...]:
    """Put entries into chains, in the order in which things happened.

    Parameters
    ----------
    entries
        Entries of one job, or of the firm; in any order, and any of them more than once.

    Returns
    -------
    One `Told` for each thing told; those whose body cannot be read have problems.
    """
    known = {entry.id: entry for entry in entries}
    chains: dict[tuple[str, str], list[Entry]] = {}
    for entry in known.values():
        chains.setdefault((_root(entry, known), entry.kind), []).append(entry)
    return tuple(sorted((_told(chain) for chain in chains.values()), key=lambda told: told.order))


def day_of(body: Mapping[str, Any]) -> date | None:
    """The day that a body names, None where none can be read."""
    inner = _dated(body)
    try:
        read = _DAY.read(inner.get("date"))
    except Unfit:
        return None
    return date(read.year, read.month, read.day) if isinstance(read, date) else None


def clock_of(body: Mapping[str, Any]) -> time | None:
    """The time of day that a body names, None where none can be read."""
    try:
        read = _CLOCK.read(_dated(body).get("time"))
    except Unfit:
        return None
    return read if isinstance(read, time) else None


def _dated(body: Mapping[str, Any]) -> Mapping[str, Any]:
    """The table that day and time stand in: an inspection has its own."""
    inner = body.get("inspection", body)
    return inner if isinstance(inner, dict) else body


def _root(entry: Entry, known: Mapping[str, Entry]) -> str:
    """Id of what an entry goes back to, even where that has not come in yet."""
    path = [entry.id]
    while path[-1] in known and (parent := known[path[-1]].replaces) is not None:
        if parent in path:  # entries that claim to correct one another in a ring
            return min(path[path.index(parent) :])
        path.append(parent)
    return path[-1]


def _told(chain: list[Entry]) -> Told:
    ordered = sorted(chain, key=lambda entry: (entry.written_at, entry.id))
    replaced = {one for entry in chain for one in entry.stands_in_for if one != entry.id}
    # A correction counts before what it corrects, whatever the clocks of the devices say.
    ends = [entry for entry in ordered if entry.id not in replaced] or ordered
    counting = ends[-1]
    body, problems = read_body(counting.kind, counting.body)
    return Told(
        counting,
        body,
        next((entry for entry in ordered if entry.replaces is None), ordered[0]),
        earlier=tuple(entry for entry in ordered if entry not in ends),
        rivals=tuple(entry for entry in ends if entry is not counting),
        problems=problems,
    )

"""How a running trap-out stands, in a word and a sentence, and what the last visit changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from lastbee.colony.course import Trouble
from lastbee.jobs.story import shift_words
from lastbee.jobs.troubles import TOLD
from lastbee.jobs.trust import UNLIKE_ANYTHING
from lastbee.words import chance_words, day_words, days_words

if TYPE_CHECKING:
    from datetime import date

    from lastbee.jobs.plan import Milestone
    from lastbee.jobs.progress import Clearance, TroubleRow, VisitRow

Kind = Literal["working", "slow", "trouble", "failed", "empty", "unsure"]

# A trouble at least this likely is named first; troubles together this likely are trouble.
NAMED_FIRST, TROUBLED = 0.4, 0.5
# A trap-out is slow if it will likely be empty this much later than was first thought.
SLOW_DAYS = 10
# It has failed if after so many days the chance to be empty within as many again as is
# worth waiting is less than even; common practice gives 4 to 8 weeks.
FAILED_AFTER_DAYS, WORTH_WAITING_DAYS, FAILED_BELOW = 56, 21, 0.5
# What no deed at the wall ends is called failed sooner, once it is sure enough.
ENDLESS = (Trouble.QUEEN_STAYS, Trouble.STALLED)
ENDLESS_AFTER_DAYS, ENDLESS_SURE = 35, 0.7


@dataclass(frozen=True, slots=True)
class Standing:
    """What the headline is spoken on.

    `first_empty` is when the first forecast had it empty, `empty` the forecast as things
    stand, `empty_if_mended` with trouble put right at the next visit, None where there is
    none; `soon` the chance to be empty within `soon_days`, WORTH_WAITING_DAYS or what is
    left of the forecast; `seen` troubles that the last visit saw and left; `is_winter`
    whether one has come between.
    """

    trap_days: int
    rows: tuple[TroubleRow, ...]
    last: VisitRow
    clearance: Clearance
    first_empty: Milestone
    empty: Milestone
    empty_if_mended: Milestone | None
    soon: float
    soon_days: int = WORTH_WAITING_DAYS
    seen: tuple[Trouble, ...] = ()
    is_winter: bool = False

    @property
    def worst(self) -> TroubleRow:
        """The likeliest trouble still going on."""
        return max((r for r in self.rows if r.key != "sound"), key=lambda r: r.still)

    @property
    def troubled(self) -> float:
        """Chance that any trouble is still going on."""
        return sum(r.still for r in self.rows if r.key != "sound")

    @property
    def found(self) -> TroubleRow | None:
        """The trouble that the last visit found, whether or not it was put right there."""
        top = max(self.rows, key=lambda r: r.probability)
        return None if top.key == "sound" else top

    @property
    def kind(self) -> Kind:
        """How it stands, in a word."""
        if self.clearance.is_clear:
            return "empty"
        if self.is_winter:
            return "unsure"
        if self._has_failed:
            return "failed"
        if self.last.surprise < UNLIKE_ANYTHING:
            return "unsure"
        if self.worst.still >= NAMED_FIRST:
            return "trouble"
        if self.troubled >= TROUBLED or self.seen:
            return "unsure"
        return "slow" if self._is_slow else "working"

    @property
    def _has_failed(self) -> bool:
        endless = sum(r.still for r in self.rows if r.key in {TOLD[t].key for t in ENDLESS})
        if self.trap_days >= ENDLESS_AFTER_DAYS and endless >= ENDLESS_SURE:
            return True
        return self.trap_days >= FAILED_AFTER_DAYS and self.soon < FAILED_BELOW

    @property
    def _is_slow(self) -> bool:
        first, now = self.first_empty.likely, self.empty.likely
        if now is None:
            return True
        return first is not None and (now - first).days > SLOW_DAYS


def headline(standing: Standing) -> str:
    """The answer in a sentence or two."""
    kind, worst, found = standing.kind, standing.worst, standing.found
    when = _when_words(standing.empty, standing.last.at.date())
    if kind == "empty":
        return f"Empty: {standing.clearance.words}"
    if kind == "failed":
        return (
            f"This trap-out will hardly end by itself ({chance_words(standing.soon)} to be empty "
            f"within {days_words(standing.soon_days)}): decide anew."
        )
    if kind == "unsure":
        return _unsure(standing)
    if kind == "trouble":
        return f"{worst.label}: {chance_words(worst.still)}."
    mended = (
        f" {found.label}: put right, {chance_words(1.0 - found.still)}."
        if found is not None and standing.last.did
        else ""
    )
    return f"{when[:1].upper()}{when[1:]}.{mended}"


def _unsure(standing: Standing) -> str:
    if standing.is_winter:
        return "Winter lies in the way: leave cone and box, and look again when bees fly in spring."
    if standing.seen:
        names = "; ".join(_lower(TOLD[trouble].label) for trouble in standing.seen)
        return f"Signs were seen that nothing was done about ({names}): look into them first."
    if standing.last.surprise < UNLIKE_ANYTHING:
        return (
            "Something does not fit: the last visit is unlike anything that was forecast. Count "
            "again before anything is done."
        )
    return "Something is wrong, but the visits do not yet say what: look again soon."


def changes(standing: Standing) -> tuple[str, ...]:
    """What the last visit changed, in sentences."""
    found = [standing.last.said]
    mended = standing.empty_if_mended
    if mended is not None and standing.kind == "trouble":
        found.append(
            f"If it is put right at the next visit: {_when_words(mended, standing.last.at.date())} "
            f"({shift_words(standing.empty, mended)})."
        )
    return tuple(found)


def _when_words(empty: Milestone, as_of: date) -> str:
    if empty.likely is not None and empty.likely <= as_of:
        return "it should be empty by now, but that is not sure yet"
    if empty.likely is None:
        return "not empty by itself within the forecast"
    likely = f"most likely empty by {day_words(empty.likely)}"
    if empty.safe is None:
        return f"{likely}, but it may take far longer"
    return f"{likely}, almost surely by {day_words(empty.safe)}"


def _lower(label: str) -> str:
    return label[:1].lower() + label[1:]

"""How a running trap-out stands: the story so far, what is wrong, what to do next.

Plain data, like `lastbee.jobs.plan`: numbers with their ranges, sentences ready to print.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import date, datetime

    from lastbee.jobs.plan import Band, MethodRow, Milestone, Quantity, Step, Trust

SCHEMA = "lastbee.progress/1"


@dataclass(frozen=True, slots=True)
class VisitRow:
    """One visit in the story.

    `seen` and `did` are what was reported, in words; `said` what it meant for the answer;
    `surprise` is the probability of a visit at least this odd, given all before it;
    `bees_before` and `bees_after` are the bees in the wall for every day from the cone, as
    forecast without and with this visit; `empty_before` and `empty_after` the same for the
    day on which it is empty.
    """

    at: datetime
    seen: tuple[str, ...]
    did: tuple[str, ...]
    said: str
    surprise: float
    bees_before: Band
    bees_after: Band
    empty_before: Milestone
    empty_after: Milestone


@dataclass(frozen=True, slots=True)
class TroubleRow:
    """One explanation of how the trap-out runs, likeliest first.

    `probability` that it was going on at the last visit, `still` that it is after what was
    done there; `speaks_for` and `speaks_against` are sentences on what was seen;
    `settled_by` the one look that would best settle it.
    """

    key: str
    label: str
    probability: float
    still: float
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    settled_by: str
    remedy: str
    caution: str


@dataclass(frozen=True, slots=True)
class VisitDate:
    """A date for the next visit and what it would cost, in visits' worth of trouble."""

    on: date
    cost: float


@dataclass(frozen=True, slots=True)
class NextVisit:
    """When to come back, why then, at which hours, and what to look at.

    `alternatives` has every date weighed, in order; `look_for` is in order of worth.
    """

    on: date
    hours: str
    why: str
    alternatives: tuple[VisitDate, ...]
    look_for: tuple[str, ...]
    bring: str
    caution: str


@dataclass(frozen=True, slots=True)
class ClearanceCheck:
    """A way to make sure: what to do, from when it can reach the confidence, how likely it does.

    `on` is the first day on which finding nothing would be enough, None if it would not be
    within the forecast; `chance` the probability of finding nothing then.
    """

    key: str
    label: str
    on: date | None
    chance: float
    confidence_then: float
    caution: str


@dataclass(frozen=True, slots=True)
class Clearance:
    """Whether the cavity may be called empty, and the fastest way to be sure.

    `probability_empty` is as of the last visit; `checks` are ordered, the fastest first.
    """

    probability_empty: float
    confidence: float
    is_clear: bool
    words: str
    checks: tuple[ClearanceCheck, ...]


@dataclass(frozen=True, slots=True)
class CloseOutRow:
    """One way to deal with what is left once it is empty."""

    key: str
    label: str
    status: Literal["recommended", "possible", "refused"]
    honey_left: Quantity
    consequences: tuple[str, ...]
    risks: tuple[str, ...]
    forbidden_by: tuple[str, ...]
    would_change: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Progress:
    """The whole answer for a running trap-out.

    `as_of` is the day of the last visit. `kind` is the state in one word. `methods` is a
    new comparison of the ways where the trap-out has failed, empty otherwise.
    """

    schema: str
    title: str
    client: str
    place: str
    prepared_by: str
    cone_on: date
    as_of: date
    kind: Literal["working", "slow", "trouble", "failed", "empty", "unsure"]
    headline: str
    changed: tuple[str, ...]
    now: tuple[Quantity, ...]
    bands: tuple[Band, ...]
    empty_by: tuple[float, ...]
    milestones: tuple[Milestone, ...]
    visits: tuple[VisitRow, ...]
    troubles: tuple[TroubleRow, ...]
    next_visit: NextVisit | None
    clearance: Clearance
    close_out: tuple[CloseOutRow, ...]
    closing_list: tuple[str, ...]
    methods: tuple[MethodRow, ...]
    steps: tuple[Step, ...]
    cautions: tuple[str, ...]
    trust: Trust

"""The plan: what lastbee answers, once, for terminal, JSON and PDF alike.

A plan is plain data. Every number a person reads comes as a `Quantity` with its
range; every sentence is ready to print. Renderers choose layout, never words.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from lastbee.jobs.progress import Progress

SCHEMA = "lastbee.plan/2"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its 90 % range, in the unit named, and the same in words.

    `words` carries the range in the same breath and no more digits than the
    evidence does, for instance "about 9,000 bees (5,000 to 16,000)".
    """

    key: str
    label: str
    unit: str
    median: float
    low: float
    high: float
    words: str


@dataclass(frozen=True, slots=True)
class Share:
    """One of several possibilities and its probability."""

    key: str
    label: str
    probability: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer in one sentence, and what would change it."""

    kind: Literal["go", "go with opening", "another way", "refuse", "unsure"]
    method: str
    headline: str
    chance: float | None
    reasons: tuple[str, ...]
    would_change: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Milestone:
    """A dated event. `likely` is the median, `safe` the day reached at the chosen confidence.

    None means that the event is not expected inside the forecast.
    """

    key: str
    label: str
    early: date | None
    likely: date | None
    safe: date | None
    note: str


@dataclass(frozen=True, slots=True)
class Band:
    """A daily band. Each tuple has one value a day, starting at `Plan.cone_on`."""

    key: str
    label: str
    unit: str
    low90: tuple[float, ...]
    low50: tuple[float, ...]
    median: tuple[float, ...]
    high50: tuple[float, ...]
    high90: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class MethodRow:
    """One way of the trade on the axes that all of them share."""

    key: str
    label: str
    status: Literal["recommended", "possible", "refused"]
    bees_alive_pct: Quantity | None
    honey_left: Quantity | None
    weeks: Quantity | None
    visits: Quantity | None
    note: str
    forbidden_by: tuple[str, ...]
    would_change: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """What to do, when, who and with what; the caution stands with the step."""

    when: date
    until: date | None
    what: str
    who: str
    bring: str
    caution: str


@dataclass(frozen=True, slots=True)
class EvidenceRow:
    """One sighting: what was reported, which way and how far it moved the answer.

    `information_bits` is the relative entropy of the answer with the item against the
    answer without it; `conflict` how many times less likely the other sightings make the
    reading than it would be alone, large when it contradicts them; `surprise` the
    probability of a reading at least this odd given everything else.
    """

    key: str
    label: str
    reading: str
    moved: str
    information_bits: float
    conflict: float
    surprise: float
    verdict: Literal["agrees", "odd", "contradicts"]


@dataclass(frozen=True, slots=True)
class Look:
    """A further look and what it is worth before deciding, in visits' worth of trouble."""

    key: str
    label: str
    worth: float
    words: str
    caution: str


@dataclass(frozen=True, slots=True)
class Trust:
    """Whether to believe the answer, and how it was computed."""

    is_trusted: bool
    colonies: int
    effective_colonies: float
    seed: int
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The whole answer for one job."""

    schema: str
    title: str
    client: str
    place: str
    prepared_by: str
    inspected_on: date
    cone_on: date
    box: str
    confidence: float
    verdict: Verdict
    contents: tuple[Quantity, ...]
    founding: tuple[Share, ...]
    milestones: tuple[Milestone, ...]
    bands: tuple[Band, ...]
    empty_by: tuple[float, ...]
    left: tuple[Quantity, ...]
    consequences: tuple[str, ...]
    queen: tuple[Share, ...]
    box_colony: tuple[Quantity, ...]
    methods: tuple[MethodRow, ...]
    steps: tuple[Step, ...]
    evidence: tuple[EvidenceRow, ...]
    looks: tuple[Look, ...]
    how_sure: tuple[str, ...]
    cautions: tuple[str, ...]
    trust: Trust
    progress: Progress | None = None

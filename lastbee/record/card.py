"""A card: what a list shows of a job, and what is due on it next.

Cards are worked out from a job's entries and its forecast, and can be worked out again at any
time; they are kept only so that a list of thousands of jobs is one quick question.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import date, datetime

Stage = Literal[
    "call", "to inspect", "to decide", "to set up", "trapping", "to close", "to certify",
    "warranty", "over", "ended",
]  # fmt: skip

OPEN_STAGES: tuple[Stage, ...] = (
    "call", "to inspect", "to decide", "to set up", "trapping", "to close", "to certify",
)  # fmt: skip

Page = Literal[
    "call", "inspection", "decision", "set-up", "visit", "close-out", "certificate", "callback"
]


@dataclass(frozen=True, slots=True)
class Due:
    """What is to be done next on a job.

    `what` is a phrase in the imperative, `why` one sentence; `hours` the hours of the day that
    suit, empty where any do; `page` the form that takes it down, None where none does;
    `urgency` from 0 to 1, before the day is looked at: people at risk come first; `caution`
    what can hurt at it.
    """

    what: str
    on: date
    why: str
    hours: str = ""
    page: Page | None = None
    urgency: float = 0.0
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Card:
    """One job in a list.

    Attributes
    ----------
    job
        Id of the job.
    stage
        Where the job stands.
    title, client, place, phone
        As last written; may be empty.
    latitude_deg, longitude_deg
        Where the building stands, None while nobody wrote it down.
    standing
        Its last forecast in one sentence; empty where there is none.
    standing_kind
        The state in one word as plan or progress give it; empty where there is none.
    due
        What is due next, None when nothing is.
    visits
        Visits so far.
    opened_at, touched_at
        When the first and the last entry were written, UTC.
    questions
        Entries that cannot be used as they stand and wait to be mended.
    photos
        Photographs kept.
    number
        The number that people call the job by, counted by the firm's file from 1 when its
        first entry comes in; 0 while no file has counted it.
    """

    job: str
    stage: Stage
    title: str
    client: str
    place: str
    phone: str
    latitude_deg: float | None
    longitude_deg: float | None
    standing: str
    standing_kind: str
    due: Due | None
    visits: int
    opened_at: datetime
    touched_at: datetime
    questions: int
    photos: int
    number: int = 0

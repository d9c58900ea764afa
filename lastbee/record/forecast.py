"""A kept forecast: what was computed, from what, and how far a new one has come."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import datetime

State = Literal["none", "waiting", "running", "done", "failed"]


@dataclass(frozen=True, slots=True)
class Forecast:
    """The last forecast of a job, and the one that is under way.

    Attributes
    ----------
    job
        Id of the job.
    asked
        Fingerprint of what there is to forecast from now; empty where there is not enough.
    answered
        Fingerprint of what `plan_json` was computed from; empty before the first.
    plan_json
        The last plan (with its progress, once there are visits), as
        `lastbee.documents.as_json` writes it; empty before the first.
    answered_at
        When it was computed, UTC.
    state
        How the forecast that was asked for stands.
    stage, share
        What is being computed and the fraction done, while running.
    problem
        One sentence, where it failed or cannot be asked for.
    urgency
        Forecasts with a larger one are computed first.
    """

    job: str
    asked: str = ""
    answered: str = ""
    plan_json: str = ""
    answered_at: datetime | None = None
    state: State = "none"
    stage: str = ""
    share: float = 0.0
    problem: str = ""
    urgency: float = 0.0

    @property
    def is_stale(self) -> bool:
        """Whether something was written since it was computed."""
        return bool(self.plan_json) and self.asked != self.answered

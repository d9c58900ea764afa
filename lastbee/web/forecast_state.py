"""How the forecast of a job stands, in words: fresh, overtaken, under way, failed, impossible."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from lastbee.documents.wording import percent, sentence
from lastbee.web.telling import TITLES
from lastbee.words import day_words

if TYPE_CHECKING:
    from lastbee.errors import Problem
    from lastbee.office.case import Case
    from lastbee.record.chains import Told

StateKey = Literal["fresh", "at rest", "waiting", "running", "failed", "too little", "none"]


@dataclass(frozen=True, slots=True)
class ForecastState:
    """How the forecast stands.

    `words` is a sentence or two; `missing` what has to be written down before there can be a
    forecast; `share` the fraction done, None while nothing is being computed.
    """

    key: StateKey
    words: str
    missing: tuple[Problem, ...] = ()
    share: float | None = None

    @property
    def is_moving(self) -> bool:
        """Whether it will be another in a moment."""
        return self.key in ("waiting", "running")


def forecast_state(case: Case) -> ForecastState:
    """Say how the forecast of a job stands."""
    forecast, record = case.forecast, case.record
    if forecast.state == "running":
        share = min(1.0, max(0.0, forecast.share))
        stage = f" ({forecast.stage})" if forecast.stage else ""
        return ForecastState(
            "running", f"{_older(case)}being computed, {percent(share)}{stage}.", share=share
        )
    if forecast.state == "waiting":
        return ForecastState("waiting", f"{_older(case)}waiting for its turn.")
    if forecast.state == "failed":
        why = sentence(forecast.problem or "it could not be computed")
        return ForecastState("failed", f"The new forecast failed. {why}{_still_old(case)}")
    if record.inspection is None:
        words = "No forecast yet: it begins with the inspection."
        return ForecastState("none", words)
    if record.missing or (forecast.problem and not forecast.asked):
        words = f"Not enough is known for a forecast.{_still_old(case)}"
        return ForecastState("too little", words, record.missing)
    if case.plan is None:
        return ForecastState("none", "No forecast yet.")
    if forecast.is_stale:
        return ForecastState("at rest", f"This forecast is from before {_newest(case)}.")
    return ForecastState("fresh", "This forecast knows all that was written so far.")


def _older(case: Case) -> str:
    """What is shown meanwhile, and the beginning of what is said of the new one."""
    if case.plan is None:
        return "The first forecast is "
    if not case.forecast.is_stale:
        return "This forecast is made once more: it is "
    return f"This forecast is from before {_newest(case)}: a new one is "


def _still_old(case: Case) -> str:
    return f" What is shown is from before {_newest(case)}." if case.forecast.is_stale else ""


def _newest(case: Case) -> str:
    """Name what was written since the last forecast."""
    since = case.forecast.answered_at
    newer = [
        one
        for one in case.record.told
        if one.kind not in ("note", "photo") and (since is None or one.entry.written_at > since)
    ]
    return _named(newer[-1]) if newer else "what was written last"


def _named(one: Told) -> str:
    day = day_words(one.on)
    if one.is_withdrawn:
        return f"the {TITLES[one.kind].lower()} of {day} was taken back"
    if one.earlier:
        return f"the {TITLES[one.kind].lower()} of {day} was corrected"
    return f"the {TITLES[one.kind].lower()} of {day}"

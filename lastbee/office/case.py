"""A case: all that is known of one job, with its last forecast read back into a plan."""

from __future__ import annotations

import functools
import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date, datetime

    from pydantic import TypeAdapter

    from lastbee.jobs.plan import Plan
    from lastbee.jobs.progress import Progress
    from lastbee.record.firm import Firm
    from lastbee.record.forecast import Forecast
    from lastbee.record.record import Record


@dataclass(frozen=True, slots=True)
class Case:
    """One job as a page shows it.

    Attributes
    ----------
    record
        What was told, seen and done.
    forecast
        The last forecast and the one under way; state "none" where nothing was asked for.
    plan
        What the last forecast says, None before the first.
    firm
        Whose job it is.
    today
        The day at the firm.
    """

    record: Record
    forecast: Forecast
    plan: Plan | None
    firm: Firm
    today: date

    @property
    def progress(self) -> Progress | None:
        """How the running trap-out stands, None before its first visit was taken in."""
        return None if self.plan is None else self.plan.progress


class Plans:
    """Plans read from their text, the last `most` of them kept; safe for threads."""

    def __init__(self, most: int = 64) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._kept: OrderedDict[tuple[str, str, datetime | None], Plan | None] = OrderedDict()

    def plan_of(self, forecast: Forecast | None) -> Plan | None:
        """Read the plan of a forecast.

        Returns
        -------
        None where there is none, or where another version of lastbee wrote it in a form
        that this one does not know.
        """
        if forecast is None or not forecast.plan_json:
            return None
        key = (forecast.job, forecast.answered, forecast.answered_at)
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        plan = _read(forecast.plan_json)
        with self._lock:
            self._kept[key] = plan
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return plan


def _read(plan_json: str) -> Plan | None:
    from pydantic import ValidationError

    from lastbee.jobs.plan import SCHEMA

    try:
        plan = _adapter().validate_json(plan_json)
    except ValidationError:
        return None
    return plan if plan.schema == SCHEMA else None


@functools.cache
def _adapter() -> TypeAdapter[Plan]:
    from lastbee.documents.as_json import adapter_of
    from lastbee.jobs.plan import Plan

    return adapter_of(Plan)

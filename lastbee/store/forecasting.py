"""Forecasts on their way: asked for, begun, told of, answered.

A job is often written to while its forecast is being computed, by another process. So nobody
ever writes a forecast as a whole. Each step changes its own columns, and only where they still
say what that step builds on:

- `ask_forecast` (whoever takes in an entry) says what is to be computed now. It never touches
  the last plan.
- `start_forecast` (the computing process) takes what waits; one alone can take it.
- `tell_forecast` says how far it has come, while it is still what is being computed.
- `finish_forecast` keeps the plan with the fingerprint of what it was computed from. Where
  something else was asked for meanwhile, that goes on waiting, and the plan counts as stale.
- `fail_forecast` says why there is none, unless something else was asked for meanwhile.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import Delete, Table, Update, insert, update

from lastbee.store.reading import Reading
from lastbee.store.tables import forecasts, plans

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import ColumnElement

    from lastbee.record.forecast import Forecast, State


class Forecasting(Reading):
    """The steps of a forecast."""

    def ask_forecast(
        self, job: str, asked: str, urgency: float = 0.0, problem: str = "", *, again: bool = False
    ) -> None:
        """Say what the forecast of a job is to be computed from now.

        Parameters
        ----------
        job
            A job that has entries.
        asked
            Fingerprint; empty where there is not enough to compute a forecast from.
        urgency
            The larger, the sooner.
        problem
            What is missing, as one sentence, where `asked` is empty.
        again
            Whether to compute even what was answered, is being computed, or failed.
        """
        was = self.forecast(job)
        fresh = {"asked": asked, "urgency": urgency}
        state = _state_when_asked(was, asked, again=again)
        if was is None or state != was.state or asked != was.asked:
            fresh |= {"state": state, "stage": "", "share": 0.0, "problem": problem}
        elif state == "none":
            fresh |= {"problem": problem}
        self._put(forecasts, {"job": job}, fresh)

    def start_forecast(self, job: str, asked: str) -> bool:
        """Take a forecast that waits; False where it was taken or asked for anew meanwhile."""
        at_hand = (forecasts.c.asked == asked, forecasts.c.state == "waiting")
        return self._change(_of(job, *at_hand).values(state="running", stage="", share=0.0))

    def tell_forecast(self, job: str, stage: str, share: float) -> bool:
        """Say what is being computed and the fraction done; False where nobody waits for it."""
        return self._change(
            _of(job, forecasts.c.state == "running").values(stage=stage, share=share)
        )

    def finish_forecast(self, job: str, answered: str, plan_json: str, at: datetime) -> bool:
        """Keep a plan.

        Parameters
        ----------
        job
            The job.
        answered
            Fingerprint of what it was computed from.
        plan_json
            The plan.
        at
            When it was computed, aware.

        Returns
        -------
        Whether it answers what is asked for now. A plan for what was asked before is kept all
        the same, being newer than the last one, unless the last one is what is asked for now.
        """
        was = self.forecast(job)
        if was is None or (was.asked == was.answered != answered):
            return False
        plan = {"answered": answered, "answered_at": at, "plan_json": plan_json}
        self._put(plans, {"job": job}, plan)
        done = {"state": "done", "stage": "", "share": 1.0, "problem": ""}
        return self._change(_of(job, forecasts.c.asked == answered).values(done))

    def fail_forecast(self, job: str, asked: str, problem: str) -> bool:
        """Say in one sentence why there is no forecast; False where it is asked for no more."""
        at_hand = (forecasts.c.asked == asked, forecasts.c.state == "running")
        return self._change(_of(job, *at_hand).values(state="failed", problem=problem, stage=""))

    def requeue_forecasts(self) -> int:
        """Let all that was being computed wait again, after the process that did so has died.

        Returns
        -------
        How many there were.
        """
        running = update(forecasts).where(forecasts.c.state == "running")
        waits = running.values(state="waiting", stage="", share=0.0)
        return self._connection.execute(waits).rowcount

    def _change(self, change: Update | Delete) -> bool:
        """Make a change, and say whether there was a row to make it in."""
        return self._connection.execute(change).rowcount > 0

    def _put(self, table: Table, key: dict[str, Any], values: dict[str, Any]) -> None:
        """Write a row in place of the one with its key, if there is one."""
        change = update(table).filter_by(**key).values(values)
        if not self._change(change):
            self._connection.execute(insert(table).values(key | values))


def _of(job: str, *where: ColumnElement[bool]) -> Update:
    """Begin a change in what is said of a job's forecast, where it stands as given."""
    return update(forecasts).where(forecasts.c.job == job, *where)


def _state_when_asked(was: Forecast | None, asked: str, *, again: bool) -> State:
    """Say how a forecast stands once it is asked for."""
    if not asked:
        return "none"
    if again or was is None:
        return "waiting"
    if asked == was.answered:
        return "done"
    return was.state if asked == was.asked else "waiting"

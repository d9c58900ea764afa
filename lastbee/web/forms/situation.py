"""What the forms of one job go by: its circumstances, what the forecast says, who works there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.office.certifying import NOT_CLOSED, to_sign
from lastbee.office.renewal import knows_all
from lastbee.record.circumstances import circumstances_told

if TYPE_CHECKING:
    from lastbee.jobs.plan import Plan
    from lastbee.jobs.progress import Progress
    from lastbee.methods.circumstances import Circumstances
    from lastbee.office.case import Case
    from lastbee.office.certifying import ToSign


@dataclass(frozen=True, slots=True)
class Situation:
    """What a form may say of the job that it is for.

    `people` are the names of the firm's people who are still there, `boxes` the labels of its
    boxes; `to_sign` what a certificate would say of the wall now; `is_behind` says that the
    forecast does not know all that was written.
    """

    circumstances: Circumstances
    plan: Plan | None = None
    progress: Progress | None = None
    people: tuple[str, ...] = ()
    boxes: tuple[str, ...] = ()
    is_trap_out: bool = True
    to_sign: ToSign = NOT_CLOSED
    is_behind: bool = False

    @property
    def warning(self) -> str:
        """What is to be said beside whatever the forecast says."""
        return "The forecast does not know yet what was written last." if self.is_behind else ""

    @property
    def known_progress(self) -> Progress | None:
        """How the trap-out stands after all that was written; None where no forecast knows."""
        return None if self.is_behind else self.progress


def situation_of(case: Case) -> Situation:
    """The situation of a job as its record tells it."""
    firm = case.firm
    return Situation(
        circumstances=circumstances_told(case.record),
        plan=case.plan,
        progress=case.progress,
        people=tuple(
            str(one.body["name"]) for one in firm.people if one.body.get("is_gone") is not True
        ),
        boxes=tuple(
            str(one.body["label"])
            for one in firm.kit
            if one.body.get("sort") == "box" and one.body.get("label")
        ),
        is_trap_out=case.record.is_trap_out,
        to_sign=to_sign(case),
        is_behind=case.plan is not None and not knows_all(case.forecast, case.record),
    )

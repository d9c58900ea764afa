"""The record of one job: all its entries, folded into what they come to.

The fold is a function of the set of entries alone. In whatever order phones hand them in, and
however often, the same record comes out. What cannot be used as it stands (a key that makes no
sense, a visit before there was a cone) is set aside with the sentences that say why; it is
never dropped, and the rest of the record goes on without it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from lastbee.errors import InvalidInput, Problem
from lastbee.jobs.jobfile import faults_of_tree, job_of_tree
from lastbee.record.chains import told_of
from lastbee.record.entry import JOB_KINDS
from lastbee.record.job_tree import BODY_KEYS, tree_of
from lastbee.record.tables import TRAP_OUT_WAYS, value_at

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from lastbee.jobs.job import Job
    from lastbee.record.chains import Told
    from lastbee.record.entry import Entry
    from lastbee.record.firm import Firm

_FIRST = "write down {} first"


@dataclass(frozen=True, slots=True)
class Record:
    """One job as its entries leave it.

    Attributes
    ----------
    job
        Its id.
    firm
        The firm that it belongs to.
    told
        Everything told, in the order in which it happened, with what was taken back and what
        is set aside.
    missing
        What a forecast still lacks, or what in the firm's own settings keeps it from one.
    """

    job: str
    firm: Firm
    told: tuple[Told, ...]
    missing: tuple[Problem, ...] = ()

    def all(self, kind: str) -> tuple[Told, ...]:
        """What counts of one kind, in the order in which it happened."""
        return tuple(one for one in self.told if one.kind == kind and one.counts)

    def last(self, kind: str) -> Told | None:
        """The last of a kind that counts."""
        return next((one for one in reversed(self.told) if one.kind == kind and one.counts), None)

    @property
    def set_aside(self) -> tuple[Told, ...]:
        """What waits to be mended."""
        return tuple(one for one in self.told if one.problems)

    @property
    def called(self) -> dict[str, Any]:
        """What the calls say, later ones over earlier ones."""
        told: dict[str, Any] = {}
        for one in self.all("call"):
            told.update(one.body)
        return told

    @property
    def inspection(self) -> Told | None:
        """The last inspection."""
        return self.last("inspection")

    @property
    def decision(self) -> Told | None:
        """The last decision."""
        return self.last("decision")

    @property
    def setup(self) -> Told | None:
        """The last set-up."""
        return self.last("set-up")

    @property
    def close_out(self) -> Told | None:
        """The last close-out."""
        return self.last("close-out")

    @property
    def certificate(self) -> Told | None:
        """The certificate."""
        return self.last("certificate")

    @property
    def ended(self) -> Told | None:
        """Why it ended without one."""
        return self.last("ended")

    @property
    def visits(self) -> tuple[Told, ...]:
        """The visits that count."""
        return self.all("visit")

    @property
    def open_callback(self) -> Told | None:
        """The first callback that nobody has put right."""
        return next((one for one in self.all("callback") if one.body.get("mended") != "yes"), None)

    @property
    def is_trap_out(self) -> bool:
        """Whether the way decided on is a trap-out; so too while nothing is decided."""
        return self.decision is None or self.decision.body["way"] in TRAP_OUT_WAYS

    @property
    def tree(self) -> dict[str, Any]:
        """The job file that this record amounts to, as a tree."""
        return tree_of(self)

    def checked_job(self) -> Job:
        """The job, ready to be forecast.

        Raises
        ------
        InvalidInput
            If too little is known, or the firm's settings stand against it.
        """
        if self.missing:
            raise InvalidInput(self.missing)
        return job_of_tree(self.tree)

    @property
    def client(self) -> str:
        """Whose bees they are."""
        return str(self.called.get("client", ""))

    @property
    def phone(self) -> str:
        """Number to call."""
        return str(self.called.get("phone", ""))

    @property
    def place(self) -> str:
        """Where they are."""
        return str(self.tree["site"].get("place", ""))

    @property
    def title(self) -> str:
        """Name of the job; never empty."""
        return str(self.tree["title"])

    @property
    def position(self) -> tuple[float, float] | None:
        """Degrees north and east of the building, None while nobody wrote them down.

        The firm's own place stands in for a forecast, but it is not where the bees are.
        """
        told = [one.body for one in self.all("call")]
        if self.inspection is not None:
            told.append(self.inspection.body.get("site", {}))
        for body in reversed(told):
            north, east = body.get("latitude"), body.get("longitude")
            if north is not None and east is not None:
                return float(north), float(east)
        return None


def record_of(job: str, entries: Iterable[Entry], firm: Firm) -> Record:
    """Fold the entries of a job.

    Parameters
    ----------
    job
        Id of the job.
    entries
        Its entries, in any order, any of them more than once; those of other jobs are left out.
    firm
        The firm; its settings stand in where the job says nothing.
    """
    told = told_of(one for one in entries if one.job == job and one.kind in JOB_KINDS)
    return _judged(_in_turn(Record(job, firm, told)))


def _in_turn(record: Record) -> Record:
    """Set aside what was written down before what it rests on."""
    ended = record.ended
    kept = []
    for one in record.told:
        if one.counts:
            reason = _out_of_turn(one, record, None if ended is None else ended.on)
            kept.append(one if reason is None else replace(one, problems=(reason,)))
        else:
            kept.append(one)
    return replace(record, told=tuple(kept))


def _out_of_turn(one: Told, record: Record, ended_on: date | None) -> Problem | None:
    day_key = BODY_KEYS.get(one.kind, "date")

    def wants(kind: str, words: str) -> Problem | None:
        if record.last(kind) is not None:
            return None
        return Problem(day_key, one.on, _FIRST.format(words))

    if ended_on is not None and one.on > ended_on and one.kind not in ("note", "photo", "ended"):
        mend = f"take back first that the job ended on {ended_on}"
        return Problem(day_key, one.on, mend)
    if one.kind == "decision":
        return wants("inspection", "the inspection")
    if one.kind == "set-up":
        return wants("decision", "the decision") or _no_trap_out_then(one, record, day_key)
    if one.kind in ("visit", "box"):
        return wants("set-up", "the set-up, with the day the cone went on,")
    if one.kind == "close-out" and record.is_trap_out:
        return wants("set-up", "the set-up, with the day the cone went on,")
    if one.kind in ("certificate", "callback"):
        return wants("close-out", "how the wall was closed")
    return None


def _no_trap_out_then(setup: Told, record: Record, day_key: str) -> Problem | None:
    """Find that another way was agreed on by then; one agreed on later undoes no set-up."""
    agreed = [one for one in record.all("decision") if one.on <= setup.on]
    if not agreed or agreed[-1].body["way"] in TRAP_OUT_WAYS:
        return None
    return Problem(day_key, setup.on, "decide on a trap-out first: another way is agreed on")


def _judged(record: Record) -> Record:
    """Hold the record to what a job file asks for, and set aside what stands against it.

    What is set aside leaves the tree, which may change what else is wrong with it: each round
    sets something aside, until nothing is left to be.
    """
    while True:
        visits = [one for one in record.told if one.kind == "visit" and one.counts]
        faults: dict[str, list[Problem]] = {}
        missing: list[Problem] = []
        for fault in faults_of_tree(record.tree):
            owner, within = _owner(fault, record, visits)
            if owner is None:
                missing.append(fault)
            else:
                mended = replace(fault, field=within, mend=_in_the_app(fault.mend))
                faults.setdefault(owner.first.id, []).append(mended)
        if not faults:
            return replace(record, missing=tuple(missing))
        told = (
            replace(one, problems=tuple(faults.get(one.first.id, one.problems)))
            for one in record.told
        )
        record = replace(record, told=tuple(told))


def _owner(fault: Problem, record: Record, visits: list[Told]) -> tuple[Told | None, str]:
    """The entry that a fault of the tree stems from, and the key within its body."""
    table, _, key = fault.field.partition(".")
    if table == "visit":
        place, _, within = key.partition(".")
        # Too many visits are the fault of the last.
        return visits[int(place or -1)], within or "date"
    if table == "setup" and fault.value is not None:
        if record.setup is not None:
            return record.setup, {"cone_on": "date"}.get(key, key)
        return record.decision, key
    inspection = record.inspection
    if inspection is None or _is_of_the_firm(fault, record, inspection):
        return None, ""
    is_its_own = table == "inspection" or value_at(inspection.body, fault.field) is not None
    return (inspection, fault.field) if is_its_own else (None, "")


def _in_the_app(mend: str) -> str:
    """What to do, where the key of a job file is a form of its own."""
    return mend.replace("mend setup.cone_on", "correct the set-up")


def _is_of_the_firm(fault: Problem, record: Record, inspection: Told) -> bool:
    """Whether it is a longitude measured by a zone of the firm that nothing vouches for."""
    return (
        fault.field == "site.longitude"
        and value_at(inspection.body, "site.time_zone") is None
        and "longitude" not in record.firm.settings
    )

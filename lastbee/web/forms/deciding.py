"""Forms of what is settled: the way agreed on, how the wall is closed, how a job ends.

Where a forecast stands, the ways come from it, the recommended one first and refused ones
with the reason; they can still be chosen, since people decide. Where none does, all ways of
the trade are offered.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.documents.wording import sentence
from lastbee.jobs.closing import closing_list
from lastbee.jobs.progress import CloseOutRow
from lastbee.methods import cautions
from lastbee.methods.closeout import CLOSE, OPEN, ROB_OUT
from lastbee.record.rules import reason_wanted
from lastbee.record.tables import WAYS
from lastbee.web.forms.form import MASS, Field, Form, Option, Section, options
from lastbee.web.forms.photo_fields import photos_beside

if TYPE_CHECKING:
    from collections.abc import Iterable

    from lastbee.jobs.plan import MethodRow
    from lastbee.methods.circumstances import Circumstances
    from lastbee.web.forms.situation import Situation

WAY_LABELS = {
    "trap-out": "Trap-out (cone and box)",
    "trap-out then open": "Trap-out, then a quiet opening",
    "cut-out outside": "Cut-out from outside",
    "cut-out inside": "Cut-out from inside",
    "swarm capture": "Take it as a swarm",
    "repellent": "Drive out with repellent",
    "smoke": "Drive out with smoke",
    "vacuum": "Vacuum alone",
    "eradication": "Killing by an applicator",
    "leave": "Leave them",
}
CLOSE_OUT_LABELS = {
    ROB_OUT: "Rob out, then close",
    OPEN: "Open and clean, then close",
    CLOSE: "Close as it is",
}


def decision_form(situation: Situation) -> Form:
    """Which way was agreed on."""
    return Form(
        kind="decision",
        title="Decision",
        sections=(
            Section(
                "The way",
                (Field("way", "Agreed on", "choice", _ways(situation), is_needed=True),),
                lead=situation.warning,
                caution=_at_the_wall(situation.circumstances),
            ),
            Section(
                "The agreement",
                (
                    Field("date", "Day of the decision", "day", is_needed=True),
                    Field("agreed_with", "Agreed with", "text"),
                    Field("cone_on", "The cone goes on", "day", hint="For a trap-out."),
                    Field(
                        "reason", "Why this way", "long-text",
                        hint="Needed where the forecast says otherwise.",
                    ),
                ),
            ),
        ),
        submit="Keep this decision",
    )  # fmt: skip


def close_out_form(situation: Situation) -> Form:
    """How the wall was closed and what stays in it."""
    c = situation.circumstances
    ways = _close_outs(situation)
    return Form(
        kind="close-out",
        title="Close-out",
        sections=(
            Section(
                "What is left",
                (
                    Field("way", "What was done about it", "choice", ways, is_needed=True),
                    Field(
                        "honey_left", "Honey that stays in the wall", "measure", scale=MASS,
                        hint="As far as you saw.",
                    ),
                ),
                lead=situation.warning,
                caution=_at_the_wall(c),
            ),
            Section(
                "The list",
                (Field("done", "Done", "ticks", _closing_list(situation)),),
                lead="Tick what was done.",
            ),
            Section(
                "The day",
                (
                    Field("date", "Day the wall was closed", "day", is_needed=True),
                    Field(
                        "reason", "Why already now", "long-text", hint=_reason_hint(situation)
                    ),
                    Field("notes", "Anything else", "long-text"),
                ),
            ),
            photos_beside(),
        ),
        submit="Keep this close-out",
    )  # fmt: skip


def _reason_hint(situation: Situation) -> str:
    wanted = reason_wanted(situation.known_progress) if situation.is_trap_out else ""
    return sentence(wanted) if wanted else "Only if there is something to say of it."


def ended_form(_situation: Situation) -> Form:
    """Why a job ended without a certificate."""
    why = options("client said no", "refused", "not honey bees", "handed on", "swarm gone", "other")
    return Form(
        kind="ended",
        title="End this job",
        lead="For a job that comes to no certificate. Nothing that was written is lost.",
        sections=(
            Section(
                "Why",
                (
                    Field("why", "It ended because", "choice", why, is_needed=True),
                    Field("date", "Day", "day", is_needed=True),
                    Field("words", "In your own words", "long-text"),
                ),
            ),
        ),
        submit="End this job",
    )


def _ways(situation: Situation) -> tuple[Option, ...]:
    if situation.progress is not None and situation.progress.methods:
        return _judged(situation.progress.methods)
    if situation.plan is not None and situation.plan.methods:
        return _judged(situation.plan.methods)
    return tuple(Option(key, WAY_LABELS[key]) for key in WAYS)


def _close_outs(situation: Situation) -> tuple[Option, ...]:
    if not situation.is_trap_out:
        return tuple(Option(key, WAY_LABELS[key]) for key in WAYS)
    if situation.progress is not None and situation.progress.close_out:
        return _judged(situation.progress.close_out)
    c = situation.circumstances
    said = {
        ROB_OUT: cautions.robbing(),
        OPEN: cautions.joined(cautions.opening(c), cautions.dust(), cautions.treated(c)),
        CLOSE: cautions.joined(cautions.scraping(c), cautions.vents()),
    }
    return tuple(Option(key, label, said[key]) for key, label in CLOSE_OUT_LABELS.items())


def _judged(rows: Iterable[MethodRow | CloseOutRow]) -> tuple[Option, ...]:
    """Rows of a forecast as options: recommended, possible, refused."""
    order = ("recommended", "possible", "refused")
    return tuple(
        Option(row.key, row.label, _note(row), "" if row.status == "possible" else row.status)
        for row in sorted(rows, key=lambda row: order.index(row.status))
    )


def _note(row: MethodRow | CloseOutRow) -> str:
    """Why a way is refused; of the others, the cautions that go with it."""
    if row.status == "refused":
        return " ".join(row.forbidden_by)
    return cautions.joined(*(row.risks if isinstance(row, CloseOutRow) else row.cautions))


def _at_the_wall(c: Circumstances) -> str:
    """What holds for whatever is done there; each way has its own cautions beside it."""
    return cautions.joined(
        cautions.stings(c, brief=True), cautions.height(c, brief=True), cautions.LOCAL
    )


def _closing_list(situation: Situation) -> tuple[Option, ...]:
    """The list that the forecast gives, or the usual one; its cautions stand in small print."""
    listed = situation.progress.closing_list if situation.progress is not None else ()
    lines = listed or closing_list(situation.circumstances, CLOSE)
    return tuple(_listed(line) for line in lines)


def _listed(line: str) -> Option:
    what, _, rest = line.partition(". ")
    return Option(what.rstrip("."), what.rstrip("."), rest)

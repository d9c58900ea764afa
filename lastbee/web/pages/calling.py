"""A call comes in: what it most likely is, what to tell the caller now, and what is agreed.

The page does three things with one form. Pressing "What is it, most likely?" judges what was
told and keeps nothing; "Save the call" keeps it. Both ids come with the page, so that a form
sent twice is kept once.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from lastbee.errors import InvalidInput
from lastbee.record.entry import is_id
from lastbee.triage.insects import name_of
from lastbee.triage.questions import QUESTIONS
from lastbee.triage.reasons import share_words
from lastbee.triage.situation import EMERGENCIES
from lastbee.triage.triage import ALLERGIC, problems_of_answers, triage
from lastbee.web.failures import answer, wants_json
from lastbee.web.forms.form import Field, Form, Section
from lastbee.web.forms.reading import tree_of_form
from lastbee.web.hidden import Hidden
from lastbee.web.posting import is_outbox, posted_of, posting
from lastbee.web.render import (
    desk_of,
    firm_of,
    fresh_id,
    local_now_of,
    page,
    today_of,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.datastructures import FormData
    from starlette.requests import Request

    from lastbee.errors import Problem
    from lastbee.triage.triage import Triage

ADDRESS = "/calls/new"
_JUDGE = "show"
_ANSWERS = "answers."
# Sentences that stand open, usually and where life or health hangs on them; the others are one
# press away.
_TOLD_AT_ONCE, _TOLD_IN_ALARM = 3, 6

_TEXTS = (
    "date", "time", "client", "phone", "place", "title", "who_called", "allergic_person",
    "public_path_near", "inspect_on", "inspect_at", "inspect_by", "result", "notes",
)  # fmt: skip
_NUMBERS = ("latitude", "longitude")
_FIELDS = (
    *(Field(name, "", "text") for name in _TEXTS),
    *(Field(name, "", "number") for name in _NUMBERS),
)
_FORM = Form("call", "New call", (Section("", _FIELDS),), "Save the call")
"""What the page writes, but for the answers; the template alone says how it looks."""


def routes() -> list[Route]:
    """Address of the form of a call."""
    return [
        Route(ADDRESS, _ask, methods=["GET"]),
        Route(ADDRESS, posting(_answer), methods=["POST"]),
    ]


@dataclass(frozen=True, slots=True)
class _Call:
    """A call as the form holds it: fields by name, the body that they make, and who writes it."""

    fields: Mapping[str, str]
    body: Mapping[str, Any]
    hidden: Hidden

    @property
    def answers(self) -> Mapping[str, str]:
        """Answers by question."""
        found = self.body.get("answers", {})
        return found if isinstance(found, dict) else {}


def _ask(request: Request) -> Response:
    now = local_now_of(request)
    start = {"date": now.date().isoformat(), "time": f"{now:%H:%M}", "job": fresh_id(request)}
    return _shown(request, _Call(start, {}, Hidden.fresh(request)))


def _answer(request: Request, form: FormData) -> Response:
    call = _call_of(request, form)
    return _judged(request, call) if _JUDGE in form else _saved(request, call)


def _saved(request: Request, call: _Call) -> Response:
    """Keep the call; what comes from an outbox is kept whatever is wrong with it."""
    is_strict, job = not is_outbox(request), call.fields["job"]
    problems = problems_of_answers(call.answers)
    if problems and is_strict:
        return _refused(request, call, problems)
    entry = call.hidden.entry(job, "call", call.body)
    receipt = desk_of(request).take_in([entry], strict=is_strict)
    problems += receipt.problems
    if problems and is_strict:
        return _refused(request, call, problems)
    if wants_json(request):
        told = [{"field": one.field, "sentence": one.sentence} for one in problems]
        kept, was_there = list(receipt.kept), list(receipt.was_there)
        return JSONResponse({"kept": kept, "was_there": was_there, "problems": told})
    return RedirectResponse(f"/job/{job}", 303)


def _refused(request: Request, call: _Call, problems: tuple[Problem, ...]) -> Response:
    if wants_json(request):
        return answer(request, 422, problems=problems)
    return _shown(request, call, problems)


def _judged(request: Request, call: _Call) -> Response:
    """The page anew, all that was written kept in its fields, with what it most likely is."""
    problems = problems_of_answers(call.answers)
    return _shown(request, call, problems, is_judged=not problems)


def _shown(
    request: Request,
    call: _Call,
    problems: tuple[Problem, ...] = (),
    *,
    is_judged: bool = False,
) -> Response:
    found = _triage(request, call)
    return page(
        request,
        "calling.html",
        422 if problems else 200,
        fields=call.fields,
        hidden=call.hidden,
        problems=problems,
        wrong={problem.field: problem.sentence for problem in problems},
        questions=QUESTIONS,
        emergencies=tuple(EMERGENCIES),
        found=found,
        is_judged=is_judged,
        advised_by=_advised_by(found, today_of(request)),
        at_once=_TOLD_IN_ALARM if found.is_alarming else _TOLD_AT_ONCE,
        next_key=found.ask_next[0].question.key if found.ask_next else "",
        name_of=name_of,
        share_words=share_words,
        people=_names(request),
        inspectors=_names(request, "inspections") or _names(request),
    )


def _triage(request: Request, call: _Call) -> Triage:
    """Judge a call, leaving out of it whatever cannot be read."""
    wrong = {problem.field for problem in problems_of_answers(call.answers)}
    answers = {k: v for k, v in call.answers.items() if f"{_ANSWERS}{k}" not in wrong}
    month = _day_of(call.body.get("date"), today_of(request)).month
    said = str(call.body.get("allergic_person", ""))
    allergic = said if said in ALLERGIC else "unknown"
    try:
        return triage(answers, month, _latitude_deg(request, call), allergic)
    except InvalidInput:
        return triage(answers, month, None, allergic)


def _advised_by(found: Triage, today: date) -> date | None:
    """Day by which somebody should have looked; never filled in, since nobody agreed to it."""
    days = found.advice.within_days
    return None if days is None else today + timedelta(days=days)


def _call_of(request: Request, form: FormData) -> _Call:
    posted = posted_of(form)
    fields = {name: values[-1] for name, values in posted.items()}
    body = tree_of_form(_FORM, posted, firm_of(request).units)
    # Answers to questions that nobody asks are kept too: no word is lost.
    answers = {
        name.removeprefix(_ANSWERS): value
        for name, value in fields.items()
        if name.startswith(_ANSWERS) and value
    }
    if answers:
        body["answers"] = answers
    if not is_id(fields.get("job", "")):
        fields["job"] = fresh_id(request)
    return _Call(fields, body, Hidden.of(posted, request))


def _names(request: Request, does: str = "") -> tuple[str, ...]:
    """People who are still there, of those who do some work if one is named."""
    there = [one.body for one in firm_of(request).people if one.body.get("is_gone") is not True]
    return tuple(str(one["name"]) for one in there if not does or does in one.get("does", ()))


def _latitude_deg(request: Request, call: _Call) -> float | None:
    """Where the bees are, else where the firm is."""
    for place in (call.body, firm_of(request).settings):
        latitude = place.get("latitude")
        if isinstance(latitude, int | float):
            return float(latitude)
    return None


def _day_of(written: object, otherwise: date) -> date:
    try:
        return date.fromisoformat(str(written))
    except ValueError:
        return otherwise

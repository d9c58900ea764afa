"""The page of one job: what is next, how it stands, and the line from first call to warranty."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from lastbee.documents import lines
from lastbee.documents.outline import HEADINGS, LABELS, outline
from lastbee.documents.progress_outline import (
    PROGRESS_HEADINGS,
    PROGRESS_LABELS,
    progress_outline,
)
from lastbee.documents.symbols import SYMBOLS
from lastbee.documents.time_line import time_line
from lastbee.documents.time_line_svg import DESK, PHONE, time_line_svg
from lastbee.documents.wording import clean
from lastbee.record.at_the_wall import advice
from lastbee.record.circumstances import circumstances_told
from lastbee.record.due import due_of, stage_of
from lastbee.web.diary import diary_of, items_of, writings_of
from lastbee.web.forecast_state import forecast_state
from lastbee.web.forms.situation import situation_of
from lastbee.web.job_actions import STAGE_WORDS, actions_of, main_action_of
from lastbee.web.last_forecast import after_closing, last_forecast
from lastbee.web.moments import moments_of
from lastbee.web.render import desk_of, page
from lastbee.web.telling import TITLES

if TYPE_CHECKING:
    from starlette.requests import Request

    from lastbee.jobs.plan import Plan
    from lastbee.office.case import Case
    from lastbee.record.at_the_wall import Rule
    from lastbee.record.card import Due

_NO_FORECAST = "There is no forecast of this job yet."
_NOT_OF_A_FILE_NAME = re.compile(r"[^a-z0-9]+")


def routes() -> list[Route]:
    """Addresses of a job's own pages."""
    return [
        Route("/job/{job}", _job),
        Route("/job/{job}/standing", _standing),
        Route("/job/{job}/forecast", _forecast, methods=["GET"]),
        Route("/job/{job}/forecast", _ask_again, methods=["POST"]),
        Route("/job/{job}/history", _history),
        Route("/job/{job}/report.pdf", _report),
        Route("/job/{job}/certificate.pdf", _certificate),
        Route("/job/{job}/job.toml", _job_file),
    ]


def _job(request: Request) -> Response:
    case = case_of(request)
    situation = situation_of(case)
    now = standing_of(case)
    return page(
        request,
        "job.html",
        **now,
        days=diary_of(case, situation),
        to_mend=tuple(item for one, item in items_of(case, situation) if one.problems),
        actions=actions_of(case.record, now["stage"], now["due"]),
        symbols=SYMBOLS,
    )


def _standing(request: Request) -> Response:
    """What of the page changes while a forecast is computed."""
    return page(request, "standing.html", **standing_of(case_of(request)))


def _forecast(request: Request) -> Response:
    case = case_of(request)
    plan = _plan_of(case)
    progress = plan.progress
    return page(
        request,
        "forecast.html",
        record=case.record,
        state=forecast_state(case),
        plan=outline(plan),
        progress=None if progress is None else progress_outline(progress),
        headings=HEADINGS,
        labels=lines.LABELS | LABELS,
        progress_headings=PROGRESS_HEADINGS,
        progress_labels=PROGRESS_LABELS,
    )


def _ask_again(request: Request) -> Response:
    case = case_of(request)
    desk_of(request).ask_again(case.record.job)
    return RedirectResponse(f"/job/{case.record.job}", status_code=303)


def _history(request: Request) -> Response:
    case = case_of(request)
    writings = writings_of(case, situation_of(case))
    return page(
        request, "history.html", record=case.record, writings=writings, symbols=SYMBOLS,
        titles=TITLES,
    )  # fmt: skip


def _report(request: Request) -> Response:
    from lastbee.documents.pdf import pdf_bytes

    case = case_of(request)
    return _pdf(pdf_bytes(_plan_of(case)), f"report {case.record.title}")


def _certificate(request: Request) -> Response:
    from lastbee.documents.certificate import certificate_pdf
    from lastbee.office.certifying import certificate_of

    case = case_of(request)
    certificate = certificate_of(case)
    if certificate is None:
        raise HTTPException(404, "This job has no certificate yet.")
    return _pdf(certificate_pdf(certificate), f"certificate {case.record.title}")


def _job_file(request: Request) -> Response:
    from lastbee.office.job_files import job_file_of

    record = case_of(request).record
    headers = {"Content-Disposition": f'attachment; filename="{_file_name(record.title)}.toml"'}
    return Response(job_file_of(record), media_type="application/toml", headers=headers)


def case_of(request: Request) -> Case:
    """The job that an address names.

    Raises
    ------
    HTTPException
        If there is none.
    """
    try:
        return desk_of(request).case(request.path_params["job"])
    except LookupError:
        raise HTTPException(404, "There is no such job.") from None


def standing_of(case: Case) -> dict[str, Any]:
    """What the top of the page shows: next step, standing, state of the forecast, picture."""
    record, plan = case.record, case.plan
    due, closed = due_of(record, plan, case.today), after_closing(record)
    return {
        "record": record,
        "stage": stage_of(record, case.progress, case.today),
        "stage_words": STAGE_WORDS,
        "due": due,
        "main_action": main_action_of(record, due),
        "before_leaving": _before_leaving(case),
        "is_allergic": record.tree.get("people", {}).get("allergic_person") == "yes",
        "state": forecast_state(case),
        "last": closed or last_forecast(record, plan),
        "has_plan": plan is not None,
        "is_closed": closed is not None,
        **_picture(case, due),
    }


def _before_leaving(case: Case) -> tuple[Rule, ...]:
    """What the last visit plainly calls for, while whoever wrote it may still be at the wall."""
    visits = case.record.visits
    if not visits or case.record.close_out is not None:
        return ()
    is_new = case.plan is None or case.forecast.is_stale or visits[-1].on == case.today
    return advice(visits[-1].body, circumstances_told(case.record)) if is_new else ()


def _picture(case: Case, due: Due | None) -> dict[str, Any]:
    line = time_line(moments_of(case.record, due), case.plan, case.today)
    title = f"Time line of {clean(case.record.title)}"
    # Both are written by an XML library, which escapes what people typed.
    pictures = tuple(Markup(time_line_svg(line, form, title)) for form in (PHONE, DESK))  # noqa: S704
    return {"line": line, "pictures": pictures}


def _plan_of(case: Case) -> Plan:
    if case.plan is None:
        raise HTTPException(404, _NO_FORECAST)
    return case.plan


def _pdf(content: bytes, name: str) -> Response:
    headers = {"Content-Disposition": f'inline; filename="{_file_name(name)}.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


def _file_name(name: str) -> str:
    """A name that every system takes, without its ending."""
    return _NOT_OF_A_FILE_NAME.sub("-", name.casefold()).strip("-")[:80] or "job"

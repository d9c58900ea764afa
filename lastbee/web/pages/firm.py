"""The firm: what its jobs start from, and the way to its record going out and coming in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.responses import RedirectResponse
from starlette.routing import Route

from lastbee.jobs.jobfile_climate import MONTHS
from lastbee.web.forms.reading import joined, posted_of_tree, tree_of_form, without
from lastbee.web.forms.the_firm import (
    NORMALS,
    climate_of_post,
    firm_form,
    posted_of_climate,
    problems_of_settings,
)
from lastbee.web.forms.view import FormView
from lastbee.web.hidden import Hidden
from lastbee.web.posting import posted_of, posting
from lastbee.web.render import desk_of, firm_of, joining_of, page

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response

    from lastbee.errors import Problem
    from lastbee.record.chains import Told
    from lastbee.record.firm import Firm
    from lastbee.web.forms.form import Posted


def routes() -> list[Route]:
    """Address of the firm."""
    return [
        Route("/firm", _ask, methods=["GET"]),
        Route("/firm", posting(_keep), methods=["POST"]),
    ]


def _ask(request: Request) -> Response:
    told = told_last(firm_of(request))
    settings = {} if told is None else told.body
    posted = posted_of_tree(firm_form(), settings) | posted_of_climate(settings.get("climate"))
    return _asked(request, posted)


def _keep(request: Request, form: FormData) -> Response:
    posted, firm = posted_of(form), firm_of(request)
    entry = Hidden.of(posted, request).entry(None, "firm", body_of(posted, firm))
    problems = problems_of_settings(entry.body)
    if not problems:
        problems = desk_of(request).take_in([entry], strict=True).problems
    if problems:
        return _asked(request, posted, problems, entry.id, status=422)
    return RedirectResponse("/firm?kept", 303)


def told_last(firm: Firm) -> Told | None:
    """The settings that count, or else those that wait to be mended."""
    waiting = (told for told in reversed(firm.set_aside) if told.kind == "firm")
    return firm.told or next(waiting, None)


def body_of(posted: Posted, firm: Firm) -> dict[str, Any]:
    """Settings as posted, with what was written elsewhere and has no field here."""
    form, told = firm_form(), told_last(firm)
    earlier: Mapping[str, Any] = {} if told is None else told.body
    kept = {key: value for key, value in without(form, earlier).items() if key != "climate"}
    body = joined(kept, tree_of_form(form, posted, firm.units))
    climate = climate_of_post(posted)
    return body | {"climate": climate} if climate else body


def _asked(
    request: Request,
    posted: Posted,
    problems: Sequence[Problem] = (),
    entry_id: str = "",
    status: int = 200,
) -> Response:
    firm, form = firm_of(request), firm_form()
    told, joining = told_last(firm), joining_of(request)
    return page(
        request,
        "firm.html",
        status,
        form=form,
        view=FormView(form, posted, firm.units, problems),
        entry_id=entry_id,
        replaces="" if told is None else told.entry.id,
        months=MONTHS,
        normals=NORMALS,
        is_kept="kept" in request.query_params,
        devices=None if joining is None else joining.devices(),
        joined_as=request.state.joined_as,
    )

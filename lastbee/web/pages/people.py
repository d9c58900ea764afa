"""People and kit: who is there, what they do, and what can be taken along."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, cast

from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse
from starlette.routing import Route

from lastbee.record.entry import WITHDRAWN
from lastbee.web.forms.reading import joined, posted_of_tree, tree_of_form, without
from lastbee.web.forms.the_firm import kit_form, person_form
from lastbee.web.forms.view import FormView
from lastbee.web.posting import entry_of, posted_of, posting
from lastbee.web.render import desk_of, firm_of, page

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from typing import Any

    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response

    from lastbee.errors import Problem
    from lastbee.record.chains import Told
    from lastbee.record.entry import Entry, EntryKind
    from lastbee.web.forms.form import Form, Posted

_FORMS: Mapping[str, Callable[[], Form]] = MappingProxyType(
    {"person": person_form, "kit": kit_form}
)
_NO_LONGER_THERE = "no longer there"


def routes() -> list[Route]:
    """Addresses of people and kit."""
    return [
        Route("/people", _list),
        Route("/people/new/{kind}", _ask_new, methods=["GET"]),
        Route("/people/new/{kind}", posting(_keep_new), methods=["POST"]),
        Route("/people/{entry}/change", _ask_change, methods=["GET"]),
        Route("/people/{entry}/change", posting(_keep_change), methods=["POST"]),
        Route("/people/{entry}/gone", posting(_mark_gone), methods=["POST"]),
        Route("/people/{entry}/back", posting(_mark_back), methods=["POST"]),
    ]


def _list(request: Request) -> Response:
    firm = firm_of(request)
    gone = [told for told in firm.people if told.body.get("is_gone")]
    return page(
        request,
        "people.html",
        people=[told for told in firm.people if told not in gone],
        gone=gone,
        kit=sorted(firm.kit, key=lambda told: str(told.body.get("sort", "~"))),
        set_aside=[told for told in firm.set_aside if told.kind in _FORMS],
    )


def _ask_new(request: Request) -> Response:
    form, _ = _form_of(request.path_params["kind"])
    return _asked(request, form, {})


def _keep_new(request: Request, posted: FormData) -> Response:
    form, kind = _form_of(request.path_params["kind"])
    body = tree_of_form(form, posted_of(posted), firm_of(request).units)
    return _kept(request, form, posted, entry_of(request, posted, kind, body), None)


def _ask_change(request: Request) -> Response:
    told = _told(request)
    form, _ = _form_of(told.kind)
    return _asked(request, form, posted_of_tree(form, told.body), told=told)


def _keep_change(request: Request, posted: FormData) -> Response:
    told = _told(request)
    form, kind = _form_of(told.kind)
    written = tree_of_form(form, posted_of(posted), firm_of(request).units)
    body = joined(without(form, told.body), written)
    return _kept(request, form, posted, entry_of(request, posted, kind, body), told)


def _mark_gone(request: Request, posted: FormData) -> Response:
    told = _told(request)
    # Kit that is gone is taken back; people stay named in what they wrote.
    is_person = told.kind == "person"
    body = {**told.body, "is_gone": True} if is_person else {WITHDRAWN: _NO_LONGER_THERE}
    return _corrected(request, posted, told, body)


def _mark_back(request: Request, posted: FormData) -> Response:
    told = _told(request)
    body = {key: value for key, value in told.body.items() if key != "is_gone"}
    return _corrected(request, posted, told, body)


def _corrected(request: Request, posted: FormData, told: Told, body: Mapping[str, Any]) -> Response:
    form, kind = _form_of(told.kind)
    return _kept(request, form, posted, entry_of(request, posted, kind, body), told)


def _kept(
    request: Request, form: Form, posted: FormData, entry: Entry, told: Told | None
) -> Response:
    """Keep an entry and go back to the list, or show the form again with what is wrong."""
    receipt = desk_of(request).take_in([entry], strict=True)
    if receipt.problems:
        return _asked(
            request,
            form,
            posted_of(posted),
            told=told,
            problems=receipt.problems,
            entry_id=entry.id,
            status=422,
        )
    return RedirectResponse("/people", 303)


def _asked(
    request: Request,
    form: Form,
    posted: Posted,
    *,
    told: Told | None = None,
    problems: Sequence[Problem] = (),
    entry_id: str = "",
    status: int = 200,
) -> Response:
    return page(
        request,
        "person_or_kit.html",
        status,
        form=form,
        view=FormView(form, posted, firm_of(request).units, problems),
        told=told,
        entry_id=entry_id,
    )


def _form_of(kind: str) -> tuple[Form, EntryKind]:
    if kind not in _FORMS:
        raise HTTPException(404)
    return _FORMS[kind](), cast("EntryKind", kind)


def _told(request: Request) -> Told:
    """The person or thing that an address names, by any entry of its chain."""
    firm, entry = firm_of(request), request.path_params["entry"]
    everybody = (*firm.people, *firm.kit, *firm.set_aside)
    for told in everybody:
        if told.kind in _FORMS and any(one.id == entry for one in told.all):
            return told
    raise HTTPException(404, "There is no such person or kit.")

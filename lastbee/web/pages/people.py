"""People and kit: who is there, what they do, and what can be taken along."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse
from starlette.routing import Route

from lastbee.record.entry import WITHDRAWN
from lastbee.web.diary import version_of
from lastbee.web.forms.reading import joined, posted_of_tree, tree_of_form, without
from lastbee.web.forms.the_firm import kit_form, person_form
from lastbee.web.forms.view import FormView
from lastbee.web.hidden import Hidden
from lastbee.web.posting import posted_of, posting
from lastbee.web.render import desk_of, firm_of, page

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from typing import Any

    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response

    from lastbee.errors import Problem
    from lastbee.record.chains import Told
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
    form = _form_of(request.path_params["kind"])
    return _asked(request, form, {}, Hidden.fresh(request))


def _keep_new(request: Request, sent: FormData) -> Response:
    form = _form_of(request.path_params["kind"])
    posted = posted_of(sent)
    return _kept(request, form, posted, tree_of_form(form, posted, firm_of(request).units))


def _ask_change(request: Request) -> Response:
    told = _told(request)
    form = _form_of(told.kind)
    hidden = Hidden.fresh(request, told.entry.id, tuple(one.id for one in told.rivals))
    return _asked(request, form, posted_of_tree(form, told.body), hidden, told)


def _keep_change(request: Request, sent: FormData) -> Response:
    told = _told(request)
    form = _form_of(told.kind)
    posted = posted_of(sent)
    written = tree_of_form(form, posted, firm_of(request).units)
    return _kept(request, form, posted, joined(without(form, told.body), written), told)


def _mark_gone(request: Request, sent: FormData) -> Response:
    told = _told(request)
    # Kit that is gone is taken back; people stay named in what they wrote.
    is_person = told.kind == "person"
    body = {**told.body, "is_gone": True} if is_person else {WITHDRAWN: _NO_LONGER_THERE}
    return _kept(request, _form_of(told.kind), posted_of(sent), body, told)


def _mark_back(request: Request, sent: FormData) -> Response:
    told = _told(request)
    body = {key: value for key, value in told.body.items() if key != "is_gone"}
    return _kept(request, _form_of(told.kind), posted_of(sent), body, told)


def _kept(
    request: Request,
    form: Form,
    posted: Posted,
    body: Mapping[str, Any],
    told: Told | None = None,
) -> Response:
    """Keep what was written and go back to the list, or show it again with what is wrong."""
    hidden = Hidden.of(posted, request)
    problems = desk_of(request).take_in([hidden.entry(None, form.kind, body)], strict=True).problems
    if problems:
        return _asked(request, form, posted, hidden, told, problems)
    return RedirectResponse("/people", 303)


def _asked(
    request: Request,
    form: Form,
    posted: Posted,
    hidden: Hidden,
    told: Told | None = None,
    problems: Sequence[Problem] = (),
) -> Response:
    chain = () if told is None else told.all
    return page(
        request,
        "person_or_kit.html",
        422 if problems else 200,
        form=form,
        view=FormView(form, posted, firm_of(request).units, problems),
        told=told,
        hidden=hidden,
        beside=[version_of(one, form) for one in chain if one.id in hidden.settles],
    )


def _form_of(kind: str) -> Form:
    if kind not in _FORMS:
        raise HTTPException(404)
    return _FORMS[kind]()


def _told(request: Request) -> Told:
    """The person or thing that an address names, by any entry of its chain."""
    firm, entry = firm_of(request), request.path_params["entry"]
    everybody = (*firm.people, *firm.kit, *firm.set_aside)
    for told in everybody:
        if told.kind in _FORMS and any(one.id == entry for one in told.all):
            return told
    raise HTTPException(404, "There is no such person or kit.")

"""Entry by form: something new on a job, a correction, and taking something back.

A post can be sent twice and counts once. The outbox of a phone sends the very post that the
form would have made, with the header `X-Outbox`; then everything is kept, and what is wrong
with it waits to be mended. Sent by hand, a form with something wrong comes back as it was
filled in.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, RedirectResponse
from starlette.routing import Route

from lastbee.errors import Problem
from lastbee.record.entry import SETTLES, WITHDRAWN, Entry, is_id
from lastbee.record.tables import faults_of_body
from lastbee.web.diary import version_of
from lastbee.web.failures import wants_json
from lastbee.web.forms.catalogue import KINDS
from lastbee.web.forms.photo_entries import photo_entries, photos_of
from lastbee.web.forms.reading import joined, posted_of_tree, tree_of_form, without
from lastbee.web.forms.start import (
    UNITS_COOKIE,
    Ground,
    Suggested,
    ground_of,
    starting_posted,
    suggested,
)
from lastbee.web.forms.view import FormView
from lastbee.web.guard import LARGEST_BODY_BYTES
from lastbee.web.hidden import Hidden
from lastbee.web.posting import is_outbox, posted_of, posting
from lastbee.web.render import desk_of, fresh_id, page

if TYPE_CHECKING:
    from collections.abc import Sequence

    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response

    from lastbee.office.desk import Receipt
    from lastbee.office.pictures import Picture
    from lastbee.web.diary import Version
    from lastbee.web.forms.form import Posted
    from lastbee.web.forms.photo_entries import Photos
    from lastbee.words import UnitSystem

_A_YEAR_S = 365 * 24 * 3600
_ROOM_FOR_WORDS_BYTES = 1024 * 1024
_NO_REASON = "no reason given"
_TO_MEND = "Not kept yet: something in it is to be mended."


def routes() -> list[Route]:
    """Addresses of the forms."""
    return [
        Route("/job/{job}/correct/{entry}", _correction, methods=["GET"]),
        Route("/job/{job}/correct/{entry}", posting(_take_correction), methods=["POST"]),
        Route("/job/{job}/{kind}", _new, methods=["GET"]),
        Route("/job/{job}/{kind}", posting(_take_new), methods=["POST"]),
    ]


def _new(request: Request) -> Response:
    ground = ground_of(request, _kind_of(request))
    posted = starting_posted(ground)
    weather = suggested(request, ground)
    if weather is not None and request.query_params.get("weather") == "take":
        posted |= weather.posted
        weather = None
    view = FormView(ground.form, posted, ground.units, is_new=True)
    return _form_page(request, ground, view, Hidden.fresh(request), weather=weather)


def _correction(request: Request) -> Response:
    entry = _entry_of(request)
    ground = ground_of(request, entry.kind)
    body = _body_before(request, entry)
    waiting = _waiting(ground, entry)
    view = FormView(ground.form, posted_of_tree(ground.form, body), ground.units, waiting)
    hidden = Hidden.fresh(request, entry.id, _others(ground, entry))
    return _form_page(request, ground, view, hidden, left_out=_left_over(ground, body)[1])


def _take_new(request: Request, sent: FormData) -> Response:
    ground = ground_of(request, _kind_of(request), may_be_new=is_outbox(request))
    posted = posted_of(sent)
    body = tree_of_form(ground.form, posted, _units_of(posted, ground))
    return _take(request, ground, posted, Hidden.of(posted, request), body, photos_of(sent))


def _take_correction(request: Request, sent: FormData) -> Response:
    posted = posted_of(sent)
    entry = _entry_of(request, posted)
    ground = ground_of(request, entry.kind, may_be_new=is_outbox(request))
    hidden = Hidden.of(posted, request, replaces=entry.id)
    if "take_back" in posted:
        return _take_back(request, ground, posted, hidden, entry)
    kept, _ = _left_over(ground, _body_before(request, entry))
    body = joined(kept, tree_of_form(ground.form, posted, _units_of(posted, ground)))
    return _take(request, ground, posted, hidden, body, photos_of(sent))


def _take_back(
    request: Request, ground: Ground, posted: Posted, hidden: Hidden, entry: Entry
) -> Response:
    why = " ".join(" ".join(posted.get(WITHDRAWN, ())).split())
    if why or is_outbox(request):
        taken_back = hidden.entry(ground.job, entry.kind, {WITHDRAWN: why or _NO_REASON})
        receipt = desk_of(request).take_in((taken_back,), strict=not is_outbox(request))
        faults: Sequence[Problem] = receipt.problems
        if not faults or is_outbox(request):
            return _kept(request, ground, receipt, faults)
    else:
        faults = (Problem(WITHDRAWN, None, "write in a few words why it is taken back"),)
    written = posted_of_tree(ground.form, _body_before(request, entry)) | {WITHDRAWN: [why]}
    view = FormView(ground.form, written, ground.units, faults)
    return _refused(request, ground, view, hidden, is_taking_back=True)


def _take(
    request: Request,
    ground: Ground,
    posted: Posted,
    hidden: Hidden,
    body: dict[str, Any],
    photos: Photos,
) -> Response:
    """Take in what was posted, or show it again with what is wrong."""
    is_strict = not is_outbox(request)
    if photos.problems and is_strict:
        of_body = () if ground.form.kind == "photo" else faults_of_body(ground.form.kind, body)
        faults: Sequence[Problem] = (*of_body, *photos.problems)
    else:
        entries, pictures = _entries(request, ground, hidden, body, photos, posted)
        receipt = desk_of(request).take_in(entries, pictures, strict=is_strict)
        faults = (*receipt.problems, *photos.problems)
        if not (faults and is_strict):
            return _kept(request, ground, receipt, faults)
    view = FormView(ground.form, posted, ground.units, faults, had_photos=photos.count > 0)
    return _refused(request, ground, view, hidden)


def _kept(
    request: Request,
    ground: Ground,
    receipt: Receipt,
    faults: Sequence[Problem],
) -> Response:
    """Say that it is kept: to a person by the page of the job, to a script in JSON."""
    if not wants_json(request):
        return RedirectResponse(f"/job/{ground.job}", status_code=303)
    kept, was_there = list(receipt.kept), list(receipt.was_there)
    told = _told(FormView(ground.form, {}, ground.units, faults))
    return JSONResponse({"kept": kept, "was_there": was_there, "problems": told})


def _refused(
    request: Request,
    ground: Ground,
    view: FormView,
    hidden: Hidden,
    *,
    is_taking_back: bool = False,
) -> Response:
    if wants_json(request):
        return JSONResponse({"sentence": _TO_MEND, "problems": _told(view)}, status_code=422)
    return _form_page(request, ground, view, hidden, is_taking_back=is_taking_back, status=422)


def _told(view: FormView) -> list[dict[str, str]]:
    return [{"field": name, "sentence": said} for name, said in view.problems]


def _entries(
    request: Request,
    ground: Ground,
    hidden: Hidden,
    body: dict[str, Any],
    photos: Photos,
    posted: Posted,
) -> tuple[list[Entry], dict[str, Picture]]:
    """The entries of a post: the one of the form, and one for each photograph."""
    entry = hidden.entry(ground.job, ground.form.kind, body)
    is_beside = ground.form.kind != "photo"
    made, pictures = photo_entries(entry, photos, ground.zone, posted, is_beside=is_beside)
    entries = [entry, *made] if is_beside else made
    return entries, pictures


def _form_page(
    request: Request,
    ground: Ground,
    view: FormView,
    hidden: Hidden,
    *,
    weather: Suggested | None = None,
    left_out: Sequence[str] = (),
    is_taking_back: bool = False,
    status: int = 200,
) -> Response:
    answer = page(
        request,
        "form.html",
        status,
        form=ground.form,
        view=view,
        job=ground.job,
        job_title=ground.title,
        action=request.url.path,
        hidden=hidden,
        units=ground.units,
        has_measures=any(field.control == "measure" for field in ground.form.fields),
        site_now=ground.now,
        people=ground.situation.people,
        weather=weather,
        left_out=left_out,
        correcting=bool(hidden.replaces),
        beside=_beside(ground, hidden),
        taking_back=is_taking_back,
        is_waiting=request.method == "GET",
        most_bytes=LARGEST_BODY_BYTES - _ROOM_FOR_WORDS_BYTES,
        withdrawal_id=hidden.entry_id if is_taking_back else fresh_id(request),
    )
    if "units" in request.query_params:
        answer.set_cookie(
            UNITS_COOKIE, ground.units, max_age=_A_YEAR_S, httponly=True, samesite="lax"
        )
    return answer


def _kind_of(request: Request) -> str:
    kind = str(request.path_params["kind"])
    if kind not in KINDS:
        raise HTTPException(404, "There is no such page of a job.")
    return kind


def _entry_of(request: Request, posted: Posted | None = None) -> Entry:
    """The entry to be corrected.

    The outbox may hand in a correction of what has not come in; `posted` then says its kind.
    """
    job, written = str(request.path_params["job"]), str(request.path_params["entry"])
    entry = desk_of(request).entry(written) if is_id(written) else None
    if entry is None and posted is not None and is_outbox(request) and is_id(written):
        kind = "".join(posted.get("kind", ()))
        if kind in KINDS and is_id(job):
            return replace(Hidden.of(posted, request), entry_id=written).entry(job, kind, {})
    if entry is None or entry.job != job or entry.kind not in KINDS:
        raise HTTPException(404, "Nothing with this address was written on the job.")
    return entry


def _units_of(posted: Posted, ground: Ground) -> UnitSystem:
    """The units that the form was shown in, which do not change while it waits in an outbox."""
    shown = "".join(posted.get("units", ()))
    return cast("UnitSystem", shown) if shown in ("metric", "us") else ground.units


def _body_before(request: Request, entry: Entry) -> dict[str, Any]:
    """What an entry says; of one taken back, what it said before."""
    seen = {entry.id}
    while entry.is_withdrawal and entry.replaces is not None and entry.replaces not in seen:
        before = desk_of(request).entry(entry.replaces)
        if before is None:
            break
        entry = before
        seen.add(entry.id)
    if entry.is_withdrawal:
        return {}
    return {key: value for key, value in entry.body.items() if key != SETTLES}


def _others(ground: Ground, entry: Entry) -> tuple[str, ...]:
    """Ids of what was written of the same thing without knowing of an entry."""
    told = () if ground.case is None else ground.case.record.told
    chain = next((one for one in told if any(e.id == entry.id for e in one.all)), None)
    ends = () if chain is None else (chain.entry, *chain.rivals)
    return tuple(one.id for one in ends if one.id != entry.id)


def _beside(ground: Ground, hidden: Hidden) -> tuple[Version, ...]:
    """What the form stands in for beside the entry that it corrects, to be shown with it."""
    told = () if ground.case is None else ground.case.record.told
    named = (one for chain in told for one in chain.all if one.id in hidden.settles)
    return tuple(version_of(one, ground.form) for one in named)


def _waiting(ground: Ground, entry: Entry) -> tuple[Problem, ...]:
    """What an entry that was kept waits to have mended."""
    aside = ground.case.record.set_aside if ground.case else ()
    return next((told.problems for told in aside if told.entry.id == entry.id), ())


def _left_over(ground: Ground, body: dict[str, Any]) -> tuple[dict[str, Any], tuple[str, ...]]:
    """What a body holds that the form does not show: what is kept, and names of what is not."""
    rest = without(ground.form, body)
    kept: dict[str, Any] = {}
    dropped = []
    faults = faults_of_body(ground.form.kind, rest)
    wrong = {fault.field for fault in faults if fault.value is not None}
    for key, value in rest.items():
        if any(name == key or name.startswith(f"{key}.") for name in wrong):
            dropped.append(key)
        else:
            kept[key] = value
    return kept, tuple(dropped)

"""Work without signal: the worker, what is worth keeping on a device, and what is saved where."""

from __future__ import annotations

import hashlib
import json
from datetime import timedelta
from itertools import chain
from typing import TYPE_CHECKING, cast

from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

import lastbee
from lastbee.record.card import OPEN_STAGES
from lastbee.web.job_actions import actions_of, main_action_of
from lastbee.web.render import desk_of, page, today_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from starlette.requests import Request

    from lastbee.office.case import Case
    from lastbee.record.card import Card
    from lastbee.web.assets import Assets

WORKER = "worker.js"
DAYS_AHEAD = 7
MOST_DUE, MOST_OTHERS, MOST_PICTURES = 40, 60, 200
_ASKED_EACH_TIME = {"Cache-Control": "no-cache"}

_LISTS = ("/", "/calls", "/jobs", "/calls/new", "/people")


def routes() -> list[Route]:
    """Addresses of the worker, the manifest, and what a device keeps."""
    return [
        Route("/service-worker.js", _worker),
        Route("/manifest.webmanifest", _manifest),
        Route("/today.json", _worth_keeping),
        Route("/advice.json", _advice),
        Route("/job/{job}/advice.json", _advice_for_job),
        Route("/saved", _saved),
        Route("/offline", _not_kept),
    ]


def _saved(request: Request) -> Response:
    return page(request, "saved.html")


def _not_kept(request: Request) -> Response:
    return page(request, "offline.html")


def _worker(request: Request) -> Response:
    assets = _assets_of(request)
    headers = {"Content-Type": assets.files[WORKER].media_type, **_ASKED_EACH_TIME}
    return Response(worker_script(assets), headers=headers)


def worker_script(assets: Assets) -> str:
    """The worker as it is served from the root, whose pages it stands before.

    Its imports are led back to the folder of static files; the version and the names of those
    files are filled in, so that a browser takes any change in them for a new worker.

    Raises
    ------
    ValueError
        If the script has no place for them.
    """
    script = assets.files[WORKER].content.decode()
    names = json.dumps([name for name in assets.files if name != WORKER])
    for place, filled in (
        ('const VERSION = "";', f'const VERSION = "{assets.version}";'),
        ("const FILES = [];", f"const FILES = {names};"),
        ('from "./', f'from "/static/{assets.version}/'),
    ):
        if place not in script:
            raise ValueError(f"{WORKER} has no {place!r}")
        script = script.replace(place, filled)
    return f"// lastbee {lastbee.__version__}\n{script}"


def _manifest(request: Request) -> Response:
    url = _assets_of(request).url
    manifest = {
        "id": "/",
        "name": "lastbee",
        "short_name": "lastbee",
        "description": "Trap-out jobs, from the first call to the warranty",
        "lang": "en",
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "theme_color": "#17405f",
        "background_color": "#ffffff",
        "icons": [
            {"src": url("icons/app.svg"), "sizes": "any", "type": "image/svg+xml"},
            {"src": url("icons/app-192.png"), "sizes": "192x192", "type": "image/png"},
            {"src": url("icons/app-512.png"), "sizes": "512x512", "type": "image/png"},
        ],
        "shortcuts": [{"name": "New call", "url": "/calls/new"}, {"name": "Jobs", "url": "/jobs"}],
    }
    return JSONResponse(manifest, media_type="application/manifest+json")


def _advice(_request: Request) -> Response:
    from lastbee.record.at_the_wall import as_data

    return JSONResponse(as_data())


def _advice_for_job(request: Request) -> Response:
    from lastbee.record.at_the_wall import as_data
    from lastbee.record.circumstances import circumstances_told

    try:
        case = desk_of(request).case(request.path_params["job"])
    except LookupError as error:
        raise HTTPException(404, "There is no such job.") from error
    return JSONResponse(as_data(circumstances_told(case.record)))


def _worth_keeping(request: Request) -> Response:
    desk, today = desk_of(request), today_of(request)
    due = desk.today(today + timedelta(days=DAYS_AHEAD), MOST_DUE).due
    pressing = {card.job for card in due}
    open_jobs = desk.cards(OPEN_STAGES, size=MOST_OTHERS).cards
    others = tuple(card for card in open_jobs if card.job not in pressing)
    cases = desk.cases(*(card.job for card in due))
    about = f"{_assets_of(request).version} {today} "
    lists = _stamp(about, *map(repr, (*due, *others)))
    pages = dict(
        chain(
            ((address, lists) for address in _LISTS),
            _due_pages(due, cases, about),
            ((f"/job/{card.job}", _stamp(about, repr(card))) for card in others),
        )
    )
    kept = [{"url": url, "stamp": stamp} for url, stamp in pages.items()]
    return JSONResponse({"pages": kept, "pictures": _pictures(cases)})


def _due_pages(due: Sequence[Card], cases: Sequence[Case], about: str) -> Iterator[tuple[str, str]]:
    """Pages of jobs that somebody may stand before without signal, and their stamps."""
    for card, case in zip(due, cases, strict=True):
        stamp = _stamp(about, repr(card), case.forecast.answered, case.forecast.state)
        yield from ((url, stamp) for url in _addresses(card, case))


def _addresses(card: Card, case: Case) -> Iterator[str]:
    """The job's own page, the forms that it offers, what was told of it and what comes."""
    job, record = f"/job/{card.job}", case.record
    yield job
    main = main_action_of(record, card.due)
    others = actions_of(record, card.stage, card.due)
    yield from (action.address for action in (main, *others) if action is not None)
    yield from (f"{job}/correct/{visit.entry.id}" for visit in record.visits[-1:])
    yield f"{job}/advice.json"
    if case.plan is not None:
        yield f"{job}/forecast"
    yield f"{job}/history"


def _pictures(cases: Sequence[Case]) -> list[str]:
    shas = (photo.body["picture"] for case in cases for photo in case.record.all("photo"))
    return [f"/picture/{sha}.jpg?small" for sha in dict.fromkeys(shas)][:MOST_PICTURES]


def _stamp(*told: str) -> str:
    """A short text that changes with what is told."""
    return hashlib.sha256("\0".join(told).encode()).hexdigest()[:16]


def _assets_of(request: Request) -> Assets:
    return cast("Assets", request.app.state.assets)

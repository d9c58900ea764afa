"""The record taken out as files, and files brought in."""

from __future__ import annotations

import shutil
import tempfile
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.background import BackgroundTask
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from lastbee.errors import FileProblem
from lastbee.office import exchange
from lastbee.web.failures import answer
from lastbee.web.guard import IMPORT_PATH, LARGEST_IMPORT_BYTES
from lastbee.web.posting import posting
from lastbee.web.render import desk_of, page, today_of

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request

    from lastbee.office.desk import Receipt

_NO_FILE = "Choose a file first: an archive of a firm, or a job file."


def routes() -> list[Route]:
    """Addresses of what goes out and comes in."""
    return [
        Route("/export/firm.zip", _archive),
        Route("/export/visits.csv", _visits),
        Route("/export/sites.geojson", _sites),
        Route(
            IMPORT_PATH, posting(_bring_in), methods=["POST"], max_body_size=LARGEST_IMPORT_BYTES
        ),
    ]


def _archive(request: Request) -> Response:
    folder = tempfile.mkdtemp(prefix="lastbee-")
    path = Path(folder, "firm.zip")
    try:
        exchange.write_archive(desk_of(request), path)
    except BaseException:
        shutil.rmtree(folder)
        raise
    return FileResponse(
        path,
        media_type="application/zip",
        filename=_dated(request, "firm", "zip"),
        background=BackgroundTask(shutil.rmtree, folder),
    )


def _visits(request: Request) -> Response:
    table = exchange.visits_csv(desk_of(request))
    return _download(table, "text/csv; charset=utf-8", _dated(request, "visits", "csv"))


def _sites(request: Request) -> Response:
    sites = exchange.sites_geojson(desk_of(request))
    return _download(sites, "application/geo+json", _dated(request, "sites", "geojson"))


def _bring_in(request: Request, form: FormData) -> Response:
    sent = form.get("file")
    if not isinstance(sent, UploadFile) or not sent.filename:
        raise HTTPException(422, _NO_FILE)
    with tempfile.TemporaryDirectory(prefix="lastbee-") as folder:
        path = Path(folder, "brought-in")
        with path.open("xb") as written:
            shutil.copyfileobj(sent.file, written)
        try:
            receipt = _read(request, path)
        except FileProblem as problem:
            if problem.path != str(path):
                raise
            # Name the file as its owner knows it, not as it lies here.
            named = FileProblem(sent.filename, problem.trouble, problem.mend)
            return answer(request, 422, str(named))
    return page(request, "brought_in.html", name=sent.filename, receipt=receipt)


def _read(request: Request, path: Path) -> Receipt:
    if zipfile.is_zipfile(path):
        return exchange.read_archive(desk_of(request), path)
    return exchange.read_job_file(desk_of(request), path)


def _dated(request: Request, name: str, ending: str) -> str:
    return f"{name}-{today_of(request).isoformat()}.{ending}"


def _download(text: str, media_type: str, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(text, media_type=media_type, headers=headers)

"""Kept photographs, in full and small; what stands under a name never changes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.routing import Route

from lastbee.web.headers import PICTURES_STAY_WITH_THE_READER
from lastbee.web.render import desk_of

if TYPE_CHECKING:
    from starlette.requests import Request


def routes() -> list[Route]:
    """Address of a photograph; "?small" asks for the copy that pages show."""
    return [Route("/picture/{sha}.jpg", _picture)]


def _picture(request: Request) -> Response:
    is_small = "small" in request.query_params
    jpeg = desk_of(request).picture(request.path_params["sha"], small=is_small)
    if jpeg is None:
        raise HTTPException(404, "There is no such photograph.")
    headers = {"Cache-Control": PICTURES_STAY_WITH_THE_READER}
    return Response(jpeg, media_type="image/jpeg", headers=headers)

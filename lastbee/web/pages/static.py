"""The static files."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.routing import Route

from lastbee.web.headers import KEPT_FOR_GOOD

if TYPE_CHECKING:
    from starlette.requests import Request

    from lastbee.web.assets import Assets

_ASKED_EACH_TIME = "no-cache"


def routes() -> list[Route]:
    """Addresses of the static files, with and without the version."""
    return [Route("/static/{path:path}", _static)]


def _static(request: Request) -> Response:
    assets = cast("Assets", request.app.state.assets)
    path = str(request.path_params["path"])
    if path in assets.files:
        return _file(assets, path, _ASKED_EACH_TIME)
    # A page that a phone kept may ask for an older version: it gets what there is now.
    version, _, name = path.partition("/")
    if name not in assets.files:
        raise HTTPException(404)
    is_current = version == assets.version
    return _file(assets, name, KEPT_FOR_GOOD if is_current else _ASKED_EACH_TIME)


def _file(assets: Assets, name: str, keeping: str) -> Response:
    asset = assets.files[name]
    # Written out, since the library would add a character set to scripts a second time.
    headers = {"Content-Type": asset.media_type, "Cache-Control": keeping}
    return Response(asset.content, headers=headers)

"""Shutting out a device that joined; the page of the firm lists them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from lastbee.web.posting import posting
from lastbee.web.render import joining_of

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request


def routes() -> list[Route]:
    """Address that shuts a device out."""
    return [Route("/firm/devices/{device}/shut-out", posting(_shut_out), methods=["POST"])]


def _shut_out(request: Request, _form: FormData) -> Response:
    joining = joining_of(request)
    if joining is None:
        raise HTTPException(404, "No devices join here: the app is on this computer alone.")
    # One that is out already is no fault: somebody else was quicker.
    joining.shut_out(str(request.path_params["device"]))
    return RedirectResponse("/firm#devices", 303)

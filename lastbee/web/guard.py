"""Who may ask for what: host, origin, joining link, size; and what browsers are told of it.

The app has no passwords. On one machine it answers to that machine's own names alone, so that
no foreign page can reach it by bending a name to this address (DNS rebinding). Beyond it, a
device must have come in once by the joining link of the office, and not been shut out since.

References
----------
Jackson et al., "Protecting Browsers from DNS Rebinding Attacks", ACM TWEB 3(1), 2009.
Fetch Metadata Request Headers, W3C Working Draft.
"""

from __future__ import annotations

import ipaddress
import logging
import re
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.requests import Request

from lastbee.errors import FileProblem
from lastbee.web import failures
from lastbee.web.headers import FORGET_PAGES, HEADERS, PAGES_STAY_WITH_THE_READER

if TYPE_CHECKING:
    from collections.abc import Collection

    from starlette.responses import Response
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from lastbee.office.joining import Joining
    from lastbee.store.device import Device

LARGEST_BODY_BYTES = 25 * 1024 * 1024
LARGEST_IMPORT_BYTES = 2 * 1024 * 1024 * 1024
"""An archive of the firm holds every photograph; it is spooled to disk, not to memory."""

IMPORT_PATH = "/import"

MEMBER_COOKIE = "lastbee-member"
"""Name of the cookie with the pass of a device, see `lastbee.office.joining`."""

_LOG = logging.getLogger(__name__)

_HOST = re.compile(r"(?P<name>\[[0-9a-fA-F:.]+\]|[^:@/\s]+)(?::[0-9]{1,5})?")
_READING = frozenset({"GET", "HEAD", "OPTIONS"})
_OPEN_TO_GUESTS = ("/static/", "/join/")
# Browsers ask for these two without cookies; neither says anything of the firm.
_OPEN_PAGES = frozenset({"/manifest.webmanifest", "/service-worker.js"})
_NOT_JOINED = "Ask the office for the joining link: this device has not joined the firm yet."


class Guard:
    """Refuse what must not come in, and put the headers on what goes out."""

    def __init__(self, app: ASGIApp, joining: Joining | None, hosts: Collection[str]) -> None:
        self._app = app
        self._joining = joining
        self._hosts = frozenset(host.casefold() for host in hosts) | {"localhost"}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Guard one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update(HEADERS)
                headers.setdefault("Cache-Control", PAGES_STAY_WITH_THE_READER)
            await send(message)

        request = Request(scope)
        answer = self._refusal(request)
        device = None
        if answer is None and self._joining is not None and not _is_open_to_guests(request):
            device = await run_in_threadpool(self._joining.device_of, shown_pass(request))
            if device is None:
                answer = failures.answer(request, 403, _NOT_JOINED, headers=FORGET_PAGES)
        request.state.joined_as = device
        await (answer or self._app)(scope, receive, send_with_headers)
        if device is not None:
            await run_in_threadpool(self._note, device)

    def _refusal(self, request: Request) -> Response | None:
        """Answer to a request that must not come in, whoever asks; None for one that may."""
        if not self._is_our_host(request.headers.get("host", "")):
            return failures.answer(request, 400, "The app does not answer under this name.")
        if request.method not in _READING and not is_from_here(request):
            return failures.answer(request, 403, "Forms are taken from the app's own pages alone.")
        if _size_bytes(request) > largest_body_bytes(request.url.path):
            return failures.answer(request, 413)
        return None

    def _is_our_host(self, host: str) -> bool:
        found = _HOST.fullmatch(host)
        if found is None:
            return False
        name = found["name"].strip("[]").casefold()
        if name in self._hosts:
            return True
        try:
            address = ipaddress.ip_address(name)
        except ValueError:
            return False
        # A bare address cannot be bent; beyond this machine the joining link guards it.
        return address.is_loopback or self._joining is not None

    def _note(self, device: Device) -> None:
        """Note that a device was there, once it has its answer: nobody waits for that."""
        if self._joining is None:
            return
        try:
            self._joining.note_seen(device)
        except FileProblem as problem:
            _LOG.warning("not noted when %s was last seen: %s", device.name, problem)


def shown_pass(request: Request) -> str:
    """The pass that a device shows; empty where it shows none."""
    return request.cookies.get(MEMBER_COOKIE, "")


def _is_open_to_guests(request: Request) -> bool:
    path = request.url.path
    return path in _OPEN_PAGES or path.startswith(_OPEN_TO_GUESTS)


def is_from_here(request: Request) -> bool:
    """Whether a form was sent by a page of this app, as the browser tells it."""
    origin = request.headers.get("origin")
    if origin is None:
        return request.headers.get("sec-fetch-site") in {"same-origin", "none"}
    return urlsplit(origin).netloc.casefold() == request.headers.get("host", "").casefold()


def largest_body_bytes(path: str) -> int:
    """Size of the largest request that `path` takes."""
    return LARGEST_IMPORT_BYTES if path == IMPORT_PATH else LARGEST_BODY_BYTES


def _size_bytes(request: Request) -> int:
    told = request.headers.get("content-length", "")
    return int(told) if told.isdecimal() and told.isascii() else 0

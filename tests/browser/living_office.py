"""An office that answers on a port of this machine, can go out of reach, and can be slow."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import threading
from typing import TYPE_CHECKING, Any

import uvicorn
from web_factory import NOW, handful

from lastbee.office.desk import Desk
from lastbee.store.book import Book
from lastbee.web.app import build_app

if TYPE_CHECKING:
    from pathlib import Path

    from lastbee.record.entry import Entry

PATIENCE_S = 30.0


class Gate:
    """Before the app: posts come to a halt in the middle of their bodies while it is shut."""

    def __init__(self, app: Any) -> None:
        self._app = app
        self.is_shut = False
        self.halted = threading.Event()
        self.cut_off = threading.Event()

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        if scope["type"] == "http" and scope["method"] == "POST" and self.is_shut:
            await receive()
            self.halted.set()
            await self._until_cut_off(receive)
            return
        await self._app(scope, receive, send)

    async def _until_cut_off(self, receive: Any) -> None:
        """Take no more of the body: what follows stays in the sender's hands."""
        while self.is_shut:
            with contextlib.suppress(TimeoutError):
                message = await asyncio.wait_for(receive(), 0.05)
                if message["type"] == "http.disconnect":
                    break
        self.cut_off.set()


class LivingOffice:
    """The app on a file of its own, opened and closed as often as a test likes."""

    def __init__(self, folder: Path, entries: list[Entry] | None = None, **options: Any) -> None:
        self._book = Book.open(folder / "firm.lastbee", NOW)
        self.desk = Desk(self._book, lambda: NOW)
        self.desk.take_in(handful() if entries is None else entries, strict=False)
        self.gate = Gate(build_app(self.desk, clock=lambda: NOW, **options))
        self._port = _free_port()
        self._server: uvicorn.Server | None = None
        self._thread: threading.Thread | None = None

    @property
    def url(self) -> str:
        """Where it answers; browsers take this name for a secure one."""
        return f"http://localhost:{self._port}"

    @property
    def running_job(self) -> str:
        """Id of the job whose trap-out runs."""
        (card,) = self.desk.cards(["trapping"]).cards
        return card.job

    def told(self, kind: str) -> list[Any]:
        """What counts of a kind on that job."""
        return list(self.desk.case(self.running_job).record.all(kind))

    def entries(self) -> list[Entry]:
        """Everything ever written on that job."""
        with self._book.reading() as reading:
            return list(reading.entries_of(self.running_job))

    def picture(self, sha: str) -> bytes | None:
        """A kept picture."""
        return self.desk.picture(sha)

    def open(self) -> None:
        """Answer from now on."""
        config = uvicorn.Config(
            self.gate, host="127.0.0.1", port=self._port, log_level="error", lifespan="off",
            ws="none", timeout_graceful_shutdown=1, h11_max_incomplete_event_size=1 << 16,
        )  # fmt: skip
        server = uvicorn.Server(config)
        self._server = server
        self._thread = threading.Thread(target=server.run, daemon=True)
        self._thread.start()
        self._wait_until_open()

    def _wait_until_open(self) -> None:
        while True:
            with (
                contextlib.suppress(OSError),
                socket.create_connection(("127.0.0.1", self._port), timeout=PATIENCE_S),
            ):
                return

    def close(self) -> None:
        """Answer nobody any more, as where there is no signal."""
        if self._server is not None and self._thread is not None:
            self._server.should_exit = True
            self._thread.join(PATIENCE_S)
            assert not self._thread.is_alive()
        self._server = self._thread = None

    def end(self) -> None:
        """Close for good."""
        self.gate.is_shut = False
        self.close()
        self._book.close()


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])

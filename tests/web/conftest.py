"""The app in this process, on a small firm's file, on the morning of Tuesday 14 July 2026."""

from __future__ import annotations

from contextlib import ExitStack
from typing import TYPE_CHECKING, Any

import pytest
from starlette.testclient import TestClient
from web_factory import NOW, handful

from lastbee.office.desk import Desk
from lastbee.store.book import Book
from lastbee.web.app import build_app

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """An empty firm's file."""
    opened = Book.open(tmp_path / "firm.lastbee", NOW)
    yield opened
    opened.close()


@pytest.fixture
def open_app(book: Book) -> Iterator[Callable[..., TestClient]]:
    """Opens the app on `book` with options of `build_app`; of an empty firm if not `filled`."""
    with ExitStack() as stack:

        def opened(*, filled: bool = True, **options: Any) -> TestClient:
            desk = Desk(book, lambda: NOW)
            if filled:
                assert len(desk.take_in(handful(), strict=False).kept) == len(handful())
            app = build_app(desk, clock=lambda: NOW, **options)
            client = TestClient(app, "http://localhost", raise_server_exceptions=False)
            return stack.enter_context(client)

        yield opened


@pytest.fixture
def client(open_app: Callable[..., TestClient]) -> TestClient:
    """The app of a firm with a handful of entries, on this machine."""
    return open_app()


@pytest.fixture
def empty_client(open_app: Callable[..., TestClient]) -> TestClient:
    """The app of a firm that has written nothing yet."""
    return open_app(filled=False)

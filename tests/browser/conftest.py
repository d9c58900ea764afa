"""What the browser tests share: a browser, and a word on what is missing where it is."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import pytest

from tests.browser.living_office import LivingOffice
from tests.browser.phone import CHROMIUM, Phone

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playwright.sync_api import Browser, Playwright

CHECKERS = Path(__file__).parent / "node_modules"
LEAVE_NOTHING_OUT = "LASTBEE_LEAVE_NOTHING_OUT"


def go_without(what: str) -> NoReturn:
    """Leave a test out for want of something, or fail where nothing may be left out."""
    said = f"{what} is missing"
    if os.environ.get(LEAVE_NOTHING_OUT) == "1":
        pytest.fail(f"{said}, and {LEAVE_NOTHING_OUT}=1 asks for every test", pytrace=False)
    pytest.skip(said)


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.get_closest_marker("browser") and not CHROMIUM.exists():
        go_without("Debian's package 'chromium'")


@pytest.fixture(scope="session")
def node() -> str:
    """The program that runs scripts without a browser."""
    return shutil.which("node") or go_without("Debian's package 'nodejs'")


@pytest.fixture(scope="session")
def checkers() -> Path:
    """Folder of the packages that check pages."""
    for name in ("axe-core", "lighthouse"):
        if not (CHECKERS / name).is_dir():
            go_without(f"{name} ('npm ci --ignore-scripts' in tests/browser brings it)")
    return CHECKERS


@pytest.fixture(scope="session")
def running() -> Iterator[Playwright]:
    """What starts browsers and leads them; two cannot run in one thread at the same time."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="module")
def browser(running: Playwright) -> Iterator[Browser]:
    """A browser without any page yet."""
    browser = running.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
    yield browser
    browser.close()


@pytest.fixture
def office(tmp_path: Path) -> Iterator[LivingOffice]:
    """An office that answers until a test closes it."""
    living = LivingOffice(tmp_path)
    living.open()
    yield living
    living.end()


@pytest.fixture
def new_phone(tmp_path: Path, running: Playwright) -> Iterator[Callable[[], Phone]]:
    """Starts phones, each with a profile of its own."""
    phones: list[Phone] = []

    def started() -> Phone:
        phones.append(Phone(running, tmp_path / f"phone-{len(phones)}"))
        return phones[-1]

    yield started
    for phone in phones:
        phone.kill()

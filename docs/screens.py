"""Make the pictures of the field app, in docs/images: the demo firm on its first morning.

    python -m docs.screens

The firm, its day and its seeds are fixed, so that pictures change only where pages do. It needs
Debian's package `chromium` and takes a few minutes, since every forecast of the demo is computed.
"""

from __future__ import annotations

import contextlib
import io
import socket
import sys
import tempfile
import threading
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image

from lastbee.cli.demo import DEMO_COLONIES
from lastbee.office.demo_firm import MORNING, demo_entries
from lastbee.office.demo_firm_pictures import demo_pictures
from lastbee.office.desk import Desk
from lastbee.office.forecaster import Forecaster
from lastbee.store.book import Book
from lastbee.web.app import build_app

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playwright.sync_api import Browser, Page

IMAGES = Path(__file__).resolve().parent / "images"
CHROMIUM = Path("/usr/bin/chromium")
JOB = "Bees behind the north wall"
PHONE, DESK = (412, 915), (1280, 1160)
COUNTED_MS, TAPS_OUT, TAPS_BACK = 96_000, 31, 2
# Colours of flat pages; more would make the files larger and nothing clearer.
COLOURS = 192


def main() -> int:
    """Make every picture; the exit code is 1 where there is no browser."""
    if not CHROMIUM.exists():
        print("The pictures of the app stay as they are: Debian's package 'chromium' is needed.")
        return 1
    from playwright.sync_api import sync_playwright

    with served_demo() as (address, desk), sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        job = job_titled(desk, JOB)
        for name, size, page, act in SCREENS:
            keep(name, picture_of(browser, size, f"{address}{page.format(job=job)}", act))
        browser.close()
    return 0


@contextlib.contextmanager
def served_demo() -> Iterator[tuple[str, Desk]]:
    """The demo firm with all its forecasts, served at 8:00 of its morning; address and desk."""
    import uvicorn

    with (
        tempfile.TemporaryDirectory() as folder,
        Book.open(Path(folder, "demo.lastbee"), MORNING) as book,
        socket.create_server(("127.0.0.1", 0)) as listening,
    ):
        desk = Desk(book, lambda: MORNING)
        pictures = {picture.sha256: picture for picture in demo_pictures().values()}
        desk.take_in(demo_entries(), pictures, strict=False)
        Forecaster(desk.queue, colonies=DEMO_COLONIES).run_all()
        app = build_app(desk, clock=lambda: MORNING, is_demo=True)
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", lifespan="off"))
        thread = threading.Thread(target=server.run, args=([listening],))
        thread.start()
        try:
            yield "http://{}:{}".format(*listening.getsockname()), desk
        finally:
            server.should_exit = True
            thread.join()


def job_titled(desk: Desk, title: str) -> str:
    """Id of the one job with a title."""
    (job,) = (card.job for card in desk.cards(search=title).cards if card.title == title)
    return job


def picture_of(
    browser: Browser, size: tuple[int, int], address: str, act: Callable[[Page], None]
) -> bytes:
    """The first screen of a page, after something was done on it, as PNG."""
    width, height = size
    context = browser.new_context(
        viewport={"width": width, "height": height}, has_touch=size == PHONE,
        device_scale_factor=2 if size == PHONE else 1, reduced_motion="reduce",
        color_scheme="light", locale="en-GB", service_workers="block",
    )  # fmt: skip
    page = context.new_page()
    page.clock.install(time=MORNING)
    page.goto(address, wait_until="networkidle")
    act(page)
    shot = page.screenshot(animations="disabled")
    context.close()
    return shot


def nothing(_: Page) -> None:
    """Leave the page as it opens."""


def judge_a_call(page: Page) -> None:
    """Answer some questions and ask what it is."""
    for question, answer in (
        ("stung", "nobody"), ("where", "building"), ("since", "weeks"), ("traffic", "tens"),
        ("legs", "lumps"),
    ):  # fmt: skip
        page.check(f'input[name="answers.{question}"][value="{answer}"]', force=True)
    page.click('button[name="show"]')
    page.wait_for_selector("#likely")
    page.evaluate("document.getElementById('likely').scrollIntoView({block: 'start'})")


def count_at_the_cone(page: Page) -> None:
    """Tap for a minute and a half."""
    counter = page.locator('[data-counter="count"]')
    counter.locator('[data-do="start"]').click()
    page.clock.run_for(COUNTED_MS)
    for pad, taps in (("count.out", TAPS_OUT), ("count.back_in", TAPS_BACK)):
        for _ in range(taps):
            counter.locator(f'[data-pad="{pad}"]').dispatch_event("pointerdown", {"button": 0})
    page.clock.run_for(1_000)
    counter.evaluate("counter => counter.scrollIntoView({block: 'center'})")


def keep(name: str, shot: bytes) -> None:
    """Write a picture as docs/images/NAME.png, with as few colours as it needs."""
    with Image.open(io.BytesIO(shot)) as taken:
        flat = taken.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
        flat.save(IMAGES / f"{name}.png", optimize=True)
    print(f"Wrote docs/images/{name}.png")


SCREENS = (
    ("app_today_phone", PHONE, "/", nothing),
    ("app_call_phone", PHONE, "/calls/new", judge_a_call),
    ("app_job_phone", PHONE, "/job/{job}", nothing),
    ("app_job_desk", DESK, "/job/{job}", nothing),
    ("app_visit_phone", PHONE, "/job/{job}/visit", count_at_the_cone),
)
"""Name of each picture, the screen it is taken on, its page, and what is done there first."""


if __name__ == "__main__":
    sys.exit(main())

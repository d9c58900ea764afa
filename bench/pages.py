"""How quickly the app answers: every page, on the invented firm and on a firm of many jobs.

    python -m bench.pages            # 10,000 jobs; `python -m bench.pages 500` is a quick look

The app answers from a process of its own on this machine, as `lastbee serve` does, and is
asked one page after another over one connection. Of each page the 95th percentile of its
answers counts, and of all pages the slowest. A forecast is kept for one running job beforehand;
none is computed meanwhile. Statements are those to the firm's file, counted in this process.
"""

from __future__ import annotations

import socket
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import httpx2
import numpy as np
import uvicorn
from starlette.testclient import TestClient

from bench.big_firm import NOW, make
from lastbee.office.demo_firm import demo_entries
from lastbee.office.desk import Desk
from lastbee.office.forecast_process import plan_as_json
from lastbee.record.job_tree import fingerprint
from lastbee.store.book import Book
from lastbee.web.app import build_app
from lastbee.web.forms.catalogue import KINDS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from starlette.applications import Starlette

JOBS = 10_000
COLONIES = 2_000
ASKED = 60
PATIENCE_S = 30.0
SHOWN = 4


@dataclass(frozen=True, slots=True)
class Answers:
    """How one page was answered: the 95th percentile, and statements to the file."""

    address: str
    p95_ms: float
    statements: int


@dataclass(frozen=True, slots=True)
class Firm:
    """A firm that was asked for all its pages."""

    name: str
    jobs: int
    pages: tuple[Answers, ...]

    @property
    def p95_ms(self) -> float:
        """The 95th percentile of the slowest page."""
        return max(page.p95_ms for page in self.pages)

    @property
    def statements(self) -> int:
        """Statements of the page that needs most."""
        return max(page.statements for page in self.pages)


def measure(jobs: int = JOBS) -> tuple[Firm, Firm]:
    """Ask the invented firm, then one of so many jobs, for every page."""
    with tempfile.TemporaryDirectory() as folder:
        demo, big = Path(folder) / "demo.lastbee", Path(folder) / "big.lastbee"
        with Book.open(demo, NOW) as book:
            desk = Desk(book, lambda: NOW)
            desk.take_in(demo_entries(), strict=False)
            trapping = desk.cards(("trapping",)).cards
            running = max(trapping, key=lambda card: card.visits).job
        return _asked("the demo", demo, running), _asked("many jobs", big, make(big, jobs))


def report(found: tuple[Firm, ...]) -> list[str]:
    """Lines to print: the slowest pages of each firm."""
    lines = []
    for firm in found:
        lines.append(f"{firm.name}, {firm.jobs:,} jobs, {len(firm.pages)} pages; the slowest:")
        slowest = sorted(firm.pages, key=lambda page: -page.p95_ms)[:SHOWN]
        lines += [
            f"  p95 {page.p95_ms:6.1f} ms  {page.statements} statements  {page.address}"
            for page in slowest
        ]
    return lines


def _asked(name: str, path: Path, job: str) -> Firm:
    """Keep a forecast for one job, and ask for every page."""
    _keep_forecast(path, job)
    addresses = addresses_of(job)
    with Book.open(path, NOW) as book:
        jobs = Desk(book, lambda: NOW).cards().count
        client = TestClient(_app(book), base_url="http://localhost")
        statements = [_statements(book, client, address) for address in addresses]
    with _served(path) as url, httpx2.Client(base_url=url) as browser:
        times = [_p95_ms(browser, address) for address in addresses]
    pages = zip(addresses, times, statements, strict=True)
    return Firm(name, jobs, tuple(Answers(*page) for page in pages))


def addresses_of(job: str) -> list[str]:
    """Every page that a working day opens, on a firm in which one job is of interest."""
    return [
        "/", "/calls", "/calls/new", "/jobs", "/jobs?stage=trapping", "/jobs?q=weir+97",
        "/jobs?page=100", "/people", "/firm", "/saved", "/offline", "/today.json",
        *(f"/job/{job}{page}" for page in ("", "/standing", "/forecast", "/history")),
        *(f"/job/{job}/{kind}" for kind in KINDS),
    ]  # fmt: skip


def _keep_forecast(path: Path, job: str) -> None:
    with Book.open(path, NOW) as book:
        case = Desk(book, lambda: NOW).case(job)
        asked = fingerprint(case.record.tree)
        plan = plan_as_json(case.record.checked_job(), COLONIES)
        with book.writing() as writing:
            writing.ask_forecast(job, asked)
            writing.start_forecast(job, asked)
            writing.finish_forecast(job, asked, plan, NOW)


def _statements(book: Book, client: TestClient, address: str) -> int:
    with book.counting() as statements:
        client.get(address).raise_for_status()
    return len(statements)


def _p95_ms(browser: httpx2.Client, address: str) -> float:
    browser.get(address).raise_for_status()
    taken = []
    for _ in range(ASKED):
        start = time.perf_counter()
        browser.get(address)
        taken.append(1000.0 * (time.perf_counter() - start))
    return float(np.percentile(taken, 95))


def _app(book: Book) -> Starlette:
    return build_app(Desk(book, lambda: NOW), clock=lambda: NOW)


@contextmanager
def _served(path: Path) -> Iterator[str]:
    """Serve a firm's file from a process of its own."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "bench.pages", "--serve", str(path), str(port)]
    with subprocess.Popen(command) as server:
        try:
            _wait_for(port)
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()


def _wait_for(port: int) -> None:
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        with suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1.0):
            return
    raise TimeoutError(f"nobody answers on port {port}")


def _serve(path: Path, port: int) -> None:
    with Book.open(path, NOW) as book:
        uvicorn.run(_app(book), host="127.0.0.1", port=port, log_level="error")


def main(words: list[str]) -> None:
    """Measure and print."""
    if words[:1] == ["--serve"]:
        _serve(Path(words[1]), int(words[2]))
    else:
        print(*report(measure(int(words[0]) if words else JOBS)), sep="\n")


if __name__ == "__main__":
    main(sys.argv[1:])

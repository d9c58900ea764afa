"""A phone: a browser of its own, with a profile that outlives being killed."""

from __future__ import annotations

import os
import signal
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page, Playwright

CHROMIUM = Path("/usr/bin/chromium")
_ARGUMENTS = (
    "--headless=new", "--no-sandbox", "--remote-debugging-port=0", "--no-first-run",
    "--disable-gpu", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--window-size=412,915", "--disable-features=HttpsUpgrades",
    "--host-resolver-rules=MAP office.test 127.0.0.1",
)  # fmt: skip


class Phone:
    """A browser in a process of its own, started on a profile, that can be killed."""

    def __init__(self, playwright: Playwright, profile: Path) -> None:
        self._playwright = playwright
        self._profile = profile
        self._process: subprocess.Popen[str] | None = None
        self.start()

    def start(self) -> None:
        """Start it, on whatever the profile holds."""
        self._process = subprocess.Popen(
            [str(CHROMIUM), *_ARGUMENTS, f"--user-data-dir={self._profile}", "about:blank"],
            stderr=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            text=True,
            start_new_session=True,
        )
        browser = self._playwright.chromium.connect_over_cdp(self._address())
        self.context: BrowserContext = browser.contexts[0]
        self.context.set_default_timeout(30_000)

    def _address(self) -> str:
        assert self._process is not None
        assert self._process.stderr is not None
        for line in self._process.stderr:
            if "DevTools listening on" in line:
                return line.split()[-1]
        raise AssertionError("the browser did not start")

    @property
    def page(self) -> Page:
        """Its one page."""
        return self.context.pages[0]

    def kill(self) -> None:
        """Pull its battery: no page learns of it."""
        if self._process is None:
            return
        os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        assert self._process.stderr is not None
        self._process.stderr.close()
        self._process = None

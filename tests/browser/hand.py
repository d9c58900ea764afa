"""A hand on a phone: what it does to a page, with the app's scripts and without them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from playwright.sync_api import expect

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Locator, Page

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "service_workers": "block"}
JOB = re.compile(r"/job/([0-9a-f-]{36})(#.*)?$")
A_SECOND_MS = 1000


def hand_on_a_phone(browser: Browser, *, has_scripts: bool) -> Hand:
    """A phone without history, its scripts switched on or off."""
    page = browser.new_context(**PHONE, java_script_enabled=has_scripts).new_page()
    if has_scripts:
        # Before the first page, which takes the moment from it; it runs by itself until pushed.
        page.clock.install()
    page.set_default_timeout(10_000)
    expect.set_options(timeout=10_000)
    return Hand(page, has_scripts)


@dataclass(frozen=True, slots=True)
class Hand:
    """What a technician does to pages; every way also works where no script runs."""

    page: Page
    has_scripts: bool

    def press(self, name: str, *, role: Any = "button") -> None:
        """Press what is called so."""
        self.page.get_by_role(role, name=name, exact=True).tap()

    def choose(self, name: str, value: str) -> None:
        """Choose one of several values, or tick one."""
        self.page.locator(f'label:has(input[name="{name}"][value="{value}"])').tap()

    def write(self, name: str, value: str) -> None:
        """Write into a field."""
        self._field(name).fill(value)

    def step_to(self, name: str, value: float) -> None:
        """Set a number: by its buttons, or by hand where they do nothing."""
        field = self._field(name)
        if not self.has_scripts:
            field.fill(f"{value:g}")
            return
        more = self.page.locator(f'.stepper:has(input[name="{name}"]) [data-by="1"]')
        while (field.input_value() or "0") != f"{value:g}":
            more.tap()

    def count(self, counter: str, **seen: int) -> None:
        """Count bees for a minute: by taps against the clock, or by hand."""
        if self.has_scripts:
            self._tap(self.page.locator(f'[data-counter="{counter}"]'), counter, seen)
            return
        for pad, bees in seen.items():
            self.write(f"{counter}.{pad}", str(bees))
        self.write(f"{counter}.minutes", "1")

    def _tap(self, place: Locator, counter: str, seen: dict[str, int]) -> None:
        place.locator('[data-minutes="1"]').tap()
        place.locator("[data-do=start]").tap()
        for pad, bees in seen.items():
            for _ in range(bees):
                place.locator(f'[data-pad="{counter}.{pad}"]').tap()
        for _ in range(61):
            self.page.clock.run_for(A_SECOND_MS)
        expect(place.locator(".tally")).to_have_attribute("data-state", "done")
        for zero in place.locator(".zeros button").all():
            zero.tap()

    def unfold(self, title: str) -> None:
        """Open a folded part."""
        self.page.locator("summary").filter(has_text=title).tap()

    def keep(self, submit: str) -> str:
        """Press the button that keeps a form; gives the id of the job whose page follows."""
        self.press(submit)
        expect(self.page).to_have_url(JOB)
        return JOB.search(self.page.url)[1]

    def told_to_mend(self, submit: str, name: str) -> str:
        """Press the button that keeps a form; gives the sentence that leads to a field of it."""
        self.press(submit)
        problems = self.page.locator("#form-problems" if self.has_scripts else "#problems")
        link = problems.locator("li a")
        expect(self._field(name)).to_have_attribute("aria-invalid", "true")
        assert link.get_attribute("href") == f"#{self._field(name).get_attribute('id')}"
        return link.inner_text()

    def said(self, *names: str) -> Iterator[str]:
        """What stands in fields."""
        for name in names:
            yield self._field(name).input_value()

    def chosen(self, name: str) -> list[str]:
        """What is chosen or ticked."""
        ticked = self.page.locator(f'input[name="{name}"]:checked')
        return [one.get_attribute("value") or "" for one in ticked.all()]

    def _field(self, name: str) -> Locator:
        return self.page.locator(f':is(input, textarea)[name="{name}"]').first

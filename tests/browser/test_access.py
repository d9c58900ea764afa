"""Whether everybody can use every screen: rules, keyboard, large text, large fingers, own colours.

The rules are those of the Web Content Accessibility Guidelines 2.2, levels A and AA (W3C
Recommendation, 2023), and good practice, as far as a program can tell (axe-core).
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.browser.demo_screens import (
    RUNNING,
    SCREENS,
    TO_CLOSE,
    TO_DECIDE,
    TO_VISIT,
    demo_office,
)
from tests.browser.hand import JOB
from tests.browser.living_office import LivingOffice

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playwright.sync_api import Browser, BrowserContext, Page

    from tests.browser.working_office import WorkingOffice

pytestmark = pytest.mark.browser

ALL_RULES = {
    "type": "tag",
    "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
}
RULES_OF_COLOUR = {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}
"""The only ones whose answer can differ between day and night."""

SEEN = (Path(__file__).parent / "access.js").read_text("utf-8")
"""What the checks ask a page."""

WORD = "of-the-door"
PHONE = {"width": 390, "height": 844}
LEAST_PX = (44, 56)
"""Least side of a target, and of one to be pressed with gloves: level AAA of the guidelines
(2.5.5), and common practice, no source."""


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WorkingOffice]:
    office = demo_office(tmp_path_factory.mktemp("demo"), RUNNING, TO_DECIDE, TO_CLOSE)
    office.open()
    yield office
    office.end()


@pytest.fixture(scope="module")
def open_phone(browser: Browser) -> Iterator[Callable[..., BrowserContext]]:
    contexts: list[BrowserContext] = []

    def opened(**more: Any) -> BrowserContext:
        context = browser.new_context(viewport=PHONE, service_workers="block", **more)
        context.add_init_script(SEEN)
        contexts.append(context)
        return context

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture
def new_page(open_phone: Callable[..., BrowserContext]) -> Iterator[Callable[..., Page]]:
    pages: list[Page] = []

    def opened(**more: Any) -> Page:
        pages.append(open_phone(**more).new_page())
        return pages[-1]

    yield opened
    for page in pages:
        page.close()


@pytest.fixture
def checked_page(new_page: Callable[..., Page], checkers: Path) -> Page:
    page = new_page(reduced_motion="reduce")
    page.add_init_script(path=checkers / "axe-core" / "axe.min.js")
    return page


def show_all(page: Page) -> None:
    """Make the window as high as the page, so that nothing lies behind the bars."""
    height = page.evaluate("document.documentElement.scrollHeight")
    page.set_viewport_size({"width": 390, "height": min(height, 16_000)})


def broken_rules(page: Page, scheme: str, rules: dict[str, Any]) -> list[str]:
    page.emulate_media(color_scheme=scheme)
    found = page.evaluate(
        "rules => axe.run({ runOnly: rules, resultTypes: ['violations'] })", rules
    )
    return [
        f"{rule['id']}: {node['html'][:200]} {node['failureSummary'][:300]}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]


@pytest.mark.parametrize("name", SCREENS)
def test_everybody_can_use(checked_page: Page, office: WorkingOffice, name: str) -> None:
    page = checked_page
    SCREENS[name].open(page, office)
    found = {"too small": page.evaluate("least => access.tooSmall(...least)", LEAST_PX)}
    show_all(page)
    found["rules by day"] = broken_rules(page, "light", ALL_RULES)
    found["rules by night"] = broken_rules(page, "dark", RULES_OF_COLOUR)
    for enlarge in (zoom_in, enlarge_text):
        enlarge(page)
        found[f"cut off: {enlarge.__name__}"] = page.evaluate("access.cutOff()")
        found[f"out of reach: {enlarge.__name__}"] = page.evaluate("access.outOfReach()")
    assert {what: faults for what, faults in found.items() if faults} == {}


def zoom_in(page: Page) -> None:
    """Zoom of 200 %: half as many CSS pixels (guideline 1.4.10, reflow)."""
    page.set_viewport_size({"width": 195, "height": 422})


def enlarge_text(page: Page) -> None:
    """The reader's own text size is twice the usual one (guideline 1.4.4, resize text)."""
    page.set_viewport_size(PHONE)
    sizes = {"standard": 32, "fixed": 26}
    page.context.new_cdp_session(page).send("Page.setFontSizes", {"fontSizes": sizes})


@pytest.mark.parametrize("address", [f"/join/{WORD}", "/join/another", "/"])
def test_no_rule_is_broken_at_the_door(checked_page: Page, tmp_path: Path, address: str) -> None:
    office = LivingOffice(tmp_path, token=WORD)
    office.open()
    checked_page.goto(office.url + address)
    assert broken_rules(checked_page, "light", ALL_RULES) == []
    assert broken_rules(checked_page, "dark", RULES_OF_COLOUR) == []
    office.end()


@pytest.mark.parametrize("name", ["today", "job running", "form visit", "new call"])
def test_nothing_moves_for_those_who_ask_for_that(
    new_page: Callable[..., Page], office: WorkingOffice, name: str
) -> None:
    page = new_page(reduced_motion="reduce")
    SCREENS[name].open(page, office)
    assert page.evaluate("access.moving()") == []


@pytest.mark.parametrize("name", ["jobs", "form corrected", "new call, judged", "firm"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_what_is_chosen_is_seen_in_the_readers_own_colours(
    new_page: Callable[..., Page], office: WorkingOffice, name: str, scheme: str
) -> None:
    page = new_page(forced_colors="active", color_scheme=scheme)
    SCREENS[name].open(page, office)
    seen = page.evaluate("access.chosenAlike()")
    assert seen["pairs"] > 0
    assert seen["alike"] == []


class Keyboard:
    """Hands that have a keyboard alone: Tab, arrows, space and Enter."""

    def __init__(self, page: Page) -> None:
        self._page = page

    def tab_to(self, selector: str) -> None:
        """Go on with Tab; wherever the focus comes by, it must be seen."""
        for _ in range(300):
            self.press("Tab")
            if self._page.evaluate("s => document.activeElement.matches(s)", selector):
                return
        raise AssertionError(f"Tab never comes to {selector}")

    def press(self, key: str) -> None:
        self._page.keyboard.press(key)
        assert self._page.evaluate("access.focusFault()") == ""

    def choose(self, name: str, value: str) -> None:
        """Choose one of several, by arrows within them."""
        wanted = f'input[name="{name}"][value="{value}"]'
        self.tab_to(f'input[name="{name}"]')
        self.press("Space")
        for _ in range(12):
            if self._page.locator(wanted).is_checked():
                return
            self.press("ArrowDown")
        raise AssertionError(f"arrows never come to {wanted}")

    def write(self, name: str, text: str) -> None:
        self.tab_to(f'[name="{name}"]')
        self._page.keyboard.type(text)

    def keep(self, submit: str) -> None:
        """Go to the button that keeps the form; Enter brings the page of the job."""
        self.tab_to(f"main {submit}")
        self._page.keyboard.press("Enter")
        self._page.wait_for_url(JOB)


@pytest.fixture
def keys_page(new_page: Callable[..., Page]) -> Page:
    return new_page(reduced_motion="reduce")


def test_the_first_key_leads_past_the_header(keys_page: Page, office: WorkingOffice) -> None:
    keys_page.goto(office.url)
    keys = Keyboard(keys_page)
    keys.press("Tab")
    assert keys_page.evaluate("document.activeElement.matches('.skip')")
    keys_page.keyboard.press("Enter")
    assert keys_page.evaluate("document.activeElement.id") == "main"
    keys.press("Tab")
    assert keys_page.evaluate("document.activeElement.matches('main a, main button')")


@pytest.mark.parametrize("height", [844, 500])
def test_a_call_by_keyboard_alone(keys_page: Page, office: WorkingOffice, height: int) -> None:
    keys_page.set_viewport_size(PHONE | {"height": height})
    keys_page.goto(office.url)
    keys = Keyboard(keys_page)
    keys.tab_to('main a[href="/calls/new"]')
    keys_page.keyboard.press("Enter")
    keys_page.wait_for_url("**/calls/new")
    keys.write("client", "K. Board")
    keys.write("place", f"Keyboard House {height}")
    keys.choose("allergic_person", "no")
    keys.choose("answers.stung", "few")
    keys.choose("answers.where", "building")
    keys.write("inspect_on", "07162026")
    keys.choose("result", "inspection booked")
    keys.keep(".buttons button")
    record = office.record(JOB.search(keys_page.url)[1])
    assert record.place == f"Keyboard House {height}"
    (call,) = record.all("call")
    assert call.body["answers"] == {"stung": "few", "where": "building"}
    assert call.body["inspect_on"] == "2026-07-16"


@pytest.mark.parametrize("height", [844, 500])
def test_a_visit_by_keyboard_alone(keys_page: Page, office: WorkingOffice, height: int) -> None:
    job = office.job_titled(TO_VISIT)
    before = len(office.record(job).visits)
    keys_page.set_viewport_size(PHONE | {"height": height})
    keys_page.goto(f"{office.url}/job/{job}/visit")
    keys = Keyboard(keys_page)
    keys.choose("cone", "partly blocked")
    keys.tab_to('[data-minutes="10"]')
    keys.press("Space")
    keys.tab_to("[data-do=start]")
    keys.press("Enter")
    keys.tab_to('[data-pad="count.out"]')
    for _ in range(3):
        keys.press("Space")
    keys.tab_to('[name="count.out"]')
    keys_page.keyboard.type("3")
    keys.write("count.minutes", "10")
    keys.choose("dead_bees", "some")
    keys.tab_to('.stepper:has([name="box.frames_of_bees"]) [data-by="1"]')
    for _ in range(4):
        keys.press("Space")
    keys.tab_to('[name="did.closed_gap"]')
    keys.press("Space")
    keys.keep(".save button")
    visits = office.record(job).visits
    assert len(visits) == before + 1
    body = visits[-1].body
    assert (body["cone"], body["count"]) == ("partly blocked", {"out": 3, "minutes": 10})
    assert body["box"] == {"frames_of_bees": 2}
    assert body["did"] == {"closed_gap": True}

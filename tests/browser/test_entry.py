"""Entry by thumb in a real browser: counter, steppers, amounts; and all of it without scripts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from tests.browser.hand import PHONE
from tests.browser.living_office import LivingOffice

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

SMALLEST_PX = 56.0
"""Least side of what a gloved thumb presses: common practice, no source."""


@pytest.fixture
def office(tmp_path: Path) -> Iterator[LivingOffice]:
    living = LivingOffice(tmp_path)
    living.open()
    yield living
    living.end()


@pytest.fixture
def visit(browser: Browser, office: LivingOffice) -> Page:
    page = browser.new_context(**PHONE).new_page()
    page.clock.install()
    page.goto(f"{office.url}/job/{office.running_job}/visit")
    page.locator(".tally").first.wait_for()
    return page


def values(page: Page, *names: str) -> list[str]:
    return [page.locator(f'input[name="{name}"]').input_value() for name in names]


def test_taps_are_counted_against_the_clock_and_written(visit: Page) -> None:
    counter = visit.locator('[data-counter="count"]')
    counter.locator('[data-minutes="1"]').click()
    counter.locator('[data-pad="count.out"]').tap(force=True)  # before the start: no bee
    counter.locator("[data-do=start]").click()
    for _ in range(10):
        visit.clock.run_for(1000)
        counter.locator('[data-pad="count.out"]').tap()
    counter.locator("[data-do=undo]").click()
    # Gone and come back: the clock stood still, the bees are still there.
    visit.reload()
    expect(counter.locator(".tally")).to_have_attribute("data-state", "paused")
    assert counter.locator('[data-pad="count.out"] .number').inner_text() == "9"
    counter.locator("[data-do=start]").click()
    visit.clock.run_for(61_000)
    expect(counter.locator(".tally")).to_have_attribute("data-state", "done")
    assert values(visit, "count.out", "count.back_in", "count.minutes") == ["9", "", "1"]
    # A zero is a finding only for those who say that they watched.
    counter.locator(".zeros button").click()
    assert values(visit, "count.back_in") == ["0"]


def test_a_count_stopped_too_soon_says_so_at_once_and_goes_on(visit: Page) -> None:
    """Half a minute is the least: docs/job-file.md."""
    counter = visit.locator('[data-counter="count"]')
    start, state = counter.locator("[data-do=start]"), counter.locator(".state")
    counter.locator('[data-minutes="1"]').click()
    start.click()
    for _ in range(10):
        visit.clock.run_for(1000)
    counter.locator('[data-pad="count.out"]').tap()
    start.click()
    expect(state).to_contain_text("30 s is the least")
    assert values(visit, "count.out", "count.minutes") == ["", ""]
    start.click()
    for _ in range(25):
        visit.clock.run_for(1000)
    start.click()
    expect(counter.locator(".tally")).to_have_attribute("data-state", "done")
    assert values(visit, "count.out") == ["1"]
    assert float(values(visit, "count.minutes")[0]) >= 0.5


def test_steps_and_amounts_by_thumb(visit: Page) -> None:
    frames = visit.locator('.stepper:has(input[name="box.frames_of_bees"])')
    for by in (1, 1, 1, -1):
        frames.locator(f'[data-by="{by}"]').click()
    assert values(visit, "box.frames_of_bees") == ["1"]
    expect(visit.locator('input[name="did.fed"]')).to_be_hidden()
    visit.locator('label:has(input[name="did.fed:tick"])').click()
    expect(visit.locator('input[name="did.fed"]')).to_be_visible()


def test_everything_to_press_is_large_enough_and_nothing_is_cut_off(visit: Page) -> None:
    for part in visit.locator("form.entry details").all():
        part.evaluate("part => { part.open = true }")
    pressed = "button, .segment, select, summary, input:not([type=hidden], .segment input)"
    small = [
        (one.inner_text(), box)
        for one in visit.locator(f"form.entry :is({pressed})").all()
        if (box := one.bounding_box()) and min(box["height"], box["width"]) < SMALLEST_PX - 0.5
    ]
    assert small == []
    assert visit.evaluate("document.documentElement.scrollWidth") == 390


def test_a_visit_without_scripts(browser: Browser, office: LivingOffice) -> None:
    page = browser.new_context(**PHONE, java_script_enabled=False).new_page()
    page.goto(f"{office.url}/job/{office.running_job}/visit")
    page.locator('label:has(input[name="cone"][value="blocked"])').click()
    page.fill('input[name="count.out"]', "3")
    page.fill('input[name="count.minutes"]', "10")
    page.fill('input[name="temperature"]', "warm")
    page.locator(".save button").click()
    assert "Air, in the shade is" in page.locator("#problems").inner_text()
    assert values(page, "count.out", "temperature") == ["3", "warm"]
    page.fill('input[name="temperature"]', "19")
    page.locator(".save button").click()
    page.wait_for_url(f"**/job/{office.running_job}")
    assert office.told("visit")[-1].body["count"] == {"out": 3, "minutes": 10}


def test_who_writes_is_remembered_on_every_form(visit: Page, office: LivingOffice) -> None:
    visit.locator("#person").fill("T. Wick")
    visit.locator("#person").blur()
    visit.goto(f"{office.url}/calls/new")
    expect(visit.locator("#person")).to_have_value("T. Wick")
    first = office.told("visit")[0].entry.id
    visit.goto(f"{office.url}/job/{office.running_job}/correct/{first}")
    for field in visit.locator("[name=person]").all():
        expect(field).to_have_value("T. Wick")


def test_the_name_given_in_a_call_signs_what_is_taken_back(
    visit: Page, office: LivingOffice
) -> None:
    visit.goto(f"{office.url}/calls/new")
    expect(visit.locator("#saved-state")).to_have_text("All saved at the office")
    visit.locator("#person").fill("T. Wick")
    first = office.told("visit")[0].entry.id
    visit.goto(f"{office.url}/job/{office.running_job}/correct/{first}")
    expect(visit.locator("#taken-back-by")).to_have_value("T. Wick")
    visit.locator(".take-back summary").click()
    visit.locator("[name=withdrawn]").fill("Another wall")
    visit.locator(".take-back button").click()
    visit.wait_for_url(f"**/job/{office.running_job}")
    (back,) = (one for one in office.entries() if one.is_withdrawal)
    assert back.person == "T. Wick"

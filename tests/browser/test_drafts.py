"""Half-filled forms come back, kept ones become corrections, and what is kept leads to the top."""

from __future__ import annotations

import re
from itertools import pairwise
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


@pytest.fixture
def office(tmp_path: Path) -> Iterator[LivingOffice]:
    living = LivingOffice(tmp_path)
    living.open()
    yield living
    living.end()


@pytest.fixture
def page(browser: Browser) -> Page:
    page = browser.new_context(**PHONE).new_page()
    page.set_default_timeout(10_000)
    return page


def form_of(office: LivingOffice, kind: str) -> str:
    return f"{office.url}/job/{office.running_job}/{kind}"


def open_form(page: Page, address: str) -> None:
    """Open a form, until what was left in it would be there."""
    page.goto(address)
    expect(page.locator("#saved-state")).to_have_text("All saved at the office")


def keep(page: Page) -> None:
    page.locator("form.entry .save button").click()
    page.wait_for_url(re.compile(r"/job/[0-9a-f-]{36}$"))


def test_what_is_kept_leads_to_the_top_of_the_job(page: Page, office: LivingOffice) -> None:
    open_form(page, form_of(office, "visit"))
    page.locator('label:has(input[name="cone"][value="blocked"])').click()
    keep(page)
    expect(page.locator("#leaving")).to_be_in_viewport()
    assert page.evaluate("scrollY") == 0


def test_every_alarm_that_holds_stands_at_once(page: Page, office: LivingOffice) -> None:
    open_form(page, f"{office.url}/calls/new")
    alarms = page.locator(".at-once p")
    for sort in ("allergic", "indoors", "emergency"):
        page.locator(f"input.{sort}").first.check()
        expect(page.locator(f".at-once .{sort}")).to_be_in_viewport(ratio=1)
    boxes = [one.bounding_box() for one in alarms.all()]
    for above, below in pairwise(boxes):
        assert above
        assert below
        assert above["y"] + above["height"] <= below["y"] + 0.5
    # What was answered last is not covered by what is told.
    answered = page.locator("input.emergency:checked").bounding_box()
    assert answered
    assert answered["y"] >= boxes[-1]["y"] + boxes[-1]["height"]


def test_a_half_filled_form_outlives_reload_units_and_the_tab(
    page: Page, office: LivingOffice
) -> None:
    open_form(page, form_of(office, "visit"))
    page.locator('label:has(input[name="cone"][value="blocked"])').click()
    page.locator('label:has(input[name="did.fed:tick"])').click()
    page.fill('input[name="did.fed"]', "2")
    page.fill('input[name="temperature"]', "19")
    page.select_option('select[name="temperature:unit"]', "C")

    def is_as_it_was(here: Page) -> None:
        expect(here.locator(".filled-again")).to_have_count(1)
        expect(here.locator('input[name="cone"][value="blocked"]')).to_be_checked()
        expect(here.locator('input[name="did.fed:tick"]')).to_be_checked()
        expect(here.locator('input[name="did.fed"]')).to_have_value("2")
        expect(here.locator('input[name="temperature"]')).to_have_value("19")
        expect(here.locator('select[name="temperature:unit"]')).to_have_value("C")

    page.reload()
    is_as_it_was(page)
    page.locator(".units a", has_text="US").click()
    page.wait_for_url("**units=us")
    is_as_it_was(page)
    # The unit of an amount that nobody wrote is the one of the page.
    assert page.locator('select[name="wall.hum_span:unit"]').input_value() != "cm"
    other = page.context.new_page()
    page.close()
    open_form(other, form_of(office, "visit"))
    is_as_it_was(other)
    other.get_by_role("button", name="Begin anew").click()
    expect(other.locator('input[name="temperature"]')).to_have_value("")
    expect(other.locator(".filled-again")).to_have_count(0)


def test_a_draft_goes_when_its_entry_is_kept(page: Page, office: LivingOffice) -> None:
    open_form(page, form_of(office, "note"))
    page.locator("[name=text]").fill("Key is at the mill.")
    keep(page)
    open_form(page, form_of(office, "note"))
    expect(page.locator("[name=text]")).to_have_value("")
    expect(page.locator(".filled-again")).to_have_count(0)


def test_going_back_to_what_was_kept_corrects_it(page: Page, office: LivingOffice) -> None:
    before = len(office.told("visit"))
    open_form(page, form_of(office, "visit"))
    page.locator('label:has(input[name="cone"][value="blocked"])').click()
    page.fill('[name="notes"]', "Drones in the cone")
    keep(page)
    page.go_back()
    expect(page.locator(".filled-again")).to_contain_text("correction")
    expect(page.locator('[name="notes"]')).to_have_value("Drones in the cone")
    page.fill('[name="notes"]', "Drones in the cone, cleared")
    keep(page)
    told = office.told("visit")
    assert len(told) == before + 1
    assert told[-1].body["notes"] == "Drones in the cone, cleared"
    assert told[-1].body["cone"] == "blocked"
    # Whoever opens the form from the job writes another visit.
    open_form(page, form_of(office, "visit"))
    page.locator('label:has(input[name="cone"][value="clear"])').click()
    page.fill('[name="time"]', "07:00")
    keep(page)
    for one in office.entries():
        print("E", one.id, one.kind, one.replaces, one.written_at, one.body)
    for one in office.told("visit"):
        print("T", one.entry.id, [e.id for e in one.earlier])
    assert len(office.told("visit")) == before + 2


def test_what_was_written_anew_while_it_was_sent_is_not_lost(
    page: Page, office: LivingOffice
) -> None:
    open_form(page, form_of(office, "note"))
    left = page.evaluate(
        """async () => {
            const folder = document.querySelector("script[src*='app.js']").src;
            const { openKept } = await import(new URL("kept.js", folder));
            const kept = await openKept("another");
            const item = { id: "a", job: "", kind: "note", title: "", fields: [], files: [] };
            await kept.put({ ...item, writtenAt: "first" });
            await kept.put({ ...item, writtenAt: "second" });
            await kept.acknowledge("a", 1, [], "first");
            const after = await kept.item("a");
            await kept.acknowledge("a", 2, [], "second");
            return [after?.writtenAt, await kept.item("a")];
        }"""
    )
    assert left == ["second", None]

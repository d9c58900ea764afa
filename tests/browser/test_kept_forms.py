"""Forms on the phone, in a real browser: mended at the field, kept as drafts, one id an entry."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from playwright.sync_api import expect
from web_factory import entry

from tests.browser.at_the_wall import (
    ALL_SAVED,
    bring_along,
    chip,
    open_form,
    photograph,
    write_visit,
)

pytestmark = pytest.mark.browser


def test_a_sentence_at_a_field_goes_once_it_is_mended_and_a_folded_part_opens(office, new_phone):
    page = new_phone().page
    open_form(page, f"{office.url}/job/{office.running_job}/visit")
    hum = page.locator('[name="wall.hum_span"]')
    for value, field in (("loud", "wall.hum_span"), ("40", "temperature")):
        hum.evaluate(f"field => field.value = '{value}'")
        page.locator("[name=temperature]").evaluate("field => field.value = 'warm'")
        page.locator("form[data-entry=visit] .save button").click()
        expect(page.locator(f'[name="{field}"]')).to_be_visible()
        expect(page.locator(f'.field:has([name="{field}"]) .wrong')).to_have_count(1)
    expect(page.locator('.field:has([name="wall.hum_span"]) .wrong')).to_have_count(0)
    assert hum.get_attribute("aria-invalid") is None
    assert hum.get_attribute("aria-describedby") is None


def test_a_draft_keeps_words_that_its_page_no_longer_offers(office, new_phone):
    """Ways and lists of a form follow the forecast, which may be another by then."""
    page, job = new_phone().page, office.running_job
    open_form(page, f"{office.url}/job/{job}/close-out")
    page.locator('label:has([name="way"][value="close as it is"])').click()
    ticked = page.locator('[name="done"]').first
    ticked.evaluate("tick => { tick.value = 'Swept the sill'; tick.checked = true; }")
    page.get_by_role("button", name="Keep this close-out").click()
    expect(page.locator("#form-problems")).to_be_focused()
    page.goto(f"{office.url}/saved")
    page.get_by_role("link", name="Mend it").click()
    expect(page.locator("#form-problems")).to_be_focused()
    page.locator("[name=reason]").fill("The owner moves in.")
    page.get_by_role("button", name="Keep this close-out").click()
    page.wait_for_url(re.compile(r"/job/[0-9a-f-]{36}(#.*)?$"))
    closed = office.desk.case(job).record.close_out
    assert closed is not None
    assert closed.entry.body["done"] == ["Swept the sill"]


def test_a_draft_fills_the_form_that_it_was_written_in_and_no_other(office, new_phone):
    page = new_phone().page
    first = office.told("visit")[0].entry.id
    open_form(page, f"{office.url}/job/{office.running_job}/correct/{first}")
    page.locator('[name="count.minutes"]').evaluate("field => field.value = '9000'")
    page.locator("form[data-entry=visit] .save button").click()
    expect(page.locator("#form-problems")).to_be_focused()
    page.goto(f"{office.url}/saved")
    page.get_by_role("link", name="Mend it").click()
    expect(page.locator('[name="count.minutes"]')).to_have_value("9000")
    ids = page.locator("[name=entry_id]").evaluate_all("fields => fields.map(f => f.value)")
    assert len(set(ids)) == 2
    expect(page.locator("#form-problems")).to_have_count(1)


def test_photographs_too_heavy_to_be_sent_are_told_of_before_they_wait(office, new_phone):
    page = new_phone().page
    open_form(page, f"{office.url}/job/{office.running_job}/photo")
    page.locator("form[data-entry=photo]").evaluate("form => { form.dataset.mostBytes = 100_000 }")
    page.locator("input[type=file]").set_input_files(
        {"name": "w.jpg", "mimeType": "image/jpeg", "buffer": photograph(600, 400)}
    )
    page.locator("[name=caption]").fill("The wall at noon")
    page.locator("form[data-entry=photo] .save button").click()
    expect(page.locator("#form-problems")).to_contain_text("choose fewer at once")
    expect(page.locator("[name=caption]")).to_have_value("The wall at noon")
    expect(chip(page)).to_have_text(ALL_SAVED)


def test_two_people_from_one_kept_page_are_two_people(office, new_phone):
    page = new_phone().page
    bring_along(page, office)
    open_form(page, f"{office.url}/people/new/person")
    ids = set()
    office.close()
    for _ in range(2):
        open_form(page, f"{office.url}/people/new/person")
        expect(page.locator("#copy-state")).to_be_visible()
        ids.add(page.locator("[name=entry_id]").input_value())
    assert len(ids) == 2


def test_a_page_that_comes_back_as_it_was_left_is_asked_for_anew(office, new_phone):
    """HTML: "persisted" says that a page was kept whole and shown again, as by the back button."""
    page = new_phone().page
    back = "() => window.dispatchEvent(new PageTransitionEvent('pageshow', { persisted: true }))"
    page.goto(f"{office.url}/job/{office.running_job}")
    expect(chip(page)).to_have_text(ALL_SAVED)
    note = entry(80, "note", {"date": "2026-07-14", "text": "Key is at the mill."}, 0)
    office.desk.take_in([replace(note, job=office.running_job)], strict=True)
    page.evaluate(back)
    expect(page.locator(".record")).to_contain_text("Key is at the mill.")
    open_form(page, f"{office.url}/job/{office.running_job}/note")
    expect(chip(page)).to_have_text(ALL_SAVED)
    page.locator("[name=text]").fill("Not kept yet")
    page.evaluate(back)
    page.evaluate("() => new Promise(requestAnimationFrame)")
    expect(page.locator("[name=text]")).to_have_value("Not kept yet")


def test_what_cannot_be_used_is_kept_all_the_same_and_led_back_to(office, new_phone):
    page = new_phone().page
    bring_along(page, office)
    page.context.set_offline(True)
    office.close()
    write_visit(page, office, minutes=9000, out=4, cone="clear")
    expect(chip(page)).to_have_text("1 on this phone only")
    office.open()
    page.context.set_offline(False)
    expect(chip(page)).to_have_text(ALL_SAVED)
    page.goto(f"{office.url}/saved")
    sent = page.locator("[data-saved=sent]")
    expect(sent).to_contain_text("9000")
    sent.get_by_role("link", name="Mend it").click()
    expect(page.locator('[name="count.minutes"]')).to_have_value("9000")

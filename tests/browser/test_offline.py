"""Work without signal, in a real browser: nothing is lost, nothing is there twice."""

from __future__ import annotations

import io
import re
from collections import Counter

import pytest
from playwright.sync_api import expect

from tests.browser.at_the_wall import (
    ALL_SAVED,
    bring_along,
    chip,
    open_form,
    photograph,
    write_visit,
)
from tests.browser.living_office import PATIENCE_S, LivingOffice

pytestmark = pytest.mark.browser


def test_a_visit_without_signal_is_advised_on_kept_and_sent_later(office, new_phone):
    page = new_phone().page
    bring_along(page, office)
    before = len(office.told("visit"))
    page.context.set_offline(True)
    office.close()

    page.goto(f"{office.url}/job/{office.running_job}")
    expect(page.locator("#copy-state")).to_have_text("Copy of 08:00, no signal")
    write_visit(page, office, minutes=5, out=0, cone="blocked")
    expect(page.get_by_role("heading", name="Kept on this phone")).to_be_focused()
    expect(page.locator("#before-leaving")).to_contain_text("Clear dead bees and drones")
    expect(page.locator("#last-forecast")).to_be_visible()
    expect(chip(page)).to_have_text("1 on this phone only")
    page.goto(f"{office.url}/job/{office.running_job}")
    expect(page.locator("#not-yet-sent")).to_contain_text("visit")

    office.open()
    page.context.set_offline(False)
    expect(chip(page)).to_have_text(ALL_SAVED)
    assert len(office.told("visit")) == before + 1
    assert office.told("visit")[-1].body["cone"] == "blocked"
    page.goto(f"{office.url}/job/{office.running_job}")
    expect(page.locator("#copy-state")).to_have_count(0)
    expect(page.locator("#not-yet-sent")).to_have_count(0)
    last = office.told("visit")[-1].entry.id
    expect(page.locator(f'[id="entry-{last}"]')).to_have_count(1)


def test_what_was_sent_twice_is_there_once(office, new_phone):
    """The answer to the first sending gets lost, as where the signal fails at that moment."""
    page = new_phone().page
    open_form(page, f"{office.url}/job/{office.running_job}/note")
    before = len(office.entries())
    sent = []

    def lose_the_answer(route):
        sent.append(route.request.headers.get("x-outbox"))
        route.fetch()
        route.abort()

    page.route("**/note", lambda route: lose_the_answer(route) if route.request.method == "POST"
               else route.continue_(), times=1)  # fmt: skip
    page.locator("[name=text]").fill("Key is at the mill.")
    page.locator("form[data-entry=note] .save button").click()
    expect(page.get_by_role("heading", name="Kept on this phone")).to_be_visible()
    assert len(office.entries()) == before + 1
    page.goto(f"{office.url}/saved")
    expect(chip(page)).to_have_text(ALL_SAVED)
    assert sent == [None]
    assert len(office.entries()) == before + 1


def test_a_phone_killed_in_the_middle_of_a_picture_loses_nothing(office, new_phone):
    phone = new_phone()
    taken = photograph(1600, 1200)
    open_form(phone.page, f"{office.url}/job/{office.running_job}/photo")
    office.gate.is_shut = True
    phone.page.locator("input[type=file]").set_input_files(
        {"name": "wall.jpg", "mimeType": "image/jpeg", "buffer": taken}
    )
    phone.page.locator("[name=caption]").fill("The wall at noon")
    phone.page.locator("form[data-entry=photo] .save button").click()
    assert office.gate.halted.wait(PATIENCE_S)
    phone.kill()
    assert office.gate.cut_off.wait(PATIENCE_S)
    assert office.told("photo") == []

    office.gate.is_shut = False
    phone.start()
    phone.page.goto(office.url)
    expect(chip(phone.page)).to_have_text(ALL_SAVED)
    (photo,) = office.told("photo")
    assert photo.body["caption"] == "The wall at noon"
    kept = office.picture(photo.body["picture"])
    assert kept is not None
    assert _size(kept) == _size(taken)
    phone.page.goto(f"{office.url}/saved")
    phone.page.reload()
    expect(chip(phone.page)).to_have_text(ALL_SAVED)
    assert len(office.told("photo")) == 1


def _size(jpeg: bytes) -> tuple[int, int]:
    from PIL import Image

    return Image.open(io.BytesIO(jpeg)).size


def test_two_phones_without_signal_for_a_day_are_merged_without_loss(office, new_phone):
    phones = [new_phone().page, new_phone().page]
    for page in phones:
        bring_along(page, office)
        first = office.told("visit")[0].entry.id
        open_form(page, f"{office.url}/job/{office.running_job}/correct/{first}")
    before = Counter(one.kind for one in office.entries())
    office.close()

    for number, page in enumerate(phones):
        page.context.set_offline(True)
        page.locator("[name=notes]").evaluate(f"field => field.value = 'Corrected by {number}'")
        page.locator("form[data-entry=visit] .save button").click()
        expect(chip(page)).to_have_text("1 on this phone only")
        for out in (number, number + 10):
            write_visit(page, office, minutes=10, out=out, cone="clear")
            expect(page.get_by_role("heading", name="Kept on this phone")).to_be_visible()
        open_form(page, f"{office.url}/job/{office.running_job}/note")
        page.locator("[name=text]").fill(f"Note of phone {number}")
        page.locator("form[data-entry=note] .save button").click()
        expect(chip(page)).to_have_text("4 on this phone only")

    office.open()
    for page in phones:
        page.context.set_offline(False)
        expect(chip(page)).to_have_text(ALL_SAVED)
    after = Counter(one.kind for one in office.entries())
    assert after - before == Counter({"visit": 6, "note": 2})
    notes = {told.body["text"] for told in office.told("note")}
    assert {"Note of phone 0", "Note of phone 1"} <= notes
    corrected = [one.body["notes"] for one in office.entries() if one.replaces]
    assert sorted(corrected) == ["Corrected by 0", "Corrected by 1"]
    page = phones[0]
    page.goto(f"{office.url}/job/{office.running_job}/history")
    for number in (0, 1):
        expect(page.locator("main")).to_contain_text(f"Corrected by {number}")


def test_what_is_to_be_mended_is_told_at_the_form_while_there_is_signal(office, new_phone):
    page = new_phone().page
    before = len(office.entries())
    write_visit(page, office, minutes=9000, out=4, cone="clear")
    problems = page.locator("#form-problems")
    expect(problems).to_be_focused()
    expect(problems).to_contain_text("9000")
    # The sentence stands at its field too, tied to it as on the office's own page.
    minutes = page.locator('[name="count.minutes"]')
    expect(minutes).to_have_attribute("aria-invalid", "true")
    said = page.locator(f'[id="{minutes.get_attribute("aria-describedby")}"]')
    expect(said).to_contain_text("9000")
    expect(chip(page)).to_have_text("1 to mend, on this phone only")
    assert len(office.entries()) == before

    page.goto(f"{office.url}/saved")
    page.get_by_role("link", name="Mend it").click()
    minutes = page.locator('[name="count.minutes"]')
    expect(minutes).to_have_value("9000")
    minutes.evaluate("field => field.value = '5'")
    page.locator("form[data-entry=visit] .save button").click()
    page.wait_for_url(re.compile(r"/job/[0-9a-f-]{36}(#.*)?$"))
    expect(chip(page)).to_have_text(ALL_SAVED)
    assert len(office.entries()) == before + 1


def test_two_calls_from_one_kept_page_are_two_jobs(office, new_phone):
    page = new_phone().page
    bring_along(page, office)
    before = office.desk.cards().count
    page.context.set_offline(True)
    office.close()
    for place in ("Mill Row 1", "Mill Row 2"):
        open_form(page, f"{office.url}/calls/new")
        page.locator("[name=place]").evaluate(f"field => field.value = '{place}'")
        page.get_by_role("button", name="Save the call").click()
        expect(page.get_by_role("heading", name="Kept on this phone")).to_be_visible()
    office.open()
    page.context.set_offline(False)
    expect(chip(page)).to_have_text(ALL_SAVED)
    assert office.desk.cards().count == before + 2


def test_what_waits_can_be_seen_and_rescued_as_text(office, new_phone):
    page = new_phone().page
    bring_along(page, office)
    page.context.set_offline(True)
    office.close()
    open_form(page, f"{office.url}/job/{office.running_job}/note")
    page.locator("[name=text]").fill("Ladder stays at the mill.")
    page.locator("form[data-entry=note] .save button").click()
    page.goto(f"{office.url}/saved")
    card = page.locator("[data-saved=waiting] .card")
    expect(card).to_contain_text("no signal")
    card.locator("summary").click()
    expect(card.locator("details")).to_contain_text("Ladder stays at the mill.")
    expect(page.locator("[data-saved=pages]")).to_contain_text("as of 14 Jul, 08:00")
    card.get_by_role("button", name="Throw away").click()
    expect(card).to_have_count(1)
    card.get_by_role("button", name="nowhere else").click()
    expect(card).to_have_count(0)


def test_pictures_wait_no_larger_than_they_need_be(office, new_phone):
    page = new_phone().page
    bring_along(page, office)
    page.context.set_offline(True)
    office.close()
    open_form(page, f"{office.url}/job/{office.running_job}/photo")
    page.locator("input[type=file]").set_input_files(
        {"name": "w.jpg", "mimeType": "image/jpeg", "buffer": photograph(3000, 2000)}
    )
    page.locator("form[data-entry=photo] .save button").click()
    expect(page.get_by_role("heading", name="Kept on this phone")).to_be_visible()
    waiting = page.evaluate(
        """() => new Promise((resolve) => {
            indexedDB.open("lastbee").onsuccess = ({ target: { result: db } }) => {
                const asked = db.transaction("items").objectStore("items").getAll();
                asked.onsuccess = async () => {
                    const [[, file]] = asked.result[0].files;
                    const { width, height } = await createImageBitmap(new Blob([file.bytes]));
                    resolve([width, height, file.type]);
                };
            };
        })"""
    )
    assert waiting == [1600, 1067, "image/jpeg"]


def test_where_nothing_can_be_kept_it_is_sent_straight_away_or_given_back(office, new_phone):
    """A private window in some browsers: the database cannot be opened."""
    page = new_phone().page
    page.add_init_script("indexedDB.open = () => { throw new DOMException('', 'SecurityError') }")
    open_form(page, f"{office.url}/job/{office.running_job}/note")
    expect(chip(page)).to_have_text("Nothing can be kept on this phone")
    page.locator("[name=text]").fill("Key is at the mill.")
    office.close()
    page.locator("form[data-entry=note] .save button").click()
    problems = page.locator("#form-problems")
    expect(problems).to_contain_text("There is no signal either")
    problems.get_by_role("button", name="Copy as text").click()
    office.open()
    page.locator("form[data-entry=note] .save button").click()
    page.wait_for_url(re.compile(r"/job/[0-9a-f-]{36}$"))
    assert [told.body["text"] for told in office.told("note")] == ["Key is at the mill."]


def test_without_a_certificate_entries_are_kept_though_pages_are_not(tmp_path, new_phone):
    """Secure Contexts (W3C): browsers start no worker on a plain name over http."""
    office = LivingOffice(tmp_path, hosts=("office.test",))
    office.open()
    here = office.url.replace("localhost", "office.test")
    page = new_phone().page
    page.goto(f"{here}/saved")
    expect(page.locator("[data-saved=pages]")).to_contain_text("with a certificate")
    open_form(page, f"{here}/job/{office.running_job}/note")
    page.context.set_offline(True)
    page.locator("[name=text]").fill("Ladder stays at the mill.")
    page.locator("form[data-entry=note] .save button").click()
    expect(chip(page)).to_have_text("1 on this phone only")
    page.context.set_offline(False)
    expect(chip(page)).to_have_text(ALL_SAVED)
    assert [told.body["text"] for told in office.told("note")] == ["Ladder stays at the mill."]
    office.end()


def test_nothing_private_stays_on_a_device_that_no_longer_belongs_to_the_firm(tmp_path, new_phone):
    office = LivingOffice(tmp_path, token="the-office's-own")  # noqa: S106
    office.open()
    page = new_phone().page
    page.goto(f"{office.url}/join/the-office's-own")
    page.locator("[name=name]").fill("Ladder phone")
    page.get_by_role("button", name="Join").click()
    page.wait_for_url(f"{office.url}/")
    bring_along(page, office)
    page.context.clear_cookies()
    page.goto(office.url)
    expect(page.get_by_role("heading")).to_contain_text("has not joined the firm")
    left = "async () => (await caches.keys()).filter((name) => !name.includes('files'))"
    assert page.evaluate(left) == []
    office.end()


def test_a_job_that_was_just_opened_is_ready_for_no_signal(office, new_phone):
    """Without waiting for the list of all that is worth keeping, which was fetched just now."""
    page, job = new_phone().page, office.running_job
    bring_along(page, office)
    page.evaluate(
        """async (job) => {
            const kept = await caches.open("lastbee-pages");
            const ours = (await kept.keys()).filter(({ url }) => url.includes(job));
            await Promise.all(ours.map((one) => kept.delete(one)));
        }""",
        job,
    )
    page.goto(f"{office.url}/job/{job}")
    forms = page.locator(f'main a.button[href^="/job/{job}/"]').evaluate_all(
        "links => links.map((link) => link.getAttribute('href'))"
    )
    assert f"/job/{job}/note" in forms
    page.evaluate(
        """async (forms) => {
            const kept = await caches.open("lastbee-pages");
            const end = performance.now() + 30_000;
            const isKept = async () =>
                (await Promise.all(forms.map((form) => kept.match(form)))).every(Boolean);
            while (!(await isKept())) {
                if (performance.now() > end) throw new Error("the job's forms are not kept");
                await new Promise(requestAnimationFrame);
            }
        }""",
        forms,
    )
    page.context.set_offline(True)
    office.close()
    page.goto(f"{office.url}/job/{job}/note")
    expect(page.locator("#copy-state")).to_be_visible()
    expect(page.locator("[name=text]")).to_be_visible()


def test_a_page_that_is_not_kept_says_so(office, new_phone):
    page = new_phone().page
    bring_along(page, office)
    office.close()
    page.goto(f"{office.url}/jobs?stage=over&q=nobody")
    expect(page.get_by_role("heading", level=1)).to_have_text("This page is not kept on this phone")


def test_no_page_of_this_part_breaks_the_rules_for_content(office, new_phone):
    """Content Security Policy (W3C): what breaks it is told on the console."""
    page = new_phone().page
    told: list[str] = []
    page.on("console", lambda message: told.append(message.text))
    page.on("pageerror", lambda error: told.append(str(error)))
    bring_along(page, office)
    for address in ("/saved", "/offline", f"/job/{office.running_job}/visit"):
        page.goto(office.url + address)
        expect(chip(page)).to_have_text(ALL_SAVED)
    assert told == []

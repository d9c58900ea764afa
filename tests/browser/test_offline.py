"""Work without signal, in a real browser: nothing is lost, nothing is there twice."""

from __future__ import annotations

import io
import re
from collections import Counter
from typing import TYPE_CHECKING

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

from tests.browser.living_office import PATIENCE_S, LivingOffice  # noqa: E402
from tests.browser.phone import CHROMIUM, Phone  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Page

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not CHROMIUM.exists(), reason=f"{CHROMIUM} is not installed"),
]
expect = playwright.expect
ALL_SAVED = "All saved at the office"


@pytest.fixture
def office(tmp_path: Path) -> Iterator[LivingOffice]:
    living = LivingOffice(tmp_path)
    living.open()
    yield living
    living.end()


@pytest.fixture
def new_phone(tmp_path: Path) -> Iterator[Callable[[], Phone]]:
    phones: list[Phone] = []
    with playwright.sync_playwright() as running:

        def started() -> Phone:
            phones.append(Phone(running, tmp_path / f"phone-{len(phones)}"))
            return phones[-1]

        yield started
        for phone in phones:
            phone.kill()


def chip(page: Page):
    return page.locator("#saved-state")


def bring_along(page: Page, office: LivingOffice) -> None:
    """Open the app once with signal, until all that it wants to keep is kept."""
    page.goto(office.url)
    page.evaluate(
        """async () => {
            const isDone = async () => {
                if (!navigator.serviceWorker.controller) return false;
                const { pages } = await (await fetch("/today.json")).json();
                const kept = await caches.open("lastbee-pages");
                const there = await Promise.all(pages.map(({ url }) => kept.match(url)));
                missing = pages.filter((_, place) => !there[place]).map(({ url }) => url);
                return missing.length === 0;
            };
            let missing = ["the worker"];
            const end = performance.now() + 30_000;
            while (!(await isDone())) {
                if (performance.now() > end) throw new Error(`not kept: ${missing}`);
                await new Promise(requestAnimationFrame);
            }
        }"""
    )


def write_visit(page: Page, office: LivingOffice, *, minutes: int, out: int, cone: str) -> None:
    page.goto(f"{office.url}/job/{office.running_job}/visit")
    page.locator(f'label:has(input[name="cone"][value="{cone}"])').click()
    for name, value in (("count.out", out), ("count.minutes", minutes)):
        page.locator(f'[name="{name}"]').evaluate(f"field => field.value = '{value}'")
    page.locator("form[data-entry=visit] .save button").click()


def photograph(width: int, height: int) -> bytes:
    """A photograph heavy enough to be on its way for a while."""
    import numpy as np
    from PIL import Image

    grain = np.random.default_rng(7).integers(0, 255, (height, width, 3), dtype=np.uint8)
    file = io.BytesIO()
    Image.fromarray(grain).save(file, "JPEG", quality=88)
    return file.getvalue()


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
    entry = office.told("visit")[-1].entry.id
    expect(page.locator(f'[id="entry-{entry}"]')).to_have_count(1)


def test_what_was_sent_twice_is_there_once(office, new_phone):
    """The answer to the first sending gets lost, as where the signal fails at that moment."""
    page = new_phone().page
    page.goto(f"{office.url}/job/{office.running_job}/note")
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
    phone.page.goto(f"{office.url}/job/{office.running_job}/photo")
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
        entry = office.told("visit")[0].entry.id
        page.goto(f"{office.url}/job/{office.running_job}/correct/{entry}")
    before = Counter(entry.kind for entry in office.entries())
    office.close()

    for number, page in enumerate(phones):
        page.context.set_offline(True)
        page.locator("[name=notes]").evaluate(f"field => field.value = 'Corrected by {number}'")
        page.locator("form[data-entry=visit] .save button").click()
        expect(chip(page)).to_have_text("1 on this phone only")
        for out in (number, number + 10):
            write_visit(page, office, minutes=10, out=out, cone="clear")
            expect(page.get_by_role("heading", name="Kept on this phone")).to_be_visible()
        page.goto(f"{office.url}/job/{office.running_job}/note")
        page.locator("[name=text]").fill(f"Note of phone {number}")
        page.locator("form[data-entry=note] .save button").click()
        expect(chip(page)).to_have_text("4 on this phone only")

    office.open()
    for page in phones:
        page.context.set_offline(False)
        expect(chip(page)).to_have_text(ALL_SAVED)
    after = Counter(entry.kind for entry in office.entries())
    assert after - before == Counter({"visit": 6, "note": 2})
    notes = {told.body["text"] for told in office.told("note")}
    assert {"Note of phone 0", "Note of phone 1"} <= notes
    corrected = [entry.body["notes"] for entry in office.entries() if entry.replaces]
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


def test_two_calls_from_one_kept_page_are_two_jobs(office, new_phone):
    page = new_phone().page
    bring_along(page, office)
    before = office.desk.cards().count
    page.context.set_offline(True)
    office.close()
    for place in ("Mill Row 1", "Mill Row 2"):
        page.goto(f"{office.url}/calls/new")
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
    page.goto(f"{office.url}/job/{office.running_job}/note")
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
    page.goto(f"{office.url}/job/{office.running_job}/photo")
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
    page.goto(f"{office.url}/job/{office.running_job}/note")
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
    page.goto(f"{here}/job/{office.running_job}/note")
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

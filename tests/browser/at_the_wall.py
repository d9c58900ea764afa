"""What a hand does with a phone at the wall."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from playwright.sync_api import expect

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from tests.browser.living_office import LivingOffice


ALL_SAVED = "All saved at the office"


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


def open_form(page: Page, address: str) -> None:
    """Open a form and wait until the scripts have taken it over, as any hand is slow enough to."""
    page.goto(address)
    expect(chip(page)).not_to_have_text("Saved")


def write_visit(page: Page, office: LivingOffice, *, minutes: int, out: int, cone: str) -> None:
    open_form(page, f"{office.url}/job/{office.running_job}/visit")
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

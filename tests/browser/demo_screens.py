"""Every screen of the app, on the demo firm: where it is, and what is done to come to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.office.demo_firm import demo_entries
from lastbee.office.demo_firm_pictures import demo_pictures
from tests.browser.working_office import WorkingOffice

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from playwright.sync_api import Page

RUNNING, TO_DECIDE, TO_CLOSE, TO_MEND, TO_VISIT = (
    "Bees behind the north wall", "Bees in the mill loft wall", "Bees in the dairy wall",
    "Bees in the stable wall", "Bees in the ferry house wall",
)  # fmt: skip
"""Jobs of the demo firm: one that runs, one to decide on, one to close, one with a slip, and one
that no screen shows alone, so that a test may write on it."""

_STAGES = ("call", "to inspect", "to set up", "to certify", "warranty", "over", "ended")
_FORMS = (
    "call", "inspection", "set-up", "visit", "box", "close-out", "certificate", "callback",
    "note", "photo", "ended",
)  # fmt: skip


def demo_office(folder: Path, *computed: str) -> WorkingOffice:
    """The demo firm, with forecasts of the jobs with these titles."""
    pictures = {one.sha256: one for one in demo_pictures().values()}
    office = WorkingOffice(folder, demo_entries(), pictures, is_demo=True)
    for title in computed:
        office.compute(office.job_titled(title))
    return office


def _nothing(_page: Page) -> None:
    pass


@dataclass(frozen=True, slots=True)
class Screen:
    """Where a screen is, and what is done there before it is looked at."""

    address: Callable[[WorkingOffice], str]
    prepare: Callable[[Page], None] = _nothing

    def open(self, page: Page, office: WorkingOffice) -> None:
        """Open it."""
        page.goto(office.url + self.address(office))
        self.prepare(page)


def _at(address: str, prepare: Callable[[Page], None] = _nothing) -> Screen:
    return Screen(lambda _: address, prepare)


def _of(title: str, page: str = "", prepare: Callable[[Page], None] = _nothing) -> Screen:
    return Screen(lambda office: f"/job/{office.job_titled(title)}{page}", prepare)


def _in_stage(stage: str) -> Screen:
    return Screen(lambda office: f"/job/{office.desk.cards([stage]).cards[0].job}")


def _last_visit(office: WorkingOffice) -> str:
    job = office.job_titled(RUNNING)
    return f"/job/{job}/correct/{office.record(job).visits[-1].entry.id}"


def _first_person(office: WorkingOffice) -> str:
    return f"/people/{office.desk.firm().people[0].entry.id}/change"


def _unfolded(page: Page) -> None:
    page.evaluate("document.querySelectorAll('main details').forEach((one) => (one.open = true))")


def _judged(page: Page) -> None:
    for answer in ("stung nobody", "where building", "legs lumps"):
        _answer(page, answer)
    page.get_by_role("button", name="What is it, most likely?").click()
    page.locator("#likely-title").wait_for()


def _alarmed(page: Page) -> None:
    _answer(page, "stung ill")
    page.get_by_role("button", name="What is it, most likely?").click()
    page.locator("section.alarm").wait_for()


def _answer(page: Page, answer: str) -> None:
    question, said = answer.split()
    page.locator(f'label:has([name="answers.{question}"][value="{said}"])').click()


def _refused_by_the_office(page: Page) -> None:
    """The page that answers where no script takes the form over."""
    page.locator('[name="count.out"]').fill("many")
    page.locator('[name="temperature"]').fill("warm")
    page.locator("form.entry").evaluate("form => form.submit()")
    page.locator("#problems").wait_for()


def _refused_on_the_phone(page: Page) -> None:
    page.locator('[name="reason"]').fill("")
    page.get_by_role("button", name="Keep this close-out").click()
    page.locator("#form-problems, #problems").wait_for()


SCREENS: Mapping[str, Screen] = {
    "today": _at("/"),
    "calls": _at("/calls"),
    "new call": _at("/calls/new"),
    "new call, judged": _at("/calls/new", _judged),
    "new call, alarm": _at("/calls/new", _alarmed),
    "jobs": _at("/jobs"),
    "jobs, none found": _at("/jobs?q=zebra"),
    **{f"job {stage}": _in_stage(stage) for stage in _STAGES},
    "job running": _of(RUNNING, prepare=_unfolded),
    "job to decide": _of(TO_DECIDE),
    "job to close": _of(TO_CLOSE),
    "job to mend": _of(TO_MEND),
    **{f"form {kind}": _of(RUNNING, f"/{kind}", _unfolded) for kind in _FORMS},
    "form decision": _of(TO_DECIDE, "/decision"),
    "form corrected": Screen(_last_visit, _unfolded),
    "form refused": _of(RUNNING, "/visit", _refused_by_the_office),
    "form to mend": _of(RUNNING, "/close-out", _refused_on_the_phone),
    "forecast": _of(RUNNING, "/forecast"),
    "history": _of(RUNNING, "/history"),
    "people": _at("/people", _unfolded),
    "person": Screen(_first_person),
    "new kit": _at("/people/new/kit"),
    "firm": _at("/firm"),
    "saved": _at("/saved"),
    "offline": _at("/offline"),
    "not found": _at("/nowhere"),
}

"""The page of one job, its forecast, its history and its papers."""

from __future__ import annotations

import io
import re
from collections import Counter
from datetime import UTC, datetime, timedelta
from html import unescape
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Any

import progress_factory
import pypdf
import pytest
from document_reading import squeezed, strings
from record_factory import CALL, CERTIFICATE, CLOSE_OUT, VISIT, Writer

from lastbee.colony.course import Trouble
from lastbee.documents.as_json import adapter_of, plan_to_json
from lastbee.documents.outline import outline
from lastbee.documents.progress_outline import progress_outline
from lastbee.jobs.jobfile import parse_job
from lastbee.jobs.plan import Plan
from lastbee.jobs.troubles import TOLD, caution_of
from lastbee.office.desk import Desk
from lastbee.record.at_the_wall import UNKNOWN
from lastbee.record.entry import WITHDRAWN

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.testclient import TestClient

    from lastbee.record.entry import Entry, EntryKind
    from lastbee.store.book import Book

NOW = datetime(2026, 7, 14, 12, 0, tzinfo=UTC)


class Told:
    """A job in a firm's file, told entry by entry, and the app that shows it."""

    def __init__(self, book: Book, client: TestClient) -> None:
        self.book, self.client = book, client
        self.desk = Desk(book, lambda: NOW)
        self.writer = Writer()
        self.job = self.writer.job

    def story(self, until: EntryKind) -> list[Entry]:
        entries = self.writer.story(until)
        self.desk.take_in(entries, strict=False)
        return entries

    def write(self, kind: EntryKind, body: dict[str, Any], **more: Any) -> Entry:
        entry = self.writer.write(kind, body, **more)
        self.desk.take_in([entry], strict=False)
        return entry

    def forecast(self, plan: Plan) -> Plan:
        """Keep a forecast as if it had been computed; give it as it is read back."""
        asked, text = self.desk.forecast(self.job).asked, plan_to_json(plan)
        with self.book.writing() as writing:
            writing.start_forecast(self.job, asked)
            assert writing.finish_forecast(self.job, asked, text, NOW)
        return adapter_of(Plan).validate_json(text)

    def page(self, address: str = "") -> str:
        answer = self.client.get(f"/job/{self.job}{address}")
        assert answer.status_code == 200, answer.text
        return answer.text

    def words(self, address: str = "") -> str:
        """The words of a page on one line."""
        return " ".join(unescape(re.sub(r"<[^>]+>", " ", self.page(address))).split())


@pytest.fixture
def told(book: Book, open_app: Callable[..., TestClient]) -> Told:
    return Told(book, open_app(filled=False))


# The page


def test_a_fresh_call_shows_what_is_due_and_that_no_forecast_can_be(told: Told) -> None:
    told.story("call")
    page, words = told.page(), told.words()
    assert f'data-job="{told.job}"' in page
    assert 'data-title="Bees behind the north wall"' in page
    assert "Next step Inspect" in words
    assert f'href="/job/{told.job}/inspection"' in page
    assert "No forecast yet: it begins with the inspection." in words
    assert "555 0100" in words


@pytest.mark.parametrize(
    ("until", "address"),
    [("call", "inspection"), ("inspection", "decision"), ("decision", "set-up"),
     ("set-up", "visit"), ("close-out", "certificate")],
)  # fmt: skip
def test_the_big_button_leads_to_the_form_of_the_next_step(
    told: Told, until: EntryKind, address: str
) -> None:
    told.story(until)
    found = re.search(r'press-here"><a class="button" href="([^"]+)"', told.page())
    assert found is not None
    assert found[1] == f"/job/{told.job}/{address}"
    assert told.client.get(found[1]).status_code == 200


def test_the_record_stands_newest_first_with_who_and_on_what(told: Told) -> None:
    told.story("visit")
    words = told.words()
    record = words[words.index("Record") :]
    days = re.findall(r"(?:Fri 3 Jul|Wed 1 Jul|Tue 30 Jun|Mon 29 Jun|Sat 20 Jun) 2026", record)
    assert days[0] == "Fri 3 Jul 2026"
    assert record.index("Visit 1") < record.index("Set-up") < record.index("Call")
    assert "T. Wick, phone, Sat 20 Jun 2026" in record
    assert "out of the tip: 14" in record


def test_what_waits_to_be_mended_stands_on_top_with_its_sentences(told: Told) -> None:
    told.story("set-up")
    wrong = told.write("visit", VISIT | {"cone": "half <shut>"})
    page, words = told.page(), told.words()
    assert "<shut>" not in page
    assert words.index("Waiting to be mended") < words.index("Next step")
    assert "cone is 'half <shut>': write one of" in words
    assert f"/job/{told.job}/correct/{wrong.id}" in page


def test_earlier_versions_and_rivals_are_not_lost(told: Told) -> None:
    *_, visit = told.story("visit")
    told.write("visit", VISIT | {"notes": "Counted again."}, replaces=visit.id)
    told.write("visit", VISIT | {"notes": "Counted by another."}, replaces=visit.id)
    words = told.words()
    assert "1 earlier version" in words
    assert "Corrected twice" in words
    assert "Counted again." in words
    assert "Counted by another." in words


def test_history_tells_every_entry_and_what_was_taken_back(told: Told) -> None:
    entries = told.story("visit")
    told.write("visit", {WITHDRAWN: "wrong job"}, replaces=entries[-1].id)
    words = told.words("/history")
    assert f"{len(entries) + 1} entries" in words
    assert "Taken back: wrong job" in words
    assert "no longer counts" in words
    assert words.index("wrong job") < words.index("Set-up")


def test_keys_that_no_form_has_are_told_all_the_same(told: Told) -> None:
    told.story("set-up")
    told.write("visit", VISIT | {"brood_pattern": "spotty"})
    assert "brood pattern: spotty" in told.words("/history")


# The forecast


def test_a_waiting_forecast_is_watched_with_and_without_script(told: Told) -> None:
    told.story("inspection")
    page = told.page()
    assert 'data-state="waiting"' in page
    assert f'data-standing="/job/{told.job}/standing"' in page
    assert re.search(r'<noscript><meta http-equiv="refresh" content="\d+"></noscript>', page)
    assert 'id="standing"' in told.page("/standing")


def test_what_a_call_is_most_likely_about_stands_with_it(told: Told) -> None:
    answers = {"where": "building", "coat": "some-hair", "traffic": "tens"}
    told.write("call", CALL | {"answers": answers, "allergic_person": "yes"})
    words = told.words()
    assert "Most likely: a honey bee nest (" in words
    assert "Somebody here is allergic to stings" in words


def test_what_a_visit_plainly_shows_is_said_before_any_forecast(told: Told) -> None:
    told.story("set-up")
    told.write("visit", VISIT | {"cone": "blocked"})
    words = told.words()
    assert words.index("Before you leave the wall") < words.index("Next step")
    assert TOLD[Trouble.CLOGGED].remedy in words
    assert caution_of(Trouble.CLOGGED, UNKNOWN).split(":")[0] in words
    told.forecast(progress_factory.story_plan())
    assert "Before you leave the wall" not in told.words()


def test_a_running_forecast_says_how_far_it_has_come(told: Told) -> None:
    told.story("visit")
    told.forecast(progress_factory.story_plan())
    told.write("visit", VISIT | {"date": "2026-07-10"}, written_at=NOW + timedelta(hours=1))
    with told.book.writing() as writing:
        writing.start_forecast(told.job, told.desk.forecast(told.job).asked)
        writing.tell_forecast(told.job, "following the trap-out", 0.4)
    words = told.words()
    assert (
        "This forecast is from before the visit of Fri 10 Jul 2026: a new one is being computed,"
        " 40 % (following the trap-out)." in words
    )


def test_a_forecast_made_once_more_is_not_called_out_of_date(told: Told) -> None:
    told.story("visit")
    told.forecast(progress_factory.story_plan())
    told.desk.ask_again(told.job)
    assert "This forecast is made once more: it is waiting for its turn." in told.words()


def test_a_failed_forecast_says_why_and_can_be_asked_for_again(told: Told) -> None:
    told.story("inspection")
    asked = told.desk.forecast(told.job).asked
    with told.book.writing() as writing:
        writing.start_forecast(told.job, asked)
        writing.fail_forecast(told.job, asked, "no simulated colony agrees with what was seen")
    assert "The new forecast failed. No simulated colony agrees" in told.words()
    address, here = f"/job/{told.job}/forecast", {"origin": "http://localhost"}
    answer = told.client.post(address, headers=here, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/job/{told.job}")
    assert told.desk.forecast(told.job).state == "waiting"


def test_what_is_missing_for_a_forecast_is_named(told: Told) -> None:
    told.story("call")
    told.write("inspection", {"inspection": {"date": "2026-06-29"}})
    words = told.words()
    assert "Not enough is known for a forecast." in words
    assert "site.latitude is missing" in words


def test_a_fresh_forecast_stands_in_few_words_where_a_phone_keeps_them(told: Told) -> None:
    told.story("visit")
    plan = told.forecast(progress_factory.story_plan())
    progress = plan.progress
    assert progress is not None
    page = told.page()
    block = page[page.index('id="last-forecast"') : page.index("<figure")]
    words = squeezed(unescape(re.sub(r"<[^>]+>", " ", block)))
    assert squeezed(progress.headline) in words
    assert all(squeezed(item.words) in words for item in progress.now)
    assert 'data-state="fresh"' in page


def test_the_forecast_in_full_speaks_the_words_of_terminal_and_paper(told: Told) -> None:
    told.story("visit")
    plan = told.forecast(progress_factory.story_plan())
    assert plan.progress is not None
    words = squeezed(told.words("/forecast"))
    of_plan, of_progress = outline(plan), progress_outline(plan.progress)
    # The page stands the progress first, under the name of the job.
    elsewhere = {of_plan.overtaken, of_plan.title, of_progress.title, *strings(of_progress.facts)}
    tones = {answer.tone for answer in of_progress.answers}
    texts = {*strings(of_plan), *strings(of_progress)} - elsewhere - tones
    assert [text for text in texts if squeezed(text) not in words] == []


BEHIND = "The forecast does not know yet what was written last."


def test_a_close_out_says_whether_a_reason_is_wanted_by_what_the_forecast_knows(
    told: Told,
) -> None:
    told.story("visit")
    assert "no forecast says yet that the wall is empty" in told.words("/close-out")
    told.forecast(progress_factory.story_plan(progress_factory.empty_progress()))
    words = told.words("/close-out")
    assert "Only if there is something to say of it." in words
    assert BEHIND not in words
    told.write("visit", VISIT | {"date": "2026-07-10"})
    words = told.words("/close-out")
    assert "no forecast says yet that the wall is empty" in words
    assert BEHIND in words
    assert BEHIND in told.words("/decision")
    told.write("close-out", CLOSE_OUT)
    assert BEHIND in told.words("/certificate")


def test_a_closed_wall_is_told_as_closed(told: Told) -> None:
    told.story("certificate")
    words = told.words()
    assert "The wall is closed: rob out, then close." in words
    assert "Warranty until Tue 10 Aug 2027" in words


# What browsers and readers need


class Tags(HTMLParser):
    """Every tag of a page with its attributes."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


@pytest.mark.parametrize("address", ["", "/standing", "/forecast", "/history"])
def test_pages_keep_to_a_strict_policy_and_ids_are_given_once(told: Told, address: str) -> None:
    # CSP Level 3: style-src and script-src of 'self' refuse inline ones. HTML Living Standard,
    # 3.2.6: an id is unique in its tree.
    told.story("visit")
    told.forecast(progress_factory.story_plan())
    tags = Tags(told.page(address)).found
    assert not [tag for tag, given in tags if "style" in given or tag == "style"]
    assert not [given for tag, given in tags if tag == "script" and not given.get("src")]
    assert not [key for _, given in tags for key in given if key.startswith("on")]
    ids = Counter(given["id"] for _, given in tags if given.get("id"))
    assert [name for name, count in ids.items() if count > 1] == []


def test_what_people_typed_is_shown_as_typed(told: Told) -> None:
    told.story("set-up")
    told.write("note", {"date": "2026-07-02", "text": "<img src=x onerror=alert(1)> & more"})
    assert "<img src=x" not in told.page()
    assert "<img src=x onerror=alert(1)> & more" in told.words()


@pytest.mark.parametrize("address", ["/forecast", "/report.pdf", "/certificate.pdf"])
def test_what_is_not_there_yet_is_said_in_a_sentence(told: Told, address: str) -> None:
    told.story("call")
    answer = told.client.get(f"/job/{told.job}{address}")
    assert answer.status_code == 404
    assert "yet." in answer.text


def test_there_is_no_page_of_a_job_that_nobody_told(told: Told) -> None:
    told.story("call")
    answer = told.client.get(f"/job/{told.writer.new_id()}")
    assert answer.status_code == 404
    assert "There is no such job." in answer.text


# Papers


def pages_of(content: bytes) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages]


def test_the_report_is_the_one_that_the_terminal_writes(told: Told) -> None:
    from lastbee.documents.pdf import pdf_bytes

    told.story("visit")
    plan = told.forecast(progress_factory.story_plan())
    answer = told.client.get(f"/job/{told.job}/report.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content == pdf_bytes(plan)


def test_the_job_file_is_the_job_that_is_forecast(told: Told) -> None:
    told.story("visit")
    answer = told.client.get(f"/job/{told.job}/job.toml")
    assert "bees-behind-the-north-wall.toml" in answer.headers["content-disposition"]
    assert parse_job(answer.text) == told.desk.case(told.job).record.checked_job()


def test_a_certificate_says_all_on_one_page(told: Told) -> None:
    told.story("set-up")
    for day in range(3, 31):
        told.write("visit", VISIT | {"date": f"2026-07-{day:02d}", "did": {"closed_gap": day == 9}})
    told.forecast(progress_factory.story_plan())
    reason = "The client moves in on Monday."
    done = ["Cone taken down", "Gap behind the gutter closed"]
    told.write("close-out", CLOSE_OUT | {"reason": reason, "honey_left": "2 kg", "done": done})
    told.write("certificate", CERTIFICATE | {"words": "Look again after the first hot days"})
    answer = told.client.get(f"/job/{told.job}/certificate.pdf")
    (text,) = pages_of(answer.content)
    words = squeezed(text)
    for said in (
        told.job[-8:].upper(), "R. Ashgrove", "Orchard House, Meadowgate", "Fri 3 Jul 2026",
        "14 in 5 minutes", reason, "2 kg", *done, "A gap at the visit of Thu 9 Jul 2026",
        "until Tue 10 Aug 2027", "T. Wick", "Look again after the first hot days",
        "Local codes and licensed practice decide",
    ):  # fmt: skip
        assert squeezed(said) in words, said


def test_a_signed_certificate_keeps_the_words_that_were_signed(told: Told) -> None:
    told.story("visit")
    told.forecast(progress_factory.story_plan(progress_factory.empty_progress()))
    told.write("close-out", CLOSE_OUT)
    page = told.page("/certificate")
    signed = re.findall(r'type="hidden" name="sure" value="([^"]+)"', page)
    assert any("the chance that it was empty was" in words for words in signed)
    told.write("certificate", CERTIFICATE | {"sure": [unescape(words) for words in signed]})
    told.write("visit", VISIT | {"date": "2026-07-04"})
    told.forecast(progress_factory.story_plan(progress_factory.failed_progress()))
    (text,) = pages_of(told.client.get(f"/job/{told.job}/certificate.pdf").content)
    assert all(squeezed(unescape(words)) in squeezed(text) for words in signed)


def test_a_certificate_says_when_nobody_forecast_or_gave_a_reason(told: Told) -> None:
    told.story("certificate")
    (text,) = pages_of(told.client.get(f"/job/{told.job}/certificate.pdf").content)
    assert squeezed("No forecast was made") in squeezed(text)

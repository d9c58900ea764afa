"""The pages of lists: what they show, in which order, escaped, and with few questions asked.

What a page must show is the trade's own routine (common practice, no source): who is late comes
first, then the day, then the week; a job is found by its place, its client or its number.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from record_factory import CERTIFICATE, CLOSE_OUT
from web_factory import entry, handful, many_calls

from lastbee.record.card import Card, Due
from lastbee.web.pages.today import stretches_of

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from lastbee.store.book import Book

PAGES = ("/", "/calls", "/jobs", "/people", "/firm", "/people/new/person", "/people/new/kit")
TODAY = date(2026, 7, 14)
HERE = {"origin": "http://localhost"}

# Firm, its day, the list and its count: no page may ask once a card.
MOST_STATEMENTS = 6


@pytest.mark.parametrize("address", PAGES)
def test_a_page_is_whole(client: TestClient, address: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    text = answer.text
    assert text.count("<h1") == 1
    assert text.count("<main") == text.count("</main>") == 1
    assert '<html lang="en">' in text
    assert "Quiet Walls" in text
    assert 'data-now="2026-07-14T08:00:00-04:00"' in text
    ids = re.findall(r'\sid="([^"]+)"', text)
    assert len(ids) == len(set(ids)), "an id stands twice"
    for target in re.findall(r'\s(?:for|aria-labelledby|aria-describedby)="([^"]+)"', text):
        assert set(target.split()) <= set(ids), target


@pytest.mark.parametrize("address", PAGES)
def test_a_page_of_an_empty_firm_says_what_to_do(empty_client: TestClient, address: str) -> None:
    answer = empty_client.get(address)
    assert answer.status_code == 200
    if address in {"/", "/calls", "/jobs"}:
        assert 'href="/calls/new"' in answer.text


@pytest.mark.parametrize("address", PAGES)
def test_a_page_asks_few_questions_of_the_file(
    client: TestClient, book: Book, address: str
) -> None:
    with book.counting() as statements:
        client.get(address)
    assert 0 < len(statements) <= MOST_STATEMENTS


def test_what_was_written_is_shown_and_never_run(client: TestClient) -> None:
    for address in ("/", "/jobs", "/calls"):
        text = client.get(address).text
        assert "Humming &lt;chimney&gt;" in text
        assert "<chimney>" not in text


def test_the_day_begins_with_what_waits_to_be_mended_and_what_is_due_today(
    client: TestClient,
) -> None:
    text = client.get("/").text
    order = ["Tue 14 Jul 2026", "Waiting to be mended", "1 entry", "Humming", "Porch post"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert 'href="tel:5550100"' in text


def test_what_is_there_already_is_added_to_from_its_job(client: TestClient) -> None:
    """A second callback beside the first would leave the first open for ever."""
    job = next(one.job for one in handful() if one.kind == "set-up")
    writings = [
        entry(70, "close-out", CLOSE_OUT | {"date": "2026-07-12", "reason": "It is quiet."}, 1),
        entry(71, "certificate", CERTIFICATE | {"date": "2026-07-12"}, 1),
        entry(72, "callback", {"date": "2026-07-13", "what": "Bees at the sill again."}, 1),
    ]
    client.app.state.desk.take_in([replace(one, job=job) for one in writings], strict=False)  # type: ignore[attr-defined]
    text = client.get("/").text
    assert "the client called" in text
    assert f'href="/job/{job}"' in text
    assert not re.search(r'href="/job/[^"]+/(call|callback)"', text)


def card(number: int, ahead: int) -> Card:
    """A card due so many days ahead."""
    due = Due("Visit", TODAY + timedelta(days=ahead), "It is time.")
    at = None
    return Card(
        str(number),
        "trapping",
        "",
        "",
        "",
        "",
        None,
        None,
        "",
        "",
        due,
        0,
        at,
        at,
        0,
        0,  # type: ignore[arg-type]
    )


def test_a_day_begins_with_what_is_agreed_then_the_walls_then_the_desk() -> None:
    calm, risky = card(2, -9), card(5, -1)
    due = [
        card(1, 5),
        with_due(calm, page="visit"),
        with_due(risky, page="visit", urgency=0.8),
        with_due(card(3, 0), page="inspection", hours="13:00"),
        with_due(card(8, 0), page="inspection", hours="9:30"),
        with_due(card(9, -3), page="certificate"),
        card(4, 2),
        card(6, 1),
        card(7, 2),
    ]
    found = [(s.title, [c.job for c in s.cards]) for s in stretches_of(due, TODAY)]
    assert found == [
        ("Agreed for today", ["8", "3"]),
        ("At the wall", ["5", "2"]),
        ("At the desk", ["9"]),
        ("Tomorrow", ["6"]),
        ("The coming week", ["4", "7", "1"]),
    ]


def with_due(of: Card, **changed: Any) -> Card:
    """The card with something else due on it."""
    assert of.due is not None
    return replace(of, due=replace(of.due, **changed))


def test_calls_are_those_that_wait_for_an_answer_or_an_inspection(client: TestClient) -> None:
    text = client.get("/calls").text
    assert "3 jobs wait" in text
    assert "Bees behind the north wall" not in text
    assert 'href="tel:+15550107"' in text


@pytest.mark.parametrize(
    ("query", "titles"),
    [
        ("", {"north wall", "chimney", "Mill Row", "Porch post"}),
        ("stage=trapping", {"north wall"}),
        ("stage=to+inspect", {"chimney", "Porch post"}),
        ("stage=open&q=mill", {"Mill Row"}),
        ("q=555+0107", {"Mill Row"}),
        ("q=nobody+of+this+name", set()),
        ("stage=ended", set()),
        ("page=999", {"north wall", "chimney", "Mill Row", "Porch post"}),
        ("page=-1", {"north wall", "chimney", "Mill Row", "Porch post"}),
        ("page=²", {"north wall", "chimney", "Mill Row", "Porch post"}),
    ],
)
def test_jobs_are_found_by_stage_and_words(
    client: TestClient, query: str, titles: set[str]
) -> None:
    answer = client.get(f"/jobs?{query}")
    assert answer.status_code == 200
    shown = set(re.findall(r'class="whole" href="/job/[0-9a-f-]+">([^<]+)<', answer.text))
    assert {one for one in titles if any(one in title for title in shown)} == titles
    assert len(shown) == len(titles)


def test_chips_count_the_jobs_of_each_stage(client: TestClient) -> None:
    text = client.get("/jobs").text
    chips = dict(
        re.findall(r'<a href="[^"]*"[^>]*>([A-Z][a-z ]*) <span class="count">(\d+)<', text)
    )
    assert chips == {"All": "4", "Open": "4", "Call": "1", "To inspect": "2", "Trapping": "1"}


def test_a_stage_that_is_none_is_no_page(client: TestClient) -> None:
    answer = client.get("/jobs?stage=swarming")
    assert answer.status_code == 404
    assert "There is no such stage of a job." in answer.text


@pytest.mark.parametrize("search", ["%", "_", "'", '"', "*", "a" * 5000, "\x00", "ö", "("])
def test_no_search_breaks_the_page(client: TestClient, search: str) -> None:
    assert client.get("/jobs", params={"q": search}).status_code == 200


def test_a_long_list_comes_in_pages_that_keep_stage_and_words(client: TestClient) -> None:
    client.app.state.desk.take_in(many_calls(120), strict=False)  # type: ignore[attr-defined]
    first = client.get("/jobs?stage=call&q=porch")
    assert "Page 1 of 3" in first.text
    assert 'href="/jobs?stage=call&amp;q=porch&amp;page=2"' in first.text
    shown = set()
    for number in (1, 2, 3):
        text = client.get(f"/jobs?stage=call&q=porch&page={number}").text
        shown |= set(re.findall(r'href="/job/([0-9a-f-]+)"', text))
    assert len(shown) == 120

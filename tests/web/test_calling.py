"""The page of a call: what is shown, what stays, and that it is kept once."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from lastbee.triage.questions import QUESTIONS

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from lastbee.store.book import Book

HERE = {"origin": "http://localhost"}
SEEN = {
    "client": "R. Hollin & sons",
    "phone": "+1 555 010 7788",
    "place": "Orchard <Lane> 4, under the eaves",
    "allergic_person": "no",
    "date": "2026-07-14",
    "answers.stung": "nobody",
    "answers.where": "building",
    "answers.coat": "some-hair",
    "answers.traffic": "tens",
}


def hidden(page: str) -> dict[str, str]:
    return dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', page))


def fresh(client: TestClient) -> dict[str, str]:
    return hidden(client.get("/calls/new").text)


def calls(book: Book, job: str) -> list:
    with book.reading() as reading:
        return list(reading.entries_of(job))


def test_every_question_is_there_with_its_answers_and_not_known(client: TestClient) -> None:
    page = client.get("/calls/new")
    assert page.status_code == 200
    for question in QUESTIONS:
        assert question.ask in page.text
        assert page.text.count(f'name="answers.{question.key}"') == len(question.choices)


def test_the_first_words_for_the_caller_are_there_before_anything_is_asked(
    client: TestClient,
) -> None:
    page = client.get("/calls/new").text
    assert page.index("Tell the caller now") < page.index("Keep off") < page.index("Who calls")
    assert "Spray nothing" in page


def test_what_stands_open_leaves_room_for_the_call(client: TestClient) -> None:
    page = client.get("/calls/new").text
    first = page[page.index("Tell the caller now") : page.index("<details>")]
    assert first.count("<li>") == 3
    assert "source" not in first
    folded = page[page.index("<details>") : page.index("Who calls")]
    assert folded.count('class="source"') > 3


def test_the_day_and_time_are_those_of_the_firm(client: TestClient) -> None:
    page = client.get("/calls/new").text
    assert 'value="2026-07-14"' in page
    assert 'value="08:00"' in page


def test_judging_shows_shares_and_keeps_every_field_and_nothing_in_the_book(
    client: TestClient, book: Book
) -> None:
    ids = fresh(client)
    page = client.post("/calls/new", data={**SEEN, **ids, "show": "yes"}, headers=HERE)
    assert page.status_code == 200
    assert "Most likely a honey bee nest" in page.text
    assert "R. Hollin &amp; sons" in page.text
    assert "Orchard &lt;Lane&gt; 4" in page.text
    assert re.search(r'name="answers.coat" value="some-hair"[^>]*checked', page.text)
    assert re.search(r"<progress max=\"1\" value=\"0\.\d{3}\"", page.text)
    assert "Book an inspection" in page.text
    assert "Advised by Tue 21 Jul 2026" in page.text
    assert page.text.count("Ask this next") == 1
    assert hidden(page.text)["entry_id"] == ids["entry_id"]
    assert calls(book, ids["job"]) == []


def test_the_page_carries_no_style_and_no_script_of_its_own(client: TestClient) -> None:
    page = client.post("/calls/new", data={**SEEN, "show": "yes"}, headers=HERE).text
    assert " style=" not in page
    assert not re.search(r"<script(?![^>]* src=)", page)


@pytest.mark.parametrize(
    ("answers", "sentence"),
    [
        ({"answers.stung": "ill"}, "Call the emergency number of the place now"),
        ({"answers.indoors": "many"}, "Leave the room, shut the door"),
        ({"allergic_person": "yes"}, "The allergic person leaves the place"),
    ],
)
def test_an_alarming_answer_stands_above_all_else(
    client: TestClient, answers: dict[str, str], sentence: str
) -> None:
    page = client.post("/calls/new", data={**SEEN, **answers, "show": "yes"}, headers=HERE).text
    box = re.search(r'<section class="alarm".*?</section>', page, re.DOTALL)
    assert box is not None
    assert sentence in box[0].split("<details>")[0]
    assert page.index(box[0]) < page.index("Most likely")


def test_a_call_is_kept_with_its_answers_and_leads_to_its_job(
    client: TestClient, book: Book
) -> None:
    ids = fresh(client)
    posted = {**SEEN, **ids, "inspect_on": "2026-07-16", "inspect_at": "11:00", "inspect_by": "T."}
    answer = client.post("/calls/new", data=posted, headers=HERE, follow_redirects=False)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/job/{ids['job']}"
    (entry,) = calls(book, ids["job"])
    assert entry.id == ids["entry_id"]
    assert entry.kind == "call"
    assert entry.body["answers"] == {
        "stung": "nobody", "where": "building", "coat": "some-hair", "traffic": "tens",
    }  # fmt: skip
    assert entry.body["place"] == SEEN["place"]
    assert entry.body["inspect_at"] == "11:00"


def test_a_call_sent_twice_is_kept_once(client: TestClient, book: Book) -> None:
    posted = {**SEEN, **fresh(client)}
    for _ in range(2):
        answer = client.post("/calls/new", data=posted, headers=HERE, follow_redirects=False)
        assert answer.status_code == 303
    assert len(calls(book, posted["job"])) == 1


def test_a_call_gone_back_to_and_changed_is_a_correction_that_scripts_are_told_of(
    client: TestClient, book: Book
) -> None:
    posted = {**SEEN, **fresh(client)}
    headers = {**HERE, "Accept": "application/json"}
    for client_name in ("R. Hollin", "R. Hollin and sons"):
        data = posted | {"client": client_name}
        said = client.post("/calls/new", data=data, headers=headers).json()
        assert posted["entry_id"] in said["kept"] + said["was_there"]
    first, second = calls(book, posted["job"])
    assert second.replaces == first.id


def test_what_is_wrong_is_tied_to_its_answers(client: TestClient) -> None:
    posted = {**SEEN, **fresh(client), "answers.where": "moon", "allergic_person": "perhaps"}
    page = client.post("/calls/new", data=posted, headers=HERE).text
    assert re.search(
        r'id="answers.where" aria-invalid="true" aria-describedby="answers.where-wrong"', page
    )
    assert 'id="answers.where-wrong"' in page


def test_an_answer_that_a_question_does_not_have_comes_back_with_its_sentence(
    client: TestClient, book: Book
) -> None:
    posted = {**SEEN, **fresh(client), "answers.where": "moon"}
    for button in ({}, {"show": "yes"}):
        page = client.post("/calls/new", data={**posted, **button}, headers=HERE)
        assert page.status_code == 422
        assert "answers.where is &#39;moon&#39;: give building, ball" in page.text
        assert "R. Hollin &amp; sons" in page.text
    assert calls(book, posted["job"]) == []


def test_a_day_that_is_none_comes_back_with_its_sentence_at_the_field(client: TestClient) -> None:
    page = client.post(
        "/calls/new", data={**SEEN, **fresh(client), "date": "the 14th"}, headers=HERE
    )
    assert page.status_code == 422
    assert 'id="date-wrong"' in page.text


def test_the_outbox_is_kept_whatever_it_brings_and_told_what_to_mend(
    client: TestClient, book: Book
) -> None:
    posted = {**SEEN, **fresh(client), "answers.where": "moon", "date": "the 14th"}
    headers = {**HERE, "X-Outbox": "1", "Accept": "application/json"}
    first = client.post("/calls/new", data=posted, headers=headers)
    assert first.status_code == 200
    assert first.json()["kept"] == [posted["entry_id"]]
    fields = {problem["field"] for problem in first.json()["problems"]}
    assert {"answers.where", "date"} <= fields
    again = client.post("/calls/new", data=posted, headers=headers).json()
    assert (again["kept"], again["was_there"]) == ([], [posted["entry_id"]])
    assert len(calls(book, posted["job"])) == 1


def test_a_script_that_asks_for_json_is_told_what_to_mend(client: TestClient) -> None:
    posted = {**SEEN, **fresh(client), "answers.where": "moon"}
    headers = {**HERE, "Accept": "application/json"}
    answer = client.post("/calls/new", data=posted, headers=headers)
    assert answer.status_code == 422
    assert answer.json()["problems"][0]["field"] == "answers.where"


def test_south_of_the_equator_the_season_is_turned(client: TestClient) -> None:
    """A ball in the open in July: swarms north of the equator, hardly any south of it."""
    seen = {**SEEN, "date": "2026-11-14", "answers.where": "not-known", "show": "yes"}
    shares = []
    for latitude in ("43", "-38"):
        page = client.post("/calls/new", data={**seen, "latitude": latitude}, headers=HERE).text
        shares.append(int(re.search(r"A swarm of honey bees.*?(\d+)&nbsp;%", page, re.DOTALL)[1]))
    assert shares[1] > 2 * shares[0]


def test_a_firm_that_has_written_nothing_can_take_a_call(empty_client: TestClient) -> None:
    page = empty_client.post("/calls/new", data={"show": "yes"}, headers=HERE)
    assert page.status_code == 200
    assert "Most likely" in page.text

"""People, kit and the firm's settings: written down, changed, marked as gone, never doubled.

That a form sent twice is kept once is what "idempotent" means (RFC 9110, section 9.2.2); that a
person who has left stays named in what they wrote is common practice, no source.
"""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING

import pytest
from web_factory import HERE, firm_at, hidden_of, id_of

if TYPE_CHECKING:
    from starlette.testclient import TestClient

WICK, LARK, LADDER = id_of(2), id_of(3), id_of(4)


def send(client: TestClient, address: str, data: dict[str, str | list[str]]) -> int:
    """Post a form as the page does; the status that comes back."""
    return client.post(address, data=data, headers=HERE, follow_redirects=False).status_code


def test_a_person_is_added_once_however_often_the_form_is_sent(client: TestClient) -> None:
    hidden = hidden_of(client, "/people/new/person")
    data = hidden | {"name": "M. Sedge", "does": ["ladder", "visits"], "phone": "555-0103"}
    assert [send(client, "/people/new/person", data) for _ in range(3)] == [303] * 3
    found = [told.body for told in firm_at(client).people if told.body["name"] == "M. Sedge"]
    assert found == [{"name": "M. Sedge", "phone": "555-0103", "does": ["ladder", "visits"]}]
    text = client.get("/people").text
    assert 'href="tel:5550103"' in text
    assert "ladder, visits" in text


def test_what_is_missing_is_said_and_what_was_written_comes_back(client: TestClient) -> None:
    answer = client.post(
        "/people/new/kit", data={"label": 'N1 to "N12"', "count": "many"}, headers=HERE
    )
    assert answer.status_code == 422
    text = html.unescape(answer.text)
    assert "What it is is missing: write what it is." in text
    assert "How many is 'many'" in text
    assert 'value="N1 to "N12""' in text
    assert len(firm_at(client).kit) == 1


def test_a_change_keeps_who_it_was(client: TestClient) -> None:
    hidden = hidden_of(client, f"/people/{WICK}/change")
    assert hidden["replaces"] == WICK
    data = hidden | {"name": "Th. Wick", "phone": "555-0199", "does": "calls"}
    assert send(client, f"/people/{WICK}/change", data) == 303
    (told,) = [told for told in firm_at(client).people if told.first.id == WICK]
    assert told.body == {"name": "Th. Wick", "phone": "555-0199", "does": ["calls"]}
    assert [entry.id for entry in told.earlier] == [WICK]


def test_who_has_left_is_set_apart_and_can_come_back(client: TestClient) -> None:
    address = f"/people/{WICK}/gone"
    assert send(client, address, {"entry_id": id_of(500), "replaces": WICK}) == 303
    told = {told.first.id: told for told in firm_at(client).people}
    assert told[WICK].body["is_gone"] is True
    assert told[WICK].body["name"] == "T. Wick"
    assert "No longer here (2)" in client.get("/people").text
    data = {"entry_id": id_of(501), "replaces": LARK}
    assert send(client, f"/people/{LARK}/back", data) == 303
    assert "No longer here (1)" in client.get("/people").text


def test_a_change_made_on_two_devices_is_shown_and_settled(client: TestClient) -> None:
    address = f"/people/{WICK}/change"
    for number, phone in ((510, "555-0111"), (511, "555-0122")):
        data = {"entry_id": id_of(number), "replaces": WICK, "name": "T. Wick", "phone": phone}
        assert send(client, address, data) == 303
    assert "look at it once more" in client.get("/people").text
    hidden = hidden_of(client, address)
    assert (hidden["replaces"], hidden["settles"]) == (id_of(511), id_of(510))
    assert "555-0111" in client.get(address).text
    data = hidden | {"name": "T. Wick", "phone": "555-0122"}
    assert send(client, address, data) == 303
    (told,) = [told for told in firm_at(client).people if told.first.id == WICK]
    assert (told.rivals, told.body) == ((), {"name": "T. Wick", "phone": "555-0122"})
    assert "look at it once more" not in client.get("/people").text


def test_kit_that_is_gone_is_taken_back_but_not_forgotten(client: TestClient) -> None:
    data = {"entry_id": id_of(502), "replaces": LADDER}
    assert send(client, f"/people/{LADDER}/gone", data) == 303
    assert firm_at(client).kit == ()
    kept = client.app.state.desk.entry(LADDER)  # type: ignore[attr-defined]
    assert kept.body["name"] == "Ladder, 5 m"


@pytest.mark.parametrize("name", ["new/swarm", "nobody/change", f"{id_of(999)}/change"])
def test_who_is_not_there_has_no_page(client: TestClient, name: str) -> None:
    assert client.get(f"/people/{name}").status_code == 404


def test_a_page_of_a_person_shows_what_is_known(client: TestClient) -> None:
    text = client.get(f"/people/{WICK}/change").text
    assert 'value="T. Wick"' in text
    ticked = re.findall(r'name="does" value="([a-z]+)" checked', text)
    assert ticked == ["calls", "ladder"]

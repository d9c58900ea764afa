"""Joining by the link of the office, and shutting a lost phone out."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from web_factory import HERE

from lastbee.errors import FileProblem

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from starlette.testclient import TestClient

    from lastbee.office.joining import Joining

TOKEN = "wick-and-smoker-in-the-shed-0713"  # noqa: S105  (opens nothing)


@pytest.fixture
def devices(open_app: Callable[..., TestClient]) -> Callable[[str], TestClient]:
    """Gives a browser that has joined under a name; all belong to one office."""
    office = open_app(token=TOKEN)

    def joined(name: str) -> TestClient:
        browser = office.__class__(office.app, "http://localhost")
        assert browser.post(f"/join/{TOKEN}", data={"name": name}, headers=HERE).status_code == 200
        return browser

    return joined


def joining_of(browser: TestClient) -> Joining:
    return browser.app.state.joining  # type: ignore[attr-defined,no-any-return]


def buttons(browser: TestClient) -> dict[str, str]:
    """Names of the devices that the firm's page lists, with the address that shuts each out."""
    text = browser.get("/firm").text
    found = re.findall(r'action="(/firm/devices/[^"]+)">\s*<button[^>]*>Shut out ([^<]+)<', text)
    return {name: address for address, name in found}


def test_the_joining_link_lets_a_named_device_in(open_app: Callable[..., TestClient]) -> None:
    client = open_app(token=TOKEN)
    assert "What is this device called?" in client.get(f"/join/{TOKEN}").text
    answer = client.post(
        f"/join/{TOKEN}", data={"name": " Léa’s  phone "}, headers=HERE, follow_redirects=False
    )
    assert answer.status_code == 303
    for cookie in answer.headers.get_list("set-cookie"):
        assert "HttpOnly" in cookie
        assert "SameSite=lax" in cookie
        assert TOKEN not in cookie
    page = client.get("/")
    assert page.status_code == 200
    assert 'data-device="Léa’s phone"' in page.text
    assert [device.name for device in joining_of(client).devices()] == ["Léa’s phone"]


def test_a_device_without_a_name_is_asked_again(open_app: Callable[..., TestClient]) -> None:
    client = open_app(token=TOKEN)
    answer = client.post(f"/join/{TOKEN}", data={"name": "  "}, headers=HERE)
    assert answer.status_code == 422
    assert "name of the device is missing" in answer.text
    assert client.get("/").status_code == 403
    assert joining_of(client).devices() == ()


def test_a_lost_phone_is_shut_out_and_the_others_stay(
    devices: Callable[[str], TestClient],
) -> None:
    office, phone, tablet = (devices(name) for name in ("Office", "Lost phone", "Tablet"))
    assert set(buttons(office)) == {"Office", "Lost phone", "Tablet"}
    address = buttons(office)["Lost phone"]
    answer = office.post(address, headers=HERE)
    assert answer.status_code == 200
    assert "Lost phone" not in answer.text
    assert phone.get("/").status_code == 403
    assert "Ask the office for the joining link" in phone.get("/jobs").text
    assert tablet.get("/").status_code == 200
    # A press too many does no harm.
    assert office.post(address, headers=HERE).status_code == 200


def test_a_shut_out_phone_hands_nothing_in(devices: Callable[[str], TestClient]) -> None:
    office, phone = devices("Office"), devices("Lost phone")
    before = office.app.state.desk.firm()  # type: ignore[attr-defined]
    office.post(buttons(office)["Lost phone"], headers=HERE)
    answer = phone.post("/people/new/person", data={"name": "N"}, headers={**HERE, "x-outbox": "1"})
    assert answer.status_code == 403
    assert office.app.state.desk.firm() == before  # type: ignore[attr-defined]


def test_the_firms_page_tells_which_device_one_holds_and_when_each_was_there(
    devices: Callable[[str], TestClient],
) -> None:
    office = devices("Office")
    joining_of(office).join("Tablet <of> two")
    text = office.get("/firm").text
    cards = re.findall(r'<li class="card">\s*<h3>(?!<a).*?</li>', text, re.DOTALL)
    # Both joined at the same moment, so that either may come first.
    tablet_card, office_card = sorted(cards, key=lambda card: "Tablet &lt;of&gt; two" not in card)
    assert "This device" in office_card
    assert "This device" not in tablet_card
    # Eight in the morning at the firm, see `web_factory.NOW`.
    assert "Joined Tue 14 Jul 2026, 08:00." in office_card
    assert "Last seen Tue 14 Jul 2026, 08:00." in office_card
    assert "Not seen since." in tablet_card
    assert "lastbee serve --host" in text


def test_a_device_that_opens_the_link_again_is_not_doubled(
    devices: Callable[[str], TestClient],
) -> None:
    phone = devices("Phone")
    phone.post(f"/join/{TOKEN}", data={"name": "Ladder phone"}, headers=HERE)
    assert set(buttons(phone)) == {"Ladder phone"}


def test_a_file_that_cannot_be_written_keeps_no_page_from_a_device(
    devices: Callable[[str], TestClient], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def full(*_: object) -> None:
        raise FileProblem(tmp_path, "has no room to grow", "make room")

    phone = devices("Phone")
    monkeypatch.setattr(joining_of(phone), "note_seen", full)
    assert phone.get("/").status_code == 200


def test_on_this_machine_alone_there_are_no_devices(client: TestClient) -> None:
    assert client.get("/join/anything").status_code == 403
    assert client.post("/join/anything", data={"name": "N"}, headers=HERE).status_code == 403
    assert "Shut out" not in client.get("/firm").text
    assert "joining link" not in client.get("/firm").text
    answer = client.post("/firm/devices/anything/shut-out", headers=HERE)
    assert answer.status_code == 404

"""The guard: whose requests are answered, and what browsers are told with every answer.

What must be refused follows the published attacks: DNS rebinding (Jackson et al., ACM TWEB
3(1), 2009), cross-site request forgery (Fetch Metadata, W3C), framing and inline script (CSP
Level 3, W3C).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from lastbee.web.guard import LARGEST_BODY_BYTES, MEMBER_COOKIE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from starlette.testclient import TestClient

    from lastbee.store.book import Book

TOKEN = "wick-and-smoker-in-the-shed-0713"  # noqa: S105  (opens nothing)
MEGABYTE = 1024 * 1024
HERE = {"origin": "http://localhost"}


@pytest.mark.parametrize("port", ["", ":8321"])
@pytest.mark.parametrize("name", ["localhost", "127.0.0.1", "[::1]"])
def test_this_machine_is_answered_under_its_own_names(
    client: TestClient, name: str, port: str
) -> None:
    host = f"{name}{port}"
    assert client.get("/calls", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    ["bees.example", "localhost.bees.example", "bees.example:8321", "192.0.2.7", "", "a@localhost"],
)
def test_a_name_bent_to_this_machine_is_refused(client: TestClient, host: str) -> None:
    assert client.get("/calls", headers={"host": host}).status_code == 400


def test_the_host_that_was_given_is_answered(open_app: Callable[..., TestClient]) -> None:
    client = open_app(hosts=["Office.Example"])
    assert client.get("/calls", headers={"host": "office.example:8321"}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://bees.example"},
        {"origin": "null"},
        {"origin": f"{HERE['origin']}:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {},
    ],
)
def test_a_form_of_another_page_is_refused(client: TestClient, headers: dict[str, str]) -> None:
    assert client.post("/people/new/person", data={"name": "N"}, headers=headers).status_code == 403


@pytest.mark.parametrize("headers", [HERE, {"sec-fetch-site": "same-origin"}])
def test_a_form_of_our_own_page_comes_in(client: TestClient, headers: dict[str, str]) -> None:
    # 422: it was read, and found to lack what it needs.
    assert client.post("/people/new/person", data={}, headers=headers).status_code == 422


@pytest.mark.parametrize("address", ["/", "/no-such-page", "/static/lastbee.css"])
def test_every_answer_tells_browsers_to_load_nothing_foreign(
    client: TestClient, address: str
) -> None:
    headers = client.get(address).headers
    policy = dict(
        part.strip().split(" ", 1) for part in headers["content-security-policy"].split(";")
    )
    assert policy["default-src"] == "'self'"
    assert policy["frame-ancestors"] == "'none'"
    assert policy["base-uri"] == "'none'"
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"


@pytest.mark.parametrize("address", ["/", "/calls", "/jobs", "/people", "/firm", "/no-such-page"])
def test_no_page_has_script_or_style_of_its_own(client: TestClient, address: str) -> None:
    text = client.get(address).text
    assert not re.search(r"<script(?![^>]*\bsrc=)", text)
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=", text)


def test_beyond_this_machine_a_guest_is_sent_to_the_office(
    open_app: Callable[..., TestClient],
) -> None:
    client = open_app(token=TOKEN)
    for address in ("/", "/jobs", "/export/visits.csv", "/no-such-page", "/today.json"):
        answer = client.get(address)
        assert answer.status_code == 403
        assert "Ask the office for the joining link" in answer.text
        # Clear Site Data (W3C): "storage" would throw away what the device has not sent yet.
        assert answer.headers["clear-site-data"] == '"cache"'
    assert client.get("/static/lastbee.css").status_code == 200


@pytest.mark.parametrize("shown", ["", "wick", TOKEN[:-1], TOKEN.upper(), "ü" * 20])
def test_a_wrong_link_or_cookie_lets_nobody_in(
    open_app: Callable[..., TestClient], shown: str
) -> None:
    client = open_app(token=TOKEN)
    assert client.get(f"/join/{shown}").status_code in {403, 404}
    client.cookies.set(MEMBER_COOKIE, shown.encode("ascii", "ignore").decode())
    assert client.get("/").status_code == 403


@pytest.mark.parametrize("part", ["id", "proof"])
def test_a_pass_of_two_devices_lets_nobody_in(
    open_app: Callable[..., TestClient], part: str
) -> None:
    client = open_app(token=TOKEN)
    joining = client.app.state.joining  # type: ignore[attr-defined]
    id_, other_id = (joining.join(name).partition(".")[0] for name in ("Tablet", "Phone"))
    proof = joining.join("Van").partition(".")[2] if part == "proof" else "0" * 64
    client.cookies.set(MEMBER_COOKIE, f"{id_ if part == 'id' else other_id}.{proof}")
    assert client.get("/").status_code == 403


def test_a_guarded_page_asks_no_more_of_the_file_than_an_open_one(
    open_app: Callable[..., TestClient], book: Book
) -> None:
    client = open_app(token=TOKEN)
    client.cookies.set(MEMBER_COOKIE, client.app.state.joining.join("Van"))  # type: ignore[attr-defined]
    client.get("/")
    with book.counting() as guarded:
        assert client.get("/").status_code == 200
    with book.counting() as opened:
        assert open_app(filled=False).get("/").status_code == 200
    assert guarded == opened != []


def test_what_is_too_large_is_refused_before_it_is_read(client: TestClient) -> None:
    headers = HERE | {"content-length": str(LARGEST_BODY_BYTES + 1)}
    answer = client.post("/people/new/person", content=b"", headers=headers)
    assert answer.status_code == 413
    assert "too large" in answer.text


def test_what_does_not_tell_its_size_is_cut_off(client: TestClient) -> None:
    def pieces() -> Iterator[bytes]:
        yield b'--cut\r\nContent-Disposition: form-data; name="f"; filename="f"\r\n\r\n'
        for _ in range(LARGEST_BODY_BYTES // MEGABYTE + 1):
            yield b"n" * MEGABYTE

    headers = HERE | {"content-type": "multipart/form-data; boundary=cut"}
    answer = client.post("/people/new/person", content=pieces(), headers=headers)
    assert answer.status_code == 413
    assert "too large" in answer.text


def test_an_error_is_one_sentence_without_a_traceback(client: TestClient) -> None:
    def breaks() -> None:
        raise RuntimeError("secret of the workshop")

    client.app.state.desk.today = breaks  # type: ignore[attr-defined]
    answer = client.get("/")
    assert answer.status_code == 500
    assert "Something went wrong on our side" in answer.text
    assert "secret of the workshop" not in answer.text
    assert answer.headers["content-security-policy"]


def test_scripts_are_told_errors_as_json_of_one_shape(client: TestClient) -> None:
    for headers in ({"accept": "application/json"}, {"x-outbox": "1"}):
        answer = client.get("/no-such-page", headers=headers)
        assert answer.status_code == 404
        assert set(answer.json()) == {"status", "sentence", "problems"}
        assert answer.json()["status"] == 404


def test_static_files_are_kept_for_good_under_the_address_that_pages_use(
    client: TestClient,
) -> None:
    found = re.search(r'href="(/static/[0-9a-f]+/lastbee\.css)"', client.get("/").text)
    assert found
    answer = client.get(found[1], headers={"accept-encoding": "gzip"})
    assert "immutable" in answer.headers["cache-control"]
    assert answer.headers["content-encoding"] == "gzip"
    assert "no-cache" in client.get("/static/000000000000/lastbee.css").headers["cache-control"]
    assert client.get("/static/../app.py").status_code == 404
    assert client.get("/static/%2e%2e/app.py").status_code == 404

"""What a device gets for the time without signal."""

from __future__ import annotations

import json
import re
from datetime import timedelta

import pytest
from web_factory import NOW, entry, id_of

from lastbee.record.at_the_wall import as_data
from lastbee.web.assets import Asset, Assets, collect
from lastbee.web.pages.offline import WORKER, worker_script


def kept(client) -> dict[str, str]:
    told = client.get("/today.json").json()
    return {page["url"]: page["stamp"] for page in told["pages"]}


def test_the_worker_stands_before_every_page_and_is_asked_for_each_time(client):
    """Service Workers (W3C): the scope is the script's own folder."""
    answer = client.get("/service-worker.js")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["cache-control"] == "no-cache"


def test_everything_that_the_worker_imports_and_keeps_is_there(client):
    script = client.get("/service-worker.js").text
    imports = re.findall(r'from "([^"]+)"', script)
    assert len(imports) == 3
    assert all(client.get(address).status_code == 200 for address in imports)
    (version,) = re.findall(r'const VERSION = "([0-9a-f]+)";', script)
    (names,) = re.findall(r"const FILES = (\[.*\]);", script)
    files = json.loads(names)
    assert {"app.js", "outbox.js", "lastbee.css", "vendor/idb.js", "icons/app.svg"} <= {*files}
    assert all(client.get(f"/static/{version}/{name}").status_code == 200 for name in files)


def test_a_change_in_any_file_is_another_worker(tmp_path):
    first = collect()
    for name, asset in first.files.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True, parents=True)
        path.write_bytes(asset.content)
    assert worker_script(collect(tmp_path)) == worker_script(first)
    (tmp_path / "lastbee.css").write_text("body { margin: 1px }")
    assert worker_script(collect(tmp_path)) != worker_script(first)


def test_a_worker_without_places_to_fill_in_is_a_mistake():
    with pytest.raises(ValueError, match="VERSION"):
        worker_script(Assets({WORKER: Asset(b"// nothing", "text/javascript")}, "0"))


def test_scripts_name_no_address_beyond_the_office():
    """No content delivery network, no registry: every script comes from the office itself."""
    for name, asset in collect().files.items():
        if name.endswith((".js", ".css")):
            code = re.sub(rb"(?m)^\s*//.*$", b"", asset.content)
            assert not re.search(rb"https?:|[\"'(]//[a-z0-9-]+\.[a-z]", code), name


def test_the_manifest_makes_it_an_app(client):
    """Web Application Manifest (W3C); installing asks for icons of 192 and 512 px."""
    answer = client.get("/manifest.webmanifest")
    assert answer.headers["content-type"].startswith("application/manifest+json")
    manifest = answer.json()
    assert (manifest["start_url"], manifest["scope"]) == ("/", "/")
    assert manifest["display"] == "standalone"
    assert {"192x192", "512x512"} <= {icon["sizes"] for icon in manifest["icons"]}
    assert all(client.get(icon["src"]).status_code == 200 for icon in manifest["icons"])


@pytest.mark.parametrize("address", ["/saved", "/offline"])
def test_pages_of_the_app_itself_hold_nothing_of_a_job(client, address):
    answer = client.get(address)
    assert answer.status_code == 200
    assert "chimney" not in answer.text
    assert not re.search(r"<script(?![^>]*\ssrc=)", answer.text)


def test_every_page_worth_keeping_can_be_had(client):
    pages = kept(client)
    assert {"/", "/calls", "/jobs", "/calls/new"} <= pages.keys()
    answers = {address: client.get(address).status_code for address in pages}
    assert {address for address, status in answers.items() if status != 200} == set()


def test_a_running_job_can_be_worked_on_without_signal(client):
    jobs = {address.split("/")[2] for address in kept(client) if address.endswith("/visit")}
    (running,) = jobs
    for page in ("", "/visit", "/box", "/close-out", "/note", "/photo", "/history", "/advice.json"):
        assert f"/job/{running}{page}" in kept(client)


def test_jobs_of_the_coming_week_come_with_their_forms_and_all_other_open_ones_without(client):
    client.app.state.desk.take_in(
        [
            entry(30, "call", {"date": "2026-07-01", "place": "A", "inspect_on": "2026-07-21"}, 30),
            entry(31, "call", {"date": "2026-07-01", "place": "B", "inspect_on": "2026-07-22"}, 31),
        ],
        strict=False,
    )
    pages = kept(client)
    assert f"/job/{id_of(30)}/inspection" in pages
    assert f"/job/{id_of(31)}" in pages
    assert f"/job/{id_of(31)}/inspection" not in pages


def test_only_what_changed_has_another_stamp(client):
    before = kept(client)
    note = entry(50, "note", {"date": "2026-07-14", "text": "Key at the mill."}, 19)
    client.app.state.desk.take_in([note], strict=True)
    after = kept(client)
    changed = {address for address in after if before.get(address) != after[address]}
    assert f"/job/{id_of(19)}" in changed
    assert "/" in changed
    assert f"/job/{id_of(23)}" not in changed


def test_tomorrow_every_page_is_another(book, open_app):
    before = kept(open_app())
    later = open_app(filled=False)
    later.app.state.clock = lambda: NOW + timedelta(days=1)
    after = kept(later)
    assert not before.items() & after.items()


def test_cautions_of_a_job_come_with_its_rules(client):
    client.app.state.desk.take_in(
        [entry(60, "call", {"date": "2026-07-14", "place": "C", "allergic_person": "yes"}, 60)],
        strict=False,
    )
    general = client.get("/advice.json").json()
    own = client.get(f"/job/{id_of(60)}/advice.json").json()
    assert general == json.loads(json.dumps(as_data()))
    assert "auto-injector" in own["rules"][0]["caution"]
    assert [rule["do"] for rule in own["rules"]] == [rule["do"] for rule in general["rules"]]


def test_a_job_that_is_not_there_has_no_rules(client):
    assert client.get(f"/job/{id_of(999)}/advice.json").status_code == 404


def test_a_device_that_has_not_joined_gets_nothing_worth_keeping(open_app):
    guest = open_app(token="secret-of-the-office")  # noqa: S106
    for address in ("/today.json", "/saved", "/advice.json", "/"):
        assert guest.get(address).status_code == 403


def test_the_worker_is_given_out_without_cookies_and_says_nothing_of_the_firm(open_app):
    """Browsers fetch the script of a module worker with credentials "omit"."""
    guest = open_app(token="secret-of-the-office")  # noqa: S106
    script = guest.get("/service-worker.js")
    assert script.status_code == 200
    assert "Quiet Walls" not in script.text

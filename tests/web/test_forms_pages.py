"""Entry by form over HTTP: kept, sent twice, sent back, corrected, taken back, with pictures.

Outside the project: HTML's rules for ids, labels and forms (WHATWG HTML), RFC 9110 for 303
and 422 (RFC 4918), and the content policy of the app, under which no script or style stands
inside a page.
"""

from __future__ import annotations

import io
import json
import re
from html.parser import HTMLParser
from time import process_time
from typing import TYPE_CHECKING, Any

import pytest
from PIL import Image
from web_factory import NOW, handful, id_of

from lastbee.errors import FileProblem
from lastbee.record.entry import is_id, new_id
from lastbee.web.forms.catalogue import KINDS
from lastbee.web.forms.photo_entries import derived_id

if TYPE_CHECKING:
    from collections.abc import Callable

    from httpx2 import Response
    from starlette.testclient import TestClient

    from lastbee.office.desk import Desk
    from lastbee.record.entry import Entry

HERE = {"Origin": "http://localhost"}
JSON = {**HERE, "Accept": "application/json"}
OUTBOX = {**JSON, "X-Outbox": "1"}
RUNNING = next(one.job for one in handful() if one.kind == "set-up")
assert RUNNING is not None
VISIT = f"/job/{RUNNING}/visit"
LONGEST_S = 5.0
"""Far more than it takes, and far less than the minutes that a careless pattern takes."""


def fresh(number: int) -> str:
    """An id of an entry made on a device this morning."""
    return new_id(NOW, number.to_bytes(10, "big"))


def desk_of(client: TestClient) -> Desk:
    return client.app.state.desk  # type: ignore[attr-defined, no-any-return]


def kept(client: TestClient, entry: str) -> Entry:
    found = desk_of(client).entry(entry)
    assert found is not None
    return found


def told(client: TestClient, kind: str, job: str = RUNNING) -> list[Any]:
    return [one for one in desk_of(client).case(job).record.told if one.kind == kind]


def visit(number: int = 1, **written: str) -> dict[str, str]:
    """A visit's post as the page makes it: everything else at its blank."""
    return {
        "entry_id": fresh(number), "written_at": "2026-07-14T11:58:00.000+00:00",
        "device": "Van phone", "person": "T. Wick", "replaces": "", "units": "metric",
        "date": "2026-07-14", "time": "07:55", "cone": "clear", "count.out": "9",
        "count.back_in": "", "count.minutes": "5", "cluster": "", "cluster:unit": "cm",
        "temperature": "19", "temperature:unit": "C", "elsewhere.seen": "no", "notes": "",
    } | {name.replace("__", "."): value for name, value in written.items()}  # fmt: skip


def post(client: TestClient, address: str, data: dict[str, Any], **more: Any) -> Response:
    options = {"headers": HERE, "follow_redirects": False} | more
    return client.post(address, data=data, **options)  # type: ignore[return-value]


class Elements(HTMLParser):
    """Start tags of a page, in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, {name: value or "" for name, value in attrs}))

    def of(self, *tags: str) -> list[dict[str, str]]:
        return [attrs for tag, attrs in self.found if tag in tags]


class TestTheForm:
    @pytest.mark.parametrize("kind", KINDS)
    def test_every_kind_has_a_page_that_keeps_the_policy(
        self, client: TestClient, kind: str
    ) -> None:
        answer = client.get(f"/job/{RUNNING}/{kind}")
        assert answer.status_code == 200
        page = Elements(answer.text)
        assert not [attrs for _, attrs in page.found if "style" in attrs]
        assert not [name for _, attrs in page.found for name in attrs if name.startswith("on")]
        assert all("src" in script for script in page.of("script"))
        assert not page.of("style")

    @pytest.mark.parametrize("kind", KINDS)
    def test_every_control_has_a_name_that_can_be_read_out(
        self, client: TestClient, kind: str
    ) -> None:
        page = Elements(client.get(f"/job/{RUNNING}/{kind}").text)
        ids = [attrs["id"] for _, attrs in page.found if "id" in attrs]
        assert len(ids) == len(set(ids))
        labelled = {attrs["for"] for attrs in page.of("label") if "for" in attrs}
        assert labelled <= set(ids)
        for attrs in page.of("input", "select", "textarea"):
            if attrs.get("type") in ("hidden", "radio", "checkbox"):
                continue  # these stand inside their label
            assert attrs.get("aria-label") or attrs.get("id") in labelled, attrs

    def test_day_and_hour_are_those_of_the_site(self, client: TestClient) -> None:
        """Noon UTC is eight in the morning four hours behind it; Etc/GMT+4 counts backwards."""
        page = Elements(client.get(VISIT).text)
        values = {one["name"]: one.get("value") for one in page.of("input") if "name" in one}
        assert (values["date"], values["time"]) == ("2026-07-14", "08:00")
        assert is_id(values["entry_id"] or "")

    def test_units_are_of_the_user_s_choice_and_remembered(self, client: TestClient) -> None:
        assert chosen_unit(client.get(VISIT).text) == "C"
        assert chosen_unit(client.get(f"{VISIT}?units=us").text) == "F"
        assert chosen_unit(client.get(VISIT).text) == "F"
        assert chosen_unit(client.get(f"{VISIT}?units=furlongs").text) == "F"

    @pytest.mark.parametrize(
        "address",
        [f"/job/{RUNNING}/nothing", f"/job/{fresh(9)}/visit",
         "/job/1/visit", f"/job/{RUNNING}/correct/{fresh(9)}", f"/job/{RUNNING}/correct/x",
         f"/job/{RUNNING}/correct/{id_of(2)}"],
    )  # fmt: skip
    def test_what_is_not_there(self, client: TestClient, address: str) -> None:
        assert client.get(address).status_code == 404
        assert post(client, address, visit()).status_code == 404


def chosen_unit(text: str) -> str:
    select = text[text.index('name="temperature:unit"') :]
    found = re.search(r'<option value="([^"]+)" selected>', select[: select.index("</select>")])
    assert found is not None
    return found[1]


class TestKept:
    @pytest.mark.parametrize("written", ["1{}1", "1{}a", "{} x\n1 cm"])
    def test_the_longest_field_is_read_at_once(self, client: TestClient, written: str) -> None:
        """Time that grows with the square would keep everybody waiting for minutes."""
        data = visit(cluster=written.format(" " * 200_000))
        began = process_time()
        assert post(client, VISIT, data).status_code == 422
        assert process_time() - began < LONGEST_S

    def test_a_visit_is_kept_as_written(self, client: TestClient) -> None:
        answer = post(client, VISIT, visit())
        assert (answer.status_code, answer.headers["location"]) == (303, f"/job/{RUNNING}")
        entry = kept(client, fresh(1))
        assert entry.body == {
            "date": "2026-07-14", "time": "07:55", "cone": "clear", "temperature": "19 C",
            "count": {"out": 9, "minutes": 5}, "elsewhere": {"seen": False},
        }  # fmt: skip
        assert (entry.person, entry.device, entry.replaces) == ("T. Wick", "Van phone", None)
        assert entry.written_at.isoformat() == "2026-07-14T11:58:00+00:00"

    def test_twice_is_once(self, client: TestClient) -> None:
        before = len(told(client, "visit"))
        assert [post(client, VISIT, visit()).status_code for _ in range(2)] == [303, 303]
        assert len(told(client, "visit")) == before + 1

    def test_gone_back_and_changed_is_a_correction(self, client: TestClient) -> None:
        post(client, VISIT, visit())
        for _ in range(2):
            assert post(client, VISIT, visit(cone="blocked")).status_code == 303
        last = told(client, "visit")[-1]
        assert (last.body["cone"], last.first.id) == ("blocked", fresh(1))
        assert len(last.earlier) == 1

    def test_scripts_are_told_that_what_was_changed_is_kept(self, client: TestClient) -> None:
        for cone in ("clear", "blocked"):
            said = post(client, VISIT, visit(cone=cone), headers=JSON).json()
            assert fresh(1) in said["kept"] + said["was_there"]

    def test_photographs_are_not_doubled_by_going_back(self, client: TestClient) -> None:
        for cone in ("clear", "blocked"):
            post(client, VISIT, visit(cone=cone), files=files(jpeg("red")))
        assert len(told(client, "photo")) == 1

    def test_hidden_fields_that_cannot_be_are_made_anew(self, client: TestClient) -> None:
        data = visit() | {"entry_id": "7", "written_at": "yesterday", "replaces": "x"}
        assert post(client, VISIT, data).status_code == 303
        entry = told(client, "visit")[-1].entry
        assert is_id(entry.id)
        assert (entry.written_at, entry.replaces) == (NOW, None)


class TestSentBack:
    def test_with_the_sentence_at_the_field_and_all_that_was_typed(
        self, client: TestClient
    ) -> None:
        data = visit(temperature="warm", notes="Sill <b>gap</b>", cluster="20 by hand")
        answer = post(client, VISIT, data)
        assert answer.status_code == 422
        assert desk_of(client).entry(fresh(1)) is None
        text = answer.text
        assert "Air, in the shade is &#39;warm&#39;" in text
        assert 'value="warm"' in text
        assert "Sill &lt;b&gt;gap&lt;/b&gt;" in text
        assert 'value="20 by hand"' in text
        assert f'value="{fresh(1)}"' in text  # the same entry, once it is mended
        wrong = [a for a in Elements(text).of("input") if a.get("aria-invalid") == "true"]
        assert {a["name"] for a in wrong} == {"temperature", "cluster"}
        summary = [a["href"] for a in Elements(text).of("a") if a["href"].startswith("#f-")]
        assert set(summary) == {"#f-temperature", "#f-cluster"}

    def test_scripts_are_told_in_json(self, client: TestClient) -> None:
        answer = post(client, VISIT, visit(temperature="warm"), headers=JSON)
        assert answer.status_code == 422
        assert [one["field"] for one in answer.json()["problems"]] == ["temperature"]

    def test_a_rule_of_the_record_names_the_field_too(self, client: TestClient) -> None:
        """A close-out before any forecast calls the wall empty asks for the reason."""
        data = {"entry_id": fresh(3), "date": "2026-07-14", "way": "close as it is"}
        answer = post(client, f"/job/{RUNNING}/close-out", data)
        assert answer.status_code == 422
        assert 'href="#f-reason"' in answer.text


class TestOutbox:
    def test_everything_is_kept_and_what_is_wrong_is_told(self, client: TestClient) -> None:
        answer = post(client, VISIT, visit(temperature="warm"), headers=OUTBOX)
        assert answer.status_code == 200
        said = answer.json()
        assert (said["kept"], said["was_there"]) == ([fresh(1)], [])
        assert [one["field"] for one in said["problems"]] == ["temperature"]
        assert kept(client, fresh(1)).body["temperature"] == "warm"
        again = post(client, VISIT, visit(temperature="warm"), headers=OUTBOX).json()
        assert (again["kept"], again["was_there"]) == ([], [fresh(1)])

    def test_a_file_that_cannot_be_written_is_no_fault_of_the_form(
        self, client: TestClient, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """RFC 9110, 15.6.4: 503 says that it may go later; 422 would call for a mend."""

        def full(*_: object, **__: object) -> None:
            raise FileProblem("firm.lastbee", "has no room to grow", "make room")

        monkeypatch.setattr(desk_of(client), "take_in", full)
        answer = post(client, VISIT, visit(), headers=OUTBOX)
        assert answer.status_code == 503
        assert "no room to grow" in answer.json()["sentence"]

    def test_a_visit_may_come_before_its_job(self, client: TestClient) -> None:
        job = fresh(40)
        answer = post(client, f"/job/{job}/visit", visit(), headers=OUTBOX)
        assert answer.json()["kept"] == [fresh(1)]
        assert kept(client, fresh(1)).job == job

    def test_the_units_shown_are_the_units_meant(self, client: TestClient) -> None:
        client.get(f"{VISIT}?units=us")
        data = visit() | {"cluster": "12 x 8"}
        del data["cluster:unit"]
        post(client, VISIT, data, headers=OUTBOX)
        assert kept(client, fresh(1)).body["cluster"] == "12 x 8 cm"


class TestCorrected:
    def test_the_form_has_what_was_written(self, client: TestClient) -> None:
        post(client, VISIT, visit())
        page = client.get(f"/job/{RUNNING}/correct/{fresh(1)}")
        fields = {a["name"]: a.get("value") for a in Elements(page.text).of("input") if "name" in a}
        assert (fields["count.out"], fields["temperature"]) == ("9", "19")
        assert fields["replaces"] == fresh(1)

    def test_the_correction_counts_and_the_first_words_stay(self, client: TestClient) -> None:
        post(client, VISIT, visit())
        data = visit(2, count__out="19") | {"replaces": fresh(1)}
        answer = post(client, f"/job/{RUNNING}/correct/{fresh(1)}", data)
        assert answer.status_code == 303
        last = told(client, "visit")[-1]
        assert (last.entry.id, last.body["count"]["out"]) == (fresh(2), 19)
        assert kept(client, fresh(1)).body["count"]["out"] == 9

    def test_what_the_form_does_not_show_is_kept(self, client: TestClient) -> None:
        call = next(one for one in handful() if one.kind == "call")
        body = {**call.body, "answers": {"noise": "hum"}}
        desk = desk_of(client)
        desk.take_in(
            [type(call)(fresh(5), call.job, "call", body, NOW, replaces=call.id)], strict=True
        )
        data = {"entry_id": fresh(6), "date": call.body["date"], "client": "Somebody else"}
        post(client, f"/job/{call.job}/correct/{fresh(5)}", data)
        assert kept(client, fresh(6)).body == {
            "date": call.body["date"], "client": "Somebody else", "answers": {"noise": "hum"},
        }  # fmt: skip

    def test_what_cannot_be_used_is_named_and_left_out(self, client: TestClient) -> None:
        body = {"date": "2026-07-12", "time": "09:00", "colour": "red"}
        made = [type(handful()[0])(fresh(7), RUNNING, "visit", body, NOW)]
        desk_of(client).take_in(made, strict=False)
        address = f"/job/{RUNNING}/correct/{fresh(7)}"
        text = client.get(address).text
        assert "colour cannot be used" in text
        assert "Kept, but does not count yet" in text
        assert "Not kept yet" not in text
        assert post(client, address, visit(8) | {"date": "2026-07-12"}).status_code == 303
        assert "colour" not in kept(client, fresh(8)).body

    def test_taken_back_with_a_reason_and_not_without(self, client: TestClient) -> None:
        post(client, VISIT, visit())
        address = f"/job/{RUNNING}/correct/{fresh(1)}"
        data = {"entry_id": fresh(2), "replaces": fresh(1), "take_back": "yes", "withdrawn": " "}
        answer = post(client, address, data)
        assert answer.status_code == 422
        assert "Why is missing" in answer.text
        answer = post(client, address, data | {"withdrawn": "wrong wall"})
        assert answer.status_code == 303
        assert kept(client, fresh(2)).body == {"withdrawn": "wrong wall"}
        assert told(client, "visit")[-1].is_withdrawn
        again = client.get(f"/job/{RUNNING}/correct/{fresh(2)}")
        assert 'name="count.out" value="9"' in again.text

    @pytest.fixture
    def rivals(self, client: TestClient) -> tuple[str, str]:
        """The address of a visit that two people corrected, and the correction that counts."""
        post(client, VISIT, visit())
        address = f"/job/{RUNNING}/correct/{fresh(1)}"
        for number, notes in ((2, "From the ladder"), (3, "From the van")):
            data = visit(number, notes=notes) | {"replaces": fresh(1)}
            assert post(client, address, data).status_code == 303
        assert told(client, "visit")[-1].rivals
        return f"/job/{RUNNING}/correct/{fresh(3)}", fresh(3)

    def test_two_corrections_are_shown_together_and_what_is_kept_settles_them(
        self, client: TestClient, rivals: tuple[str, str]
    ) -> None:
        address, counting = rivals
        text = client.get(address).text
        assert "Written twice" in text
        assert "From the ladder" in text
        assert f'href="/job/{RUNNING}/correct/{fresh(2)}"' in text
        posted = {a["name"]: a["value"] for a in Elements(text).of("input") if "value" in a}
        assert (posted["replaces"], posted["settles"]) == (counting, fresh(2))
        data = visit(4, notes="Both") | {"replaces": counting, "settles": fresh(2)}
        refused = post(client, address, data | {"temperature": "warm"})
        assert refused.status_code == 422
        assert "From the ladder" in refused.text
        assert f'name="settles" value="{fresh(2)}"' in refused.text
        assert post(client, address, data).status_code == 303
        last = told(client, "visit")[-1]
        assert (last.entry.id, last.rivals, last.problems) == (fresh(4), (), ())
        assert "Corrected twice" not in client.get(f"/job/{RUNNING}").text
        assert "settles" not in client.get(f"/job/{RUNNING}/history").text
        # A later correction has nothing left to settle.
        assert 'name="settles"' not in client.get(f"/job/{RUNNING}/correct/{fresh(4)}").text

    def test_an_old_page_shows_what_was_written_since(
        self, client: TestClient, rivals: tuple[str, str]
    ) -> None:
        text = client.get(f"/job/{RUNNING}/correct/{fresh(1)}").text
        assert "From the ladder" in text
        assert "From the van" in text
        assert text.count('name="settles"') == 2 * 2  # in the form and in that to take back

    def test_taking_back_what_was_corrected_twice_settles_it(
        self, client: TestClient, rivals: tuple[str, str]
    ) -> None:
        address, counting = rivals
        data = {"entry_id": fresh(4), "replaces": counting, "settles": fresh(2)}
        data |= {"take_back": "yes", "withdrawn": "wrong wall"}
        assert post(client, address, data).status_code == 303
        last = told(client, "visit")[-1]
        assert (last.is_withdrawn, last.rivals) == (True, ())

    def test_what_others_rest_on_is_not_taken_back_first(self, client: TestClient) -> None:
        set_up = next(one for one in handful() if one.kind == "set-up")
        data = {"entry_id": fresh(2), "take_back": "yes", "withdrawn": "never happened"}
        answer = post(client, f"/job/{RUNNING}/correct/{set_up.id}", data)
        assert answer.status_code == 422
        assert "visit" in answer.text


def jpeg(colour: str, *, taken: str = "") -> bytes:
    exif = Image.Exif()
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2], gps[3], gps[4] = "N", (43.0, 6.0, 0.0), "W", (72.0, 24.0, 0.0)
    file = io.BytesIO()
    Image.new("RGB", (60, 40), colour).save(file, "JPEG", exif=exif)
    return file.getvalue()


def files(*pictures: bytes) -> list[tuple[str, tuple[str, bytes, str]]]:
    return [("photos", (f"p{n}.jpg", raw, "image/jpeg")) for n, raw in enumerate(pictures)]


class TestPhotographs:
    def test_each_is_an_entry_beside_the_visit(self, client: TestClient) -> None:
        data = visit() | {"photos.of": "gap"}
        pictures = files(jpeg("red", taken="2026:07:14 07:50:00"), jpeg("blue"))
        for _ in range(2):
            assert post(client, VISIT, data, files=pictures).status_code == 303
        found = told(client, "photo")
        assert len(found) == 2
        assert {(one.body["of"], one.body["date"]) for one in found} == {("gap", "2026-07-14")}
        assert {one.body["time"] for one in found} == {"07:50", "07:55"}
        for one in found:
            assert not {"latitude", "longitude"} & set(one.body)
            raw = desk_of(client).picture(one.body["picture"])
            assert raw is not None
            assert b"Exif" not in raw

    def test_several_on_their_own_page(self, client: TestClient) -> None:
        data = {"entry_id": fresh(1), "of": "cone", "caption": "Tip", "keeps_location": "yes"}
        pictures = files(jpeg("red"), jpeg("blue"), jpeg("green"))
        for _ in range(2):
            answer = post(client, f"/job/{RUNNING}/photo", data, files=pictures)
            assert answer.status_code == 303
        found = told(client, "photo")
        assert len(found) == 3
        assert {one.body["caption"] for one in found} == {"Tip"}
        assert {(one.body["latitude"], one.body["longitude"]) for one in found} == {(43.1, -72.4)}
        assert fresh(1) in {one.entry.id for one in found}
        assert not [one for one in found if one.earlier]

    def test_a_page_without_one_says_so(self, client: TestClient) -> None:
        answer = post(client, f"/job/{RUNNING}/photo", {"entry_id": fresh(1), "caption": "Tip"})
        assert answer.status_code == 422
        assert ">Tip</textarea>" in answer.text.replace("\n", "")

    def test_garbage_is_refused_and_the_visit_stays_filled_in(self, client: TestClient) -> None:
        answer = post(client, VISIT, visit(notes="kept?"), files=files(b"no picture"))
        assert answer.status_code == 422
        assert "JPEG or PNG" in answer.text
        assert "kept?" in answer.text
        assert desk_of(client).entry(fresh(1)) is None

    def test_from_an_outbox_the_visit_is_kept_whatever_its_pictures_are(
        self, client: TestClient
    ) -> None:
        pictures = files(b"no picture", jpeg("red"))
        said = post(client, VISIT, visit(), files=pictures, headers=OUTBOX).json()
        assert fresh(1) in said["kept"]
        assert [one["field"] for one in said["problems"]] == ["photos"]
        assert len(told(client, "photo")) == 1

    def test_a_correction_keeps_its_picture(self, client: TestClient) -> None:
        post(client, f"/job/{RUNNING}/photo", {"entry_id": fresh(1)}, files=files(jpeg("red")))
        first = told(client, "photo")[0]
        address = f"/job/{RUNNING}/correct/{fresh(1)}"
        assert f'value="{first.body["picture"]}"' in client.get(address).text
        data = {"entry_id": fresh(2), "replaces": fresh(1), "caption": "Tip of the cone"}
        data |= {"date": first.body["date"], "picture": first.body["picture"]}
        assert post(client, address, data).status_code == 303
        assert told(client, "photo")[0].body["picture"] == first.body["picture"]

    def test_ids_that_follow_are_ids_and_differ(self) -> None:
        made = {derived_id(fresh(1), f"photo {n}") for n in range(20)}
        assert len(made) == 20
        assert all(is_id(one) and one[:13] == fresh(1)[:13] for one in made)


class TestWeather:
    @pytest.fixture
    def readings(self, open_app: Callable[..., TestClient]) -> TestClient:
        client = open_app()
        data = visit(sky="sun", wind="calm") | {"time": "07:10"}
        assert post(client, VISIT, data).status_code == 303
        return client

    def test_what_the_crew_read_is_suggested_with_its_source(self, readings: TestClient) -> None:
        text = readings.get(VISIT).text
        assert "Suggested: 19 °C, sun, calm" in text
        assert "T. Wick" in text
        shown = next(a for _, a in Elements(text).found if "data-suggested" in a)
        assert json.loads(shown["data-suggested"])["sky"] == ["sun"]
        assert value_of(text, "temperature") == ""

    def test_it_is_filled_in_when_asked_for(self, readings: TestClient) -> None:
        text = readings.get(f"{VISIT}?weather=take&units=us").text
        # 19 C = 19 x 9/5 + 32 = 66.2 F
        assert value_of(text, "temperature") == "66"

    def test_without_a_reading_nothing_is_suggested(self, empty_client: TestClient) -> None:
        job = fresh(60)
        post(empty_client, f"/job/{job}/note", {"entry_id": fresh(61), "text": "x",
             "date": "2026-07-14"}, headers=OUTBOX)  # fmt: skip
        assert "Suggested" not in empty_client.get(f"/job/{job}/inspection").text


def value_of(text: str, name: str) -> str | None:
    return next(a.get("value") for a in Elements(text).of("input") if a.get("name") == name)

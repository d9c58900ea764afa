"""Advice at the wall: the rules agree with the trade, with the forecast's own eyes, and with
what a phone without signal makes of the same table."""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from lastbee.biology.flight import flight_activity
from lastbee.colony.course import MENDS, Trouble
from lastbee.jobs.jobfile import job_of_tree
from lastbee.jobs.sightings import FLYING, found_nothing, seen_and_left
from lastbee.jobs.troubles import TOLD
from lastbee.record.at_the_wall import NOTHING_PLAIN, TOO_COLD_DEGC, UNKNOWN, advice, as_data, rules
from lastbee.units import temperature_degc

STATIC = Path(__file__).parents[2] / "lastbee" / "web" / "static"
# Bodies that each language reads: as a job file has them, and as a form's fields hold them.
SEED, BODIES = 20260714, 400
SEEN_PLAINLY = {
    Trouble.CLOGGED, Trouble.LEAK, Trouble.WALKED_BACK, Trouble.ROBBED, Trouble.BOX_LEFT,
}  # fmt: skip


def keys(body: dict[str, Any]) -> list[str]:
    return [rule.key for rule in advice(body)]


def count(**bees: int) -> dict[str, Any]:
    return {"count": {"minutes": 10, **bees}}


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ({"cone": "blocked"}, ["clogged"]),
        ({"cone": "Partly-Blocked"}, ["clogged"]),
        (count(out=20, back_in=3), ["walked_back"]),
        ({"elsewhere": {"minutes": 10, "in": 3}}, ["leak"]),
        ({"elsewhere": {"seen": True, "pollen": True}}, ["leak"]),
        ({"elsewhere": {"seen": True}}, ["strays_or_leak"]),
        ({"cluster": "20 x 15 cm"}, ["cluster"]),
        ({"box": {"robbing": True}}, ["robbed"]),
        ({"box": {"frames_of_bees": 0}}, ["box_left"]),
        ({"box": {"hanging_out": True}}, ["hanging_out"]),
        ({"dead_bees": "many"}, ["many_dead"]),
        ({**count(out=0), "temperature": "75 F", "wall": {"hum": False}}, ["silent"]),
        ({"wall": {"bees_inside": False}}, ["nobody_inside"]),
        ({**count(out=0), "temperature": "10 C"}, ["no_flying_weather"]),
        ({**count(out=0), "sky": "rain"}, ["no_flying_weather"]),
    ],
)
def test_a_plain_sign_is_answered_as_the_trade_would(body, expected):
    """Common practice, no source."""
    assert keys(body) == expected


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"cone": "clear", "cluster": "none", "dead_bees": "some"},
        count(out=20, back_in=2),
        {"elsewhere": {"seen": False}},
        {"temperature": "5 C", "sky": "rain"},
        {**count(out=0), "wall": {"hum": True}},
        {**count(out=0), "cone": "blocked", "did": {"cone": "cleared"}},
        {"cone": ["blocked"], "count": "many", "box": None, "elsewhere": {"in": "a few"}},
    ],
)
def test_what_is_not_plain_calls_for_nothing(body):
    assert keys(body) == []


def test_the_most_pressing_comes_first():
    """Bees locked in break out indoors: before anything else (common practice, no source)."""
    body = {"box": {"robbing": True}, "cone": "blocked", "dead_bees": "many", **count(back_in=9)}
    assert keys(body) == ["clogged", "walked_back", "robbed"]


@pytest.mark.parametrize(
    ("deed", "trouble"),
    [
        ({"cone": "cleared"}, {"cone": "blocked"}),
        ({"cone": "refitted"}, count(back_in=8)),
        ({"closed_gap": True}, {"elsewhere": {"minutes": 5, "in": 9}}),
        ({"brushed_in": True}, {"cluster": "3 dm2"}),
        ({"added_box": 0}, {"cluster": "3 dm2"}),
        ({"reduced_entrance": True}, {"box": {"robbing": True}}),
        ({"gave_brood": 1}, {"box": {"frames_of_bees": 0}}),
        ({"shaded_box": True}, {"box": {"hanging_out": True}}),
    ],
)
def test_what_was_dealt_with_is_not_asked_for_again(deed, trouble):
    assert keys(trouble)
    assert keys({**trouble, "did": deed}) == []
    assert keys({**trouble, "did": dict.fromkeys(deed, False)}) == keys(trouble)


def test_words_of_a_known_trouble_are_those_of_the_report():
    by_key = {told.key: told for told in TOLD.values()}
    told = [rule for rule in rules() if rule.key in by_key]
    assert {rule.key for rule in told} >= {TOLD[trouble].key for trouble in SEEN_PLAINLY}
    assert all(rule.do == by_key[rule.key].remedy for rule in told)


def test_work_that_can_hurt_carries_its_caution():
    """Stings at any work at the wall, ladders where it is high, who is allergic if somebody is."""
    for rule in rules():
        assert "Stings" in rule.caution or rule.key == "no_flying_weather"
    low = replace(UNKNOWN, entrance_height_m=1.0, power_line_near="no", year_built=2015)
    assert all("Height" not in rule.caution for rule in rules(low))
    assert "ladder" in next(rule for rule in rules() if rule.key == "clogged").caution
    allergic = replace(UNKNOWN, allergic_person="yes")
    assert all("auto-injector" in r.caution for r in rules(allergic) if r.caution)


def test_an_empty_wall_is_not_closed_on_one_silent_visit():
    (rule,) = advice({**count(out=0), "wall": {"hum": False, "hand": "none"}})
    assert rule.do.startswith("Close nothing yet")
    assert "7 days apart" in rule.do


def bodies(how_many: int = BODIES, seed: int = SEED) -> list[dict[str, Any]]:
    """Visits that a job file takes, most of whose keys are left out."""
    dice = random.Random(seed)  # noqa: S311

    def some(values: tuple[Any, ...], chance: float = 0.4) -> Any:
        return dice.choice(values) if dice.random() < chance else None

    def table(**values: Any) -> dict[str, Any] | None:
        return {key: value for key, value in values.items() if value is not None} or None

    yes_no = (True, False)
    made = []
    for _ in range(how_many):
        seen, bees_in = some(yes_no), some((1, 2, 3, 12), 0.3)
        seen = True if bees_in else seen
        elsewhere = table(seen=seen, pollen=some(yes_no) if seen else None)
        if bees_in and elsewhere is not None:
            elsewhere |= {"in": bees_in, "minutes": 10}
        counted = table(out=some((0, 0, 4, 60)), back_in=some((0, 2, 3, 20)))
        body = table(
            date="2026-07-10", time="13:30",
            temperature=some(("24 C", "50 F", "59.4 F", "15.2 C", "15,1 °C", "75°F", "60 deg F")),
            sky=some(("sun", "cloud", "rain")), wind=some(("calm", "strong")),
            cone=some(("clear", "partly blocked", "blocked")),
            cluster=some(("none", "3 dm2", "20 x 15 cm")),
            dead_bees=some(("none", "some", "many")),
            count=counted and {**counted, "minutes": 5},
            elsewhere=elsewhere,
            box=table(frames_of_bees=some((0, 0.5, 4)), robbing=some(yes_no),
                      hanging_out=some(yes_no)),
            wall=table(hum=some(yes_no), hand=some(("warm", "none")), bees_inside=some(yes_no)),
            did=table(cone=some(("cleared", "refitted"), 0.2), closed_gap=some(yes_no, 0.2),
                      brushed_in=some(yes_no, 0.2), gave_brood=some((True, 1, False), 0.2),
                      added_box=some((True, 0, 3), 0.1), shaded_box=some(yes_no, 0.2),
                      reduced_entrance=some(yes_no, 0.2)),
        )  # fmt: skip
        made.append(body)
    return made


def as_typed(body: dict[str, Any]) -> dict[str, Any]:
    """The same with every value as the text that a form's field holds."""

    def text(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: text(one) for key, one in value.items()}
        if isinstance(value, bool):
            return "yes" if value else "no"
        return str(value)

    return text(body)


def visit_of(body: dict[str, Any]):
    tree = {
        "title": "Bees behind the sign",
        "site": {"place": "Hollow Ferry", "latitude": 43.1, "longitude": -72.4},
        "inspection": {"date": "2026-06-29"},
        "setup": {"cone_on": "2026-07-01"},
        "visit": [body],
    }
    return job_of_tree(tree).visits[0]


def test_rules_see_what_the_forecast_sees():
    """Another reading of the same visit: `lastbee.jobs.sightings`, on the checked record."""
    told_apart = set()
    for body in bodies():
        visit, said = visit_of(body), set(keys(body))
        plain = {TOLD[trouble].key for trouble in seen_and_left(visit)}
        assert said & {TOLD[trouble].key for trouble in SEEN_PLAINLY} == plain, body
        told_apart |= plain
        raw = body.get("temperature")
        flies = 1.0 if raw is None else float(flight_activity(temperature_degc(raw)))
        if body.get("sky") == "rain" or body.get("wind") == "strong":
            flies = 0.0
        assert bool(said & {"silent", "nobody_inside"}) == found_nothing(visit, flies), body
    assert told_apart == {TOLD[trouble].key for trouble in SEEN_PLAINLY}


def test_the_cluster_rule_falls_silent_at_the_deeds_that_mend_one():
    (rule,) = (rule for rule in rules() if rule.key == TOLD[Trouble.CLUSTER].key)
    assert len(rule.unless) == len(MENDS[Trouble.CLUSTER])


def test_cold_begins_where_flight_does_not_tell():
    """Burrill & Dietz 1981, as in `lastbee.biology.flight`: 12 degC none, 20 degC full."""
    assert float(flight_activity(TOO_COLD_DEGC)) == pytest.approx(FLYING)


def test_fields_of_a_form_are_read_as_the_values_they_stand_for():
    for body in bodies():
        assert keys(as_typed(body)) == keys(body), body


@pytest.mark.skipif(shutil.which("node") is None, reason="node is not installed")
def test_the_phone_says_the_same(tmp_path):
    """The browser's own reading of the table, run by node on the same bodies."""
    every = [one for body in bodies() for one in (body, as_typed(body))]
    script = tmp_path / "say.mjs"
    script.write_text(
        f"import {{ advice, leaves }} from {json.dumps((STATIC / 'advice.js').as_uri())};\n"
        'import { readFileSync } from "node:fs";\n'
        "const { table, bodies } = JSON.parse(readFileSync(0));\n"
        "const said = bodies.map((body) => advice(table, leaves(body)));\n"
        "console.log(JSON.stringify(said));\n"
    )
    told = subprocess.run(
        ["node", str(script)],
        input=json.dumps({"table": as_data(), "bodies": every}),
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    said = json.loads(told.stdout)
    assert [[rule["key"] for rule in one] for one in said] == [keys(body) for body in every]
    assert {rule["key"] for one in said for rule in one} == {rule.key for rule in rules()}


def test_the_table_travels_as_json():
    data = as_data()
    assert json.loads(json.dumps(data))["otherwise"] == NOTHING_PLAIN
    assert [rule["key"] for rule in data["rules"]] == [rule.key for rule in rules()]

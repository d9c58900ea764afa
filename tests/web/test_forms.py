"""What a form posts becomes the body of an entry, and back, whatever was written in it.

Outside the project: the kinds that read a job file (checked elsewhere against Pint and against
the documentation) decide what may be written; HTML leaves an empty field in a post and an
unticked box out of it (WHATWG HTML, "Constructing the entry list").
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

import plan_factory
import progress_factory
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lastbee.record.at_the_wall import UNKNOWN
from lastbee.record.entry import JOB_KINDS
from lastbee.record.tables import BODIES, CLOSE_OUT_WAYS, WAYS, faults_of_body
from lastbee.web.forms.catalogue import KINDS, form_of
from lastbee.web.forms.form import OTHER_SIDE, TICK, UNIT
from lastbee.web.forms.reading import joined, posted_of_tree, tree_of_form, value_at, without
from lastbee.web.forms.situation import Situation
from lastbee.web.forms.view import FormView

if TYPE_CHECKING:
    from pydantic import BaseModel

    from lastbee.jobs.plan import MethodRow
    from lastbee.web.forms.form import Field, Form

SITUATION = Situation(UNKNOWN, people=("T. Wick", "O. Lark"), boxes=("B 7",))
FORMS = {kind: form_of(kind, SITUATION) for kind in KINDS}
SYSTEMS = ("metric", "us")
# Keys that no form shows on purpose: questions of a call, climate of the site (the firm's
# page), and where a photograph was taken (the camera says it).
NOT_ASKED = {
    "call": {"answers"},
    "inspection": {
        f"site.climate.{key}" for key in ("unit", "high", "low", "wet_days", "wet_share")
    },
    "photo": {"latitude", "longitude"},
}


def keys_of(table: type[BaseModel], above: str = "") -> set[str]:
    """Dotted keys of a body's tables."""
    found: set[str] = set()
    for name, field in table.model_fields.items():
        key = f"{above}{field.alias or name}"
        inner = field.annotation
        if isinstance(inner, type) and hasattr(inner, "model_fields"):
            found |= keys_of(inner, f"{key}.")
        else:
            found.add(key)
    return found


def post(kind: str, units: Any = "metric", **written: str) -> dict[str, Any]:
    """The body of what stands in a few fields; two underscores for a dot."""
    posted = {name.replace("__", ".").replace("_AT_", ":"): [v] for name, v in written.items()}
    return tree_of_form(FORMS[kind], posted, units)


# Every value that a form's own controls can give, by control.

NUMBERS = st.integers(0, 10**6) | st.decimals(-999, 999, places=2).map(float)
AMOUNTS = st.integers(0, 9999).map(str) | st.decimals(0, 999, places=2).map(str)
WORDS = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=20
)


@st.composite
def values(draw: st.DrawFn, field: Field) -> Any:
    """A value that the field's control can give."""
    if field.tick is not None and draw(st.booleans()):
        return draw(st.booleans()) if field.tick.value is True else field.tick.value
    match field.control:
        case "choice":
            return draw(st.sampled_from([option.value for option in field.options]))
        case "yes-no":
            return draw(st.sampled_from(["yes", "no"])) if field.as_words else draw(st.booleans())
        case "tick":
            return draw(st.booleans())
        case "ticks":
            return draw(
                st.lists(st.sampled_from([o.value for o in field.options]), min_size=1, unique=True)
            )
        case "told":
            return draw(st.lists(WORDS, min_size=1, unique=True))
        case "number" | "stepper":
            return draw(NUMBERS)
        case "measure":
            assert field.scale is not None
            number = draw(AMOUNTS)
            if field.scale.usual_area and draw(st.booleans()):
                number = f"{number} x {draw(AMOUNTS)}"
            return f"{number} {draw(st.sampled_from(field.scale.offered))}"
        case "day":
            return draw(st.dates()).isoformat()
        case "clock":
            return f"{draw(st.times()):%H:%M}"
        case _:
            return draw(WORDS)


@st.composite
def bodies(draw: st.DrawFn, form: Form) -> dict[str, Any]:
    """A body in which each field is written or not."""
    tree: dict[str, Any] = {}
    for field in form.fields:
        if draw(st.booleans()):
            *tables, key = field.name.split(".")
            table = tree
            for name in tables:
                table = table.setdefault(name, {})
            table[key] = draw(values(field))
    return tree


class TestEveryKeyHasAField:
    def test_every_kind_of_a_job_has_a_form(self) -> None:
        assert set(KINDS) == set(JOB_KINDS)

    @pytest.mark.parametrize("kind", KINDS)
    def test_fields_are_the_keys_of_the_body(self, kind: str) -> None:
        names = [field.name for field in FORMS[kind].fields]
        assert len(names) == len(set(names))
        assert set(names) == keys_of(BODIES[kind].table) - NOT_ASKED.get(kind, set())

    @pytest.mark.parametrize("kind", KINDS)
    def test_every_choice_can_be_used(self, kind: str) -> None:
        for field in FORMS[kind].fields:
            if field.control in ("choice", "yes-no") and not field.is_beside:
                for option in FormView(FORMS[kind], {}, "metric").choices(field):
                    body = tree_of_form(FORMS[kind], {field.name: [option.value]}, "metric")
                    faults = [f for f in faults_of_body(kind, body) if f.field == field.name]
                    assert not [f for f in faults if f.value is not None]

    @pytest.mark.parametrize("kind", KINDS)
    def test_what_an_entry_needs_is_marked(self, kind: str) -> None:
        needed = {name for name, _ in BODIES[kind].required}
        marked = {field.name for field in FORMS[kind].fields if field.is_needed}
        # The day of a photograph comes from the camera; its picture is a file.
        assert needed - marked <= ({"date", "picture"} if kind == "photo" else set())
        assert marked <= needed

    @pytest.mark.parametrize("kind", ["inspection", "set-up", "visit", "close-out", "decision"])
    def test_work_that_can_hurt_carries_its_caution(self, kind: str) -> None:
        said = " ".join(section.caution for section in FORMS[kind].sections)
        for word in ("Stings", "Height", "lines", "Local codes and licensed practice decide"):
            assert word in said


class TestThereAndBack:
    @pytest.mark.parametrize("kind", KINDS)
    @settings(max_examples=40)
    @given(data=st.data())
    def test_any_body_of_allowed_values(self, kind: str, data: st.DataObject) -> None:
        form = FORMS[kind]
        body = data.draw(bodies(form))
        posted = posted_of_tree(form, body)
        for units in SYSTEMS:
            assert tree_of_form(form, posted, units) == body

    @pytest.mark.parametrize("kind", KINDS)
    @settings(max_examples=40)
    @given(data=st.data())
    def test_any_garbage_gives_a_body_and_a_page_s_values(
        self, kind: str, data: st.DataObject
    ) -> None:
        form = FORMS[kind]
        names = [field.name + end for field in form.fields for end in ("", UNIT, OTHER_SIDE, TICK)]
        posted = data.draw(
            st.dictionaries(
                st.sampled_from(names) | st.text(max_size=10),
                st.lists(st.text(max_size=30), max_size=3),
                max_size=12,
            )
        )
        body = tree_of_form(form, posted, "us")
        faults_of_body(kind, body)  # any body can be judged
        again = tree_of_form(form, posted_of_tree(form, body), "us")
        assert again == body

    @given(
        st.recursive(
            st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
            lambda inner: (
                st.lists(inner, max_size=3)
                | st.dictionaries(
                    st.sampled_from(["count", "out", "box", "cluster", "did", "x"]), inner
                )
            ),
            max_leaves=12,
        )
    )
    def test_any_body_that_came_from_elsewhere_can_be_shown(self, body: Any) -> None:
        tree = body if isinstance(body, dict) else {"count": body}
        view = FormView(FORMS["visit"], posted_of_tree(FORMS["visit"], tree), "metric")
        for field in FORMS["visit"].fields:
            assert isinstance(view.said(field.name), str)
            assert isinstance(view.unit(field), str)
            view.choices(field)


class TestAmounts:
    def test_a_bare_number_gets_the_unit_of_the_user_s_choice(self) -> None:
        assert post("visit", temperature="24") == {"temperature": "24 C"}
        assert post("visit", "us", temperature="75") == {"temperature": "75 F"}
        assert post("visit", temperature="75", temperature_AT_unit="F") == {"temperature": "75 F"}

    def test_a_unit_that_is_typed_stays(self) -> None:
        assert post("inspection", "metric", building__entrance_height="14 ft 6 in") == {
            "building": {"entrance_height": "14 ft 6 in"}
        }

    def test_two_sides_get_the_unit_of_a_side(self) -> None:
        assert post("visit", cluster="30 x 40") == {"cluster": "30 x 40 cm"}
        assert post("visit", "us", cluster="12", cluster_AT_other="8") == {"cluster": "12 x 8 in"}
        assert post("visit", "us", cluster="12") == {"cluster": "12 sq in"}

    @pytest.mark.parametrize(
        ("written", "read"),
        [
            ("12", 12), ("3.5", 3.5), ("3,5", 3.5), ("-72.4", -72.4), ("\u221272.4", -72.4),
            # One and a half or fifteen hundred: only the writer knows.
            ("1,500", "1,500"), ("a dozen", "a dozen"), ("1e3", "1e3"), ("", None),
        ],
    )  # fmt: skip
    def test_numbers(self, written: str, read: Any) -> None:
        body = post("visit", box__frames_of_bees=written)
        assert value_at(body, "box.frames_of_bees") == read

    def test_none_and_some_at_once_is_for_the_writer_to_settle(self) -> None:
        body = post("visit", cluster="20", cluster_AT_other="15", cluster_AT_tick="yes")
        assert [f.field for f in faults_of_body("visit", body) if f.field == "cluster"]

    def test_done_with_an_amount_and_without(self) -> None:
        assert post("visit", did__fed_AT_tick="yes") == {"did": {"fed": True}}
        assert post("visit", did__fed_AT_tick="yes", did__fed="1") == {"did": {"fed": "1 l"}}
        assert post("visit", did__added_box="0") == {"did": {"added_box": 0}}

    def test_nothing_touched_says_nothing(self) -> None:
        """Every radio at its blank, every unit at its default, every field empty."""
        form = FORMS["visit"]
        posted = {field.name: [""] for field in form.fields}
        posted |= {f.name + UNIT: ["cm"] for f in form.fields if f.control == "measure"}
        assert tree_of_form(form, posted, "metric") == {}


class TestView:
    def test_what_is_wrong_stands_at_its_field_in_its_words(self) -> None:
        body = post("visit", date="2026-07-14", temperature="warm", count__out="some")
        view = FormView(FORMS["visit"], {}, "metric", faults_of_body("visit", body))
        assert view.wrong_at("temperature")[0].startswith("Air, in the shade is 'warm'")
        assert view.wrong_at("count.out")[0].startswith("Out of the tip is 'some'")
        assert {name for name, _ in view.problems} == {"temperature", "count.out"}

    def test_what_names_no_field_stands_on_top(self) -> None:
        faults = faults_of_body("visit", {"date": "2026-07-14", "colour": "red"})
        assert [name for name, _ in FormView(FORMS["visit"], {}, "us", faults).problems] == [""]

    def test_a_word_that_is_no_choice_can_still_be_seen(self) -> None:
        field = next(field for field in FORMS["visit"].fields if field.name == "cone")
        view = FormView(FORMS["visit"], {"cone": ["half shut"]}, "metric")
        assert view.choices(field)[-1].value == "half shut"

    def test_pickers_give_way_to_what_they_cannot_show(self) -> None:
        view = FormView(FORMS["visit"], {"date": ["last Monday"], "time": ["9.30h"]}, "metric")
        assert (view.kind_of_day("date"), view.kind_of_clock("time")) == ("text", "text")
        assert (view.kind_of_day("other"), view.kind_of_clock("other")) == ("date", "time")


class TestWays:
    def test_without_a_forecast_all_ways_of_the_trade(self) -> None:
        assert ways("decision", SITUATION) == list(WAYS)
        assert ways("close-out", SITUATION) == list(CLOSE_OUT_WAYS)

    def test_a_forecast_puts_its_choice_first_and_refusals_last(self) -> None:
        plan = plan_factory.refuse_plan()
        situation = dataclasses.replace(SITUATION, plan=plan)
        field = form_of("decision", situation).sections[0].fields[0]
        marks = [option.mark for option in field.options]
        assert marks == sorted(marks, key=["recommended", "", "refused"].index)
        assert {o.value for o in field.options} == {row.key for row in plan.methods}
        by_key = {row.key: row for row in plan.methods}
        for option in field.options:
            row: MethodRow = by_key[option.value]
            if row.status == "refused":
                assert all(reason in option.note for reason in row.forbidden_by)

    def test_close_out_takes_the_ways_and_the_list_of_the_forecast(self) -> None:
        progress = progress_factory.empty_progress()
        situation = dataclasses.replace(SITUATION, progress=progress)
        assert set(ways("close-out", situation)) == {row.key for row in progress.close_out}
        done = next(f for f in form_of("close-out", situation).fields if f.name == "done")
        assert len(done.options) == len(progress.closing_list)
        for option, line in zip(done.options, progress.closing_list, strict=True):
            assert line.startswith(option.value)
            assert len(option.value) <= 600


def ways(kind: str, situation: Situation) -> list[str]:
    field = next(field for field in form_of(kind, situation).fields if field.name == "way")
    return [option.value for option in field.options]


class TestCorrections:
    def test_what_no_field_shows_is_told_apart(self) -> None:
        body = {"date": "2026-07-03", "answers": {"noise": "hum"}, "client": "R. Ashgrove"}
        rest = without(FORMS["call"], body)
        assert rest == {"answers": {"noise": "hum"}}
        written = tree_of_form(FORMS["call"], posted_of_tree(FORMS["call"], body), "us")
        assert joined(rest, written) == body

    def test_joining_goes_into_tables(self) -> None:
        assert joined({"a": {"b": 1, "c": 2}}, {"a": {"c": 3}}) == {"a": {"b": 1, "c": 3}}

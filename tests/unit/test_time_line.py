"""The time line of a job: its scale of days, its flags, its values, and its picture."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import matplotlib as mpl
import plan_factory
import progress_factory
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

from lastbee.documents.day_scale import FOLD_OVER_DAYS, day_scale
from lastbee.documents.flags import hang
from lastbee.documents.time_line import Moment, TimeLine, frames_words, time_line
from lastbee.documents.time_line_svg import DESK, PHONE, Format, time_line_svg

if TYPE_CHECKING:
    from collections.abc import Callable

CONE_ON = plan_factory.CONE_ON
SVG = "{http://www.w3.org/2000/svg}"
DAYS = st.integers(0, 900).map(lambda n: date(2026, 1, 1) + timedelta(days=n))


def on(offset: int) -> date:
    return CONE_ON + timedelta(days=offset)


def moments() -> list[Moment]:
    """A job as it may run: seen long before, called, inspected, set up, visited."""
    return [
        Moment(on(-90), "seen", "first seen"),
        Moment(on(-6), "call", "call"),
        Moment(on(-3), "inspection", "inspection"),
        Moment(on(-2), "decision", "trap-out agreed"),
        Moment(on(0), "cone", "cone on"),
        Moment(on(2), "visit", "visit", 1, 3.0),
        Moment(on(9), "visit", "visit", 2, 4.5),
        Moment(on(9), "gap", "gap closed"),
        Moment(on(15), "visit", "visit", 3),
        Moment(on(22), "due", "next visit", is_ahead=True),
    ]


def running() -> TimeLine:
    return time_line(moments(), progress_factory.story_plan(), on(16))


def closed() -> TimeLine:
    told = [
        *moments()[:-1],
        Moment(on(40), "closed", "closed"),
        Moment(on(41), "certificate", "certificate"),
        Moment(on(41 + 365), "due", "warranty ends", is_ahead=True),
    ]
    return time_line(told, progress_factory.story_plan(), on(80))


def only_called() -> TimeLine:
    told = [Moment(on(-6), "call", "call"), Moment(on(-3), "due", "inspect", is_ahead=True)]
    return time_line(told, None, on(-5))


def just_begun() -> TimeLine:
    return time_line(moments()[:6], progress_factory.story_plan(), on(3))


def long_ago() -> TimeLine:
    told = [
        Moment(on(-400), "call", "call"),
        Moment(on(-390), "closed", "closed"),
        Moment(on(-20), "callback", "callback"),
    ]
    return time_line(told, None, on(0))


LINES = {
    "running": running,
    "just begun": just_begun,
    "closed": closed,
    "only called": only_called,
    "long ago": long_ago,
}


def drawn(line: TimeLine, form: Format, title: str = "A job") -> ET.Element:
    return ET.fromstring(time_line_svg(line, form, title))  # noqa: S314  (our own text)


@dataclass(frozen=True)
class Box:
    """Where words stand in a picture."""

    left: float
    right: float
    top: float
    foot: float
    words: str


def boxes_of(root: ET.Element) -> list[Box]:
    """Measure all words in DejaVu Sans, among the widest of the faces a page may fall back to."""
    folder = Path(mpl.get_data_path()) / "fonts" / "ttf"
    faces = {weight: ImageFont.truetype(folder / file, 100) for weight, file in
             (("400", "DejaVuSans.ttf"), ("600", "DejaVuSans-Bold.ttf"))}  # fmt: skip
    boxes = []
    for text in root.iter(f"{SVG}text"):
        size = float(text.get("font-size", "0"))
        width = faces[text.get("font-weight", "400")].getlength(text.text or "") * size / 100.0
        shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor", "start")]
        left, base = float(text.get("x", "0")) - shift * width, float(text.get("y", "0"))
        boxes.append(Box(left, left + width, base - 0.72 * size, base, text.text or ""))
    return boxes


def numbers_of(path: str) -> list[tuple[float, float]]:
    flat = [float(number) for number in re.findall(r"-?\d+\.?\d*", path)]
    return list(zip(flat[::2], flat[1::2], strict=True))


# The scale of days


@given(st.lists(DAYS, min_size=1, max_size=12))
def test_later_days_stand_further_right_and_the_ends_at_the_ends(days: list[date]) -> None:
    scale = day_scale(days)
    places = [scale.at(day) for day in sorted(set(days))]
    assert all(first < second for first, second in pairwise(places))
    assert places[0] == 0.0
    assert places[-1] == pytest.approx(1.0 if len(places) > 1 else 0.0)


@given(st.lists(DAYS, min_size=1, max_size=12))
def test_only_long_stretches_without_an_event_are_folded(days: list[date]) -> None:
    stretches = day_scale(days).stretches
    assert all(one.is_folded == (one.days > FOLD_OVER_DAYS) for one in stretches)
    even = [(one.right - one.left) / one.days for one in stretches if not one.is_folded]
    assert even == pytest.approx([even[0]] * len(even)) if even else True


def test_a_forecast_is_never_folded() -> None:
    scale = day_scale([on(-100), on(0)], (on(0), on(60)))
    assert [one.is_folded for one in scale.stretches] == [True, False]
    steps = [scale.at(on(n + 1)) - scale.at(on(n)) for n in range(60)]
    assert steps == pytest.approx([steps[0]] * 60)


def test_ticks_are_mondays_and_no_more_than_asked_for() -> None:
    scale = day_scale([on(0)], (on(0), on(90)))
    for most in (3, 5, 9):
        ticks = scale.ticks(most)
        assert 0 < len(ticks) <= most
        assert {tick.weekday() for tick in ticks} == {0}  # ISO 8601: the week begins on Monday
        assert len({second - first for first, second in pairwise(ticks)}) <= 1


# Flags


@st.composite
def poles_and_widths(draw: st.DrawFn) -> tuple[list[float], list[float]]:
    poles = draw(st.lists(st.floats(0.0, 340.0), min_size=1, max_size=12, unique=True))
    widths = draw(st.lists(st.floats(15.0, 200.0), min_size=len(poles), max_size=len(poles)))
    return poles, widths


@given(poles_and_widths())
def test_words_never_meet_nor_leave_the_line(given_: tuple[list[float], list[float]]) -> None:
    poles, widths = given_
    flags = hang(poles, widths, 340.0)
    placed = [flag for flag in flags if flag is not None]
    assert len(placed) == len(poles)
    for number, one in enumerate(placed):
        assert -1e-6 <= one.left <= one.right <= 340.0 + 1e-6
        for other in placed[number + 1 :]:
            is_apart = one.right < other.left or other.right < one.left
            assert one.row != other.row or is_apart


def test_no_pole_passes_words_where_there_is_room() -> None:
    poles, widths = [0.0, 20.0, 24.0, 40.0, 60.0, 300.0], [100.0] * 6
    flags = [flag for flag in hang(poles, widths, 340.0) if flag is not None]
    assert len(flags) == 6
    for one in flags:
        for other in flags:
            passes = one.left < other.pole < one.right and other.row > one.row
            assert not passes


def test_words_turn_away_from_an_upright_that_would_run_through_them() -> None:
    (flag,) = hang([200.0], [100.0], 340.0, [250.0])
    assert flag is not None
    assert (flag.left, flag.right, flag.is_left_of_pole) == (100.0, 200.0, True)


def test_words_with_an_upright_on_either_side_stay_right_of_their_pole() -> None:
    (flag,) = hang([200.0], [100.0], 340.0, [250.0, 150.0])
    assert flag is not None
    assert (flag.left, flag.right) == (200.0, 300.0)


@given(poles_and_widths(), st.floats(0.0, 340.0))
def test_words_still_begin_or_end_at_their_pole(
    given_: tuple[list[float], list[float]], upright: float
) -> None:
    for flag in hang(*given_, 340.0, [upright]):
        assert flag is not None
        begins, ends = abs(flag.left - flag.pole) < 1e-6, abs(flag.right - flag.pole) < 1e-6
        # Words that fit on neither side of their pole begin where the line does.
        assert begins or ends or flag.left == 0.0
        assert flag.is_left_of_pole == ends


def test_words_longer_than_the_line_are_left_out() -> None:
    assert hang([10.0], [400.0], 340.0) == (None,)


# What the picture says


def test_the_lanes_hold_the_forecast_day_by_day() -> None:
    line = running()
    progress = progress_factory.leak_progress()
    assert line.wall is not None
    assert line.box is not None
    shown = len(line.wall.series.median)
    assert line.wall.series.start == progress.cone_on
    assert line.wall.series.median == progress.bands[0].median[:shown]
    assert line.scale.last == line.wall.series.start + timedelta(days=shown - 1)
    for point, visit in zip(line.wall.points, progress.visits, strict=True):
        offset = (visit.at.date() - progress.cone_on).days
        assert (point.day, point.median) == (visit.at.date(), visit.bees_after.median[offset])


def test_likely_and_safe_day_are_those_of_the_forecast() -> None:
    plan = plan_factory.go_plan()
    line = time_line([Moment(on(-3), "inspection", "inspection")], plan, on(-2))
    empty = next(item for item in plan.milestones if item.key == "empty")
    assert [(mark.kind, mark.day) for mark in line.marks] == [
        ("likely", empty.likely), ("safe", empty.safe),
    ]  # fmt: skip


def test_before_any_forecast_the_events_and_what_is_due_stand_alone() -> None:
    line = only_called()
    assert line.wall is None
    assert [one.label for one in line.moments] == ["call", "inspect"]
    words = "".join(drawn(line, PHONE).itertext())
    assert "call 8 Jul" in words
    assert "inspect 11 Jul" in words


def test_the_forecast_ends_when_the_wall_is_closed() -> None:
    line = closed()
    assert line.wall is not None
    assert line.wall.series.start + timedelta(days=len(line.wall.series.median) - 1) == on(40)
    assert line.scale.last == on(41 + 365)
    assert any(fold.last == on(41 + 365) for fold in line.scale.folds)


def test_where_no_trap_out_is_planned_no_fan_is_drawn() -> None:
    plan = plan_factory.refuse_plan()
    assert time_line([Moment(on(-3), "inspection", "inspection")], plan, on(-2)).wall is None


def test_the_table_says_what_the_picture_shows() -> None:
    line = running()
    told = {row.day: row for row in line.table}
    assert "today" in told[on(16)].what
    assert "visit 2 (4.5 frames in the box)" in told[on(9)].what
    assert "gap closed" in told[on(9)].what
    assert line.wall is not None
    assert told[on(22)].wall == line.wall.words_on(on(22)) != ""
    days = [row.day for row in line.table]
    assert days == sorted(set(days))


@pytest.mark.parametrize(
    ("frames", "words"),
    [(1.0, "1 frame"), (6.5, "6.5 frames"), (0.0, "0 frames"), (10.24, "10 frames")],
)
def test_frames_are_told_to_half_a_frame(frames: float, words: str) -> None:
    assert frames_words(frames) == words


# How it is drawn


@pytest.mark.parametrize("form", [PHONE, DESK], ids=lambda form: form.key)
@pytest.mark.parametrize("name", LINES)
def test_no_words_meet(name: str, form: Format) -> None:
    boxes = boxes_of(drawn(LINES[name](), form))
    for number, one in enumerate(boxes):
        assert one.left > -2.0, one
        assert one.right < form.width + 2.0, one
        for other in boxes[number + 1 :]:
            beside = one.right <= other.left or other.right <= one.left
            above = one.foot <= other.top or other.foot <= one.top
            assert beside or above, (one, other)


@pytest.mark.parametrize("form", [PHONE, DESK], ids=lambda form: form.key)
@pytest.mark.parametrize("name", LINES)
def test_today_runs_through_no_words(name: str, form: Format) -> None:
    root = drawn(LINES[name](), form)
    lines = list(root.iter(f"{SVG}line"))
    (x,) = {each.get("x1") for each in lines if each.get("class") == "tl-now"}
    ours = [each for each in lines if each.get("x1") == each.get("x2") == x
            and each.get("class") in ("tl-now", "tl-pole")]  # fmt: skip
    assert len(ours) > 1
    for each in ours:
        top, foot = float(each.get("y1", "nan")), float(each.get("y2", "nan"))
        for box in boxes_of(root):
            beside = not box.left < float(x or "nan") < box.right
            assert beside or box.foot <= top or foot <= box.top, box


@pytest.mark.parametrize("form", [PHONE, DESK], ids=lambda form: form.key)
@pytest.mark.parametrize("line", [running, just_begun, closed])
def test_no_pole_runs_through_a_date_below_the_line(
    line: Callable[[], TimeLine], form: Format
) -> None:
    root = drawn(line(), form)
    dates = [box for box in boxes_of(root) if re.fullmatch(r"\d+ [A-Z][a-z]{2}", box.words)]
    poles = [
        [float(each.get(key, "nan")) for key in ("x1", "y1", "y2")]
        for each in root.iter(f"{SVG}line")
        if each.get("class") in ("tl-pole", "tl-ahead")
    ]
    assert dates
    assert poles
    for x, top, foot in poles:
        for box in dates:
            assert not (box.left < x < box.right and top < box.foot and foot > box.foot), box


def test_the_median_is_drawn_where_its_values_belong() -> None:
    line = running()
    assert line.wall is not None
    root = drawn(line, DESK)
    path = next(each for each in root.iter(f"{SVG}path") if each.get("class") == "tl-median")
    points = numbers_of(path.get("d", ""))
    assert len(points) == len(line.wall.series.median)
    foot = next(float(each.get("y1", "nan")) for each in root.iter(f"{SVG}line")
                if each.get("class") == "tl-spine")  # fmt: skip
    for (_, y), value in zip(points, line.wall.series.median, strict=True):
        share = (foot - y) / DESK.wall_height
        read = line.wall.top * (share**2 if line.wall.is_widened else share)
        # A tenth of a pixel is the grain of the drawing.
        assert read == pytest.approx(value, abs=0.004 * line.wall.top)


def test_today_parts_what_was_from_what_is_forecast() -> None:
    root = drawn(running(), PHONE)
    now = next(each for each in root.iter(f"{SVG}line") if each.get("class") == "tl-now")
    bands = {
        look: numbers_of(each.get("d", ""))
        for each in root.iter(f"{SVG}path")
        if (look := each.get("class", "")) in ("tl-past", "tl-band90", "tl-band50")
    }
    x = float(now.get("x1", "nan"))
    assert max(point[0] for point in bands["tl-past"]) == pytest.approx(x, abs=0.1)
    assert min(point[0] for point in bands["tl-band90"]) == pytest.approx(x, abs=0.1)
    assert min(point[0] for point in bands["tl-band50"]) == pytest.approx(x, abs=0.1)


def test_the_picture_names_itself_to_those_who_cannot_see_it() -> None:
    # WAI-ARIA 1.2, role img: an accessible name is required.
    line = running()
    root = drawn(line, PHONE, "Time line of a job")
    assert root.get("role") == "img"
    named = (root.get("aria-labelledby") or "").split()
    texts = {each.get("id"): each.text for each in root if each.get("id")}
    assert [texts[name] for name in named] == ["Time line of a job", line.summary]


def test_a_strict_policy_lets_the_picture_through() -> None:
    # CSP Level 3, section 6.8: style attributes and elements fall under style-src.
    text = time_line_svg(running(), DESK, "A job")
    assert " style=" not in text
    assert "<style" not in text


def test_what_people_typed_is_text_and_never_markup() -> None:
    told = [Moment(on(-6), "call", "<script>alert(1)</script>"), *moments()]
    text = time_line_svg(time_line(told, None, on(0)), PHONE, 'A "job" & <b>')
    assert "<script" not in text
    assert "<b>" not in text
    assert drawn(time_line(told, None, on(0)), PHONE, 'A "job" & <b>')[0].text == 'A "job" & <b>'


def test_the_same_job_gives_the_same_picture() -> None:
    first = time_line_svg(running(), PHONE, "A job")
    shuffled = time_line(reversed(moments()), progress_factory.story_plan(), on(16))
    assert time_line_svg(shuffled, PHONE, "A job") == first

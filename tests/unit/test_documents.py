"""The plan on the terminal, in JSON and on paper: same words, nothing lost, nothing leaked."""

from __future__ import annotations

import errno
import hashlib
import io
import itertools
import json
import math
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import fields, replace
from datetime import date
from pathlib import Path

import jsonschema
import plan_factory
import pypdf
import pytest
from document_reading import contrast, luminance, squeezed, strings
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from lastbee import __version__
from lastbee.documents import drawing, wording
from lastbee.documents.as_json import adapter_of, plan_schema, plan_schema_text, plan_to_json
from lastbee.documents.charts import plan_charts
from lastbee.documents.drawing import chart_svg
from lastbee.documents.outline import HEADINGS, outline
from lastbee.documents.pdf import pdf_bytes, write_pdf
from lastbee.documents.terminal import print_plan
from lastbee.documents.whole_file import write_whole
from lastbee.jobs.plan import Plan
from lastbee.words import day_words

ROOT = Path(__file__).resolve().parents[2]
PLANS = {
    "go": plan_factory.go_plan(),
    "unsure": plan_factory.unsure_plan(),
    "refuse": plan_factory.refuse_plan(),
    "bare": plan_factory.bare_plan(),
    "hostile": plan_factory.hostile_plan(),
    "long": plan_factory.long_plan(),
}
every_plan = pytest.mark.parametrize("plan", PLANS.values(), ids=PLANS)


def printed(plan: Plan, width: int = 100, encoding: str = "utf-8", *, colour: bool = False) -> str:
    """Print a plan as a pipe or a colour terminal of this width gets it."""
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding=encoding)
    print_plan(plan, Console(file=stream, width=width, force_terminal=colour))
    stream.flush()
    return raw.getvalue().decode(encoding)


@pytest.fixture(scope="module")
def papers() -> dict[str, pypdf.PdfReader]:
    """Every fake plan as a PDF that has been read back."""
    return {name: pypdf.PdfReader(io.BytesIO(pdf_bytes(plan))) for name, plan in PLANS.items()}


def paper_text(reader: pypdf.PdfReader) -> str:
    return squeezed("".join(page.extract_text() for page in reader.pages))


# Wording --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "words"),
    [
        # First crewed Moon landing: a Sunday (NASA, Apollo 11 mission overview; from memory).
        (date(1969, 7, 20), "Sun 20 Jul 1969"),
        # The Gregorian calendar's first day: Friday 15 October 1582 (bull Inter gravissimas).
        (date(1582, 10, 15), "Fri 15 Oct 1582"),
        # A leap day that fell on a Tuesday (any almanac for 2000).
        (date(2000, 2, 29), "Tue 29 Feb 2000"),
    ],
)
def test_day_names_the_weekday_of_known_dates(value: date, words: str) -> None:
    assert day_words(value) == words


def test_days_and_events_that_are_not_expected() -> None:
    first, last = date(2026, 7, 10), date(2026, 7, 13)
    assert wording.days(first, last) == "Fri 10 Jul 2026 to Mon 13 Jul 2026"
    assert wording.days(first, None) == wording.days(first, first) == "Fri 10 Jul 2026"
    assert wording.day_or_later(None, last) == "not by Mon 13 Jul 2026"
    assert wording.day_or_later(None, None) == "not expected"


@given(st.floats(1e-8, 1.0 - 1e-8))
def test_percent_never_calls_an_open_question_closed(probability: float) -> None:
    assert wording.percent(probability) not in {"0 %", "100 %"}


@pytest.mark.parametrize("wrong", [-0.01, 1.01, math.nan])
def test_what_is_no_probability_is_refused(wrong: float) -> None:
    with pytest.raises(ValueError, match="probability is"):
        wording.percent(wrong)
    with pytest.raises(ValueError, match="probability is"):
        wording.one_in(wrong)


@given(st.floats(10.0, 1.0e7))
def test_two_digits_stay_within_half_a_unit_of_the_second_digit(value: float) -> None:
    written = float(wording.two_digits(value).replace(",", ""))
    # Two digits that count: at worst half of 1 in 10, that is 5 % (arithmetic).
    assert abs(written - value) <= 0.05 * value * (1.0 + 1e-9)
    assert len(str(int(written)).rstrip("0")) <= 2


@given(st.text())
def test_clean_text_is_printable_on_one_line_and_stays_as_it_is(text: str) -> None:
    line = wording.clean(text)
    assert line.isprintable() or all(letter.isprintable() or ord(letter) > 127 for letter in line)
    assert not set(line) & set("\x00\x07\x1b\x9b\n\r\u202e\u2066\ud800")
    assert wording.clean(line) == line


def test_sums_of_weights_may_miss_one_by_the_last_digit() -> None:
    assert wording.percent(1.0 + 2e-16) == "100 %"
    assert wording.percent(-1e-17) == "0 %"


# JSON -----------------------------------------------------------------------------------


@every_plan
def test_json_keeps_to_the_published_schema(plan: Plan) -> None:
    # The judge is an independent implementation of JSON Schema draft 2020-12.
    schema = json.loads((ROOT / "docs/schema/plan.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    checker = jsonschema.Draft202012Validator(
        schema, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )
    document = json.loads(plan_to_json(plan))
    checker.validate(document)
    for broken in (
        {**document, "extra": 1},
        {**document, "schema": "lastbee.plan/1"},
        {**document, "cone_on": "14/07/2026"},
        {key: value for key, value in document.items() if key != "trust"},
    ):
        assert not checker.is_valid(broken)


def test_published_schema_is_the_one_that_the_records_give() -> None:
    published = json.loads((ROOT / "docs/schema/plan.schema.json").read_text(encoding="utf-8"))
    assert published == plan_schema() == json.loads(plan_schema_text()), (
        "write plan_schema_text() to docs/schema/plan.schema.json again"
    )


@every_plan
def test_json_reads_back_as_the_same_plan(plan: Plan) -> None:
    text = plan_to_json(plan)
    assert text.isascii()
    assert list(json.loads(text)) == [part.name for part in fields(Plan)]
    again = adapter_of(Plan).validate_json(text)
    assert replace(again, bands=(), empty_by=()) == replace(plan, bands=(), empty_by=())
    for mine, its in zip(plan.bands, again.bands, strict=True):
        assert its.median == pytest.approx(mine.median, rel=5e-6)
    assert again.empty_by == pytest.approx(plan.empty_by, rel=5e-6)


@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
def test_json_refuses_a_number_that_is_not_finite_and_says_where(wrong: float) -> None:
    plan = PLANS["go"]
    broken = replace(plan, left=(replace(plan.left[0], high=wrong), *plan.left[1:]))
    with pytest.raises(ValueError, match=r"plan\.left\[0\]\.high is"):
        plan_to_json(broken)


# Terminal -------------------------------------------------------------------------------


@every_plan
@pytest.mark.parametrize("width", [60, 80, 100])
def test_print_fits_the_screen_and_a_pipe_gets_plain_text(plan: Plan, width: int) -> None:
    text = printed(plan, width)
    widths = [Console(width=width).render_str(line, markup=False).cell_len
              for line in text.splitlines()]  # fmt: skip
    assert max(widths) <= width
    assert "\x1b" not in text
    assert all(line == line.rstrip() for line in text.splitlines())


@every_plan
def test_print_goes_through_an_ascii_pipe(plan: Plan) -> None:
    text = printed(plan, 80, "ascii")
    assert plan.verdict.headline.split()[0] in text


def test_print_falls_back_letter_by_letter() -> None:
    text = printed(PLANS["hostile"], 100, "ascii")
    assert "Grosse & OEuvre" in text
    assert "Größe" in printed(PLANS["hostile"], 100, "latin-1")


def test_print_reads_no_markup_and_no_codes_in_user_text() -> None:
    text = printed(PLANS["hostile"], 100, colour=True)
    bare = re.sub(r"\x1b\[[0-9;]*m", "", text)
    assert "[red]not red[/red] :bee:" in bare
    assert "\x1b" not in bare
    assert "\x1b[31m" not in text


def test_print_puts_the_sections_in_reading_order() -> None:
    text = printed(PLANS["go"], 80)
    places = [text.index(PLANS["go"].verdict.headline[:20])] + [
        re.search(f"^{re.escape(HEADINGS[key])} ─", text, re.MULTILINE).start()  # type: ignore[union-attr]
        for key in ("contents", "when", "left", "steps", "methods", "evidence", "looks", "sure")
    ]
    assert places == sorted(places)


def test_answer_that_is_not_trusted_says_so_first() -> None:
    text = printed(PLANS["unsure"], 80)
    assert text.startswith(f"! {wording.NOT_TRUSTED}")
    for warning in PLANS["unsure"].trust.warnings:
        assert text.index(warning[1:40]) < text.index(PLANS["unsure"].title)
    assert wording.NOT_TRUSTED not in printed(PLANS["go"], 80)


@pytest.mark.parametrize("width", [60, 100])
def test_each_caution_stands_below_its_own_step(width: int) -> None:
    text = squeezed(printed(PLANS["go"], width))
    place = text.index(squeezed(HEADINGS["steps"]))
    for step in PLANS["go"].steps:
        for words in (wording.days(step.when, step.until), step.what[1:], step.caution[1:]):
            place = text.index(squeezed(words), place)


def test_chart_on_the_terminal_shows_every_week_with_its_range() -> None:
    plan = PLANS["go"]
    text = printed(plan, 60)
    wall = plan.bands[0]
    for number in (0, 7, 14, 21, 28, 35, 42):
        row = wording.with_range(wall.median[number], wall.low90[number], wall.high90[number])
        line = next(x for x in text.splitlines()
                    if day_words(plan_factory.day_on(number)) in x and row in x)  # fmt: skip
        assert re.search(r"[█▒░]", line)
    assert not re.search(r"[^\x00-\x7f]", printed(plan, 60, "ascii"))
    assert re.search(r"#+=+\.+", printed(plan, 60, "ascii"))


# Charts ---------------------------------------------------------------------------------


def test_charts_show_what_the_plan_has() -> None:
    assert [chart.key for chart in plan_charts(PLANS["go"])] == ["wall", "empty", "box", "methods"]
    assert [chart.key for chart in plan_charts(PLANS["refuse"])] == ["wall", "empty", "methods"]
    assert plan_charts(PLANS["bare"]) == ()
    wall = plan_charts(PLANS["go"])[0]
    days = {mark.kind: mark.day for mark in wall.marks}
    empty = next(item for item in PLANS["go"].milestones if item.key == "empty")
    assert days == {"cone": PLANS["go"].cone_on, "likely": empty.likely, "safe": empty.safe}


@every_plan
def test_drawings_are_well_formed_and_carry_no_date(plan: Plan) -> None:
    for chart in plan_charts(plan):
        svg = chart_svg(chart, 120.0, 50.0)
        root = ET.fromstring(svg)  # noqa: S314 (own output)
        assert root.tag == "{http://www.w3.org/2000/svg}svg"
        assert "<dc:date>" not in svg
        assert chart_svg(chart, 120.0, 50.0) == svg


def test_colours_hold_without_colour() -> None:
    # WCAG 2.2, success criteria 1.4.3 (text, 4.5 to 1) and 1.4.11 (graphics, 3 to 1).
    for words in (drawing.INK, drawing.QUIET, drawing.OCHRE):
        assert contrast(words, "#ffffff") >= 4.5
    assert contrast(drawing.LINE, drawing.INNER) >= 3.0
    # In grey print the two bands must still differ, from each other and from the paper.
    greys = [luminance(c) for c in (drawing.LINE, drawing.INNER, drawing.OUTER, "#ffffff")]
    assert all(after - before > 0.15 for before, after in itertools.pairwise(greys))


# Paper ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "pages"), [("go", 4), ("unsure", 4), ("refuse", 2),
                                             ("hostile", 4)])  # fmt: skip
def test_paper_takes_two_to_four_a4_pages(
    papers: dict[str, pypdf.PdfReader], name: str, pages: int
) -> None:
    assert len(papers[name].pages) == pages
    for page in papers[name].pages:
        # ISO 216 A4 is 210 mm by 297 mm; a point is 1/72 inch.
        assert float(page.mediabox.width) == pytest.approx(210 / 25.4 * 72, abs=0.1)
        assert float(page.mediabox.height) == pytest.approx(297 / 25.4 * 72, abs=0.1)


@pytest.mark.parametrize("name", ["go", "unsure", "refuse", "bare", "long"])
def test_terminal_json_and_paper_say_the_same(
    papers: dict[str, pypdf.PdfReader], name: str
) -> None:
    plan = PLANS[name]
    paper = paper_text(papers[name])
    screen = squeezed(printed(plan, 100))
    document = squeezed(json.dumps(json.loads(plan_to_json(plan)), ensure_ascii=False))
    prose = [plan.verdict.headline, *plan.verdict.reasons, *plan.consequences, *plan.how_sure]
    prose += [words for step in plan.steps for words in (step.what, step.caution)]
    prose += [words for row in plan.methods for words in (row.note, *row.forbidden_by)]
    prose += [look.words for look in plan.looks]
    prose += [item.words for item in (*plan.contents, *plan.left, *plan.box_colony)]
    for raw in prose:
        # Layouts may begin a sentence with a capital letter; nothing else changes.
        words = squeezed(wording.clean(raw))[1:]
        assert words in paper
        assert words in screen
        assert squeezed(json.dumps(raw, ensure_ascii=False)[2:-1]) in document


@pytest.mark.parametrize("name", ["go", "unsure", "refuse", "long"])
def test_every_date_is_on_paper_and_on_the_screen(
    papers: dict[str, pypdf.PdfReader], name: str
) -> None:
    plan = PLANS[name]
    paper, screen = paper_text(papers[name]), squeezed(printed(plan, 100))
    dates = [value for item in plan.milestones for value in (item.early, item.likely, item.safe)]
    dates += [plan.inspected_on, *(step.when for step in plan.steps)]
    # A cone is spoken of only where there is to be one.
    dates += [plan.cone_on] if plan.verdict.method.startswith("trap-out") else []
    assert len(dates) > 5
    for value in dates:
        words = "notbyTue6Oct2026" if value is None else squeezed(day_words(value))
        assert words in paper
        # In a narrow cell "not by" and its date stand on two lines.
        assert (words if value else "notby") in screen


def test_paper_of_a_long_plan_loses_no_letter(papers: dict[str, pypdf.PdfReader]) -> None:
    plan = PLANS["long"]
    paper = paper_text(papers["long"])
    assert squeezed(plan.title) in paper
    assert squeezed(plan.client) in paper
    assert "W" * 300 in paper
    assert all(paper.count(squeezed(step.caution)) >= 1 for step in plan.steps)


def test_paper_sets_user_text_as_text(papers: dict[str, pypdf.PdfReader]) -> None:
    paper = paper_text(papers["hostile"])
    for words in ('#panic("x")$a_1$*b*`c`', ":bee:<b>\\{}", '#import"secret.typ"//@label~-----',
                  "ΖωήΠαπαδοπούλου", "Юлия"):  # fmt: skip
        assert words in paper


def test_footer_names_title_page_inspection_and_version(
    papers: dict[str, pypdf.PdfReader],
) -> None:
    for number, page in enumerate(papers["go"].pages, start=1):
        text = page.extract_text()
        assert f"page {number} of 4" in text
        assert "Inspected on Thu 9 Jul 2026" in text
        assert f"lastbee {__version__}" in text
        assert PLANS["go"].title in text
    metadata = papers["go"].metadata
    assert metadata is not None
    assert metadata.title == PLANS["go"].title
    assert metadata.creation_date is None


def test_paper_always_says_who_decides(papers: dict[str, pypdf.PdfReader]) -> None:
    for reader in papers.values():
        assert squeezed(wording.CODES_DECIDE) in paper_text(reader)


def test_paper_is_the_same_in_another_process_and_leaves_no_plot_state() -> None:
    script = (
        "import sys, hashlib, plan_factory, matplotlib as mpl\n"
        # Asking for the backend would itself choose one.
        "state = lambda: [str(mpl.rcParams[k]) for k in mpl.rcParams if k != 'backend']\n"
        "before = state()\n"
        "from lastbee.documents.pdf import pdf_bytes\n"
        "print(hashlib.sha256(pdf_bytes(plan_factory.go_plan())).hexdigest())\n"
        "assert 'matplotlib.pyplot' not in sys.modules\n"
        "assert state() == before\n"
    )
    path = f"{ROOT}{':' if sys.platform != 'win32' else ';'}{ROOT / 'tests/unit'}"
    done = subprocess.run(
        [sys.executable, "-c", script], check=True, capture_output=True, text=True,
        env={"PYTHONPATH": path, "PYTHONHASHSEED": "123", "TZ": "Pacific/Auckland"},
    )  # fmt: skip
    assert done.stdout.strip() == hashlib.sha256(pdf_bytes(PLANS["go"])).hexdigest()


def test_file_is_replaced_whole(tmp_path: Path) -> None:
    target = tmp_path / "plan.pdf"
    target.write_bytes(b"old")
    write_pdf(PLANS["refuse"], target)
    assert target.read_bytes() == pdf_bytes(PLANS["refuse"])
    assert [path.name for path in tmp_path.iterdir()] == ["plan.pdf"]


def test_file_that_cannot_be_put_in_place_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "plan.pdf"
    target.write_bytes(b"old")

    def refuse(self: Path, target: Path) -> Path:
        raise PermissionError(str(target))

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(PermissionError):
        write_pdf(PLANS["bare"], target)
    assert target.read_bytes() == b"old"
    assert [path.name for path in tmp_path.iterdir()] == ["plan.pdf"]
    missing = tmp_path / "missing" / "plan.pdf"
    with pytest.raises(FileNotFoundError) as caught:
        write_pdf(PLANS["bare"], missing)
    assert caught.value.filename == str(missing)


def test_a_draft_that_cannot_go_does_not_hide_what_went_wrong(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(self: Path, *_: object, **__: object) -> None:
        raise OSError(errno.EROFS, "Read-only file system", str(self))

    monkeypatch.setattr(Path, "write_bytes", refuse)
    monkeypatch.setattr(Path, "unlink", refuse)
    with pytest.raises(OSError, match="Read-only") as caught:
        write_whole(b"", tmp_path / "plan.pdf")
    assert caught.value.filename == str(tmp_path / "plan.pdf")


@every_plan
def test_outline_holds_no_control_codes(plan: Plan) -> None:
    assert not re.search(r"[\x00-\x1f\x7f-\x9f\u202a-\u202e]", "".join(strings(outline(plan))))

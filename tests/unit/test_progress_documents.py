"""The progress of a trap-out on the terminal, in JSON and on paper: same words, nothing lost."""

from __future__ import annotations

import io
import json
import math
import re
import xml.etree.ElementTree as ET
from dataclasses import fields, replace
from datetime import timedelta

import plan_factory
import progress_factory
import pypdf
import pytest
from document_reading import contrast, luminance, squeezed, strings
from progress_factory import PROGRESSES, leak_progress, story_plan
from progress_pieces import CONE_ON, clearance, day_on, next_visit, trouble
from rich.console import Console

from lastbee import __version__
from lastbee.documents import drawing, progress_drawing, wording
from lastbee.documents.answers import answers
from lastbee.documents.as_json import adapter_of, progress_to_json
from lastbee.documents.outline import outline
from lastbee.documents.pdf import page_pictures, pdf_bytes
from lastbee.documents.progress_charts import course_chart
from lastbee.documents.progress_drawing import course_svg
from lastbee.documents.progress_outline import PROGRESS_HEADINGS, progress_outline
from lastbee.documents.progress_terminal import print_progress
from lastbee.documents.terminal import print_plan
from lastbee.jobs.plan import Plan
from lastbee.jobs.progress import Progress, VisitDate
from lastbee.words import day_words

every_progress = pytest.mark.parametrize("progress", PROGRESSES.values(), ids=PROGRESSES)
QUESTIONS = ("Working?", "Wrong?", "Do now", "Come back", "Close?")


def printed(
    answer: Progress | Plan, width: int = 100, encoding: str = "utf-8", *, colour: bool = False
) -> str:
    """Print as a pipe or a colour terminal of this width gets it."""
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding=encoding)
    console = Console(file=stream, width=width, force_terminal=colour)
    if isinstance(answer, Plan):
        print_plan(answer, console)
    else:
        print_progress(answer, console)
    stream.flush()
    return raw.getvalue().decode(encoding)


@pytest.fixture(scope="module")
def papers() -> dict[str, pypdf.PdfReader]:
    """Every fake progress as a PDF that has been read back."""
    return {
        name: pypdf.PdfReader(io.BytesIO(pdf_bytes(progress)))
        for name, progress in PROGRESSES.items()
    }


def paper_text(reader: pypdf.PdfReader) -> str:
    return squeezed("".join(page.extract_text() for page in reader.pages))


def answer_to(question: str, progress: Progress) -> str:
    """All that is said to a question, its caution left out."""
    found = [each for each in answers(progress) if each.question == question]
    return " ".join(f"{each.lead} {each.words}" for each in found)


# The four answers ------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["leak", "working", "empty", "mended", "failed", "many", "us"])
def test_first_screen_of_a_phone_answers_all_that_is_asked(name: str) -> None:
    # 20 lines of 48 columns: what a phone shows upright, assumed.
    first = printed(PROGRESSES[name], 48).splitlines()[:20]
    starts = [line.split("  ")[0] for line in first]
    assert [start for start in starts if start in QUESTIONS] == list(QUESTIONS)


@pytest.mark.parametrize(
    ("name", "lead"),
    [
        ("working", "Yes"), ("many", "Yes, but slowly"), ("leak", "No, something is wrong"),
        ("failed", "No, it has failed"), ("empty", "Done, it is empty"),
        ("unsure", "Not clear yet"),
    ],
)  # fmt: skip
def test_state_is_told_in_words_before_the_headline(name: str, lead: str) -> None:
    progress = PROGRESSES[name]
    assert answer_to("Working?", progress).startswith(f"{lead} {progress.headline}")


def test_a_trouble_is_named_with_its_chance_its_remedy_and_its_caution() -> None:
    leak = leak_progress().troubles[0]
    answer = answer_to("Wrong?", leak_progress())
    assert leak.label in answer
    assert "83 %" in answer
    assert answer_to("Do now", leak_progress()).strip() == leak.remedy
    (to_do,) = [each for each in answers(leak_progress()) if each.question == "Do now"]
    assert to_do.caution == leak.caution


def test_what_has_been_put_right_is_not_to_be_done_again() -> None:
    mended = PROGRESSES["mended"]
    wrong = answer_to("Wrong?", mended)
    assert wrong.startswith("Put right, it seems Leak: another way in (83 %, now 12 %).")
    assert mended.troubles[0].remedy not in answer_to("Do now", mended)
    assert "Leave it alone" in answer_to("Do now", mended)


def test_a_trouble_for_sure_is_not_called_sound_for_being_of_many_kinds() -> None:
    rows = (trouble("sound", 0.4), trouble("leak", 0.35), trouble("walked_back", 0.25))
    amiss = replace(leak_progress(), troubles=rows)
    assert answer_to("Wrong?", amiss).startswith("Leak: another way in (35 %)")
    assert "Running as it should (40 %)" in answer_to("Wrong?", amiss)


def test_unsure_asks_for_the_look_that_settles_it() -> None:
    unsure = PROGRESSES["unsure"]
    look = unsure.troubles[0].settled_by
    assert answer_to("Do now", unsure).strip() == wording.sentence(look)
    assert answer_to("Wrong?", unsure).startswith("Not clear Leak: another way in (47 %)")


def test_closing_is_allowed_by_what_was_found_alone() -> None:
    assert answer_to("Close?", PROGRESSES["empty"]).startswith("Yes ")
    for name in set(PROGRESSES) - {"empty"}:
        assert answer_to("Close?", PROGRESSES[name]).startswith("Not yet ")


def test_no_date_to_close_by_rests_on_a_check_that_will_hardly_find_nothing() -> None:
    progress = leak_progress()
    first, second = progress.clearance.checks
    early = replace(first, on=day_on(16), chance=0.02)
    unlikely = replace(progress, clearance=replace(progress.clearance, checks=(early, second)))
    assert day_words(day_on(16)) not in answer_to("Close?", unlikely)
    assert day_words(second.on) in answer_to("Close?", unlikely)
    assert progress_outline(unlikely).closing_list == ()


# What is told and what is left out ---------------------------------------------------------


@pytest.mark.parametrize(("days", "is_told"), [(14, True), (15, False)])
def test_closing_list_is_told_two_weeks_ahead(days: int, is_told: bool) -> None:
    progress = leak_progress()
    first = (progress.as_of - CONE_ON).days + days
    near = replace(progress, clearance=clearance(0.3, first=first, later=first + 20))
    words = progress_outline(near)
    assert bool(words.closing_list) == bool(words.close_out) == is_told
    for name in ("failed", "empty"):
        assert progress_outline(PROGRESSES[name]).closing_list


def test_rare_explanations_share_a_line_and_none_is_lost() -> None:
    words = progress_outline(leak_progress())
    assert [cause.chance for cause in words.causes] == ["83 %", "11 %", "4 %", "1 %"]
    for row in leak_progress().troubles[4:]:
        assert row.label in words.far_fetched
    assert [reasons.label for reasons in words.reasons] == [
        row.label for row in leak_progress().troubles[:2]
    ]


def test_other_days_are_those_that_cost_hardly_more() -> None:
    progress = leak_progress()
    words = progress_outline(progress).next_visit
    assert words is not None
    days = next(line.words for line in words.details if line.label == "Other days")
    # Costs 0.8 0.62 [0.55] 0.6 0.72 then 1.1, 1.4, 1.9: within 0.25, and 1 more (arithmetic).
    assert days.startswith(f"{day_words(day_on(17))} to {day_words(day_on(21))} is about as good.")
    assert f"From {day_words(day_on(24))} on" in days


def test_a_day_without_others_weighed_stands_alone() -> None:
    visit = replace(next_visit(19), alternatives=(VisitDate(day_on(19), 0.5),))
    words = progress_outline(replace(leak_progress(), next_visit=visit)).next_visit
    assert words is not None
    assert "Other days" not in [line.label for line in words.details]


def test_before_and_after_are_those_of_the_last_visit() -> None:
    progress = leak_progress()
    last, offset = progress.visits[-1], 15
    bees, likely, safe = progress_outline(progress).changes
    before, after = last.bees_before, last.bees_after
    assert bees.before == wording.with_range(
        before.median[offset], before.low90[offset], before.high90[offset]
    )
    assert bees.after == wording.with_range(
        after.median[offset], after.low90[offset], after.high90[offset]
    )
    assert (likely.before, likely.after) == (
        day_words(last.empty_before.likely), day_words(last.empty_after.likely)
    )  # fmt: skip
    assert safe.after == day_words(last.empty_after.safe)


# Terminal ----------------------------------------------------------------------------------


@every_progress
@pytest.mark.parametrize("width", [40, 48, 60, 80, 120])
def test_print_fits_the_screen_and_a_pipe_gets_plain_text(progress: Progress, width: int) -> None:
    text = printed(progress, width)
    console = Console(width=width)
    widths = [console.render_str(line, markup=False).cell_len for line in text.splitlines()]
    assert max(widths) <= width
    assert "\x1b" not in text
    assert "…" not in text
    assert all(line == line.rstrip() for line in text.splitlines())


@every_progress
def test_print_goes_through_an_ascii_pipe(progress: Progress) -> None:
    assert printed(progress, 48, "ascii").isascii()


def test_print_reads_no_markup_and_no_codes_in_user_text() -> None:
    text = printed(PROGRESSES["hostile"], 100, colour=True)
    bare = re.sub(r"\x1b\[[0-9;]*m", "", text)
    assert "[red]not red[/red] :bee:" in bare
    assert "[bold]Bees[/bold] #pagebreak()" in bare
    assert "#strong[x] [dim]y[/dim]" in bare
    assert "\x1b" not in bare
    assert "\x07" not in bare


def test_print_puts_the_sections_in_reading_order() -> None:
    order = ("changed", "now", "causes", "visit", "steps", "clearance", "left", "closing",
             "when", "story", "sure", "cautions", "job")  # fmt: skip
    text = printed(replace(PROGRESSES["leak"], kind="failed"), 80)
    places = [text.index(f"\n{PROGRESS_HEADINGS[key]} ─") for key in order]
    assert places == sorted(places)


def test_answer_that_is_not_trusted_says_so_first() -> None:
    assert printed(PROGRESSES["unsure"], 48).startswith(f"! {wording.NOT_TRUSTED}")
    assert wording.NOT_TRUSTED not in printed(PROGRESSES["leak"], 48)


@pytest.mark.parametrize("width", [48, 100])
def test_each_caution_stands_below_what_it_is_for(width: int) -> None:
    progress = leak_progress()
    text = squeezed(printed(progress, width))
    leak, walked_back = progress.troubles[:2]
    place = 0
    for words in (
        leak.remedy, leak.caution, walked_back.remedy, walked_back.caution,
        progress.next_visit.bring, progress.next_visit.caution,  # type: ignore[union-attr]
        *(words for step in progress.steps for words in (step.what, step.caution)),
        *(words for check in progress.clearance.checks for words in (check.label, check.caution)),
    ):  # fmt: skip
        place = text.index(squeezed(words)[1:], place)


def test_state_is_not_told_by_colour_alone_and_stands_out_from_its_ground() -> None:
    for name, ground in (("working", "42"), ("many", "43"), ("leak", "41")):
        assert f";{ground}m" in printed(PROGRESSES[name], 48, colour=True)
    # xterm's default palette (XTerm-col.ad, from memory): green, yellow, red; WCAG 2.2, 1.4.3.
    for words, ground in (("#000000", "#00cd00"), ("#000000", "#cdcd00"), ("#ffffff", "#cd0000")):
        assert contrast(words, ground) >= 4.5


# The whole story ---------------------------------------------------------------------------


def test_a_plan_that_visits_have_overtaken_says_so_and_leaves_out_what_has_passed() -> None:
    plan, story = plan_factory.go_plan(), story_plan()
    words = outline(story)
    assert day_words(leak_progress().as_of) in words.overtaken
    assert words.steps == ()  # newer ones stand with the progress
    assert words.looks == ()
    assert words.methods == outline(plan).methods
    assert outline(story_plan(PROGRESSES["failed"])).methods == ()
    assert outline(plan).overtaken == ""


def test_steps_ahead_of_the_last_visit_stay_where_there_are_no_newer_ones() -> None:
    progress = PROGRESSES["many"]
    steps = outline(story_plan(progress)).steps
    ahead = [step for step in plan_factory.go_plan().steps
             if (step.until or step.when) >= progress.as_of]  # fmt: skip
    assert 0 < len(ahead) < len(plan_factory.go_plan().steps)
    assert [step.what for step in steps] == [wording.sentence(step.what) for step in ahead]


@pytest.mark.parametrize("name", ["leak", "failed", "bare"])
def test_plan_with_visits_shows_the_progress_after_the_plan(name: str) -> None:
    progress = PROGRESSES[name]
    alone, whole = printed(progress, 80), printed(story_plan(progress), 80)
    assert whole.endswith(alone)
    assert whole.index(plan_factory.go_plan().verdict.headline[:30]) < whole.index(alone)
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(story_plan(progress))))
    pages = [squeezed(page.extract_text()) for page in reader.pages]
    starts = [n for n, page in enumerate(pages) if page.startswith("Progress:")]
    assert len(starts) == 1
    assert starts[0] >= 2
    assert all("InspectedonThu9Jul2026" in page for page in pages[: starts[0]])
    assert all(f"Lastvisiton{squeezed(day_words(progress.as_of))}" in page
               for page in pages[starts[0] :])  # fmt: skip
    assert all(f"page{n}of{len(pages)}" in page for n, page in enumerate(pages, start=1))


# JSON --------------------------------------------------------------------------------------


@every_progress
def test_json_reads_back_as_the_same_progress(progress: Progress) -> None:
    text = progress_to_json(progress)
    assert text.isascii()
    assert list(json.loads(text)) == [part.name for part in fields(Progress)]
    again = adapter_of(Progress).validate_json(text)
    blank = {"bands": (), "empty_by": (), "visits": (), "next_visit": None}
    assert replace(again, **blank) == replace(progress, **blank)
    for mine, its in zip(progress.visits, again.visits, strict=True):
        assert (its.at, its.seen, its.did, its.said) == (mine.at, mine.seen, mine.did, mine.said)
        assert its.at.utcoffset() == mine.at.utcoffset()
        assert its.bees_after.median == pytest.approx(mine.bees_after.median, rel=5e-6)


def test_json_refuses_a_number_that_is_not_finite_and_says_where() -> None:
    first, *rest = leak_progress().troubles
    broken = replace(leak_progress(), troubles=(replace(first, still=math.nan), *rest))
    with pytest.raises(ValueError, match=r"progress\.troubles\[0\]\.still is nan"):
        progress_to_json(broken)


# Picture -----------------------------------------------------------------------------------


def test_picture_marks_the_visits_and_what_was_forecast_before_the_last() -> None:
    progress = leak_progress()
    chart = course_chart(progress)
    assert chart is not None
    wall, box = chart.fans
    assert [(point.number, point.day) for point in wall.points] == [
        (number, visit.at.date()) for number, visit in enumerate(progress.visits, start=1)
    ]
    assert wall.before is not None
    assert wall.before.start == chart.last_visit == progress.as_of
    assert wall.before.median[0] == progress.visits[-1].bees_before.median[15]
    assert box.before is None
    assert {mark.kind for mark in chart.marks} == {"visit", "next", "likely", "safe"}
    assert course_chart(PROGRESSES["bare"]) is None


@pytest.mark.parametrize("name", sorted(set(PROGRESSES) - {"bare"}))
def test_drawing_is_well_formed_the_same_each_time_and_carries_no_date(name: str) -> None:
    chart = course_chart(PROGRESSES[name])
    assert chart is not None
    svg = course_svg(chart, 174.0, 70.0)
    assert ET.fromstring(svg).tag == "{http://www.w3.org/2000/svg}svg"  # noqa: S314 (own output)
    assert "<dc:date>" not in svg
    assert course_svg(chart, 174.0, 70.0) == svg


def test_picture_holds_where_visits_lie_beyond_the_forecast() -> None:
    late = leak_progress()
    last = late.visits[-1]
    beyond = replace(last, at=last.at + timedelta(days=150))
    chart = course_chart(replace(late, as_of=beyond.at.date(), visits=(*late.visits, beyond)))
    assert chart is not None
    assert [point.number for point in chart.fans[0].points] == [1, 2, 3]
    assert "<svg" in course_svg(chart, 174.0, 70.0)


def test_what_was_and_what_is_forecast_differ_in_grey() -> None:
    greys = [luminance(c) for c in (drawing.OUTER, progress_drawing.PAST, "#ffffff")]
    assert greys == sorted(greys)
    # What lies behind is an aid and carries no reading of its own; the forecast does.
    assert greys[1] - greys[0] > 0.1


# Paper -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(set(PROGRESSES) - {"long"}))
def test_paper_takes_at_most_two_a4_pages(papers: dict[str, pypdf.PdfReader], name: str) -> None:
    pages = papers[name].pages
    assert 1 <= len(pages) <= 2
    for page in pages:
        # ISO 216 A4 is 210 mm by 297 mm; a point is 1/72 inch.
        assert float(page.mediabox.width) == pytest.approx(210 / 25.4 * 72, abs=0.1)
        assert float(page.mediabox.height) == pytest.approx(297 / 25.4 * 72, abs=0.1)


@pytest.mark.parametrize("name", sorted(set(PROGRESSES) - {"hostile"}))
def test_terminal_and_paper_say_the_same(papers: dict[str, pypdf.PdfReader], name: str) -> None:
    words = progress_outline(PROGRESSES[name])
    paper = paper_text(papers[name])
    # Words side by side interrupt each other where they wrap, at one width or the other.
    screens = [squeezed(printed(PROGRESSES[name], width)) for width in (48, 100)]
    # Refused ways take one line on paper.
    open_ways = tuple(row for row in words.methods if row.status != "refused")
    heads = ("", "", "")
    told = replace(
        words, methods=open_ways, method_heads=("", *heads), milestone_heads=heads,
        check_heads=heads, as_of="", made_by="",
    )  # fmt: skip
    for text in set(strings(told)) - {"plain", "good", "wary", "bad"}:
        assert squeezed(text) in paper
        assert any(squeezed(text) in screen for screen in screens)


def test_paper_of_a_long_progress_loses_no_letter(papers: dict[str, pypdf.PdfReader]) -> None:
    paper = paper_text(papers["long"])
    assert "W" * 200 in paper
    assert squeezed(PROGRESSES["long"].headline)[1:] in paper
    assert paper.count("Donaudampfschifffahrtsgesellschaftskapitänsmütze" * 2) == 12


def test_paper_sets_user_text_as_text(papers: dict[str, pypdf.PdfReader]) -> None:
    paper = paper_text(papers["hostile"])
    for words in ('#panic("x")$a_1$*b*`c`', ":bee:<b>\\{}", '#import"secret.typ"//@label~-----',
                  "[bold]Bees[/bold]#pagebreak()", "#strong[x][dim]y[/dim]"):  # fmt: skip
        assert words in paper


def test_footer_names_title_page_visit_and_version(papers: dict[str, pypdf.PdfReader]) -> None:
    for number, page in enumerate(papers["leak"].pages, start=1):
        text = page.extract_text()
        assert f"page {number} of 2" in text
        assert "Last visit on Wed 29 Jul 2026" in text
        assert f"lastbee {__version__}" in text
    metadata = papers["leak"].metadata
    assert metadata is not None
    assert metadata.title == leak_progress().title
    assert metadata.creation_date is None


def test_paper_is_the_same_each_time_and_has_its_pictures() -> None:
    assert pdf_bytes(leak_progress()) == pdf_bytes(progress_factory.leak_progress())
    pictures = page_pictures(leak_progress(), 30.0)
    # The signature of a PNG file (ISO/IEC 15948, 5.2).
    assert [picture[:8] for picture in pictures] == [b"\x89PNG\r\n\x1a\n"] * 2


@every_progress
def test_outline_holds_no_control_codes(progress: Progress) -> None:
    text = "".join(strings(progress_outline(progress)))
    assert not re.search(r"[\x00-\x1f\x7f-\x9f\u202a-\u202e]", text)

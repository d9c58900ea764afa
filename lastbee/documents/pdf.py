"""Plan and progress on paper: A4 pages, set by typst without a network."""

from __future__ import annotations

import functools
import json
import re
from dataclasses import asdict, dataclass
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lastbee.documents import lines
from lastbee.documents.charts import plan_charts
from lastbee.documents.drawing import chart_svg
from lastbee.documents.outline import HEADINGS, LABELS, outline
from lastbee.documents.progress_charts import course_chart
from lastbee.documents.progress_drawing import course_svg
from lastbee.documents.progress_outline import (
    PROGRESS_HEADINGS,
    PROGRESS_LABELS,
    progress_outline,
)
from lastbee.documents.whole_file import write_whole
from lastbee.jobs.plan import Plan
from lastbee.words import day_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lastbee.documents.charts import Chart
    from lastbee.jobs.progress import Progress

# Names by which the templates know each other, and their files.
_TEMPLATES = {
    "main.typ": "report.typ",
    "style.typ": "style.typ",
    "plan.typ": "plan.typ",
    "progress.typ": "progress.typ",
}
_MOST_PAGES = 4


@dataclass(frozen=True, slots=True)
class _Fit:
    """A way to set a part: its text in points, the sections that begin a page, its most pages."""

    size_pt: float
    themes: tuple[str, ...]
    most_pages: int


# Tried in this order until the part fits.
_ALL_THEMES = ("left", "methods", "evidence")
_FLOWING = tuple(_Fit(size, (), _MOST_PAGES) for size in (10.0, 9.0, 8.0))
_FULL = (*(_Fit(size, _ALL_THEMES, _MOST_PAGES) for size in (10.5, 10.0, 9.5)), *_FLOWING)
# With nothing to do or nothing seen there is too little for a page to each theme.
_SHORT = (*(_Fit(size, ("methods",), 2) for size in (10.5, 10.0, 9.5)), *_FLOWING)
_PROGRESS = (
    *(_Fit(size, (), 1) for size in (10.0, 9.5, 9.0)),
    *(_Fit(size, (), 2) for size in (10.0, 9.5, 9.0, 8.5, 8.0)),
    # Many visits to a job that is then decided anew: rather a page more than unreadable.
    *(_Fit(size, (), 3) for size in (9.5, 9.0, 8.5, 8.0)),
)
# Width and height of the pictures. [mm]
_CHART_SIZES_MM = {
    "wall": (174.0, 56.0),
    "empty": (86.0, 46.0),
    "box": (86.0, 46.0),
    "methods": (174.0, 54.0),
}
_COURSE_SIZE_MM = (174.0, 64.0)
_FOOTER_LETTERS = 60
# A run of letters this long may be broken anywhere, or it would leave the page.
_LONG_RUN = re.compile(r"\S{25,}")
_ZERO_WIDTH_SPACE = "\u200b"


def write_pdf(answer: Plan | Progress, path: Path) -> None:
    """Write a plan, or the progress of a trap-out, as a PDF; it appears whole or not at all.

    The same answer gives the same bytes. Its text reaches the page as text only, never as
    markup.

    Parameters
    ----------
    answer
        The whole answer for one job; a plan brings its progress along.
    path
        Where to write; an existing file is replaced.

    Raises
    ------
    OSError
        If the file cannot be written; it names `path`. An existing file is then left as
        it was.
    """
    write_whole(pdf_bytes(answer), Path(path))


def pdf_bytes(answer: Plan | Progress) -> bytes:
    """Set the answer as a PDF in memory, each part at the largest text that fits its pages."""
    import typst

    content: bytes = typst.compile(output=None, format="pdf", **_fitted(answer))
    return content


def page_pictures(answer: Plan | Progress, dots_per_inch: float) -> list[bytes]:
    """Set the same pages as PNG pictures for a screen, one a page."""
    import typst

    pages = typst.compile(output=None, format="png", ppi=dots_per_inch, **_fitted(answer))
    return list(pages) if isinstance(pages, list) else [pages]


def _fitted(answer: Plan | Progress) -> dict[str, Any]:
    """Give the arguments that set each part at the largest text that fits its pages."""
    fits: dict[str, _Fit] = {}
    parts = _parts(answer)
    for name, part in parts.items():
        fits[name] = _best_fit(name, part, _ways_to_set(name, answer))
    return _options(parts, fits)


def _parts(answer: Plan | Progress) -> dict[str, dict[str, Any]]:
    """The parts of the report in ready words, in order."""
    if not isinstance(answer, Plan):
        return {"progress": _progress_words(answer)}
    plan = {"plan": _plan_words(answer)}
    progress = answer.progress
    return plan if progress is None else {**plan, "progress": _progress_words(progress)}


def _ways_to_set(name: str, answer: Plan | Progress) -> tuple[_Fit, ...]:
    if name == "progress" or not isinstance(answer, Plan):
        return _PROGRESS
    if answer.progress is not None:
        return _FLOWING  # shortened by what the visits have overtaken
    return _FULL if answer.steps and answer.evidence else _SHORT


def _best_fit(name: str, part: dict[str, Any], ways: tuple[_Fit, ...]) -> _Fit:
    import typst

    for fit in ways:
        options = _options({name: part}, {name: fit})
        pages = typst.query(selector="<pages>", field="value", one=True, **options)
        if int(pages) <= fit.most_pages:
            break
    return fit


def _options(parts: dict[str, dict[str, Any]], fits: dict[str, _Fit]) -> dict[str, Any]:
    """Give the arguments that compiling and measuring share."""
    title = next(iter(parts.values()))["title"]
    labels = lines.LABELS | LABELS
    return typst_options(
        _TEMPLATES,
        title,
        {"labels": labels, "made_by": lines.MADE_BY, **parts},
        themes=" ".join(theme for fit in fits.values() for theme in fit.themes),
        **{f"{name}_size": str(fit.size_pt) for name, fit in fits.items()},
    )


def typst_options(
    templates: Mapping[str, str], title: str, content: dict[str, Any], **inputs: str
) -> dict[str, Any]:
    """Give typst what it needs to set `content`, which reaches the page as text only.

    Parameters
    ----------
    templates
        Files of this package by the names under which they know each other.
    title
        Name of the document, for other programs.
    content
        Ready words as JSON values; the templates find them in `data`.
    inputs
        Further inputs of the templates.
    """
    # The title of the file is data for other programs: no break marks in it.
    words = json.dumps({**_breakable(content), "title": title}, ensure_ascii=False)
    is_covered = set(map(ord, words)) <= _covered_letters()
    folder = resources.files("lastbee.documents")
    return {
        "input": {name: folder.joinpath(file).read_bytes() for name, file in templates.items()},
        # Letters beyond the fonts that come along are taken from the machine's own, if it
        # has them; the folder's font of last resort would stand in their way.
        "font_paths": [str(_font_folder())] if is_covered else [],
        "ignore_system_fonts": is_covered,
        "sys_inputs": {"words": words, **inputs},
    }


def _plan_words(plan: Plan) -> dict[str, Any]:
    words = outline(plan)
    return {
        "title": words.title,
        "outline": asdict(words),
        "headings": HEADINGS,
        "footer": _footer(words.title),
        "as_of": f"{LABELS['inspected']} {day_words(plan.inspected_on)}",
        "charts": {chart.key: _picture(chart) for chart in plan_charts(plan)},
    }


def _progress_words(progress: Progress) -> dict[str, Any]:
    words = progress_outline(progress)
    chart = course_chart(progress)
    picture = None if chart is None else {
        "title": chart.title, "summary": chart.summary, "svg": course_svg(chart, *_COURSE_SIZE_MM)
    }  # fmt: skip
    return {
        "title": words.title,
        "outline": asdict(words),
        "headings": PROGRESS_HEADINGS,
        "labels": PROGRESS_LABELS,
        "footer": _footer(words.title),
        "as_of": f"Last visit on {day_words(progress.as_of)}",
        "chart": picture,
    }


def _footer(title: str) -> str:
    return title if len(title) <= _FOOTER_LETTERS else f"{title[:_FOOTER_LETTERS]}…"


def _picture(chart: Chart) -> dict[str, str]:
    width_mm, height_mm = _CHART_SIZES_MM[chart.key]
    svg = chart_svg(chart, width_mm, height_mm, has_title=False)
    return {"title": chart.title, "summary": chart.summary, "svg": svg}


def _breakable(value: Any, key: str = "") -> Any:
    """Let over-long runs of letters break, in every string but the drawings."""
    if isinstance(value, dict):
        return {name: _breakable(item, name) for name, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_breakable(item) for item in value]
    if isinstance(value, str) and key != "svg":
        return _LONG_RUN.sub(lambda run: _ZERO_WIDTH_SPACE.join(run.group()), value)
    return value


def _font_folder() -> Path:
    """Find the folder of open fonts that comes with the chart library."""
    import matplotlib as mpl

    return Path(mpl.get_data_path()) / "fonts" / "ttf"


@functools.cache
def _covered_letters() -> frozenset[int]:
    """Give the code points that the upright sans font of that folder has."""
    from matplotlib.ft2font import FT2Font

    font = FT2Font(_font_folder() / "DejaVuSans.ttf")
    return frozenset(font.get_charmap()) | {ord("\n"), ord(_ZERO_WIDTH_SPACE)}

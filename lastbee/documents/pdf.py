"""The plan on paper: two to four A4 pages, set by typst without a network."""

from __future__ import annotations

import functools
import json
import re
from dataclasses import asdict, dataclass
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lastbee.documents.charts import plan_charts
from lastbee.documents.drawing import chart_svg
from lastbee.documents.outline import HEADINGS, LABELS, outline
from lastbee.documents.whole_file import write_whole
from lastbee.words import day_words

if TYPE_CHECKING:
    from lastbee.documents.charts import Chart
    from lastbee.jobs.plan import Plan

_MOST_PAGES = 4
# Size of the running text in points, the sections that begin a page of their own, and
# the pages that the plan then may take; tried in this order until it fits.
_ALL_THEMES = ("left", "methods", "evidence")
_FLOWING: tuple[tuple[float, tuple[str, ...], int], ...] = (
    (10.0, (), _MOST_PAGES),
    (9.0, (), _MOST_PAGES),
    (8.0, (), _MOST_PAGES),
)
_FULL = (*((size, _ALL_THEMES, _MOST_PAGES) for size in (10.5, 10.0, 9.5)), *_FLOWING)
# With nothing to do or nothing seen there is too little for a page to each theme.
_SHORT = (*((size, ("methods",), 2) for size in (10.5, 10.0, 9.5)), *_FLOWING)
# Width and height of the pictures. [mm]
_CHART_SIZES_MM = {
    "wall": (174.0, 56.0),
    "empty": (86.0, 46.0),
    "box": (86.0, 46.0),
    "methods": (174.0, 54.0),
}
_FOOTER_LETTERS = 60
# A run of letters this long may be broken anywhere, or it would leave the page.
_LONG_RUN = re.compile(r"\S{25,}")
_ZERO_WIDTH_SPACE = "\u200b"


@dataclass(frozen=True, slots=True)
class _Source:
    """The template, the words and the fonts: all that a page depends on."""

    template: bytes
    words: str
    font_folders: tuple[str, ...]
    ignores_system_fonts: bool

    def options(self, text_size_pt: float, themes: tuple[str, ...]) -> dict[str, Any]:
        """Give the arguments that compiling and measuring share."""
        return {
            "input": self.template,
            "font_paths": list(self.font_folders),
            "ignore_system_fonts": self.ignores_system_fonts,
            "sys_inputs": {
                "words": self.words,
                "size": str(text_size_pt),
                "themes": " ".join(themes),
            },
        }


def write_pdf(plan: Plan, path: Path) -> None:
    """Write the plan as a PDF; the file appears whole or not at all.

    The same plan gives the same bytes. Text of the plan reaches the page as text only,
    never as markup.

    Parameters
    ----------
    plan
        The whole answer for one job.
    path
        Where to write; an existing file is replaced.

    Raises
    ------
    OSError
        If the file cannot be written; it names `path`. An existing file is then left as
        it was.
    """
    write_whole(pdf_bytes(plan), Path(path))


def pdf_bytes(plan: Plan) -> bytes:
    """Set the plan as a PDF in memory, at the largest text size that fits four pages."""
    import typst

    content: bytes = typst.compile(output=None, format="pdf", **_fitted(plan))
    return content


def page_pictures(plan: Plan, dots_per_inch: float) -> list[bytes]:
    """Set the same pages as PNG pictures for a screen, one a page."""
    import typst

    pages = typst.compile(output=None, format="png", ppi=dots_per_inch, **_fitted(plan))
    return list(pages) if isinstance(pages, list) else [pages]


def _fitted(plan: Plan) -> dict[str, Any]:
    """Give the arguments that set the plan at the largest text that fits its pages."""
    import typst

    source = _source(plan)
    options: dict[str, Any] = {}
    for size, themes, most_pages in _FULL if plan.steps and plan.evidence else _SHORT:
        options = source.options(size, themes)
        pages = typst.query(selector="<pages>", field="value", one=True, **options)
        if int(pages) <= most_pages:
            break
    return options


def _source(plan: Plan) -> _Source:
    words = _words(plan)
    text = json.dumps(words, ensure_ascii=False)
    is_covered = set(map(ord, text)) <= _covered_letters()
    return _Source(
        template=resources.files("lastbee.documents").joinpath("report.typ").read_bytes(),
        words=text,
        # Letters beyond the fonts that come along are taken from the machine's own, if it
        # has them; the folder's font of last resort would stand in their way.
        font_folders=(str(_font_folder()),) if is_covered else (),
        ignores_system_fonts=is_covered,
    )


def _words(plan: Plan) -> dict[str, Any]:
    words = outline(plan)
    title = words.title
    content = {
        "outline": asdict(words),
        "headings": HEADINGS,
        "labels": LABELS,
        "footer": title if len(title) <= _FOOTER_LETTERS else f"{title[:_FOOTER_LETTERS]}…",
        "inspected": f"{LABELS['inspected']} {day_words(plan.inspected_on)}",
        "charts": {chart.key: _picture(chart) for chart in plan_charts(plan)},
    }
    breakable = _breakable(content)
    # The title of the file is data for other programs: no break marks in it.
    return {**breakable, "title": title}


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

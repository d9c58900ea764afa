"""Drawing a `TimeLine` as SVG for a page: quick, sharp at any size, in the page's colours.

Everything that has a colour has a class, so that the page's sheet decides for light and dark;
the attributes beneath are those of the printed reports. The picture carries no style sheet and
no style attribute, so that a strict content security policy lets it through.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from lastbee.documents.drawing import GRID, INK, INNER, LINE, OCHRE, OUTER, QUIET
from lastbee.documents.flags import hang
from lastbee.documents.progress_drawing import PAST, WIDENED_TICKS
from lastbee.documents.symbols import SYMBOL_SIZE, SYMBOLS
from lastbee.documents.time_line import frames_words
from lastbee.words import days_words, short_day_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from lastbee.documents.charts import Series
    from lastbee.documents.flags import Flag
    from lastbee.documents.progress_charts import VisitPoint
    from lastbee.documents.time_line import Lane, Moment, TimeLine


@dataclass(frozen=True, slots=True)
class Format:
    """Size of a picture, in the units of its view box, which are pixels at full size."""

    key: str
    width: float
    wall_height: float
    box_height: float
    text: float


PHONE = Format("phone", 358.0, 150.0, 56.0, 12.5)
DESK = Format("desk", 920.0, 240.0, 80.0, 14.0)

# Mean width of a letter against the size of the text, on the safe side for plain faces.
_LETTER = 0.57
_EDGE = 9.0
_SYMBOL = 13.0
_POINT_RADIUS = 8.0
_LOOKS: dict[str, dict[str, str]] = {
    "past": {"fill": PAST},
    "band90": {"fill": OUTER},
    "band50": {"fill": INNER},
    "median": {"fill": "none", "stroke": LINE, "stroke-width": "2"},
    "grid": {"stroke": GRID, "stroke-width": "1"},
    "spine": {"stroke": INK, "stroke-width": "2"},
    "fold": {"fill": "none", "stroke": INK, "stroke-width": "1.5"},
    "pole": {"stroke": QUIET, "stroke-width": "1"},
    "ahead": {"stroke": LINE, "stroke-width": "1.5", "stroke-dasharray": "3 3"},
    "likely": {"stroke": OCHRE, "stroke-width": "1.5", "stroke-dasharray": "5 3"},
    "safe": {"stroke": OCHRE, "stroke-width": "1.5"},
    "now": {"stroke": INK, "stroke-width": "2.5"},
    "range": {"stroke": INK, "stroke-width": "1.5"},
    "disc": {"fill": "#ffffff", "stroke": INK, "stroke-width": "1.5"},
    "dot": {"fill": INK},
    "symbol": {"fill": "none", "stroke": INK, "stroke-width": "1.5", "stroke-linejoin": "round",
               "stroke-linecap": "round"},
    "tag": {"fill": INK},
    "word": {"fill": INK}, "quiet": {"fill": QUIET}, "mark": {"fill": OCHRE},
    "due": {"fill": LINE}, "strong": {"fill": INK}, "tagged": {"fill": "#ffffff"},
}  # fmt: skip


def time_line_svg(line: TimeLine, form: Format, title: str) -> str:
    """Draw a time line.

    Parameters
    ----------
    line
        What to draw.
    form
        How large.
    title
        Name of the picture, for readers who cannot see it; its summary goes with it.

    Returns
    -------
    One `svg` element to stand in a page, without a style sheet.
    """
    return _Drawing(line, form, title).drawn()


def text_width(words: str, size: float) -> float:
    """Room that words take, on the safe side."""
    return len(words) * size * _LETTER


@dataclass(frozen=True, slots=True)
class _Words:
    """The room that words take in the picture."""

    left: float
    right: float
    top: float
    foot: float


class _Drawing:
    """One picture in the making; `y` grows downward as parts are added."""

    def __init__(self, line: TimeLine, form: Format, title: str) -> None:
        self.line, self.form = line, form
        self.root = ET.Element("svg", {
            "xmlns": "http://www.w3.org/2000/svg", "class": f"time-line is-{form.key}",
            "role": "img", "aria-labelledby": f"tl-{form.key}-title tl-{form.key}-desc",
        })  # fmt: skip
        for name, words in (("title", title), ("desc", line.summary)):
            ET.SubElement(self.root, name, {"id": f"tl-{form.key}-{name}"}).text = words
        self.back = ET.SubElement(self.root, "g")
        self.front = ET.SubElement(self.root, "g")
        self.row = form.text * 1.45
        self.y = 0.0
        self.now_parts: list[tuple[float, float]] = []
        self.words: list[_Words] = []

    def drawn(self) -> str:
        """Draw from top to bottom, the line of today through it all at last."""
        self._room_for_now()
        wall, box = self.line.wall, self.line.box
        if wall is not None:
            self._marks_above(self.form.wall_height)
            self._lane(wall, self.form.wall_height)
        self.now_parts.append((self.row, self.y))
        self._spine()
        self._events()
        if box is not None:
            self.y += 0.4 * self.row
            self._lane(box, self.form.box_height)
            self.now_parts.append((self.y - self.form.box_height, self.y))
            self._line("spine", _EDGE, self.y, self.form.width - _EDGE, self.y, into=self.back)
        self._now()
        if box is not None:
            self._frames()
        self.root.set("viewBox", f"0 0 {self.form.width:g} {self.y + 4:.0f}")
        return ET.tostring(self.root, encoding="unicode")

    # Places

    @property
    def room(self) -> float:
        return self.form.width - 2.0 * _EDGE

    def x(self, day: date) -> float:
        return _EDGE + self.room * self.line.scale.at(day)

    def _day(self, day: date) -> str:
        """A day, with its year where that is not this one."""
        year = "" if day.year == self.line.now.year else f" {day.year}"
        return f"{short_day_words(day)}{year}"

    def _is_on(self, day: date) -> bool:
        return self.line.scale.first <= day <= self.line.scale.last

    # Parts, from top to bottom

    def _room_for_now(self) -> None:
        self.y += self.row + 6.0
        if self.line.wall is None and self.line.scale.folds:
            self.y += self.row  # for how long each fold is

    def _now(self) -> None:
        """The line of today, its tag on top, and the words for what lies on either side."""
        x, size = self.x(self.line.now), self.form.text
        self._upright("pole", x, self.row, self.y)
        for top, foot in self.now_parts:
            self._upright("now", x, top, foot)
        words = f"today, {short_day_words(self.line.now)}"
        width = text_width(words, size) + 14.0
        left = min(max(0.0, x - width / 2.0), self.form.width - width)
        self._add("rect", "tag", x=left, y=0, width=width, height=self.row + 2, rx=4)
        self._text("tagged", left + width / 2.0, self.row * 0.78, words, anchor="middle")
        if left > text_width("record", size) + 16.0:
            self._text("quiet", left - 8.0, self.row * 0.78, "record", anchor="end")
        right = left + width + 8.0
        if self.line.wall is not None and right + text_width("forecast", size) < self.form.width:
            self._text("quiet", right, self.row * 0.78, "forecast")

    def _marks_above(self, lane_height: float) -> None:
        """Likely and safe day, flown above the lane on poles that stand on the spine."""
        marks = [mark for mark in self.line.marks if self._is_on(mark.day)]
        words = [f"{mark.label} {short_day_words(mark.day)}" for mark in marks]
        flags = self._hang([mark.day for mark in marks], words, beside=6.0)
        rows = max((flag.row + 1 for flag in flags if flag is not None), default=0)
        foot = self.y + rows * self.row + self.row + lane_height
        for mark, flag, said in zip(marks, flags, words, strict=True):
            x = self.x(mark.day)
            row = rows if flag is None else flag.row
            base = self.y + (rows - row) * self.row
            self._line(mark.kind, x, foot if flag is None else base - 0.8 * self.row, x, foot,
                       into=self.back)  # fmt: skip
            if flag is not None:
                self._flag_words("mark", flag, base - 0.25 * self.row, said)
        self.y += rows * self.row

    def _lane(self, lane: Lane, height: float) -> None:
        """Bands, pale before today, with levels, visits and the lane's name."""
        self._text("strong", _EDGE, self.y + 0.7 * self.row, lane.label)
        self.y += self.row
        self._levels(lane, height)
        self._bands(lane, height)
        for point, is_numbered in _spread(lane.points, [self.x(p.day) for p in lane.points]):
            self._point(lane, point, height, is_numbered=is_numbered)
        self.y += height

    def _levels(self, lane: Lane, height: float) -> None:
        for value in _levels(lane, most=4 if height > 100.0 else 3):
            y = self._height(lane, value, height)
            if y < self.y + 0.9 * self.form.text:
                continue  # its number would stand in the lane's name
            self._line("grid", _EDGE, y, self.form.width - _EDGE, y, into=self.back)
            self._text("quiet", _EDGE, y - 3.0, f"{value:,.0f}")

    def _bands(self, lane: Lane, height: float) -> None:
        series = lane.series
        since = (self.line.now - series.start).days
        split = min(max(since, 0), len(series.median) - 1)
        past, ahead = slice(0, split + 1), slice(split, len(series.median))
        if split > 0:
            self._band("past", lane, height, past, series.low90, series.high90)
        if since < len(series.median) - 1:
            self._band("band90", lane, height, ahead, series.low90, series.high90)
            self._band("band50", lane, height, ahead, series.low50, series.high50)
        points = self._along(lane, height, series, slice(0, None), series.median)
        self._add("path", "median", into=self.back, d="M" + "L".join(points))

    def _band(self, look: str, lane: Lane, height: float, part: slice,
              low: Sequence[float], high: Sequence[float]) -> None:  # fmt: skip
        there = self._along(lane, height, lane.series, part, high)
        back = self._along(lane, height, lane.series, part, low)
        path = "M" + "L".join([*there, *reversed(back)]) + "Z"
        self._add("path", look, into=self.back, d=path)

    def _along(self, lane: Lane, height: float, series: Series, part: slice,
               values: Sequence[float]) -> list[str]:  # fmt: skip
        """Points of a daily line as text, to a tenth of a pixel."""
        first = series.start.toordinal()
        days = range(len(series.median))[part]
        at = self.line.scale.at
        return [
            f"{_EDGE + self.room * at(series.start.fromordinal(first + n)):.1f}"
            f" {self._height(lane, values[n], height):.1f}"
            for n in days
        ]

    def _height(self, lane: Lane, value: float, height: float) -> float:
        return self.y + height * (1.0 - lane.height(value))

    def _point(self, lane: Lane, point: VisitPoint, height: float, *, is_numbered: bool) -> None:
        x = self.x(point.day)
        low, y, high = (
            self._height(lane, value, height) for value in (point.low, point.median, point.high)
        )
        self._line("range", x, high, x, low)
        if not is_numbered:
            self._add("circle", "dot", cx=x, cy=y, r=4)
            return
        self._add("circle", "disc", cx=x, cy=y, r=_POINT_RADIUS)
        self._text("strong", x, y + 0.34 * self.form.text, str(point.number), anchor="middle")

    def _spine(self) -> None:
        """The line of days itself, with folds, and dates beneath it."""
        left = _EDGE
        for fold in self.line.scale.folds:
            start, end = (_EDGE + self.room * place for place in (fold.left, fold.right))
            self._line("spine", left, self.y, start, self.y, into=self.back)
            self._fold(start, end, days_words(fold.days))
            left = end
        self._line("spine", left, self.y, self.form.width - _EDGE, self.y, into=self.back)
        if self.line.wall is None:
            self.y += 4.0
            return
        self._ticks()
        self.y += 1.35 * self.row

    def _ticks(self) -> None:
        """Mondays along the line, with their dates where no upright runs through those."""
        uprights = [self.x(day) for day, _ in self._hung_moments()] + [self.x(self.line.now)]
        taken = -1.0e9
        for day in self.line.scale.ticks(most=int(self.room // 52.0)):
            x, words = self.x(day), short_day_words(day)
            self._line("pole", x, self.y, x, self.y + 5.0)
            half = text_width(words, self.form.text) / 2.0
            centre = min(max(x, half), self.form.width - half)
            is_crossed = any(abs(upright - centre) < half + 1.0 for upright in uprights)
            if not is_crossed and centre - half > taken + 4.0:
                self._text("quiet", centre, self.y + self.row, words, anchor="middle")
                taken = centre + half

    def _fold(self, start: float, end: float, words: str) -> None:
        """A stretch left out: a wave, and how long it is where there is room."""
        step = (end - start) / 4.0
        waves = "".join(f"q{step / 2:.1f} {sign}6 {step:.1f} 0" for sign in ("-", "", "-", ""))
        self._add("path", "fold", d=f"M{start:.1f} {self.y:.1f}{waves}")
        if text_width(words, self.form.text) < end - start:
            self._text("quiet", (start + end) / 2.0, self.y - 8.0, words, anchor="middle")

    def _events(self) -> None:
        """Moments hung below the spine, those of one day on one pole."""
        spine = self.y if self.line.wall is None else self.y - 1.35 * self.row
        for one in self.line.moments:
            look = "disc" if one.is_ahead else "dot"
            self._add("circle", look, cx=self.x(one.day), cy=spine, r=4.0)
        groups = self._hung_moments()
        days = [day for day, _ in groups]
        words = [
            f"{', '.join(dict.fromkeys(_short(one) for one in told))} {self._day(day)}"
            for day, told in zip(days, groups.values(), strict=True)
        ]
        flags = self._hang(days, words, beside=_SYMBOL + 9.0)
        rows = max((flag.row + 1 for flag in flags if flag is not None), default=0)
        for told, flag, said in zip(groups.values(), flags, words, strict=True):
            if flag is not None:
                self._event(told[0], flag, spine, said)
        self.y += rows * self.row + 4.0

    def _hung_moments(self) -> dict[tuple[date, bool], list[Moment]]:
        """Moments by day and by whether they are ahead, but for visits that stand in the lane."""
        numbered = {point.day for point in self.line.wall.points} if self.line.wall else set()
        groups: dict[tuple[date, bool], list[Moment]] = {}
        for one in self.line.moments:
            if one.kind != "visit" or one.day not in numbered:
                groups.setdefault((one.day, one.is_ahead), []).append(one)
        return groups

    def _event(self, first: Moment, flag: Flag, spine: float, said: str) -> None:
        base = self.y + flag.row * self.row
        x = _EDGE + flag.pole
        self._line("ahead" if first.is_ahead else "pole", x, spine, x, base + 0.8 * self.row,
                   into=self.back)  # fmt: skip
        look = "due" if first.is_ahead else "word"
        ends_here = flag.is_left_of_pole
        at = _EDGE + (flag.right - 4.0 - _SYMBOL if ends_here else flag.left + 4.0)
        self._symbol(first.kind, at, base + 0.42 * self.row - _SYMBOL / 2.0,
                     is_ahead=first.is_ahead)  # fmt: skip
        self._flag_words(look, flag, base + 0.75 * self.row, said, beside=_SYMBOL + 8.0)

    def _frames(self) -> None:
        """Frames of bees seen in the box, below its lane."""
        seen = [one for one in self.line.moments if one.frames is not None]
        taken = -1.0e9
        for one in seen:
            words = frames_words(one.frames or 0.0)
            if one is not seen[0]:
                words = words.partition(" ")[0]
            width, x = text_width(words, self.form.text), self.x(one.day)
            left = min(x - 4.0, self.form.width - width)
            if left > taken + 6.0:
                self._text("word", left, self.y + 0.95 * self.row, words)
                taken = left + width
        if seen:
            self.y += 1.2 * self.row

    # Pieces

    def _hang(
        self, days: Sequence[date], words: Sequence[str], beside: float
    ) -> tuple[Flag | None, ...]:
        poles = [self.x(day) - _EDGE for day in days]
        widths = [text_width(said, self.form.text) + beside for said in words]
        return hang(poles, widths, self.room, [self.x(self.line.now) - _EDGE])

    def _flag_words(
        self, look: str, flag: Flag, base: float, words: str, beside: float = 5.0
    ) -> None:
        if flag.is_left_of_pole:
            self._text(look, _EDGE + flag.right - beside, base, words, anchor="end")
        else:
            self._text(look, _EDGE + flag.left + beside, base, words)

    def _symbol(self, kind: str, left: float, top: float, *, is_ahead: bool) -> None:
        size = _SYMBOL / SYMBOL_SIZE
        look = "symbol is-ahead" if is_ahead else "symbol"
        self._add("path", look, d=SYMBOLS[kind],
                  transform=f"translate({left:.1f} {top:.1f}) scale({size:.3f})")  # fmt: skip

    def _line(self, look: str, x1: float, y1: float, x2: float, y2: float,
              into: ET.Element | None = None) -> None:  # fmt: skip
        self._add("line", look, into=into, x1=x1, y1=y1, x2=x2, y2=y2)

    def _upright(self, look: str, x: float, top: float, foot: float) -> None:
        """An upright line that leaves out words it would run through, and stubs between them."""
        met = [said for said in self.words if said.left < x < said.right]
        met = [said for said in met if top < said.foot and said.top < foot]
        ends = [said.top for said in sorted(met, key=lambda said: said.top)]
        starts = [top, *sorted(said.foot for said in met)]
        for start, end in zip(starts, [*ends, foot], strict=True):
            if end - start > (0.5 * self.row if met else 0.0):
                self._line(look, x, start, x, end, into=self.back)

    def _text(self, look: str, x: float, y: float, words: str, anchor: str = "start") -> None:
        width, size = text_width(words, self.form.text), self.form.text
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width
        self.words.append(_Words(left - 1.0, left + width + 1.0, y - 0.8 * size, y + 0.25 * size))
        made = self._add("text", look, x=x, y=y, font_size=self.form.text)
        if anchor != "start":
            made.set("text-anchor", anchor)
        if look in ("strong", "due", "tagged"):
            made.set("font-weight", "600")
        made.text = words

    def _add(
        self, name: str, look: str, into: ET.Element | None = None, **attributes: float | str
    ) -> ET.Element:
        given = {
            key.replace("_", "-"): value if isinstance(value, str) else f"{value:.1f}"
            for key, value in attributes.items()
        }
        parent = self.front if into is None else into
        looks = {"class": f"tl-{look}", **_LOOKS[look.split(" ", maxsplit=1)[0]]}
        return ET.SubElement(parent, name, looks | given)


def _short(one: Moment) -> str:
    return one.label if one.number is None else f"{one.label} {one.number}"


def _levels(lane: Lane, most: int) -> list[float]:
    """Round values worth a level line, above zero and below the upper edge."""
    if lane.is_widened:
        return [float(v) for v in WIDENED_TICKS if 0 < v < lane.top][-most:]
    size = 1.0
    for factor in (2.0, 2.5, 2.0) * 8:
        if lane.top / size <= most:
            break
        size *= factor
    return [n * size for n in range(1, int(lane.top / size) + 1) if n * size < 0.97 * lane.top]


def _spread(points: Sequence[VisitPoint], places: Sequence[float]) -> list[tuple[VisitPoint, bool]]:
    """Each point, and whether its number keeps clear of the one before it."""
    found, taken = [], -1.0e9
    for point, x in zip(points, places, strict=True):
        is_clear = x - taken >= 2.0 * _POINT_RADIUS + 1.0
        taken = x if is_clear else taken
        found.append((point, is_clear))
    return found

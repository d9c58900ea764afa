"""How words are set on a terminal: headings, lists, tables and bars for any width."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from rich.console import Group
from rich.padding import Padding
from rich.segment import Segment, Segments
from rich.table import Table
from rich.text import Text

from lastbee.documents.lines import LABELS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import Console, RenderableType

    from lastbee.documents.lines import Line

WIDEST = 100
LABEL_WIDTH = 26
DATE_WIDTH = 15


@dataclass(frozen=True, slots=True)
class _Signs:
    """The few drawn signs of a page."""

    rule: str
    item: str
    bar: tuple[str, str, str]


_DRAWN = _Signs("─", "•", ("█", "▒", "░"))
_TYPED = _Signs("-", "*", ("#", "=", "."))


@dataclass(frozen=True, slots=True)
class Screen:
    """The width to fill, in columns, and the signs that the encoding has."""

    width: int
    encoding: str
    signs: _Signs

    @classmethod
    def of(cls, console: Console) -> Self:
        """The screen that a console prints on."""
        is_drawn = console.encoding.lower().startswith("utf")
        return cls(min(console.width, WIDEST), console.encoding, _DRAWN if is_drawn else _TYPED)


def print_trimmed(parts: Iterable[RenderableType], console: Console, screen: Screen) -> None:
    """Print without the spaces that tables leave at the end of lines."""
    options = console.options.update(width=screen.width)
    page: list[Segment] = []
    for line in console.render_lines(Group(*parts), options, pad=False):
        kept = list(line)
        while kept and not kept[-1].text.rstrip():
            kept.pop()
        if kept:
            kept[-1] = Segment(kept[-1].text.rstrip(), kept[-1].style, kept[-1].control)
        page += [*kept, Segment.line()]
    console.print(Segments(page), end="")


def rule(screen: Screen) -> Text:
    """A line across the screen."""
    return Text(screen.signs.rule * screen.width, style="dim")


def heading(title: str, screen: Screen) -> list[RenderableType]:
    """A section's title with a rule beside it, and an empty line above."""
    length = max(0, screen.width - len(title) - 1)
    return [Text(""), Text.assemble((title, "bold"), " ", (screen.signs.rule * length, "dim"))]


def indented(part: RenderableType, left: int = 2) -> Padding:
    """Set a part in from the left."""
    return Padding(part, (0, 0, 0, left))


def bullets(items: Iterable[str], screen: Screen, left: int = 2) -> list[RenderableType]:
    """A list; nothing where it is empty."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=1)
    grid.add_column(overflow="fold")
    for item in items:
        grid.add_row(Text(screen.signs.item), Text(item))
    return [indented(grid, left)] if grid.rows else []


def items(title: str, texts: Sequence[str], screen: Screen) -> list[RenderableType]:
    """A section that is a list."""
    return [*heading(title, screen), *bullets(texts, screen)] if texts else []


def pairs(lines: Iterable[Line], label_width: int) -> Table:
    """Labels and the words beside them."""
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=label_width, overflow="fold")
    grid.add_column(overflow="fold")
    for line in lines:
        grid.add_row(Text(line.label), Text(line.words))
    return grid


def listing(lines: Sequence[Line], screen: Screen) -> list[RenderableType]:
    """Labels and words, the labels as wide as they need and the screen allows."""
    if not lines:
        return []
    longest = max(len(line.label) for line in lines)
    width = min(max(longest, LABEL_WIDTH), screen.width // 2 - 4)
    return [indented(pairs(lines, width))]


def shares(title: str, lines: Sequence[Line], screen: Screen) -> list[RenderableType]:
    """Set the possibilities below a title, each with its probability."""
    if not lines:
        return []
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=9, justify="right")
    grid.add_column(max_width=screen.width - 15, overflow="fold")
    for line in lines:
        grid.add_row(Text(line.words), Text(line.label))
    return [indented(Text(title)), indented(grid)]


def labelled(label: str, words: str, label_style: str = "") -> Text:
    """A label and its words in running text."""
    return Text.assemble((f"{label}: ", label_style), words)


def caution(words: str, left: int) -> list[RenderableType]:
    """A caution; nothing where there is none."""
    if not words:
        return []
    return [indented(labelled(LABELS["caution"], words, "bold black on yellow"), left)]


@dataclass(frozen=True, slots=True)
class Columns:
    """A table whose rows are set one by one and still line up.

    A label stands beside its cells, above them where there is less room, and on a narrow
    screen each cell gets a line of its own with its head.
    """

    heads: tuple[str, ...]
    cell_width: int
    screen: Screen
    # Columns that labels need to stand beside their cells and not above.
    beside_from: int = 25

    @property
    def _room(self) -> int:
        """Columns that the cells leave for a label."""
        return self.screen.width - 4 - len(self.heads) * (self.cell_width + 2)

    def head(self) -> list[RenderableType]:
        """The heads, where they stand above the cells."""
        return [] if self._room < 0 else [self._row(Text(""), self.heads, "italic")]

    def row(self, label: Text, cells: tuple[str, ...]) -> list[RenderableType]:
        """One row."""
        if self._room >= 0:
            return [self._row(label, cells, "")]
        filled = [(head, cell) for head, cell in zip(self.heads, cells, strict=True) if cell]
        grid = Table.grid(padding=(0, 2, 0, 0))
        # A single cell, such as a day that is fixed, needs no head.
        grid.add_column(width=max(map(len, self.heads)) if len(filled) > 1 else 0)
        grid.add_column(overflow="fold")
        for head, cell in filled:
            grid.add_row(Text(head if len(filled) > 1 else ""), Text(cell))
        return [indented(label), indented(grid, 4 if len(filled) > 1 else 2)]

    def _row(self, label: Text, cells: tuple[str, ...], style: str) -> RenderableType:
        is_wide = self._room >= self.beside_from
        grid = Table.grid(padding=(0, 2, 0, 0))
        row: list[Text] = [Text(_broken(cell, self.cell_width), style=style) for cell in cells]
        if is_wide:
            grid.add_column(width=self._room, overflow="fold")
            row.insert(0, label)
        for _ in cells:
            grid.add_column(width=self.cell_width, overflow="fold")
        grid.add_row(*row)
        if is_wide or not label:
            return indented(grid, 2 if is_wide else 4)
        return Group(indented(label), indented(grid, 4))


def _broken(cell: str, width: int) -> str:
    """Break a cell that is too long between the number and its range, not inside it."""
    if len(cell) <= width:
        return cell
    return cell.replace(" (", "\n(", 1).replace("not by ", "not by\n", 1)

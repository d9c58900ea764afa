"""Pictures of the demo firm: plain drawings of a boarded wall, plainly no photographs."""

from __future__ import annotations

import functools
import io
from typing import TYPE_CHECKING

from lastbee.office.pictures import ready_picture

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from PIL.ImageDraw import ImageDraw

    from lastbee.office.pictures import Picture

SIZE_PX = (800, 600)
BOARD_PX = 100
WALL, SEAM, INK = "#e7dcc6", "#b9a988", "#1b1f23"
HOLE, MESH, HIVE, WAX = "#3a2c1c", "#5a6268", "#d7b26a", "#c98a2b"


def demo_pictures() -> Mapping[str, Picture]:
    """The pictures, by the names that `demo_firm.toml` calls them."""
    return _drawn()


@functools.cache
def _drawn() -> dict[str, Picture]:
    return {name: _picture(draw) for name, draw in _DRAWINGS.items()}


def _picture(draw: Callable[[ImageDraw], None]) -> Picture:
    from PIL import Image, ImageDraw

    image = Image.new("RGB", SIZE_PX, WALL)
    pen = ImageDraw.Draw(image)
    for y in range(BOARD_PX, SIZE_PX[1], BOARD_PX):
        pen.line((0, y, SIZE_PX[0], y), fill=SEAM, width=4)
    draw(pen)
    pen.text((20, 570), "DRAWING, NOT A PHOTOGRAPH", fill=INK, font_size=20)
    written = io.BytesIO()
    image.save(written, "PNG")
    return ready_picture(written.getvalue(), keeps_location=False)


def _knot_hole(pen: ImageDraw) -> None:
    pen.ellipse((370, 215, 430, 280), fill=HOLE, outline=INK, width=3)
    for x, y in ((300, 180), (460, 190), (500, 320), (330, 330), (400, 150)):
        _bee(pen, x, y)


def _cone_and_box(pen: ImageDraw) -> None:
    pen.polygon(((340, 180), (340, 320), (560, 258), (560, 242)), outline=MESH, width=4)
    for x in range(370, 550, 30):
        pen.line((x, 190 + (x - 340) // 4, x, 310 - (x - 340) // 4), fill=MESH, width=2)
    pen.rectangle((600, 280, 780, 480), fill=HIVE, outline=INK, width=4)
    pen.rectangle((600, 440, 660, 455), fill=HOLE)
    _bee(pen, 590, 240)


def _gap_at_the_sill(pen: ImageDraw) -> None:
    pen.rectangle((0, 480, 800, 530), fill=SEAM, outline=INK, width=3)
    pen.polygon(((310, 480), (470, 480), (450, 462), (330, 466)), fill=HOLE)
    for x, y in ((300, 430), (380, 400), (480, 440)):
        _bee(pen, x, y)


def _bare_comb(pen: ImageDraw) -> None:
    pen.rectangle((250, 0, 270, 600), fill=SEAM)
    pen.rectangle((560, 0, 580, 600), fill=SEAM)
    for x in (320, 390, 460):
        pen.ellipse((x, 20, x + 50, 380), fill=WAX, outline=INK, width=3)


def _closed_wall(pen: ImageDraw) -> None:
    pen.rectangle((320, 202, 480, 298), fill="#f3ead8", outline=INK, width=3)
    for x, y in ((335, 215), (465, 215), (335, 285), (465, 285)):
        pen.ellipse((x - 5, y - 5, x + 5, y + 5), fill=MESH)


def _bee(pen: ImageDraw, x: int, y: int) -> None:
    pen.ellipse((x - 12, y - 7, x + 12, y + 7), fill=WAX, outline=INK, width=2)
    pen.line((x - 2, y - 7, x - 2, y + 7), fill=INK, width=3)
    pen.ellipse((x - 6, y - 16, x + 4, y - 5), outline=MESH, width=2)


_DRAWINGS: dict[str, Callable[[ImageDraw], None]] = {
    "knot hole": _knot_hole,
    "cone and box": _cone_and_box,
    "gap at the sill": _gap_at_the_sill,
    "bare comb": _bare_comb,
    "closed wall": _closed_wall,
}

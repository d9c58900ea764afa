"""Draw the app's icon as PNG in the sizes that phones ask for, from the shapes of app.svg.

Run from the root of the repository after a change of the icon: python tools/draw_icons.py
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageDraw

FIELD = 512
SIZES = (192, 512)
FINER = 4  # drawn this many times larger, then made smaller, so that edges are smooth
FOLDER = Path("lastbee/web/static/icons")

SKY, WALL, BEE = "#17405f", "#eef3f7", "#f2b35a"


def icon(size: int) -> Image.Image:
    """Draw a cone over a hole in a wall, one bee outside, `size` pixels square."""
    scale = size * FINER / FIELD

    def scaled(*numbers: float) -> list[float]:
        return [number * scale for number in numbers]

    image = Image.new("RGB", (size * FINER, size * FINER), SKY)
    draw = ImageDraw.Draw(image)
    draw.rectangle(scaled(96, 96, 168, 416), fill=WALL)
    cone = scaled(157, 148, 355, 237, 355, 275, 157, 364)
    draw.polygon(cone, fill=WALL)
    draw.polygon(scaled(179, 184, 333, 252, 333, 260, 179, 328), fill=SKY)
    draw.ellipse(scaled(398 - 26, 256 - 26, 398 + 26, 256 + 26), fill=BEE)
    return image.resize((size, size), Image.Resampling.LANCZOS)


if __name__ == "__main__":
    for size in SIZES:
        icon(size).save(FOLDER / f"app-{size}.png", optimize=True)

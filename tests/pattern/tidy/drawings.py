"""Pictures of our own to be tidied: lettering, rings, a face, fine lines; drawn with Pillow.

Each is an RGB picture as a knitter might bring it, 480 pixels wide; `chart` makes a chart of it.
The lettering is the font that comes with Pillow (Aileron, CC0).
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from caller.pattern.chart import Chart
from caller.pattern.picture.charting import make_chart
from caller.pattern.picture.colour import RGB
from caller.pattern.picture.picture import Picture

ROWS_TO_STITCHES = 1.4  # a gauge of 30 stitches and 42 rows
CREAM, NAVY, RED, SAND, PINE = (
    (242, 232, 208),
    (27, 42, 74),
    (178, 52, 45),
    (205, 170, 120),
    (
        40,
        84,
        64,
    ),
)


def sign() -> Image.Image:
    """Two lines of lettering in a frame, as over a shop at a quay."""
    picture, draw = _blank(480, 240, CREAM)
    draw.rectangle((10, 10, 469, 229), outline=NAVY, width=8)
    for text, y, size, ink in (("Ropes & Nets", 80, 66, NAVY), ("since 1904", 165, 52, RED)):
        draw.text((240, y), text, ink, font(size), anchor="mm")
    return picture


def small_print() -> Image.Image:
    """Three lines of smaller lettering, light on dark."""
    picture, draw = _blank(480, 300, PINE)
    for text, y in (("the tide waits", 60), ("for no one", 150), ("quay house", 240)):
        draw.text((240, y), text, CREAM, font(58), anchor="mm")
    return picture


def rings() -> Image.Image:
    """Thin rings that cross, of three colours on a plain ground."""
    picture, draw = _blank(480, 400, SAND)
    for x, y, radius, ink in ((150, 180, 120, NAVY), (250, 220, 130, CREAM), (340, 170, 100, RED)):
        draw.ellipse((x - radius, y - radius, x + radius, y + radius), outline=ink, width=6)
    return picture


def face() -> Image.Image:
    """A face with eyes, brows, nose and mouth."""
    picture, draw = _blank(480, 560, PINE)
    draw.ellipse((90, 60, 390, 510), SAND)
    draw.pieslice((70, 30, 410, 420), 180, 360, NAVY)
    draw.ellipse((110, 150, 370, 480), SAND)
    for x in (185, 295):
        draw.ellipse((x - 30, 245, x + 30, 281), CREAM)
        draw.ellipse((x - 12, 249, x + 12, 277), NAVY)
        draw.arc((x - 38, 205, x + 38, 265), 200, 340, NAVY, 7)
    draw.line((240, 270, 228, 345, 250, 350), NAVY, 5)
    draw.arc((185, 350, 295, 430), 20, 160, RED, 9)
    return picture


def rigging() -> Image.Image:
    """A mast, ropes and flags: slanting lines over sky and sea."""
    picture, draw = _blank(480, 480, (169, 203, 216))
    draw.rectangle((0, 390, 480, 480), NAVY)
    draw.polygon([(60, 380), (420, 380), (370, 430), (110, 430)], RED)
    draw.rectangle((236, 40, 244, 380), NAVY)
    for x in (70, 120, 360, 410):
        draw.line((240, 50, x, 380), NAVY, 4)
    for y in (140, 230, 310):
        draw.line((240 - y / 2.2, y, 240 + y / 2.2, y), CREAM, 6)
    draw.polygon([(244, 40), (300, 58), (244, 76)], CREAM)
    return picture


def plaid() -> Image.Image:
    """Broad and thin stripes across each other."""
    picture, draw = _blank(480, 480, PINE)
    for at in range(40, 480, 110):
        draw.rectangle((at, 0, at + 34, 480), NAVY)
        draw.rectangle((0, at, 480, at + 34), NAVY)
    for at in range(96, 480, 110):
        draw.rectangle((at, 0, at + 5, 480), CREAM)
        draw.rectangle((0, at, 480, at + 5), RED)
    return picture


DRAWINGS: dict[str, Callable[[], Image.Image]] = {
    draw.__name__: draw for draw in (sign, small_print, rings, face, rigging, plaid)
}


def chart(
    picture: Image.Image | NDArray[np.uint8], stitches: int, colours: int, rows: int = 0
) -> tuple[Chart, tuple[RGB, ...]]:
    """The picture as a chart, so many stitches wide, and the colours of its yarns."""
    pixels = np.asarray(picture)
    rows = rows or round(stitches * pixels.shape[0] / pixels.shape[1] * ROWS_TO_STITCHES)
    made, yarns = make_chart(Picture(pixels), stitches, rows, colours)
    return made, tuple(yarn.rgb for yarn in yarns)


def _blank(width: int, height: int, ground: RGB) -> tuple[Image.Image, ImageDraw.ImageDraw]:
    picture = Image.new("RGB", (width, height), ground)
    return picture, ImageDraw.Draw(picture)


def font(size: int) -> ImageFont.FreeTypeFont:
    font = ImageFont.load_default(size)
    assert isinstance(font, ImageFont.FreeTypeFont)
    return font

"""The marks of a supply picture: each has a dark core and a light rim, seen on every colour."""

from functools import lru_cache, partial
from typing import TYPE_CHECKING

import numpy as np

from caller.pattern.pattern import Pattern
from caller.pattern.picture.colour import RGB
from caller.sheets.pictures.contrast import ink_on
from caller.sheets.pictures.hatching import inked, lines
from caller.sheets.pictures.legend import Entry
from caller.sheets.pictures.lettering import lettering, spelled
from caller.sheets.pictures.page import INK, PAPER

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

RIM = (255, 255, 255)
_FINE = 8  # drawn so many times as large, then made smaller, for smooth edges


@lru_cache(maxsize=8)
def join_mark(size: int) -> "Image":
    """A ring: here a supply joins."""
    canvas, draw = _canvas(size)
    side = size * _FINE
    for inset, colour in ((0.02, RIM), (0.12, INK), (0.34, RIM)):
        draw.ellipse((side * inset, side * inset, side * (1 - inset), side * (1 - inset)), colour)
    return _smooth(canvas, size)


@lru_cache(maxsize=8)
def cut_mark(size: int) -> "Image":
    """A cross: here a supply is cut."""
    canvas, draw = _canvas(size)
    side = size * _FINE
    for inset, width, colour in ((0.1, 0.38, RIM), (0.18, 0.18, INK)):
        near, far = side * inset, side * (1 - inset)
        for line in ((near, near, far, far), (near, far, far, near)):
            draw.line(line, colour, round(side * width))
            for x, y in (line[:2], line[2:]):
                half = side * width / 2
                draw.ellipse((x - half, y - half, x + half, y + half), colour)
    return _smooth(canvas, size)


def carry_mark(size: int) -> "Image":
    """A thin line: here a yarn is carried."""
    canvas, draw = _canvas(size)
    side = size * _FINE
    for width, colour in ((0.3, RIM), (0.12, INK)):
        draw.line((0, side * 0.6, side, side * 0.4), colour, round(side * width))
    return _smooth(canvas, size)


def centre_mark(size: int) -> "Image":
    """A triangle: the centre of the bed."""
    canvas, draw = _canvas(size)
    side = size * _FINE
    draw.polygon([(side / 2, side * 0.85), (side * 0.22, side / 4), (side * 0.78, side / 4)], INK)
    return _smooth(canvas, size)


def swatch(colour: RGB, size: int) -> "Image":
    """A piece of a colour in a thin frame."""
    from PIL import Image

    picture, line = Image.new("RGB", (size, size), INK), max(1, size // 16)
    picture.paste(colour, (line, line, size - line, size - line))
    return picture


def yarn_entries(pattern: Pattern) -> list[Entry]:
    """The legend of the yarns: colour and name."""
    return [
        Entry(partial(swatch, yarn.rgb), spelled(yarn.name, f"yarn {number}"))
        for number, yarn in enumerate(pattern.yarns, start=1)
    ]


def empty_entries(pattern: Pattern) -> list[Entry]:
    """The legend of a shaped piece: what is empty."""
    if not pattern.chart.shaped:
        return []
    return [Entry(partial(swatch, PAPER), "Empty: needles out of work")]


def hatched_mark(colour: RGB, size: int) -> "Image":
    """A swatch, one half of it hatched."""
    from PIL import Image

    part = (np.arange(size) + 0.5) * 3 / size % 1
    pixels = np.full((size, size, 3), colour, dtype=np.uint8)
    drawn = lines(1, part[:, None], part[None]) & (np.arange(size) >= size // 2)
    pixels[drawn] = inked(pixels[drawn])
    picture, line = swatch(colour, size), max(1, size // 16)
    picture.paste(
        Image.fromarray(pixels).crop((line, line, size - line, size - line)), (line, line)
    )
    return picture


def number_mark(colour: RGB, size: int) -> "Image":
    """A swatch with a number in it."""
    from PIL import ImageDraw

    picture = swatch(colour, size)
    middle, low = size / 2, size * 0.74
    font = lettering(size * 0.66)
    ImageDraw.Draw(picture).text((middle, low), "7", ink_on(colour), font, anchor="ms")
    return picture


def _canvas(size: int) -> "tuple[Image, ImageDraw]":
    from PIL import Image, ImageDraw

    canvas = Image.new("RGBA", (size * _FINE, size * _FINE), (*RIM, 0))
    return canvas, ImageDraw.Draw(canvas)


def _smooth(canvas: "Image", size: int) -> "Image":
    from PIL import Image

    return canvas.resize((size, size), Image.Resampling.BOX)

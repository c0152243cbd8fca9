"""Paper: its size, and lengths in mm as pixels, so that a page prints at true size."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

from caller.pattern.units import MM
from caller.settings import PaperSize
from caller.sheets.pictures.lettering import lettering, spelled, wrapped
from caller.sheets.pictures.page import INK, PAPER

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

DPI = 200
SIZES: Mapping[PaperSize, tuple[float, float]] = MappingProxyType(
    {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
)
"""Width and height in mm (ISO 216; 8.5 by 11 in)."""
MARGIN_MM = 12.0
"""Most printers leave less than this white."""
TEXT_MM = 4.5
"""The em of the text, about 13 points: large enough for most eyes."""
SMALL_MM = 3.4
_LEADING = 1.35
_CHECK_MM = 50


def pixels(mm: float) -> int:
    """The pixels of a length, at the nearest."""
    return round(mm / MM["in"] * DPI)


@dataclass(frozen=True)
class Paper:
    """A sheet of so many mm."""

    width_mm: float
    height_mm: float

    @property
    def room_mm(self) -> tuple[float, float]:
        """What can be printed on: between the margins, above the foot of the page."""
        foot = SMALL_MM * 2
        return self.width_mm - 2 * MARGIN_MM, self.height_mm - 2 * MARGIN_MM - foot

    def page(self, foot: str) -> "tuple[Image, ImageDraw]":
        """An empty page with its foot: a line to read, and one of 50 mm to check the printer by."""
        from PIL import Image, ImageDraw

        image = Image.new("RGB", (pixels(self.width_mm), pixels(self.height_mm)), PAPER)
        draw = ImageDraw.Draw(image)
        base = pixels(self.height_mm - MARGIN_MM)
        font = lettering(pixels(SMALL_MM))
        left, right = pixels(MARGIN_MM), pixels(self.width_mm - MARGIN_MM)
        draw.text((left, base), spelled(foot, ""), INK, font, anchor="ls")
        line, up = right - pixels(_CHECK_MM), base - pixels(SMALL_MM) // 2
        draw.line((line, up, right, up), INK, 2)
        for end in (line, right):
            draw.line((end, up - pixels(1), end, up + pixels(1)), INK, 2)
        draw.text((line - pixels(2), base), f"{_CHECK_MM} mm", INK, font, anchor="rs")
        return image, draw


def text_pages(paper: Paper, title: str, lines: list[str]) -> "Iterator[Image]":
    """Sentences, a paragraph each, on as many pages as they take."""
    width, height = paper.room_mm
    em, step = pixels(TEXT_MM), pixels(TEXT_MM * _LEADING)
    head = [(line, True) for line in wrapped(spelled(title, "A pattern"), em * 1.3, pixels(width))]
    body = [
        (line, index == 0)
        for text in lines
        for index, line in enumerate(wrapped(spelled(text, ""), em, pixels(width) - em))
    ]
    fits = int(pixels(height) / step) - 2 * len(head) - 1
    starts = range(0, max(1, len(body)), max(1, fits))
    for number, start in enumerate(starts, start=1):
        image, draw = paper.page(f"Page {number} of {len(starts)} of the plan")
        top = pixels(MARGIN_MM)
        for line, _ in head:
            draw.text((pixels(MARGIN_MM), top), line, INK, lettering(em * 1.3), anchor="lt")
            top += 2 * step
        for line, begins in body[start : start + fits]:
            left = pixels(MARGIN_MM) + (0 if begins else em)
            draw.text((left, top), line, INK, lettering(em), anchor="lt")
            top += step
        yield image

"""A piece on its page: where heading, scales, carriage and legend lie, and how large they are."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.pattern.bed import FabricSide
from caller.pattern.chart import NOT_IN_WORK
from caller.pattern.pattern import Pattern
from caller.pattern.picture.colour import RGB
from caller.sheets.pictures.fabric import WIDTH_WITHOUT_GAUGE, Grid, Pixels, grid_for, knitted
from caller.sheets.pictures.legend import LINE, Block, Entry, heading, legend
from caller.sheets.pictures.lettering import DIGIT, length, spelled

PAPER: RGB = (255, 255, 255)
INK: RGB = (24, 24, 24)

# A page is at most this many digits wide or tall, so that a digit is 3 mm tall when the page fills
# A4 (210 x 297 mm), and 10 pixels when it fills a small screen 600 pixels high. The page of a long
# piece, taller than twice its width, is scrolled along and fills the screen with its width.
_PAPER_WIDE, _PAPER_TALL, _SCREEN = 70, 99, 56
_SMALLEST_DIGIT = 14
_LEGEND_EMS = (12, 15, 20, 28, 40)


@dataclass(frozen=True)
class Page:
    """Where everything lies when a digit is `digit` pixels tall; all lengths are in pixels.

    The legend stands beside the piece or below it.
    """

    pattern: Pattern
    grid: Grid
    lines: tuple[str, ...]
    entries: tuple[Entry, ...]
    digit: float
    legend_beside: bool

    @cached_property
    def em(self) -> float:
        return self.digit / DIGIT

    @cached_property
    def height(self) -> int:
        bottom = max(self.carriage_top + self._carriage_height, self.legend_at[1] + self.key.height)
        return round(bottom + 0.8 * self.em)

    @cached_property
    def width(self) -> int:
        return round(self._inner_width + 2 * self.em)

    @cached_property
    def box(self) -> tuple[int, int, int, int]:
        """The piece on the page: left, top, right and bottom."""
        left = round(self.em + self._beside_piece)
        if not self.legend_beside:
            left = (self.width - self.grid.width) // 2
        top = round(self.head.height + self.em * 3.3)
        return left, top, left + self.grid.width, top + self.grid.height

    def middles(self, rows: NDArray[Any], columns: NDArray[Any]) -> NDArray[np.float64]:
        """The middles on the page, (n, 2), of stitches given by row and column, from 0."""
        across = [self.box[0] + self.grid.x(column + 0.5) for column in columns.tolist()]
        down = [self.box[1] + self.grid.y(row + 0.5) for row in rows.tolist()]
        return np.stack((across, down), axis=1)

    @cached_property
    def head(self) -> Block:
        """The heading, one em from the left edge and half an em from the top."""
        return heading(self.lines, self.em, self._inner_width)

    @cached_property
    def carriage_top(self) -> float:
        return self.box[3] + 2.6 * self.em

    @cached_property
    def carriage_reach(self) -> float:
        """How far the carriage's arrows reach to either side of the piece's middle."""
        return max(self.grid.width / 2, 6 * self.em)

    @cached_property
    def _carriage_height(self) -> float:
        return min(2, self.grid.rows) * LINE * self.em

    @cached_property
    def key(self) -> Block:
        """The legend, in the narrowest room in which it does not make the page much taller."""
        least = 0.0 if self.legend_beside else self._piece_width
        room = max(self.grid.height * (1.0 if self.legend_beside else 0.3), 8 * self.em)
        for ems in _LEGEND_EMS:
            for stacked in (True, False):
                width = max(least, ems * self.em)
                block = legend(self.entries, self.em, width, stacked)
                if block.height <= room:
                    return block
        return block

    @cached_property
    def legend_at(self) -> tuple[float, float]:
        """The legend's left and top."""
        if self.legend_beside:
            return self.em * 3 + self._piece_width, self.box[1]
        return self.em, self.carriage_top + self._carriage_height + 0.8 * self.em

    @cached_property
    def _beside_piece(self) -> float:
        """The room at either side of the piece, for row numbers or half of a needle's label."""
        rows, needle = length(str(self.grid.rows), self.em), length("L100", self.em)
        scale = max(rows, needle / 2) + 1.1 * self.em
        return float(max(scale, self.carriage_reach - self.grid.width / 2))

    @cached_property
    def _piece_width(self) -> float:
        return self.grid.width + 2 * self._beside_piece

    @cached_property
    def _inner_width(self) -> float:
        """The page without its margins."""
        if self.legend_beside:
            return self._piece_width + 2 * self.em + self.key.width
        return max(self._piece_width, self.key.width)


def piece_grid(pattern: Pattern, side: FabricSide) -> Grid:
    """The grid of a pattern's piece, seen from this side."""
    return grid_for(pattern.chart.rows, pattern.chart.stitches, pattern.gauge, side)


def yarn_colours(pattern: Pattern) -> Pixels:
    """The yarns' colours, (yarns, 3)."""
    return np.array([yarn.rgb for yarn in pattern.yarns], dtype=np.uint8)


def on_paper(pattern: Pattern) -> tuple[NDArray[np.uint8], Pixels]:
    """The chart's cells as numbers of colours, and the colours: the yarns', and last the paper's
    for needles out of work."""
    colours = np.concatenate((yarn_colours(pattern), np.array([PAPER], dtype=np.uint8)))
    cells = pattern.chart.cells
    return np.where(cells == NOT_IN_WORK, np.uint8(len(pattern.yarns)), cells), colours


def piece_on(pattern: Pattern, grid: Grid) -> Pixels:
    """The piece alone on this grid, (height, width, 3); where no needle is in work, bare paper.

    The middle of a stitch has just its yarn's colour.
    """
    return knitted(*on_paper(pattern), grid, empty=len(pattern.yarns))


def page_for(pattern: Pattern, grid: Grid, lines: Sequence[str], entries: Sequence[Entry]) -> Page:
    """The page on which every digit is large enough to read when the page fills the screen.

    Of a legend beside and one below, that which leaves more of the page to the piece.
    """
    title = spelled(pattern.title, "A pattern")
    note = f"No gauge is known: stitches are drawn {WIDTH_WITHOUT_GAUGE} times as wide as tall."
    notes = [note] if pattern.gauge is None else []
    lines = (title, *lines, *notes)
    pages = (_large_enough(pattern, grid, lines, tuple(entries), aside) for aside in (False, True))
    return min(pages, key=lambda page: page.digit)


def _large_enough(
    pattern: Pattern, grid: Grid, lines: tuple[str, ...], entries: tuple[Entry, ...], aside: bool
) -> Page:
    # Words without end would need ever larger pages; they must do with less.
    most = max(3.0 * _SMALLEST_DIGIT, max(grid.width, grid.height) / 30)
    digit = float(_SMALLEST_DIGIT)
    while True:
        page = Page(pattern, grid, lines, entries, digit, aside)
        needed = max(
            (page.width if grid.height > 2 * grid.width else page.height) / _SCREEN,
            page.width / _PAPER_WIDE,
            page.height / _PAPER_TALL,
        )
        if needed <= digit or digit >= most:
            return page
        digit = min(max(needed, digit * 1.02), most)

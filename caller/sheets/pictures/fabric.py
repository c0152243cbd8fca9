"""The fabric as pixels: blocks of colour in the proportions of the gauge, with clear borders."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.pattern.bed import FabricSide
from caller.pattern.gauge import Gauge
from caller.sheets.pictures.contrast import border_inks, luminance

Pixels = NDArray[np.uint8]

WIDTH_WITHOUT_GAUGE = 1.3
"""A stitch is wider than it is tall; 1.3 times at 30 stitches and 39 rows, a common gauge."""

_LONGEST = 2000  # pixels along the piece, where its stitches need no more
_TALLEST_ROW, _LOWEST_ROW = 60.0, 4.0  # pixels
_MOST_ALONG, _MOST_PIXELS = 9000, 20_000_000
_TEXTURE_FROM = 7.0  # pixels; the texture of smaller stitches would only look like noise
_BORDER_FROM, _THICKEST_BORDER = 3.0, 4
_SHADES = 12  # of a yarn's colour, from its own to the darkest
_PARTS = 32  # of a stitch, down and across, that its texture is drawn in


@dataclass(frozen=True)
class Grid:
    """A piece of `rows` x `stitches` on `height` x `width` pixels.

    Seen from the purl side it lies as charted; from the knit side, left and right are exchanged.
    """

    rows: int
    stitches: int
    height: int
    width: int
    side: FabricSide

    @property
    def cell(self) -> float:
        """The shorter side of a stitch in pixels."""
        return min(self.width / self.stitches, self.height / self.rows)

    def x(self, column: float) -> float:
        """Pixels from the left edge to a column's left border; column + 0.5 is its middle."""
        across = column * self.width / self.stitches
        return self.width - across if self.side == "knit" else across

    def y(self, row: float) -> float:
        """Pixels from the top edge down to the lower border of a row, counted from 0."""
        return self.height - row * self.height / self.rows

    def seen(self, chart: NDArray[Any]) -> NDArray[Any]:
        """What is charted (row 1 first, leftmost needle first) as it is seen, top line first."""
        return chart[::-1, ::-1] if self.side == "knit" else chart[::-1]

    @property
    def places(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Where in its stitch the middle of each line and of each column of pixels lies, 0 to 1.

        From the stitch's top edge, (height, 1), and from its left edge, (1, width), as seen.
        """
        down = (np.arange(self.height) + 0.5) * self.rows / self.height % 1
        across = (np.arange(self.width) + 0.5) * self.stitches / self.width % 1
        return down[:, None], across[None]

    @cached_property
    def lines(self) -> NDArray[np.intp]:
        """The line of stitches, counted from the top, under every line of pixels."""
        return _parts(self.height, self.rows) // _PARTS

    @cached_property
    def columns(self) -> NDArray[np.intp]:
        """The stitch, counted from the left as seen, under every column of pixels."""
        return _parts(self.width, self.stitches) // _PARTS


def grid_for(rows: int, stitches: int, gauge: Gauge | None, side: FabricSide) -> Grid:
    """A grid with the proportions that the knitted piece will have."""
    wide = gauge.rows_per_cm / gauge.stitches_per_cm if gauge else WIDTH_WITHOUT_GAUGE
    along = max(rows, stitches * wide)
    tall = min(max(_LONGEST / along, _LOWEST_ROW / min(1.0, wide)), _TALLEST_ROW)
    tall = min(tall, _MOST_ALONG / along, (_MOST_PIXELS / (rows * stitches * wide)) ** 0.5)
    # The shorter side in whole pixels first: the longer one then rounds without being seen. Only a
    # piece thinner than a pixel loses its proportions.
    if rows >= stitches * wide:
        width = max(1, int(stitches * wide * tall))
        height = min(round(width * rows / (stitches * wide)), _MOST_ALONG)
    else:
        height = max(1, int(rows * tall))
        width = min(round(height * stitches * wide / rows), _MOST_ALONG)
    return Grid(rows, stitches, height, width, side)


def knitted(numbers: NDArray[Any], colours: Pixels, grid: Grid, empty: int = -1) -> Pixels:
    """The piece in yarn: `numbers` (rows, stitches) as charted index `colours` (n, 3).

    Every stitch is shaded towards its edges; its middle has just the yarn's colour. The number
    `empty` is no stitch, and flat.
    """
    seen = grid.seen(numbers)
    # `take` needs a third of the time of index arrays, and numbers are small.
    number = seen.astype(np.uint16).take(grid.lines, axis=0).take(grid.columns, axis=1)
    if grid.cell < _TEXTURE_FROM:
        return bordered(colours.take(number, axis=0), seen, colours, grid)
    down = _parts(grid.height, grid.rows) % _PARTS
    across = _parts(grid.width, grid.stitches) % _PARTS
    shade = _texture(grid.side).take(down, axis=0).take(across, axis=1)
    shade[number == empty] = 0
    pixels = _shades(colours).reshape(-1, 3).take(number * np.uint16(_SHADES) + shade, axis=0)
    return bordered(pixels, seen, colours, grid)


def bordered(pixels: Pixels, seen: NDArray[Any], colours: Pixels, grid: Grid) -> Pixels:
    """Draw the borders between stitches of different numbers into `pixels`, and return them.

    `seen` (rows, stitches) indexes `colours` (n, 3) and lies as the pixels do.
    """
    if grid.cell >= _BORDER_FROM:
        bright = luminance(colours)[seen]
        thick = min(max(1, round(grid.cell / 6)), _THICKEST_BORDER)
        _upright(pixels, seen, bright, grid.lines, thick)
        _upright(pixels.transpose(1, 0, 2), seen.T, bright.T, grid.columns, thick)
    return pixels


def _upright(
    pixels: Pixels,
    seen: NDArray[Any],
    bright: NDArray[np.float64],
    lines: NDArray[np.intp],
    thick: int,
) -> None:
    """Draw the borders between neighbouring columns, `thick` pixels wide."""
    stitches = seen.shape[1]
    before, after = border_inks(bright[:, :-1], bright[:, 1:])
    differs = seen[:, :-1] != seen[:, 1:]
    for column in np.flatnonzero(differs.any(axis=0)).tolist():
        # The first pixel whose middle is past the border, as in _parts.
        edge = -(-((column + 1) * 2 * pixels.shape[1] - stitches) // (2 * stitches))
        for ink, left, right in (
            (before, edge - thick // 2, edge),
            (after, edge, edge - thick // 2 + thick),
        ):
            drawn = (differs[:, column] & (ink[:, column] >= 0))[lines]
            pixels[drawn, left:right] = ink[lines[drawn], column][:, None, None]


def _parts(pixels: int, cells: int) -> NDArray[np.intp]:
    """Where the middle of each pixel lies, in parts of a cell."""
    return (2 * np.arange(pixels) + 1) * (cells * _PARTS) // (2 * pixels)


def _texture(side: FabricSide) -> NDArray[np.uint8]:
    """How deep each part of a stitch lies in shade, shape (parts down, parts across).

    The knit side shows columns of Vs, the purl side rows of rounded bumps.
    """
    middle = (np.arange(_PARTS) + 0.5) / _PARTS
    down, across = middle[:, None], np.abs(2 * middle - 1)[None]
    if side == "purl":
        round_off = across**3 + np.abs(2 * down - 1) ** 3
        depth = (round_off - 0.55) / 0.9
    else:
        groove = np.abs((down + across * 0.5 + 0.5) % 1 - 0.5)  # the V's point is at the bottom
        between_legs = (1 - across / 0.16) * np.abs(2 * down - 1)
        depth = np.maximum(1 - groove / 0.2, np.maximum(1 - (1 - across) / 0.16, between_legs))
    shade: NDArray[np.uint8] = np.rint(np.clip(depth, 0, 1) * (_SHADES - 1)).astype(np.uint8)
    return shade


def _shades(colours: Pixels) -> Pixels:
    """Every colour in every depth of shade, (n, shades, 3); very dark yarn shows light in it."""
    dark = luminance(colours) < 0.03
    towards = np.where(dark, 255, 0)[:, None, None]
    most = np.where(dark, 0.16, 0.22)[:, None, None]
    depth = np.linspace(0, 1, _SHADES)[None, :, None] * most
    return np.rint(colours[:, None] * (1 - depth) + towards * depth).astype(np.uint8)

"""The chart at true size: each stitch as large as it is knitted, on as many sheets as it takes."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from caller.calling.portions import split
from caller.pattern.chart import NOT_IN_WORK
from caller.pattern.pattern import Pattern
from caller.sheets.pictures.contrast import ink_on
from caller.sheets.pictures.lettering import lettering, spelled
from caller.sheets.pictures.page import INK
from caller.sheets.pictures.scales import needle_labels, row_labels, without_overlap
from caller.sheets.printing.paper import MARGIN_MM, SMALL_MM, TEXT_MM, Paper, pixels

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

STITCH_MM, ROW_MM = 4.0, 3.0
"""Without a gauge; a stitch is wider than tall."""
_ROWS_MM = 12.0  # for the numbers of rows, at either side
_NEEDLES_MM = 7.0  # for the labels of needles, above and below
_GRID = (150, 150, 150)
_FEWEST = 12  # stitches of a block that its yarn's number is written in


@dataclass(frozen=True)
class Tile:
    """A part of the chart on a sheet of its own: columns and rows from 0, the last excluded."""

    left: int
    right: int
    bottom: int
    top: int


def stitch_mm(pattern: Pattern) -> tuple[float, float]:
    """Width and height of a stitch, as the rested fabric has them."""
    if pattern.gauge is None:
        return STITCH_MM, ROW_MM
    return 10 / pattern.gauge.stitches_per_cm, 10 / pattern.gauge.rows_per_cm


def tiles(pattern: Pattern, paper: Paper) -> tuple[Tile, ...]:
    """The parts of the chart, nearly equal, from the bottom up and from left to right."""
    wide, tall = stitch_mm(pattern)
    width, height = paper.room_mm
    across = max(1, int((width - 2 * _ROWS_MM) / wide))
    up = max(1, int((height - 2 * _NEEDLES_MM - 2 * TEXT_MM) / tall))
    chart = pattern.chart
    columns = (*split(chart.stitches, across), chart.stitches)
    rows = (*split(chart.rows, up), chart.rows)
    return tuple(
        Tile(left, right, bottom, top)
        for bottom, top in pairwise(rows)
        for left, right in pairwise(columns)
    )


def chart_pages(pattern: Pattern, paper: Paper) -> "Iterator[Image]":
    """A page a tile, as the piece hangs, the purl side facing."""
    parts = tiles(pattern, paper)
    label = pattern.bed.label
    for number, tile in enumerate(parts, start=1):
        image, draw = paper.page(f"Page {number} of {len(parts)} of the chart")
        first, last = (
            label(pattern.script.first_needle + at) for at in (tile.left, tile.right - 1)
        )
        title = (
            f"{spelled(pattern.title, 'A pattern')}: rows {tile.bottom + 1} to {tile.top}, "
            f"needles {first} to {last}"
        )
        left, top = pixels(MARGIN_MM), pixels(MARGIN_MM)
        draw.text((left, top), title, INK, lettering(pixels(TEXT_MM)), anchor="lt")
        _draw(draw, pattern, tile)
        yield image


def _draw(draw: "ImageDraw", pattern: Pattern, tile: Tile) -> None:
    wide, tall = stitch_mm(pattern)
    left_mm, top_mm = MARGIN_MM + _ROWS_MM, MARGIN_MM + 2 * TEXT_MM + _NEEDLES_MM
    xs = [pixels(left_mm + wide * at) for at in range(tile.right - tile.left + 1)]
    ys = [pixels(top_mm + tall * at) for at in range(tile.top - tile.bottom + 1)]
    cells = pattern.chart.cells[tile.bottom : tile.top, tile.left : tile.right][::-1]
    for row, column in np.ndindex(*cells.shape):
        cell = int(cells[row, column])
        box = (xs[column], ys[row], xs[column + 1], ys[row + 1])
        if cell != NOT_IN_WORK:
            draw.rectangle(box, pattern.yarns[cell].rgb, _GRID)
    _tenths(draw, pattern, tile, xs, ys)
    _joints(draw, cells, xs, ys)
    _numbers(draw, pattern, cells, xs, ys)
    _labels(draw, pattern, tile, xs, ys)


def _joints(draw: "ImageDraw", cells: NDArray[np.uint8], xs: list[int], ys: list[int]) -> None:
    """A thick line wherever two yarns meet, and around the piece."""
    around = np.pad(cells.astype(int), 1, constant_values=NOT_IN_WORK)
    for row, column in np.argwhere(around[1:-1, 1:] != around[1:-1, :-1]).tolist():
        draw.line((xs[column], ys[row], xs[column], ys[row + 1]), INK, 3)
    for row, column in np.argwhere(around[1:, 1:-1] != around[:-1, 1:-1]).tolist():
        draw.line((xs[column], ys[row], xs[column + 1], ys[row]), INK, 3)


def _tenths(draw: "ImageDraw", pattern: Pattern, tile: Tile, xs: list[int], ys: list[int]) -> None:
    """A darker line along every tenth row and needle, to count by."""
    for at in range(tile.bottom, tile.top + 1):
        if at % 10 == 0:
            y = ys[tile.top - at]
            draw.line((xs[0], y, xs[-1], y), INK, 1)
    for at in range(tile.left, tile.right + 1):
        zero = pattern.bed.left_half if pattern.bed.numbering == "centre" else 0
        from_centre = pattern.script.first_needle + at - zero
        if from_centre % 10 == 0:
            draw.line((xs[at - tile.left], ys[0], xs[at - tile.left], ys[-1]), INK, 1)


def _numbers(
    draw: "ImageDraw", pattern: Pattern, cells: NDArray[np.uint8], xs: list[int], ys: list[int]
) -> None:
    """Each block's yarn by its number, where it is widest: for prints in grey."""
    from scipy.ndimage import distance_transform_edt, find_objects, label

    font = lettering(pixels(SMALL_MM))
    for yarn in np.unique(cells[cells != NOT_IN_WORK]).tolist():
        places, _ = label(cells == yarn)
        for number, (rows, columns) in enumerate(find_objects(places), start=1):
            mine = places[rows, columns] == number
            if mine.sum() < _FEWEST:
                continue
            inside = distance_transform_edt(np.pad(mine, 1))[1:-1, 1:-1]
            row, column = np.unravel_index(inside.argmax(), inside.shape)
            row, column = int(row) + rows.start, int(column) + columns.start
            middle = (xs[column] + xs[column + 1]) / 2, (ys[row] + ys[row + 1]) / 2
            ink = ink_on(pattern.yarns[yarn].rgb)
            draw.text(middle, str(yarn + 1), ink, font, anchor="mm")


def _labels(draw: "ImageDraw", pattern: Pattern, tile: Tile, xs: list[int], ys: list[int]) -> None:
    """Needles above and below, rows at both sides; the ends first, then every tenth and fifth."""
    font, gap = lettering(pixels(SMALL_MM)), pixels(1.5)
    needles = needle_labels(
        pattern.bed, pattern.script.first_needle + tile.left, tile.right - tile.left
    )
    spans = []
    for one in needles:
        middle, half = (xs[one.place] + xs[one.place + 1]) / 2, font.getlength(one.text) / 2
        spans.append((middle - half, middle + half))
    for index in without_overlap(spans, gap):
        middle = sum(spans[index]) / 2
        for y, anchor in ((ys[0] - gap, "ms"), (ys[-1] + gap, "mt")):
            draw.text((middle, y), needles[index].text, INK, font, anchor=anchor)
    rows = [one for one in row_labels(pattern.chart.rows, 5) if tile.bottom <= one.place < tile.top]
    places = dict.fromkeys([tile.bottom, tile.top - 1, *(one.place for one in rows)])
    spans = []
    for place in places:
        middle = (ys[tile.top - place - 1] + ys[tile.top - place]) / 2
        spans.append((middle - pixels(SMALL_MM) / 2, middle + pixels(SMALL_MM) / 2))
    shown = list(places)
    for index in without_overlap(spans, 0):
        middle = sum(spans[index]) / 2
        for x, anchor in ((xs[0] - gap, "rm"), (xs[-1] + gap, "lm")):
            draw.text((x, middle), str(shown[index] + 1), INK, font, anchor=anchor)


def key_lines(pattern: Pattern) -> list[str]:
    """What the numbers in the chart mean, and how it lies."""
    yarns = ", ".join(f"{n} {yarn.name}" for n, yarn in enumerate(pattern.yarns, start=1))
    wide, tall = stitch_mm(pattern)
    size = (
        "The chart is as large as the piece will be"
        if pattern.gauge
        else f"No gauge is known, so a stitch is drawn {wide:g} by {tall:g} mm"
    )
    return [
        f"Yarns by their numbers in the chart: {yarns}.",
        f"{size}: print it at 100 percent; the line at the foot of each page is then 50 mm long.",
        "It lies as it hangs, the purl side facing; row 1 is at the bottom. "
        f"Row 1 goes to the {pattern.first_direction}.",
    ]

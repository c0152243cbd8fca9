"""A chart before and after tidying, and what changed, on one picture with a key."""

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from caller.pattern.pattern import Pattern
from caller.pattern.tidy.report import TidyResult
from caller.sheets.pictures.fabric import Grid, Pixels, bordered
from caller.sheets.pictures.legend import Entry
from caller.sheets.pictures.marks import yarn_entries
from caller.sheets.pictures.page import INK, PAPER, on_paper, page_for, piece_grid, piece_on
from caller.sheets.pictures.painting import painted, png

if TYPE_CHECKING:
    from PIL.Image import Image

_MOST_PIXELS = 2_000_000  # of one of the three pieces
_PALE = 0.65  # of white in what stayed
_SAME, _CHANGED, _LOST, _KEPT = range(4)
_MEANINGS = {
    _CHANGED: "Changed stitch",
    _LOST: "Changed stitch of a thin line or gap that goes",
    _KEPT: "Not to be changed",
}


def changes_png(pattern: Pattern, result: TidyResult) -> bytes:
    """The purl side before, the purl side after, and the changed stitches; PNG."""
    return png(changes_picture(pattern, result))


def changes_picture(pattern: Pattern, result: TidyResult) -> "Image":
    """Side by side where the piece is taller than wide, else one below the other."""
    from PIL import Image

    grid, report = _grid(pattern), result.report
    after = replace(pattern, chart=result.chart)
    changed = int(report.changed.sum())
    marks = [
        Entry(partial(_mark, kind), words)
        for kind, words in _MEANINGS.items()
        if (states(result) == kind).any() or kind == _CHANGED
    ]
    supplies = (f"{effort.supplies} ends in all" for effort in (report.before, report.after))
    parts = [
        painted(page_for(piece, grid, [f"{words}: {ends}."], yarn_entries(piece)), pixels)
        for piece, words, ends, pixels in zip(
            (pattern, after),
            ("Before", "After"),
            supplies,
            (piece_on(pattern, grid), piece_on(after, grid)),
            strict=True,
        )
    ]
    page = page_for(pattern, grid, [f"What changed: {changed} stitches."], marks)
    parts.append(painted(page, changed_pixels(pattern, result, grid)))
    across = grid.height > grid.width
    size = [sum(part.size[axis] for part in parts) for axis in (0, 1)]
    size[across] = max(part.size[across] for part in parts)
    whole, at = Image.new("RGB", (size[0], size[1]), PAPER), 0
    for part in parts:
        whole.paste(part, (at, 0) if across else (0, at))
        at += part.size[not across]
    return whole


def states(result: TidyResult) -> NDArray[np.uint8]:
    """What became of every stitch: 0 the same, 1 changed, 2 of a line that goes, 3 kept."""
    report = result.report
    found = np.where(report.kept, _KEPT, _SAME).astype(np.uint8)
    found[report.changed] = _CHANGED
    found[report.lost] = _LOST
    return found


def changed_pixels(pattern: Pattern, result: TidyResult, grid: Grid) -> Pixels:
    """The old chart paled, with the marks of `states`, (height, width, 3)."""
    cells, colours = on_paper(pattern)
    paled = ((1 - _PALE) * colours + _PALE * np.array(PAPER)).astype(np.uint8)
    seen, state = grid.seen(cells), grid.seen(states(result))
    pixels = bordered(paled[seen[np.ix_(grid.lines, grid.columns)]], seen, paled, grid)
    _draw_states(pixels, state[np.ix_(grid.lines, grid.columns)], grid)
    return pixels


def _draw_states(pixels: Pixels, state: NDArray[Any], grid: Grid) -> None:
    down, across = grid.places
    middle = (np.abs(down - 0.5) < 0.25) & (np.abs(across - 0.5) < 0.25)
    pixels[(state == _CHANGED) | (state == _LOST) | ((state == _KEPT) & middle)] = INK
    pixels[(state == _LOST) & middle] = PAPER


def _mark(kind: int, size: int) -> "Image":
    from PIL import Image

    grid = Grid(1, 1, size, size, "purl")
    pixels = np.full((size, size, 3), 220, dtype=np.uint8)
    _draw_states(pixels, np.full((size, size), kind), grid)
    return Image.fromarray(pixels)


def _grid(pattern: Pattern) -> Grid:
    """The grid of the piece's own pictures, smaller where three of them would be too large."""
    grid = piece_grid(pattern, "purl")
    smaller = min(1.0, (_MOST_PIXELS / (grid.height * grid.width)) ** 0.5)
    height, width = (max(1, round(side * smaller)) for side in (grid.height, grid.width))
    return replace(grid, height=height, width=width)

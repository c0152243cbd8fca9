"""Thin lines: strokes, outlines and lettering, and the gaps between them, told from texture.

A stitch is thin where its run, along the row or up and down, is short. It is part of a line where
it stands out from what lies on both sides of it, and where enough such stitches of its yarn hang
together. A tone between two others, as along a soft edge, does not stand out.
"""

import numpy as np
from numpy.typing import NDArray

from caller.pattern.chart import Chart
from caller.pattern.rows import run_table
from caller.pattern.tidy.links import Cells, Mask

Strengths = NDArray[np.float32]
"""How much of a line each stitch is, 0 to 1, shape (rows, stitches)."""

THIN = 3
"""A line is thinner than this, in stitches or in rows, unless the shortest run asks for more."""

_STANDS_OUT = 0.3
SPECK, WHOLE_LINE = 2, 5
"""So few stitches are a speck, and so many a line; what lies between counts in part."""
_OPEN_GAP = 0.25  # how much a thin part of something wide counts beside a stroke that is all thin
_EIGHT = np.ones((3, 3), dtype=int)


def thin_lines(
    cells: Cells, apart: NDArray[np.float64], width: int, outside: Mask | None = None
) -> Strengths:
    """How much of a line each stitch is, in runs shorter than `width`.

    `apart` (yarns, yarns) is the colour difference of two yarns. `outside` marks the needles out
    of work; they are no lines, and the edge of the piece.
    """
    from scipy.ndimage import label

    out = np.zeros(cells.shape, dtype=bool) if outside is None else outside
    along, across = _ridges(cells, apart, width, out), _ridges(cells.T, apart, width, out.T)
    standing = np.maximum(along, across.T)
    found = np.zeros(cells.shape, dtype=np.float32)
    for yarn in np.unique(cells).tolist():
        mine = cells == yarn
        thin = mine & (standing > _STANDS_OUT)
        if not thin.any():
            continue
        parts, _ = label(thin, _EIGHT)
        size = np.bincount(parts.ravel())
        size[0] = 0
        line = np.clip((size - SPECK) / (WHOLE_LINE - SPECK), 0, 1)[parts]
        whole, count = label(mine, _EIGHT)
        share = np.bincount(whole.ravel(), thin.ravel(), count + 1) / np.bincount(
            whole.ravel(), minlength=count + 1
        )
        stroke = _OPEN_GAP + (1 - _OPEN_GAP) * share[whole]
        found += np.where(thin, standing * line * stroke, 0).astype(np.float32)
    return found


def _ridges(cells: Cells, apart: NDArray[np.float64], width: int, out: Mask) -> Strengths:
    """How far the short runs of each row stand out from both sides, 0 to 1.

    1 where both sides are one yarn, 0 for a tone just between its neighbours; at the edge of the
    piece the one neighbour counts for both. In words of geometry: of the way from one side to the
    other by the run's colour, the part that is a detour, as a share of twice the longer leg.
    """
    table = run_table(Chart(cells))
    last = cells.shape[1] - 1
    left_edge = (table.left == 0) | out[table.row, np.maximum(table.left - 1, 0)]
    right_edge = (table.right == last) | out[table.row, np.minimum(table.right + 1, last)]
    short = (table.right - table.left + 1 < width) & ~(left_edge & right_edge)
    short &= ~out[table.row, table.left]
    before = np.where(left_edge, np.roll(table.yarn, -1), np.roll(table.yarn, 1))
    after = np.where(right_edge, np.roll(table.yarn, 1), np.roll(table.yarn, -1))
    one, two, across = (
        apart[pair] for pair in ((before, table.yarn), (table.yarn, after), (before, after))
    )
    longest = np.maximum(np.maximum(one, two), 1e-9)
    detour = np.clip((one + two - across) / (2 * longest), 0, 1)
    each = np.where(short, detour, 0).astype(np.float32)
    return np.repeat(each, table.right - table.left + 1).reshape(cells.shape)


def lost_lines(before: Cells, after: Cells, strengths: Strengths) -> Mask:
    """The stitches of lines that went: no stitch beside them in the row shows their yarn now."""
    near = after == before
    near[:, 1:] |= after[:, :-1] == before[:, 1:]
    near[:, :-1] |= after[:, 1:] == before[:, :-1]
    lost: Mask = (strengths > _STANDS_OUT * _OPEN_GAP) & ~near
    return lost

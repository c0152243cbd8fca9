"""Shaping as the hands do it, stitch by stitch, and random shaped pieces.

`transferred` knows nothing of the program: stitches are what lies on a needle, and are moved one by
one. The rules are common practice, as the README tells them.
"""

from typing import Any

import numpy as np
from hypothesis import reject
from hypothesis import strategies as st
from numpy.typing import NDArray

from caller.errors import ChartError
from caller.pattern.chart import Chart
from caller.pattern.outline import knittable

Bed = dict[int, list[Any]]
"""What is attached to the stitch on each needle in work."""


def tool_for(stitches: int, fully_fashioned: bool) -> int:
    """How many stitches move together at an edge, of the narrower of the two rows."""
    return 3 if fully_fashioned and stitches >= 8 else 1


def transferred(bed: Bed, kind: str, side: str, stitches: int, tool: int) -> Bed:
    """The bed after so many stitches are increased, decreased, cast on or bound off, with a tool
    for so many."""
    inward = -1 if side == "right" else 1
    bed = {needle: list(ends) for needle, ends in bed.items()}
    for _ in range(stitches):
        edge = max(bed) if side == "right" else min(bed)
        if kind == "decrease":
            for nth in range(tool - 1, -1, -1):  # the innermost lands on its neighbour
                needle = edge + nth * inward
                bed[needle + inward] = bed[needle + inward] * (nth == tool - 1) + bed[needle]
            del bed[edge]
        elif kind == "bind off":
            bed[edge + inward] += bed.pop(edge)
        elif kind == "increase" and tool > 1:
            for nth in range(tool):
                bed[edge + nth * inward - inward] = bed[edge + nth * inward]
            bed[edge + (tool - 1) * inward] = []  # filled from the stitch beside it
        else:
            bed[edge - inward] = []
    return bed


@st.composite
def shaped_cells(draw, most_rows: int = 12, most_stitches: int = 24) -> NDArray[np.uint8]:
    """A piece that can be knitted when the carriage first goes to the right: its yarns, 0 to 2."""
    rows, stitches = draw(st.integers(2, most_rows)), draw(st.integers(10, most_stitches))
    changes = st.sampled_from([0, 0, 0, 1, -1, -2, 2, 3, -3, -5, 5])
    edges = [
        [draw(st.integers(0, stitches // 2))],
        [draw(st.integers(stitches // 2, stitches - 1))],
    ]
    for _ in range(rows - 1):
        left, right = edges[0][-1] + draw(changes), edges[1][-1] + draw(changes)
        left, right = max(0, left), min(stitches - 1, right)
        if left > right or left > edges[1][-1] or right < edges[0][-1]:
            left, right = edges[0][-1], edges[1][-1]
        edges[0].append(left)
        edges[1].append(right)
    columns = np.arange(stitches)
    left, right = (np.array(edge)[:, None] for edge in edges)
    seed = draw(st.integers(0, 2**32 - 1))
    chance = np.random.default_rng(seed)
    yarns = np.repeat(chance.integers(0, 3, (rows, stitches // 3 + 1)), 3, axis=1)[:, :stitches]
    cells = np.where((columns >= left) & (columns <= right), yarns, 255).astype(np.uint8)
    cells = cells[:, (cells != 255).any(axis=0)]
    try:
        return knittable(Chart(cells), "right").cells
    except ChartError:  # an edge that came a row later has left the other one behind
        reject()

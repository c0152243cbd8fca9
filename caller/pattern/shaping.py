"""Shaped pieces: what is done at the edges of the work before a row.

One stitch more, and one or two fewer, are made with a transfer tool, on either side and in any row.
Several come into work by casting on and leave it by binding off, with the end of yarn that hangs
at the edge, so only on the side where the carriage stands (common practice; the machine's manual
comes first). Columns count from 0, the leftmost of the chart.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from caller.errors import ChartError
from caller.pattern.bed import Side
from caller.pattern.chart import Chart, Indices

Kind = Literal["increase", "decrease", "cast on", "bind off"]
Method = Literal["fully fashioned", "simple"]
"""Whether the edge stitches move together by a needle, or only the last stitch moves or comes."""

MOST_INCREASED, MOST_DECREASED = 1, 2
"""More stitches than these, in a row and on a side, are cast on or bound off."""
TOOL_STITCHES = 3
"""Moved together when fully fashioned: the prongs of the usual tool (common practice)."""
_NARROWEST = 2 * (TOOL_STITCHES + 1)
"""Stitches: from a narrower row, or to one, shaping is simple, so that the sides do not meet."""
_SHORT_ROWS = 2


@dataclass(frozen=True)
class Shaping:
    """What is done on one side before a row: `first` and `last` are the needles (bed positions)
    that come into work or leave it, `first` being the one that is worked first.

    `edge` is the outermost needle in work afterwards, on this side; `moved` how many stitches the
    tool moves, 0 where none does.
    """

    kind: Kind
    side: Side
    first: int
    last: int
    edge: int
    moved: int

    @property
    def stitches(self) -> int:
        return abs(self.last - self.first) + 1


def kind_of(more: int) -> Kind:
    """What it takes to have so many stitches more, or fewer, on one side."""
    if more > 0:
        return "increase" if more <= MOST_INCREASED else "cast on"
    return "decrease" if -more <= MOST_DECREASED else "bind off"


def stitches_more(chart: Chart) -> dict[Side, Indices]:
    """The stitches that come into work before each row on each side, fewer than 0 where they go."""
    left, right = chart.edges
    return {
        "left": -np.diff(left, prepend=left[:1]),
        "right": np.diff(right, prepend=right[:1]),
    }


def shapings(
    chart: Chart, row: int, start: Side, method: Method, offset: int
) -> tuple[Shaping, ...]:
    """What is done before a row, counted from 0: first on the `start` side, where the carriage is,
    but casting on last, for its end may have moved with the others.

    `offset` is the bed position of column 0.
    """
    if row == 0 or not chart.shaped:
        return ()
    other: Side = "left" if start == "right" else "right"
    found = []
    for side in (start, other):
        edges = chart.edges[side == "right"] + offset
        before, edge = int(edges[row - 1]), int(edges[row])
        outward = 1 if side == "right" else -1
        more = (edge - before) * outward
        if more == 0:
            continue
        kind = kind_of(more)
        moved = int(_tool(chart, method, np.array([row]))[0])
        if kind == "increase":
            moved = moved if moved > 1 else 0  # a simple one brings an empty needle into work
        elif kind != "decrease":
            moved = 0
        first, last = (before + outward, edge) if more > 0 else (before, edge + outward)
        found.append(Shaping(kind, side, first, last, edge, moved))
    return tuple(sorted(found, key=lambda shaping: shaping.kind == "cast on"))


def moved_columns(chart: Chart, method: Method, rows: Indices, columns: Indices) -> Indices:
    """Where ends that hang at these columns hang when the edges before these rows are shaped.

    An end goes with its stitch; where that is bound off, to the new edge.
    """
    left, right = chart.edges
    tool = _tool(chart, method, rows)
    # On the left everything is the same in a mirror.
    for edges, sign in ((right, 1), (-left, -1)):
        column, edge = columns * sign, edges[rows - 1]
        fewer = edge - edges[rows]
        increased = (fewer < 0) & (-fewer <= MOST_INCREASED) & (tool > 1)
        column = column + (increased & (column > edge - tool))
        for nth in range(MOST_DECREASED):
            decreased = (fewer > nth) & (fewer <= MOST_DECREASED)
            column = column - (decreased & (column > edge - nth - tool))
        columns = np.minimum(column, edges[rows]) * sign
    return columns


def check_shaping(chart: Chart, goes_right: NDArray[np.bool_], label: Callable[[int], str]) -> None:
    """Raise ChartError where stitches are cast on or bound off away from the carriage.

    `goes_right` has the carriage's way in every row; `label` names the needle of a column.
    """
    if not chart.shaped:
        return
    for side, more in stitches_more(chart).items():
        edges = chart.edges[side == "right"]
        _refuse_short_rows(side, more, edges, label)
        stands_here = goes_right if side == "left" else ~goes_right
        several = (more > MOST_INCREASED) | (more < -MOST_DECREASED)
        for row in np.flatnonzero(several & ~stands_here).tolist()[:1]:
            count, there = abs(int(more[row])), "right" if side == "left" else "left"
            what = "cast on" if more[row] > 0 else "bound off"
            raise ChartError(
                f"Before row {row + 1}, {count} stitches would be {what} on the {side}, at "
                f"{label(int(edges[row]))}, and the carriage stands on the {there}",
                f"let row {row + 1} keep the {side} edge of row {row}, at "
                f"{label(int(edges[row - 1]))}, and change it in row {row + 2}; or change it by "
                f"{MOST_INCREASED} stitch more or {MOST_DECREASED} fewer a row.",
            )


def _refuse_short_rows(
    side: Side, more: Indices, edges: Indices, label: Callable[[int], str]
) -> None:
    for row in np.flatnonzero(more < -MOST_DECREASED).tolist():
        for back in range(row + 1, min(row + 1 + _SHORT_ROWS, len(more))):
            if more[back] > MOST_INCREASED:
                raise ChartError(
                    f"The needles on the {side} from {label(int(edges[row - 1]))} leave the work "
                    f"in row {row + 1} and come back in row {back + 1}",
                    "short rows cannot be called, for the carriage passes over all the work in "
                    "every row: fill these rows with a yarn.",
                )


def _tool(chart: Chart, method: Method, rows: Indices) -> Indices:
    """How many stitches move together before these rows."""
    left, right = chart.edges
    wide = right - left + 1
    narrower = np.minimum(wide[rows], wide[rows - 1])
    fashioned = (method == "fully fashioned") & (narrower >= _NARROWEST)
    return np.where(fashioned, TOOL_STITCHES, 1)

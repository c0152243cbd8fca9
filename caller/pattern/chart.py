"""The chart: which yarn each stitch is knitted in, and which needles are not in work."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from caller.errors import ChartError

MOST_YARNS = 24
"""More yarns than this are neither told apart by ear nor kept in order on one bed."""

NOT_IN_WORK = 255
"""In a chart's cells: this needle is out of work in this row, so there is no stitch."""

Indices = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Chart:
    """A frozen grid of yarn numbers, as the knitter sees it on the bed.

    `cells` has the shape (rows, stitches): `cells[0]` is row 1, the bottom row, and `cells[:, 0]`
    lies on the leftmost needle. A yarn number is an index into the pattern's list of yarns, or
    NOT_IN_WORK. What is in work in a row lies without a gap, and hangs on the row below.

    Raises ChartError when the grid is empty or not two-dimensional, or when its rows do not make
    one piece.
    """

    cells: NDArray[np.uint8]

    def __post_init__(self) -> None:
        if self.cells.ndim != 2 or 0 in self.cells.shape:
            raise ChartError(
                "The chart has no stitches", "it needs at least one row of one stitch."
            )
        frozen = np.ascontiguousarray(self.cells, dtype=np.uint8).copy()
        frozen.flags.writeable = False
        object.__setattr__(self, "cells", frozen)
        if self.shaped:
            _check_piece(self)

    @property
    def rows(self) -> int:
        """The height, in rows."""
        return int(self.cells.shape[0])

    @property
    def stitches(self) -> int:
        """The width, in stitches."""
        return int(self.cells.shape[1])

    @cached_property
    def shaped(self) -> bool:
        """Whether some needles are out of work in some rows."""
        return bool((self.cells == NOT_IN_WORK).any())

    @cached_property
    def edges(self) -> tuple[Indices, Indices]:
        """The first and the last column in work of every row, row 1 first."""
        if not self.shaped:
            first = np.zeros(self.rows, dtype=np.intp)
            return first, first + self.stitches - 1
        in_work = self.cells != NOT_IN_WORK
        return in_work.argmax(axis=1), self.stitches - 1 - in_work[:, ::-1].argmax(axis=1)

    @property
    def in_work(self) -> int:
        """All stitches of all rows."""
        return int(np.count_nonzero(self.cells != NOT_IN_WORK)) if self.shaped else self.cells.size

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Chart) and np.array_equal(self.cells, other.cells)

    def __hash__(self) -> int:
        return hash((self.cells.shape, self.cells.tobytes()))


def trimmed(cells: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The cells (rows, stitches) without the outer rows and columns in which no needle is in work.

    Where no needle is in work at all, all of them: `Chart` then tells what is wrong.
    """
    in_work = cells != NOT_IN_WORK
    return cells[box(in_work)] if in_work.any() else cells


def box(marked: NDArray[np.bool_]) -> tuple[slice, slice]:
    """The rows and the columns between which all that is marked lies; something must be."""
    rows, columns = (np.flatnonzero(marked.any(axis=axis)) for axis in (1, 0))
    return slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1)


def _check_piece(chart: Chart) -> None:
    """Every row is one stretch of needles, and has a needle in common with the row below."""
    stitches = (chart.cells != NOT_IN_WORK).sum(axis=1)
    if (empty := np.flatnonzero(stitches == 0)).size:
        raise ChartError(
            f"Row {empty[0] + 1} of the chart has no stitch",
            "give every row at least one, or make what lies above it a piece of its own.",
        )
    left, right = chart.edges
    if (open_rows := np.flatnonzero(right - left + 1 != stitches)).size:
        row = int(open_rows[0])
        hole = left[row] + int((chart.cells[row, left[row] :] == NOT_IN_WORK).argmax())
        raise ChartError(
            f"Row {row + 1} has an opening in the work, at stitch {hole + 1} from the left of the "
            "chart",
            "every row must be one stretch of needles, for the carriage passes over all of it: "
            "fill the opening with a yarn, or knit what lies on either side of it as pieces of "
            "their own and sew them together.",
        )
    apart = np.flatnonzero((left[1:] > right[:-1]) | (right[1:] < left[:-1]))
    if apart.size:
        raise ChartError(
            f"Row {apart[0] + 2} has no needle in common with row {apart[0] + 1}",
            "rows that do not hang together are pieces of their own.",
        )

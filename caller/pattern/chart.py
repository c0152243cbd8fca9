"""The chart: which yarn each stitch is knitted in."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caller.errors import ChartError

MOST_YARNS = 24
"""More yarns than this are neither told apart by ear nor kept in order on one bed."""


@dataclass(frozen=True, eq=False)
class Chart:
    """A frozen grid of yarn numbers, as the knitter sees it on the bed.

    `cells` has the shape (rows, stitches): `cells[0]` is row 1, the bottom row, and `cells[:, 0]`
    lies on the leftmost needle. A yarn number is an index into the pattern's list of yarns.

    Raises ChartError when the grid is empty or not two-dimensional.
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

    @property
    def rows(self) -> int:
        return int(self.cells.shape[0])

    @property
    def stitches(self) -> int:
        """The width, in stitches."""
        return int(self.cells.shape[1])

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Chart) and np.array_equal(self.cells, other.cells)

    def __hash__(self) -> int:
        return hash((self.cells.shape, self.cells.tobytes()))

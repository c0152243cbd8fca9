"""A chart too wide for the bed, divided into panels that are knitted one by one and sewn together.

Where two panels meet, each has some seam stitches at its edge, which the sewing takes into the
seam. They repeat the neighbour's edge stitches, so that each panel goes on with the picture into
the seam and the picture is whole after sewing, wherever within the seam the needle went.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caller.checks import whole
from caller.errors import BedError, ChartError, SettingError
from caller.pattern.bed import Bed
from caller.pattern.chart import NOT_IN_WORK, Chart


@dataclass(frozen=True)
class PanelOf:
    """Which panel of a piece a pattern is: `number`, of so many, counted from the left as they
    hang, with `seam` seam stitches at each seam. Raises SettingError for one that cannot be."""

    number: int
    of: int
    seam: int = 1

    def __post_init__(self) -> None:
        if not 1 <= self.number <= self.of:
            raise SettingError(f"There is no panel {self.number} of {self.of}", "correct [panel].")
        whole(SettingError, "A seam", self.seam, unit="stitches")


@dataclass(frozen=True)
class Panel:
    """One panel: its chart, seam stitches and all, and where it belongs in the whole chart.

    It shows the columns `first_column` to `last_column` (from 0, both inclusive) of the whole
    chart; its chart has `seam_left` columns before and `seam_right` columns after them.
    """

    chart: Chart
    first_column: int
    last_column: int
    seam_left: int
    seam_right: int

    @property
    def stitches(self) -> int:
        """The stitches of the picture that it shows, without its seams."""
        return self.last_column - self.first_column + 1


def panels(chart: Chart, bed: Bed, seam_stitches: int = 1) -> tuple[Panel, ...]:
    """Divide the chart into the fewest panels that fit the bed, from left to right.

    The panels are as equally wide as possible on the bed, seams and all, differing by one stitch at
    most; all have all the rows, so that they line up. A chart that fits is one panel without
    seams. Raises SettingError for seams that cannot be, BedError when they take too much of the
    bed, and ChartError when a shaped chart has no stitch in some rows of a panel.
    """
    if isinstance(seam_stitches, bool) or not isinstance(seam_stitches, int) or seam_stitches < 0:
        raise SettingError(
            f"Seams of {seam_stitches} stitches cannot be sewn", "give a whole number, 0 or more."
        )
    if chart.stitches <= bed.needles:
        return (Panel(chart, 0, chart.stitches - 1, 0, 0),)
    # A seam adds its stitches to both neighbours: k panels have chart + 2 seam (k - 1) stitches and
    # lie on k x needles.
    room = bed.needles - 2 * seam_stitches
    if room < 1:
        raise BedError(
            f"With {seam_stitches} seam stitches on either side nothing is left of a bed of "
            f"{bed.needles} needles",
            "give fewer seam stitches.",
        )
    count = -(-(chart.stitches - 2 * seam_stitches) // room)
    on_bed = chart.stitches + 2 * seam_stitches * (count - 1)
    narrow, wider = divmod(on_bed, count)
    found: list[Panel] = []
    first = 0
    for index in range(count):
        left = seam_stitches if index > 0 else 0
        right = seam_stitches if index < count - 1 else 0
        after = first + narrow + (index < wider) - left - right
        if after - first < seam_stitches:
            raise BedError(
                f"With {seam_stitches} seam stitches on either side panel {index + 1} of {count} "
                f"would show only {after - first} stitches, fewer than its seam",
                "give fewer seam stitches.",
            )
        cells = chart.cells[:, first - left : after + right]
        if chart.shaped:
            _check_rows(cells, index + 1, count)
        found.append(Panel(Chart(cells), first, after - 1, left, right))
        first = after
    return tuple(found)


def _check_rows(cells: NDArray[np.uint8], number: int, of: int) -> None:
    empty = np.flatnonzero((cells == NOT_IN_WORK).all(axis=1))
    if empty.size:
        raise ChartError(
            f"Panel {number} of {of} has no stitch in row {empty[0] + 1} of the shaped chart",
            "make the piece narrower, or knit the panels from pictures of their own.",
        )

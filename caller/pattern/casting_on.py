"""A cast-on that fits the work: its yarn, waste yarn and ravel cord, comb and weights.

All of it is common practice, which the machine's own manual overrules; sources disagree about
weights, from none but at the edges to one every few centimetres.
"""

import math
from dataclasses import dataclass

import numpy as np

from caller.pattern.amounts import CAST_ON_WIDTHS
from caller.pattern.chart import NOT_IN_WORK
from caller.pattern.pattern import Pattern
from caller.pattern.winding import loop_mm, stitch_width_mm

WASTE_CM = 2.5
"""An inch or so of waste knitting carries comb and weights (practice, seen)."""
FEWEST_WASTE_ROWS = 6
CM_A_WEIGHT = 15
"""Between weights on the comb, and one near each edge (practice, from memory)."""
PLAIN_ROWS = 2
"""Rows in one yarn before the first join, so that new ends hang in a firm edge (practice, from
memory)."""


@dataclass(frozen=True)
class CastOn:
    """What to lay out before the first row.

    `yarn` is the number of the yarn with most stitches in row 1, of which the edge takes
    `length_m`; `plain_rows` are those of one yarn that the chart begins with. Waste knitting takes
    `waste_rows` rows and `waste_m` of yarn, the cord one row and `cord_m`; these are None where the
    loop length is not known. The comb covers `comb_cm` of needles and carries `weights`.
    """

    stitches: int
    yarn: int
    length_m: float
    plain_rows: int
    waste_rows: int
    waste_m: float | None
    cord_m: float | None
    comb_cm: float
    weights: int


def cast_on(pattern: Pattern) -> CastOn:
    """The cast-on for the stitches of row 1."""
    cells = pattern.chart.cells
    first = cells[0][cells[0] != NOT_IN_WORK]
    stitches, loop = len(first), loop_mm(pattern)
    tail_m = pattern.fabric.tail_cm / 100
    width_m = stitches * stitch_width_mm(pattern) / 1000
    rows = FEWEST_WASTE_ROWS
    if pattern.gauge is not None:
        rows = max(rows, math.ceil(WASTE_CM * pattern.gauge.rows_per_cm))
    rows += rows % 2  # the carriage is back where it began
    row_m = None if loop is None else stitches * loop / 1000
    comb_cm = stitches * pattern.bed.pitch_mm / 10
    runs = np.diff(pattern.script.runs.starts)
    plain = int(np.argmax(runs > 1)) if (runs > 1).any() else len(runs)
    return CastOn(
        stitches=stitches,
        yarn=int(np.bincount(first).argmax()),
        length_m=CAST_ON_WIDTHS * width_m + tail_m,
        plain_rows=plain,
        waste_rows=rows,
        waste_m=None if row_m is None else rows * row_m + 2 * tail_m,
        cord_m=None if row_m is None else row_m + 2 * tail_m,
        comb_cm=comb_cm,
        weights=2 + max(0, math.ceil(comb_cm / CM_A_WEIGHT) - 1),
    )

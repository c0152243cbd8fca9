"""What tidying starts from: errors and yarns as they are counted, and what a chart leaves room for.

The needles out of work of a shaped piece are a yarn of their own here, the last one.
"""

import numpy as np
from numpy.typing import NDArray

from caller.errors import ChartError, SettingError
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.tidy.links import Cells, Mask, Numbers
from caller.pattern.tidy.settings import TidySettings

Errors = NDArray[np.float32]
"""The colour error of each stitch in each yarn, shape (rows, stitches, yarns)."""

_MOST_ERRORS = 100_000_000  # as many stitches times yarns as fit into the memory of most computers
_LARGEST_ERROR = 1e9


def check(chart: Chart, errors: Errors, settings: TidySettings) -> None:
    """Raise ChartError for errors that do not fit the chart or are too many, and SettingError for
    settings that do not fit it."""
    yarns = int(chart.cells[chart.cells != NOT_IN_WORK].max()) + 1
    if errors.shape[:2] != chart.cells.shape or errors.ndim != 3 or errors.shape[2] < yarns:
        raise ChartError(
            f"The colour errors have the shape {errors.shape} and do not fit a chart of "
            f"{chart.rows} rows, {chart.stitches} stitches and {yarns} yarns."
        )
    if errors.size > _MOST_ERRORS:
        raise ChartError(
            f"A chart of {chart.rows} rows, {chart.stitches} stitches and {yarns} yarns is too "
            "large to tidy",
            "crop the picture or use fewer colours.",
        )
    if not (np.abs(errors) < _LARGEST_ERROR).all():  # written so that NaN fails too
        raise ChartError(
            "A colour error of the chart is not a number or far too large", "work them out again."
        )
    if settings.shortest_run > chart.stitches:
        raise SettingError(
            f"No run can be {settings.shortest_run} stitches long in a chart {chart.stitches} "
            "stitches wide",
            "choose a shorter shortest run.",
        )
    if settings.specks >= chart.stitches:
        raise SettingError(
            f"Specks of {settings.specks} stitches are as long as the whole row of "
            f"{chart.stitches}",
            "choose smaller ones.",
        )


def numbered(errors: Errors, yarns: NDArray[np.uint8], outside: Mask) -> Errors:
    """The errors (rows, stitches, n) of the yarns in work, and of `outside` where there is any."""
    used = errors.astype(np.float32, copy=False)[..., yarns]
    if not outside.any():
        return used
    highest = used.max()
    used = np.pad(used, ((0, 0), (0, 0), (0, 1)), constant_values=highest)
    used[outside] = highest
    used[outside, -1] = 0
    return used


def apart(cells: Cells, errors: Errors) -> NDArray[np.float64]:
    """How far any two yarns are apart, (yarns, yarns): the mean error of one in another's place."""
    found = np.zeros((errors.shape[2],) * 2)
    for yarn in np.unique(cells).tolist():
        mine = errors[cells == yarn]
        found[yarn] = np.maximum(mine - mine[:, [yarn]], 0).mean(axis=0)
    both: NDArray[np.float64] = (found + found.T) / 2
    return both


def runs_of(marked: Mask) -> Numbers:
    """How many stretches of marked stitches each row has."""
    begins = marked.copy()
    begins[:, 1:] &= ~marked[:, :-1]
    count: Numbers = begins.sum(axis=1)
    return count


def runs_needed(cells: Cells, kept: Mask) -> Numbers:
    """The fewest runs that each row can have with the stitches that are kept."""
    row, column = np.nonzero(kept)
    yarn = cells[row, column]
    changes = (row[1:] == row[:-1]) & (yarn[1:] != yarn[:-1])
    needed: Numbers = 1 + np.bincount(row[1:][changes], minlength=len(cells))
    return needed


def check_room(needed: Numbers, at_once: int | None) -> None:
    """Raises ChartError where a row needs more runs than supplies are allowed at once."""
    most = int(needed.max())
    if at_once is not None and most > at_once:
        row = int(needed.argmax()) + 1
        raise ChartError(
            f"What is to be kept takes {most} supplies at once in row {row}, and at most {at_once} "
            "are allowed",
            f"keep less of it, or allow {most} at once.",
        )

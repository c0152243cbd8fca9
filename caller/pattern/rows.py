"""The row script: every row as the runs of needles that each yarn is laid over."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from caller.errors import ChartError
from caller.pattern.bed import Bed, Direction
from caller.pattern.chart import NOT_IN_WORK, Chart, Indices
from caller.pattern.shaping import Method, Shaping, check_shaping, moved_columns, shapings


@dataclass(frozen=True)
class Run:
    """Neighbouring needles knitted in one yarn in one row.

    `first` and `last` are bed positions, `first` being the needle knitted first; `yarn` is the
    yarn's number.
    """

    yarn: int
    first: int
    last: int

    @property
    def stitches(self) -> int:
        return abs(self.last - self.first) + 1


@dataclass(frozen=True)
class Row:
    """One course: its number (1 is the bottom row), where the carriage goes, and its runs in the
    order in which they are knitted."""

    number: int
    direction: Direction
    runs: tuple[Run, ...]


@dataclass(frozen=True)
class RunTable:
    """All runs of a chart as arrays, row by row from row 1, left to right within a row.

    `row` (from 0), `yarn`, `left` and `right` (columns, both inclusive) have one entry a run;
    `starts` has rows + 1 entries: the runs of row i are `starts[i]` to `starts[i + 1]`, exclusive.
    """

    row: NDArray[np.intp]
    yarn: NDArray[np.uint8]
    left: NDArray[np.intp]
    right: NDArray[np.intp]
    starts: NDArray[np.intp]

    @property
    def stitches(self) -> NDArray[np.intp]:
        """The stitches of each run."""
        return self.right - self.left + 1


def run_table(chart: Chart) -> RunTable:
    """Run-length code every row of the chart at once; time and memory grow with its stitches."""
    cells = chart.cells
    begins = np.ones(cells.shape, dtype=bool)
    np.not_equal(cells[:, 1:], cells[:, :-1], out=begins[:, 1:])
    row, left = np.nonzero(begins)
    ends = np.ones(cells.shape, dtype=bool)
    ends[:, :-1] = begins[:, 1:]
    right = np.nonzero(ends)[1]
    if chart.shaped:
        in_work = cells[row, left] != NOT_IN_WORK
        row, left, right = row[in_work], left[in_work], right[in_work]
        begins &= cells != NOT_IN_WORK
    starts = np.concatenate(([0], np.cumsum(begins.sum(axis=1, dtype=np.intp))))
    return RunTable(row, cells[row, left], left, right, starts)


@dataclass(frozen=True)
class RowScript:
    """A chart laid on a bed, read row by row as it is knitted.

    `first_needle` is the bed position under the chart's leftmost column. Row 1 is the bottom row
    and goes `first_direction`; rows alternate. A shaped chart is shaped by the `method`. Raises
    ChartError when stitches would be cast on or bound off away from the carriage.
    """

    chart: Chart
    bed: Bed
    first_needle: int
    first_direction: Direction = "right"
    method: Method = "fully fashioned"

    def __post_init__(self) -> None:
        self.bed.label(self.first_needle)
        self.bed.label(self.last_needle)
        check_shaping(
            self.chart, self.goes_right, lambda column: self.bed.label(self.first_needle + column)
        )

    @property
    def last_needle(self) -> int:
        """The bed position under the chart's rightmost column."""
        return self.first_needle + self.chart.stitches - 1

    @property
    def rows(self) -> int:
        return self.chart.rows

    @cached_property
    def runs(self) -> RunTable:
        return run_table(self.chart)

    @property
    def goes_right(self) -> NDArray[np.bool_]:
        """Whether the carriage goes to the right in each row, row 1 first."""
        odd_rows: NDArray[np.bool_] = np.arange(self.rows) % 2 == 0  # row 1 is at 0
        return odd_rows if self.first_direction == "right" else ~odd_rows

    def direction(self, number: int) -> Direction:
        """Where the carriage goes in the row of this number."""
        if number % 2 == 1:
            return self.first_direction
        return "left" if self.first_direction == "right" else "right"

    def row(self, number: int) -> Row:
        """The row of this number, 1 to `rows`; ChartError for any other."""
        if not 1 <= number <= self.rows:
            raise ChartError(f"There is no row {number}", f"the rows are 1 to {self.rows}.")
        table, direction = self.runs, self.direction(number)
        here = slice(int(table.starts[number - 1]), int(table.starts[number]))
        left = (table.left[here] + self.first_needle).tolist()
        right = (table.right[here] + self.first_needle).tolist()
        yarn = table.yarn[here].tolist()
        if direction == "right":
            runs = tuple(map(Run, yarn, left, right))
        else:
            runs = tuple(map(Run, reversed(yarn), reversed(right), reversed(left)))
        return Row(number, direction, runs)

    def in_work(self, number: int) -> tuple[int, int]:
        """The leftmost and the rightmost needle in work in a row, as bed positions."""
        left, right = self.chart.edges
        return (
            int(left[number - 1]) + self.first_needle,
            int(right[number - 1]) + self.first_needle,
        )

    def shapings(self, number: int) -> tuple[Shaping, ...]:
        """What is done at the edges before the row; where the carriage stands, first."""
        start: Direction = "left" if self.direction(number) == "right" else "right"
        return shapings(self.chart, number - 1, start, self.method, self.first_needle)

    def hanging(self, columns: Indices, before: Indices, rows_on: Indices | int) -> Indices:
        """The columns where ends hang `rows_on` rows after the rows that they knitted last.

        They hung at `columns` after those rows, `before` (from 0), and go with their stitches
        wherever the edges are shaped.
        """
        if not self.chart.shaped:
            return columns
        found, each = columns.copy(), np.broadcast_to(rows_on, columns.shape)
        for step in range(1, int(each.max(initial=0)) + 1):
            here = (each >= step) & (before + step < self.rows)
            found[here] = moved_columns(self.chart, self.method, before[here] + step, found[here])
        return found

    def __iter__(self) -> Iterator[Row]:
        return map(self.row, range(1, self.rows + 1))

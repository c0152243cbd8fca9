"""Blocks of colour: stitches of one yarn that hang together, and what absorbing them costs."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caller.pattern.chart import Chart
from caller.pattern.rows import RunTable, run_table
from caller.pattern.tidy.energy import Draft
from caller.pattern.tidy.links import Cells, Indices, Mask, Numbers

FAR = 2**40
"""Dearer than any chart: the cost of absorbing what has nothing beside it."""


@dataclass(frozen=True)
class Blocks:
    """The runs of a chart, and for each the number of its block (4-connected stitches).

    `first` is each block's first run in the table: of its lowest row the leftmost.
    """

    table: RunTable
    block: Indices
    first: Indices

    @property
    def count(self) -> int:
        return len(self.first)

    @property
    def stitches(self) -> Numbers:
        return self.sums(self.table.stitches)

    def sums(self, of_runs: NDArray[np.integer] | Mask) -> Numbers:
        """Add up whole numbers, one a run, by block: each has a run."""
        return np.bincount(self.block, of_runs).astype(np.int64)

    def give(self, cells: Cells, chosen: Indices, to: Cells) -> None:
        """Change `cells`: the runs of the chosen blocks get their yarns in `to`."""
        mine = np.isin(self.block, chosen)
        table = self.table
        paint(cells, table.row[mine], table.left[mine], table.right[mine], to[mine])


def blocks_of(cells: Cells) -> Blocks:
    """The blocks of a chart's cells (rows, stitches)."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    table = run_table(Chart(cells))
    runs = len(table.row)
    each = np.arange(runs, dtype=np.int32)  # the only indices that older scipys take
    run = np.repeat(each, table.stitches).reshape(cells.shape)
    same = cells[1:] == cells[:-1]
    ends = (run[:-1][same], run[1:][same])
    touching = coo_array((np.ones(len(ends[0]), dtype=np.int8), ends), shape=(runs, runs))
    block = connected_components(touching, directed=False)[1].astype(np.intp)
    return Blocks(table, block, np.unique(block, return_index=True)[1])


def paint(cells: Cells, row: Indices, left: Indices, right: Indices, yarn: Cells) -> None:
    """Change `cells`: the stitches `left` to `right` of each `row` get a yarn."""
    count = right - left + 1
    within = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    cells[np.repeat(row, count), np.repeat(left, count) + within] = np.repeat(yarn, count)


@dataclass(frozen=True)
class Absorbing:
    """How every block is best absorbed by the blocks beside it, row by row.

    `to` is each run's new yarn. By block: the `cost` of its stitches, the runs `saved`, and
    `joins`, how many stretches of rows there are in which both its neighbours become one run.
    """

    to: Cells
    cost: Numbers
    saved: Numbers
    joins: Numbers


def edges(draft: Draft, table: RunTable) -> tuple[Mask, Mask]:
    """Which runs have the edge of the work on their left, and which on their right."""
    last = draft.cells.shape[1] - 1
    left, right = table.left == 0, table.right == last
    if draft.outside is not None:
        left |= draft.cells[table.row, np.maximum(table.left - 1, 0)] == draft.outside
        right |= draft.cells[table.row, np.minimum(table.right + 1, last)] == draft.outside
    return left, right


def absorbing(draft: Draft, blocks: Blocks) -> Absorbing:
    """The cheapest of: all to the left, all to the right, each run to its cheaper side.

    Runs only grow longer by that, and fewer. A block with a run from edge to edge is too dear.
    """
    table, block, total = blocks.table, blocks.block, draft.total
    row, yarn, left, right = table.row, table.yarn, table.left, table.right
    last = draft.cells.shape[1] - 1
    left_yarn = draft.cells[row, np.maximum(left - 1, 0)]
    right_yarn = draft.cells[row, np.minimum(right + 1, last)]
    now = total[right + 1, yarn, row] - total[left, yarn, row]

    def cost_in(other: Cells, at_edge: Mask) -> Numbers:
        cost = total[right + 1, other, row] - total[left, other, row] - now
        return np.where(at_edge, FAR, cost.astype(np.int64))

    left_edge, right_edge = edges(draft, table)
    to_left, to_right = cost_in(left_yarn, left_edge), cost_in(right_yarn, right_edge)
    leftward = to_left <= to_right
    order = np.argsort(block, kind="stable")
    again = np.diff(block[order], prepend=-1) == 0  # the run before is of the same block
    turns = again & np.concatenate(([False], np.diff(leftward[order])))
    options = np.stack(
        (
            blocks.sums(to_left),
            blocks.sums(to_right),
            blocks.sums(np.minimum(to_left, to_right))
            + draft.supply_price * np.bincount(block[order], turns).astype(np.int64),
        )
    )
    option = options.argmin(axis=0)[block]
    leftward = (option == 0) | ((option == 2) & leftward)
    between = (left_yarn == right_yarn) & ~left_edge & ~right_edge
    begins = between[order] & ~(again & np.concatenate(([False], between[order][:-1])))
    return Absorbing(
        to=np.where(leftward, left_yarn, right_yarn),
        cost=blocks.sums(np.where(leftward, to_left, to_right)),
        saved=blocks.sums(1 + between),
        joins=np.bincount(block[order], begins).astype(np.int64),
    )

"""A chart while it is being tidied, and its energy: how it differs and what it asks for.

    energy = cost of the stitches + run price x runs + supply price x supplies
             + edge price x stitches unlike the one above them

A run's first needle ties it to the row below and its last needle to the row above. One end of a run
thus looks at one neighbouring row only, and a row's share of the energy adds up along the row:

    for every run: its stitches + run price + supply price x (1 - tied below - tied above)
                   + edge price x its stitches unlike those below and above

so that the best row between its neighbours is found exactly. The edge price only decides between
ways that are nearly as good: a carry reaches over small steps, and a long edge costs no supply.
"""

from copy import copy

import numpy as np

from caller.pattern.chart import Chart
from caller.pattern.rows import RunTable, run_table
from caller.pattern.tidy.links import (
    Cells,
    Indices,
    Mask,
    Numbers,
    ends_near,
    links,
    runs_in,
    unpacked_bits,
)
from caller.pattern.tidy.rows import FREE, Costs, Fixed, best_rows

_BARRIER = 2**40  # dearer than any row
_AT_ONCE = 8_000_000  # costs worked on together, to bound the memory


class Draft:
    """A chart being tidied: `cells` (rows, stitches), and what they cost.

    `total` (stitches + 1, yarns, rows) is the cost of knitting all stitches before a column in one
    yarn. `goes_right` (rows,) is each row's direction and `reach` the longest carry. Every run is
    to be `shortest` stitches or longer, and row i is to have at most `most[i]` runs. A row that
    does not keep to that is broken; it is mended by the first sweep that comes by, and with no
    broken rows no step raises the energy. The stitches in `kept` (rows, stitches) never change,
    and a run with one of them may be short. The yarn `outside` stands for needles out of work,
    which are kept; no other stitch may become one of them.
    """

    def __init__(
        self,
        cells: Cells,
        total: Costs,
        goes_right: Mask,
        reach: int,
        shortest: int,
        most: Numbers,
        kept: Mask | None = None,
        outside: int | None = None,
    ) -> None:
        self.cells, self.total = cells.copy(), total
        self.goes_right, self.reach = goes_right, reach
        self.shortest, self.most = shortest, most.copy()
        self.kept: Mask = np.zeros(cells.shape, dtype=bool) if kept is None else kept
        self.outside = outside
        held = np.where(self.kept, cells.astype(np.int8), np.int8(FREE))
        self.fixed: Fixed = np.ascontiguousarray(held.T)
        """The yarns of the kept stitches, (stitches, rows)."""
        self.run_price = self.supply_price = self.edge_price = 0
        self.unsettled: Mask = np.ones(len(cells), dtype=bool)
        """Rows that may not be the best ones between their neighbours."""
        self.measure()

    def measure(self) -> None:
        """Work out what the cells cost after they were changed from outside."""
        self.row_cost = row_costs(self.cells, self.total, np.arange(len(self.cells)))
        self.runs = runs_in(self.cells)
        self.links = links(self.cells[:-1], self.cells[1:], self.goes_right[:-1], self.reach)
        self.edges = unlike(self.cells[:-1], self.cells[1:])

    def copy(self) -> "Draft":
        other = copy(self)
        for name in ("cells", "most", "unsettled", "row_cost", "runs", "links", "edges"):
            setattr(other, name, getattr(self, name).copy())
        return other

    def set_prices(self, run: int, supply: int, edge: int = 0) -> None:
        """Set the prices; of a run and a supply together at most `rows.MOST_COST`."""
        self.run_price, self.supply_price, self.edge_price = run, supply, edge
        self.unsettled[:] = True

    @property
    def supplies(self) -> int:
        """Supplies in all, when none rests."""
        return int(self.runs.sum() - self.links.sum())

    @property
    def energy(self) -> int:
        runs, edges = int(self.runs.sum()), int(self.edges.sum())
        priced = self.run_price * runs + self.supply_price * self.supplies
        return int(self.row_cost.sum()) + priced + self.edge_price * edges

    def broken(self, rows: Indices) -> Mask:
        """Which of these rows have too short a run or too many runs."""
        table = run_table(Chart(self.cells[rows]))
        short = table.stitches < self.shortest
        too_short = table.row[short & ~self.holds_kept(table, rows)]
        found: Mask = np.bincount(too_short, minlength=len(rows)) > 0
        return found | (self.runs[rows] > self.most[rows])

    def holds_kept(self, table: RunTable, rows: Indices | None = None) -> Mask:
        """Which runs of these rows, all where none are given, have a stitch that is kept."""
        kept = self.kept if rows is None else self.kept[rows]
        so_far = np.zeros((len(kept), kept.shape[1] + 1), dtype=np.int32)
        np.cumsum(kept, axis=1, out=so_far[:, 1:])
        held: Mask = so_far[table.row, table.right + 1] > so_far[table.row, table.left]
        return held

    def sweep(self, parity: int) -> int:
        """Settle the rows of even (0) or odd (1) index; return how many changed."""
        rows = np.flatnonzero(self.unsettled[parity::2]) * 2 + parity
        self.unsettled[rows] = False
        if len(rows) == 0:
            return 0
        step = max(1, _AT_ONCE // self.total[:, :, 0].size)
        parts = [rows[at : at + step] for at in range(0, len(rows), step)]
        return self.offer(rows, np.concatenate([self._best(part) for part in parts]))

    def _best(self, rows: Indices) -> Cells:
        """The best rows between their neighbours; `rows` go the same way."""
        up = 1 if self.goes_right[rows[0]] else -1
        both = self.run_price + self.supply_price
        # Two ends of the row may both count on one end of a neighbour. No run must gain by that,
        # or rows would be cut up for it; `offer` counts exactly.
        credit = min(self.supply_price, both // 2)
        starts = both - credit * self._tied_beside(rows - up, right_ends=False)
        ends = -credit * self._tied_beside(rows + up, right_ends=True)
        total: Costs = self.total[1:][:, :, rows] + self.edge_price * self._unlike_beside(rows)
        if shaped := self.outside is not None:
            total = total.astype(np.int64)
            total[:, self.outside] += _BARRIER * (self.fixed[:, rows] == FREE).cumsum(axis=0)
        best = np.empty((len(rows), self.cells.shape[1]), dtype=np.uint8)

        def settle(some: Indices | slice, most: int | None) -> None:
            few = np.s_[:, :, some]
            fixed = self.fixed[:, rows[some]]
            held = fixed if shaped or (fixed != FREE).any() else None
            best[some] = best_rows(total[few], starts[few], ends[few], self.shortest, most, held)

        holds = self.kept[rows].any(axis=1)
        if holds.any():  # apart, for those without are quicker
            settle(np.flatnonzero(~holds), None)
            settle(np.flatnonzero(holds), None)
        else:
            settle(slice(None), None)
        most = self.most[rows]
        over = runs_in(best) > most
        for bound in np.unique(most[over]).tolist():
            here = np.flatnonzero(over & (most == bound))
            step = max(1, _AT_ONCE // (total[:, :, 0].size * bound))
            for at in range(0, len(here), step):
                settle(here[at : at + step], bound)
        return best

    def _unlike_beside(self, rows: Indices) -> Costs:
        """The stitches below and above that are unlike a run of a yarn up to each stitch."""
        yarn = np.arange(self.total.shape[1], dtype=np.uint8)[:, None]
        count = np.zeros((self.cells.shape[1], len(yarn), len(rows)), dtype=np.int32)
        for beside in (rows - 1, rows + 1):
            there = (beside >= 0) & (beside < len(self.cells))
            cells = np.ascontiguousarray(self.cells[np.where(there, beside, 0)].T)
            count += (cells[:, None] != yarn) & there
        return np.cumsum(count, axis=0, out=count)

    def _tied_beside(self, rows: Indices, right_ends: bool) -> Costs:
        """Where neighbouring `rows` could be tied to, 0 or 1, shape (stitches, yarns, n)."""
        there = (rows >= 0) & (rows < len(self.cells))
        cells = self.cells[np.where(there, rows, 0)]
        bits = ends_near(cells, np.full(len(rows), right_ends), self.reach)
        return unpacked_bits(np.where(there, bits, np.uint32(0)), self.total.shape[1])

    def offer(self, rows: Indices, cells: Cells) -> int:
        """Take these `cells` (n, stitches) for `rows` (n,), ascending, where the energy falls.

        Neighbouring rows are taken or left together; a broken row is replaced in any case. Returns
        how many rows changed.
        """
        differs = (cells != self.cells[rows]).any(axis=1)
        rows, cells = rows[differs], cells[differs]
        if len(rows) == 0:
            return 0
        height = len(self.cells)
        group = np.cumsum(np.diff(rows, prepend=-2) > 1) - 1
        cost, runs = row_costs(cells, self.total, rows), runs_in(cells)
        pairs = np.unique(np.concatenate((rows - 1, rows)))  # by their lower rows
        pairs = pairs[(pairs >= 0) & (pairs < height - 1)]
        place = np.full(height, -1)
        place[rows] = np.arange(len(rows))
        lower, upper = place[pairs], place[pairs + 1]
        below = np.where((lower >= 0)[:, None], cells[lower], self.cells[pairs])
        above = np.where((upper >= 0)[:, None], cells[upper], self.cells[pairs + 1])
        tied = links(below, above, self.goes_right[pairs], self.reach)
        edges = unlike(below, above)
        pair_group = group[np.maximum(lower, upper)]
        rise = np.zeros(int(group[-1]) + 1, dtype=np.int64)
        of_run = self.run_price + self.supply_price
        np.add.at(rise, group, cost - self.row_cost[rows] + of_run * (runs - self.runs[rows]))
        fewer = self.links[pairs] - tied
        more = edges - self.edges[pairs]
        np.add.at(rise, pair_group, self.supply_price * fewer + self.edge_price * more)
        taken = rise < 0
        taken[group[self.broken(rows)]] = True
        kept, linked = taken[group], taken[pair_group]
        rows = rows[kept]
        self.cells[rows], self.row_cost[rows], self.runs[rows] = cells[kept], cost[kept], runs[kept]
        self.links[pairs[linked]], self.edges[pairs[linked]] = tied[linked], edges[linked]
        self.unsettled[np.maximum(rows - 1, 0)] = True
        self.unsettled[np.minimum(rows + 1, height - 1)] = True
        return len(rows)


def row_costs(cells: Cells, total: Costs, rows: Indices) -> Numbers:
    """What the stitches of `cells` (n, stitches) cost as the `rows` (n,) of the chart."""
    table = run_table(Chart(cells))
    row = rows[table.row]
    cost = total[table.right + 1, table.yarn, row] - total[table.left, table.yarn, row]
    added: Numbers = np.add.reduceat(cost, table.starts[:-1], dtype=np.int64)
    return added


def unlike(lower: Cells, upper: Cells) -> Numbers:
    """How many stitches of each `lower` row (n, stitches) differ from those of its `upper` row."""
    count: Numbers = np.count_nonzero(lower != upper, axis=1)
    return count

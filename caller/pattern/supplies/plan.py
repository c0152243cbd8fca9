"""Supplies: which yarn supply knits which run, where it joins, carries and is cut."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from caller.checks import whole
from caller.errors import SettingError
from caller.pattern.chart import Indices
from caller.pattern.gauge import Gauge
from caller.pattern.rows import RowScript, Run
from caller.pattern.supplies.bobbins import Bobbins, share_bobbins
from caller.pattern.supplies.matching import (
    bound_off,
    cast_on,
    going_right,
    next_runs,
    run_ends,
)

MOST_CARRY = 2000
"""Needles: the width of the widest bed."""
MOST_REST_ROWS = 1000
CARRY_WITHOUT_GAUGE = 5
"""Needles: the longest float by one teacher's rule; sources disagree, so it is a setting."""
_CARRY_CM = 2.5  # the longest float by length, about an inch; sources disagree


def default_max_carry(gauge: Gauge | None) -> int:
    """The longest carry in needles: the whole stitches in 2.5 cm at the gauge, at least 1."""
    if gauge is None:
        return CARRY_WITHOUT_GAUGE
    return max(1, int(gauge.stitches_per_cm * _CARRY_CM + 1e-9))


@dataclass(frozen=True)
class SuppliedRun:
    """A run and what its supply does there.

    The supply joins at the run's first needle or continues from `carried_from`, the bed position
    where it hung, `carry` needles away; it has then hung through `rested` rows without knitting.
    At the end of the run it is cut or kept hanging at the run's last needle. Where it is kept only
    to bind off before the next row it is cut then (`SupplyPlan.cut_when_bound_off`).
    """

    run: Run
    supply: int
    start: Literal["join", "continue"]
    end: Literal["cut", "keep"]
    carry: int
    rested: int
    carried_from: int | None


class HangingSupply(NamedTuple):
    """A supply at the bed: the bed position of the needle that it knitted last, and its yarn."""

    needle: int
    yarn: int
    supply: int


@dataclass(frozen=True)
class SupplyTable:
    """All supplies as arrays, supply number 1 first.

    `yarn` is the yarn's number, `first_row` and `last_row` are row numbers from 1 (joined in the
    one, cut in the other), `stitches` counts those knitted and `carry` the needles carried over;
    `cast_on` and `bound_off` count the stitches of shaping that are cast on and bound off with it.
    """

    yarn: NDArray[np.uint8]
    first_row: Indices
    last_row: Indices
    stitches: Indices
    carry: Indices
    cast_on: Indices
    bound_off: Indices


@dataclass(frozen=True, eq=False)
class SupplyPlan:
    """Which supply knits each run. The arrays are parallel to `script.runs`.

    `supply` counts from 1 in the order in which the supplies join; `previous` is the run that the
    supply knitted before, -1 where it joins; `cuts` tells where it is cut.
    """

    script: RowScript
    supply: Indices
    previous: Indices
    cuts: NDArray[np.bool_]

    @cached_property
    def joins(self) -> NDArray[np.bool_]:
        """Whether the run is its supply's first."""
        return self.previous < 0

    @cached_property
    def hung_at(self) -> Indices:
        """The column where each run's supply hangs before it is laid; -1 where it joins."""
        row = self.script.runs.row
        hang = run_ends(self.script)[1][self.previous]
        return np.where(self.joins, -1, self.script.hanging(hang, row[self.previous], self._gap))

    @cached_property
    def _gap(self) -> Indices:
        """The rows since each run's supply knitted, 1 for the row before; 0 at a join."""
        row = self.script.runs.row
        return np.where(self.joins, 0, row - row[self.previous])

    @cached_property
    def shaping_stitches(self) -> tuple[Indices, Indices]:
        """The stitches cast on for each run, and those bound off after it with its end."""
        if not self.script.chart.shaped:
            nothing = np.zeros(len(self.script.runs.row), dtype=np.intp)
            return nothing, nothing
        return cast_on(self.script), bound_off(self.script)

    @cached_property
    def cut_when_bound_off(self) -> NDArray[np.bool_]:
        """Whether the run's supply is cut only before the next row, when it has bound off."""
        binds: NDArray[np.bool_] = self.cuts & (self.shaping_stitches[1] > 0)
        return binds

    @cached_property
    def carry(self) -> Indices:
        """Needles from where each run's supply hangs to the run's first needle; 0 at a join."""
        return np.where(self.joins, 0, np.abs(run_ends(self.script)[0] - self.hung_at))

    @cached_property
    def rested(self) -> Indices:
        """Rows that each run's supply has hung through without knitting; 0 at a join."""
        return np.maximum(self._gap - 1, 0)

    @cached_property
    def supplies(self) -> SupplyTable:
        """Every supply, with what it knits and carries in all."""
        table, index = self.script.runs, self.supply - 1
        joined = np.flatnonzero(self.joins)
        joined = joined[np.argsort(index[joined])]
        cut = np.flatnonzero(self.cuts)
        cut = cut[np.argsort(index[cut])]

        def added(each: Indices) -> Indices:
            total = np.zeros(self.total, dtype=np.intp)
            np.add.at(total, index, each)
            return total

        return SupplyTable(
            table.yarn[joined],
            table.row[joined] + 1,
            table.row[cut] + 1 + self.cut_when_bound_off[cut],
            added(table.stitches),
            added(self.carry),
            *map(added, self.shaping_stitches),
        )

    @cached_property
    def bobbins(self) -> Bobbins:
        """The bobbin that each supply hangs on: its name beside that of its yarn."""
        table = self.supplies
        return share_bobbins(table.yarn, table.first_row, table.last_row)

    @property
    def total(self) -> int:
        """How many supplies the whole work takes."""
        return int(np.count_nonzero(self.joins))

    @property
    def total_carry(self) -> int:
        """Needles carried over in the whole work."""
        return int(self.carry.sum())

    @cached_property
    def in_row(self) -> Indices:
        """The supplies that hang at each row, row 1 first: from the join to the cut, both rows."""
        rows = self.script.rows
        joined = np.bincount(self.supplies.first_row - 1, minlength=rows)
        cut = np.bincount(self.supplies.last_row, minlength=rows + 1)
        return np.cumsum(joined - cut[:rows])

    @property
    def at_once(self) -> int:
        """The most supplies that hang in any row."""
        return int(self.in_row.max())

    def row(self, number: int) -> tuple[SuppliedRun, ...]:
        """The row's runs with their supplies, as knitted; ChartError when there is no such row."""
        row, starts = self.script.row(number), self.script.runs.starts
        order = range(int(starts[number - 1]), int(starts[number]))
        if row.direction == "left":
            order = order[::-1]
        return tuple(map(self._supplied, row.runs, order))

    def hanging(self, row: int) -> list[HangingSupply]:
        """What hangs before this row is knitted, from left to right; nothing after the last row.

        A supply hangs when it has knitted in a row before and knits in this row or a later one, or
        binds off before this one. It goes with its stitch when the edges are shaped.
        """
        table = self.script.runs
        going_on = np.flatnonzero(
            (table.row >= row - 1) & (self.previous >= 0) & (table.row[self.previous] < row - 1)
        )
        last = self.previous[going_on]
        if self.script.chart.shaped:
            binding = np.flatnonzero(self.cut_when_bound_off & (table.row == row - 2))
            last = np.concatenate((last, binding))
        knitted = table.row[last]
        columns = run_ends(self.script)[1][last]
        found = zip(
            (
                self.script.hanging(columns, knitted, row - 1 - knitted) + self.script.first_needle
            ).tolist(),
            table.yarn[last].tolist(),
            self.supply[last].tolist(),
            strict=True,
        )
        return sorted(map(HangingSupply._make, found))

    def binds_off(self, row: int) -> tuple[int, bool]:
        """The supply that binds off before this row, and whether it is then cut.

        It is the one that knitted the last run of the row before.
        """
        table = self.script.runs
        to_right = self.script.direction(row - 1) == "right"
        run = int(table.starts[row - 1] - 1 if to_right else table.starts[row - 2])
        return int(self.supply[run]), bool(self.cuts[run])

    def _supplied(self, run: Run, index: int) -> SuppliedRun:
        joins = bool(self.joins[index])
        return SuppliedRun(
            run=run,
            supply=int(self.supply[index]),
            start="join" if joins else "continue",
            end="cut" if self.cuts[index] and not self.cut_when_bound_off[index] else "keep",
            carry=int(self.carry[index]),
            rested=int(self.rested[index]),
            carried_from=None if joins else int(self.hung_at[index]) + self.script.first_needle,
        )


def assign_supplies(script: RowScript, max_carry: int, max_rest_rows: int = 0) -> SupplyPlan:
    """Share the runs out among the fewest supplies and, among those ways, with the least carry.

    A supply hangs at the last needle it knitted. It may knit a run of its yarn in the next row when
    that run's first needle is at most `max_carry` needles away, or in a later row after at most
    `max_rest_rows` rows without knitting. Every supply is joined at its first run and cut after its
    last. Raises SettingError for a setting that cannot be used.
    """
    whole(SettingError, "A longest carry", max_carry, most=MOST_CARRY, unit="needles")
    whole(SettingError, "A longest rest", max_rest_rows, most=MOST_REST_ROWS, unit="rows")
    following = next_runs(script, max_carry, max_rest_rows)
    cuts = following < 0
    every = np.arange(len(following))
    previous = np.full(len(following), -1, dtype=np.intp)
    previous[following[~cuts]] = every[~cuts]
    first = np.where(previous < 0, every, previous)  # follow every chain down to its join
    while (previous[first] >= 0).any():
        first = first[first]
    joined = every[previous < 0]
    joined = joined[np.argsort(_turn(script)[joined])]
    number = np.zeros(len(following), dtype=np.intp)
    number[joined] = np.arange(1, len(joined) + 1)
    return SupplyPlan(script, number[first], previous, cuts)


def _turn(script: RowScript) -> Indices:
    """The place of each run in the order of knitting."""
    row, starts = script.runs.row, script.runs.starts
    every = np.arange(len(row))
    return np.where(going_right(script), every, starts[row] + starts[row + 1] - 1 - every)

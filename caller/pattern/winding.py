"""How much yarn each bobbin takes, has given and has left, row by row."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from caller.pattern import amounts
from caller.pattern.pattern import Pattern
from caller.pattern.supplies.matching import run_ends

Lengths = NDArray[np.float64]
_CLOSE_M = 0.001  # what is wound to the millimetre does not run out by a rounding


@dataclass(frozen=True)
class Refill:
    """A bobbin filled anew: its yarn's number, its own number, and where its new end joins.

    `needle` is the bed position of the first needle that the new end knits in that row.
    """

    yarn: int
    bobbin: int
    row: int
    needle: int


@dataclass(frozen=True)
class Shortage:
    """A bobbin that does not last through a row: what it has left before it, and what it needs."""

    yarn: int
    bobbin: int
    row: int
    left_m: float
    needs_m: float


def loop_mm(pattern: Pattern) -> float | None:
    """The yarn in one stitch: as measured, else from the gauge; None when neither is known."""
    if pattern.fabric.loop_mm is not None:
        return pattern.fabric.loop_mm
    if pattern.gauge is None:
        return None
    return amounts.loop_length_mm(pattern.gauge, pattern.fabric.relaxation)


def stitch_width_mm(pattern: Pattern) -> float:
    """The width of a stitch by the gauge, else of a needle."""
    if pattern.gauge is None:
        return pattern.bed.pitch_mm
    return 10 / pattern.gauge.stitches_per_cm


def lengths_m(pattern: Pattern) -> Lengths | None:
    """The metres of every supply, number 1 first; None when the loop length is not known."""
    loop = loop_mm(pattern)
    if loop is None:
        return None
    table, fabric = pattern.supply_plan.supplies, pattern.fabric
    return amounts.supply_length_m(
        table.stitches,
        loop,
        table.carry,
        stitch_width_mm(pattern),
        fabric.tail_cm,
        fabric.allowance,
        amounts.edging_stitches(table.cast_on, table.bound_off),
    )


@lru_cache(maxsize=2)
def winding_of(pattern: Pattern) -> "Winding | None":
    """The yarn on the bobbins; None when the loop length is not known."""
    return None if loop_mm(pattern) is None else Winding(pattern)


@dataclass(frozen=True, eq=False)
class Winding:
    """The yarn on the bobbins of a pattern whose loop length is known.

    A bobbin holds what all its supplies need or, where that is more, the pattern's `bobbin_m`, and
    is then filled again and again.
    """

    pattern: Pattern

    @cached_property
    def used_m(self) -> Lengths:
        """The yarn in m that every run takes, parallel to the script's runs: with its carry, with
        what is cast on for it and bound off after it, and a tail where its supply joins or is cut.
        """
        plan, fabric = self.pattern.supply_plan, self.pattern.fabric
        runs, loop = plan.script.runs, loop_mm(self.pattern)
        assert loop is not None
        along = plan.carry + amounts.edging_stitches(*plan.shaping_stitches)
        knitted = runs.stitches * loop + along * stitch_width_mm(self.pattern)
        ends = plan.joins.astype(float) + plan.cuts
        used: Lengths = knitted * (1 + fabric.allowance) / 1000 + ends * fabric.tail_cm / 100
        return used

    @property
    def fullest_m(self) -> float:
        """The metres that one bobbin holds at most; infinite where the pattern does not say."""
        most = self.pattern.supply_rules.bobbin_m
        return float("inf") if most is None else most

    @cached_property
    def _runs(self) -> dict[tuple[int, int], NDArray[np.intp]]:
        """The runs that each bobbin of each yarn knits, in the order of rows."""
        plan = self.pattern.supply_plan
        ends = np.stack((plan.script.runs.yarn, plan.bobbins.bobbin[plan.supply - 1]))
        order = np.lexsort(ends[::-1])
        changes = (np.diff(ends[:, order]) != 0).any(axis=0)
        groups = np.split(order, np.flatnonzero(changes) + 1)
        return {(int(ends[0, runs[0]]), int(ends[1, runs[0]])): runs for runs in groups}

    def runs_of(self, yarn: int, bobbin: int) -> NDArray[np.intp]:
        """The runs that a bobbin knits, in the order of rows."""
        return self._runs[yarn, bobbin]

    def left_m(self, yarn: int, bobbin: int, row: int, refills: tuple[Refill, ...] = ()) -> float:
        """The metres left on a bobbin before a row, by the stitches knitted until then; 0 at least.

        A bobbin that is filled anew holds as much as fits, or as the rest of its work needs. What
        was filled in this row or a later one does not count yet.
        """
        runs = self.runs_of(yarn, bobbin)
        rows, used = self.pattern.script.runs.row[runs] + 1, self.used_m[runs].copy()
        mine = [one for one in refills if (one.yarn, one.bobbin) == (yarn, bobbin)]
        mine = [one for one in mine if one.row < row]
        if mine:
            last = max(mine, key=lambda one: one.row)
            used[rows < last.row] = 0
            here = rows == last.row
            used[here] *= self._parts_from(runs[here], last)
            used[np.flatnonzero(here)[:1]] += 2 * self.pattern.fabric.tail_cm / 100  # old and new
        wound = min(self.fullest_m, float(used.sum()))
        return max(0.0, wound - float(used[rows < row].sum()))

    def shortage(
        self, yarn: int, bobbin: int, row: int, refills: tuple[Refill, ...] = ()
    ) -> Shortage | None:
        """The bobbin where it does not last through this row, None where it does.

        None too where it was used up before: then the knitter knows.
        """
        runs = self.runs_of(yarn, bobbin)
        needs = float(self.used_m[runs[self.pattern.script.runs.row[runs] + 1 == row]].sum())
        left = self.left_m(yarn, bobbin, row, refills)
        if any((one.yarn, one.bobbin, one.row) == (yarn, bobbin, row) for one in refills):
            return None
        if left <= 0 or left + _CLOSE_M >= needs:
            return None
        return Shortage(yarn, bobbin, row, left, needs)

    def shortages(self, row: int, refills: tuple[Refill, ...] = ()) -> tuple[Shortage, ...]:
        """The bobbins that do not last through a row, in the order in which they are laid."""
        if self.pattern.supply_rules.bobbin_m is None:
            return ()
        plan = self.pattern.supply_plan
        ends = dict.fromkeys(
            (entry.run.yarn, int(plan.bobbins.bobbin[entry.supply - 1])) for entry in plan.row(row)
        )
        found = (self.shortage(*end, row, refills) for end in ends)
        return tuple(one for one in found if one is not None)

    def fillings(self, yarn: int, bobbin: int) -> int:
        """How often a bobbin is filled when each filling is changed before the row that it does
        not last through, or within it where the row takes more than a bobbin holds."""
        runs, count, left = self.runs_of(yarn, bobbin), 1, self.fullest_m
        rows = self.pattern.script.runs.row[runs]
        for row in sorted({*rows.tolist()}):
            needs = float(self.used_m[runs[rows == row]].sum())
            while left + _CLOSE_M < needs:
                needs -= left if needs > self.fullest_m else 0
                count, left = count + 1, self.fullest_m
            left -= needs
        return count

    def _parts_from(self, runs: NDArray[np.intp], refill: Refill) -> Lengths:
        """The part of each of these runs of one row that lies at or after the new end's needle."""
        script = self.pattern.script
        first, last = (ends[runs] + script.first_needle for ends in run_ends(script))
        way = 1 if script.direction(refill.row) == "right" else -1
        ahead = (last - refill.needle) * way + 1
        parts: Lengths = np.clip(ahead / ((last - first) * way + 1), 0, 1)
        return parts

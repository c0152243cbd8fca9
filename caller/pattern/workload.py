"""What a supply plan asks of the knitter: where the work is dense, what is to be wound and woven.

Every function is pure and reads a SupplyPlan; rows are numbered from 1.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caller.pattern.supplies.plan import SupplyPlan

ENDS_OF_A_SUPPLY = 2
"""One where it joins and one where it is cut; both are woven in."""


@dataclass(frozen=True)
class Summary:
    """The whole work in numbers.

    `clips` hold the supplies that hang at once; `tails` are the most supplies that join in one row,
    whose tails are weighted until they are anchored (common practice); `ends` are woven in;
    `bobbins` are wound when what is left of one supply serves a later one. `carries` counts the
    carries of one needle and more.
    """

    supplies: int
    clips: int
    tails: int
    ends: int
    bobbins: int
    carries: int
    longest_carry: int
    single_stitches: int


@dataclass(frozen=True)
class YarnWork:
    """What one yarn asks for: `yarn` is its number, the rest as in Summary."""

    yarn: int
    supplies: int
    bobbins: int
    ends: int
    stitches: int


@dataclass(frozen=True)
class Stretch:
    """Rows `first_row` to `last_row`, with the most runs and the most hanging supplies of a row."""

    first_row: int
    last_row: int
    runs: int
    supplies: int


@dataclass(frozen=True)
class LongCarry:
    """A carry behind the work, from one needle (bed position) to another, `needles` away."""

    row: int
    supply: int
    yarn: int
    from_needle: int
    to_needle: int
    needles: int


def summary(plan: SupplyPlan) -> Summary:
    """The whole work in numbers."""
    return Summary(
        supplies=plan.total,
        clips=plan.at_once,
        tails=int(np.bincount(plan.supplies.first_row).max()),
        ends=ENDS_OF_A_SUPPLY * plan.total,
        bobbins=plan.bobbins.total,
        carries=int(np.count_nonzero(plan.carry)),
        longest_carry=int(plan.carry.max()),
        single_stitches=int(single_stitches(plan).sum()),
    )


def by_yarn(plan: SupplyPlan) -> tuple[YarnWork, ...]:
    """What each yarn of the chart asks for, by yarn number."""
    table, on = plan.supplies, plan.bobbins
    found = []
    for yarn in sorted({*table.yarn.tolist()}):
        mine = table.yarn == yarn
        supplies = int(np.count_nonzero(mine))
        found.append(
            YarnWork(
                yarn=int(yarn),
                supplies=supplies,
                bobbins=int(on.bobbin[mine].max()),
                ends=ENDS_OF_A_SUPPLY * supplies,
                stitches=int(table.stitches[mine].sum()),
            )
        )
    return tuple(found)


def densest(plan: SupplyPlan, most: int = 5) -> tuple[Stretch, ...]:
    """The rows with the most runs and, among those, the most supplies; at most so many stretches.

    Neighbouring rows with the same numbers are one stretch.
    """
    runs, supplies = np.diff(plan.script.runs.starts), plan.in_row
    changes = (np.diff(runs) != 0) | (np.diff(supplies) != 0)
    begins = np.concatenate(([0], np.flatnonzero(changes) + 1))
    order = np.lexsort((begins, -supplies[begins], -runs[begins]))[:most]
    ends = np.append(begins[1:], plan.script.rows)
    return tuple(_stretch(plan, int(begins[i]), int(ends[i])) for i in order)


def crowded(plan: SupplyPlan, more_than: int) -> tuple[Stretch, ...]:
    """The stretches of rows at which more than so many supplies hang, from the bottom up."""
    full = np.concatenate(([False], plan.in_row > more_than, [False]))
    changes = np.flatnonzero(full[1:] != full[:-1])
    pairs = zip(changes[::2].tolist(), changes[1::2].tolist(), strict=True)
    return tuple(_stretch(plan, begin, end) for begin, end in pairs)


def long_carries(plan: SupplyPlan, longer_than: int) -> tuple[LongCarry, ...]:
    """The carries over more than so many needles, the longest first, then as knitted."""
    entries = [
        LongCarry(
            number, entry.supply, entry.run.yarn, entry.carried_from, entry.run.first, entry.carry
        )
        for number in np.unique(plan.script.runs.row[plan.carry > longer_than] + 1).tolist()
        for entry in plan.row(number)
        if entry.carried_from is not None and entry.carry > longer_than
    ]
    return tuple(sorted(entries, key=lambda carry: -carry.needles))


def single_stitches(plan: SupplyPlan) -> NDArray[np.intp]:
    """How many runs of a single stitch each row has, row 1 first."""
    table = plan.script.runs
    return np.bincount(table.row[table.stitches == 1], minlength=plan.script.rows)


def _stretch(plan: SupplyPlan, begin: int, end: int) -> Stretch:
    """The rows from index `begin`, counted from 0, to before `end`."""
    runs = int(np.diff(plan.script.runs.starts)[begin:end].max())
    return Stretch(begin + 1, end, runs, int(plan.in_row[begin:end].max()))

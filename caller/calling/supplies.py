"""The supplies that hang at the bed before a row is knitted."""

from typing import NamedTuple

import numpy as np

from caller.pattern.pattern import Pattern


class Hanging(NamedTuple):
    """A supply: the bed position of the needle that it knitted last, and its yarn's number."""

    needle: int
    yarn: int
    supply: int


def hanging(pattern: Pattern, row: int) -> list[Hanging]:
    """What hangs before this row is knitted, from left to right; nothing after the last row.

    A supply hangs when it has knitted in a row before and knits in this row or a later one.
    """
    plan, table = pattern.supply_plan, pattern.script.runs
    going_on = np.flatnonzero(
        (table.row >= row - 1) & (plan.previous >= 0) & (table.row[plan.previous] < row - 1)
    )
    needles = plan.hung_at[going_on] + pattern.script.first_needle
    found = zip(
        needles.tolist(),
        table.yarn[going_on].tolist(),
        plan.supply[going_on].tolist(),
        strict=True,
    )
    return sorted(map(Hanging._make, found))

"""After the last row: the yarn to bind off with, and the tails to weave in, by yarn and place."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from caller.pattern.amounts import CAST_OFF_WIDTHS
from caller.pattern.pattern import Pattern
from caller.pattern.supplies.matching import run_ends
from caller.pattern.winding import Refill, stitch_width_mm


@dataclass(frozen=True)
class Tail:
    """An end to weave in: its yarn's and bobbin's number, and where it hangs from.

    `needle` is a bed position; `begins` tells the tail of a new end from one that was cut.
    """

    yarn: int
    bobbin: int
    row: int
    needle: int
    begins: bool


@dataclass(frozen=True)
class CastOff:
    """How the last row is bound off.

    `supply` knits last, so its end hangs where the carriage stands; `yarn` is its yarn's number.
    The edge is `stitches` wide and takes `length_m` of yarn, one tail included.
    """

    supply: int
    yarn: int
    stitches: int
    length_m: float


def cast_off(pattern: Pattern) -> CastOff:
    """The bind-off of the stitches of the last row."""
    script = pattern.script
    last = pattern.supply_plan.row(script.rows)[-1]
    first_needle, last_needle = script.in_work(script.rows)
    stitches = last_needle - first_needle + 1
    width_m = stitches * stitch_width_mm(pattern) / 1000
    length_m = CAST_OFF_WIDTHS * width_m + pattern.fabric.tail_cm / 100
    return CastOff(last.supply, last.run.yarn, stitches, length_m)


def tails(pattern: Pattern, refills: tuple[Refill, ...] = ()) -> tuple[Tail, ...]:
    """Every end of yarn in the piece, from the bottom up, by yarn."""
    return tuple(sorted(_tails(pattern, refills), key=lambda one: (one.yarn, one.row)))


def _tails(pattern: Pattern, refills: tuple[Refill, ...]) -> Iterator[Tail]:
    plan, script = pattern.supply_plan, pattern.script
    runs, bobbins = script.runs, plan.bobbins.bobbin[plan.supply - 1]
    first, last = run_ends(script)
    for begins, which, at in ((True, plan.joins, first), (False, plan.cuts, last)):
        for index in np.flatnonzero(which).tolist():
            needle = int(at[index]) + script.first_needle
            row = int(runs.row[index]) + 1
            yield Tail(int(runs.yarn[index]), int(bobbins[index]), row, needle, begins)
    for one in refills:
        for begins in (False, True):
            yield Tail(one.yarn, one.bobbin, one.row, one.needle, begins)

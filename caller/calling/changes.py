"""What of a row differs from the row before it, as acts."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby
from typing import NamedTuple

import numpy as np

from caller.calling.acts import Lay, RowActs, Step, TakeUp
from caller.pattern.pattern import Pattern


class Change(NamedTuple):
    """A stretch of needles that another yarn has `taken`, as a step that lays only them.

    Where it is not taken, no needle changes, but another end, or one that has to be looked for,
    begins here.
    """

    step: Step
    taken: bool


def row_changes(pattern: Pattern, acts: RowActs) -> tuple[Change, ...] | None:
    """The changes against the row before, as knitted; none where the row is the same.

    None for row 1, and where the changes have more needles to name than the row has runs.
    """
    if acts.number == 1:
        return None
    changes = tuple(change for step in acts.steps for change in _changes(pattern, acts, step))
    needles = sum(1 if change.step.lay.stitches == 1 else 2 for change in changes if change.taken)
    needles += sum(1 for change in changes if not change.taken)
    return changes if needles <= len(acts.steps) else None


def _changes(pattern: Pattern, acts: RowActs, step: Step) -> Iterator[Change]:
    obvious = isinstance(step.take, TakeUp) and step.take.obvious
    taken = list(_taken(pattern, acts.number, step.lay))
    if not obvious and (not taken or taken[0].first != step.lay.first):
        yield Change(step, False)
    for lay in taken:
        if lay.first == step.lay.first:
            yield Change(replace(step, lay=lay), True)
        else:
            goes_on = TakeUp(lay.end, lay.first, obvious=True, shared=False)
            yield Change(Step(goes_on, None, lay), True)


def _taken(pattern: Pattern, number: int, lay: Lay) -> Iterator[Lay]:
    """The stretches of a run that had another yarn in the row before.

    Needles that have come into work since take the yarn that the edge had there.
    """
    before, offset = pattern.chart.cells[number - 2], pattern.script.first_needle
    if pattern.chart.shaped:
        first, last = (edge[number - 2] for edge in pattern.chart.edges)
        before = before[np.clip(np.arange(len(before)), first, last)]
    step = 1 if lay.last >= lay.first else -1
    needles = range(lay.first, lay.last + step, step)
    for other, stretch in groupby(needles, lambda needle: before[needle - offset] != lay.end.yarn):
        if other:
            taken = list(stretch)
            yield Lay(lay.end, taken[0], taken[-1])

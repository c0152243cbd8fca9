"""The best way to knit single rows: an exact dynamic programme along each row.

All rows are worked out side by side; only the columns are gone through one by one. Costs are whole
numbers, so that every computer finds the same rows.
"""

import numpy as np
from numpy.typing import NDArray

Costs = NDArray[np.int32] | NDArray[np.int64]

Fixed = NDArray[np.int8]
"""The yarns of stitches that stay as they are; `FREE` where a stitch may change."""

FREE = -1
MOST_COST = 2**24
"""The most that a row may cost as one run, or a run for itself: larger sums could overflow."""

_NEVER, _NEVER_LONG = 2**30, 2**50
_CODES = 32  # the low bits of a sum tell the yarn before, as its number + 1, or:
_STAYS, _BEGINS = 0, 31


def best_rows(
    total: Costs,
    starts: Costs,
    ends: Costs,
    shortest: int,
    most: int | None = None,
    fixed: Fixed | None = None,
) -> NDArray[np.uint8]:
    """The cheapest yarns for every row, shape (rows, stitches).

    The costs have the shape (stitches, yarns, rows): `total` is the cost of knitting everything up
    to and with that stitch in that yarn, `starts` and `ends` are the cost of a run that begins or
    ends there. Every run is `shortest` stitches or longer, and a row has at most `most` runs, which
    must be enough for its `fixed` stitches (stitches, rows). These keep their yarn, and a run with
    one of them may be as short as it is. An end and the beginning after it must not cost less than
    nothing together, or a run would gain by being cut in two. Nothing else within these bounds
    costs less (Viterbi's algorithm, IEEE Transactions on Information Theory 13 (1967), over runs).
    """
    stitches, yarns, rows = total.shape
    levels = most or 1  # level n stands for n + 1 runs so far, if they are counted
    never = _NEVER
    if fixed is not None:  # a row may then have to have many runs, which cost more
        never = _NEVER_LONG
        total, starts = (part.astype(np.int64) for part in (total, starts))
    # A run costs total[last] - total[first - 1]; the second part is taken off where it begins.
    end = (total + ends) * _CODES
    end += np.arange(1, yarns + 1, dtype=np.int32)[:, None]
    begin = starts.copy()
    begin[1:] -= total[:-1]
    begin *= _CODES
    before = np.empty((stitches, levels, yarns, rows), dtype=np.uint8)
    lengths = None if fixed is None else np.full(before.shape, shortest, dtype=np.uint16)
    here = np.full((levels, yarns, rows), never, dtype=end.dtype)
    begun, ended = here.copy(), np.empty_like(here)
    begun[0] = begin[0] + _BEGINS
    waiting = [begun]  # runs that are not long enough yet
    for column in range(stitches):
        if len(waiting) == shortest:
            np.minimum(here, waiting.pop(0), out=here)
        if fixed is not None and lengths is not None and (fixed[column] != FREE).any():
            _hold(here, waiting, lengths[column], fixed[column])
        before[column] = here.astype(np.uint8)  # the lowest byte, with the code in it
        here &= -_CODES
        np.add(here, end[column], out=ended)
        least = ended.min(axis=1, keepdims=True)
        if column + 1 == stitches:
            break
        # A run follows the cheapest one; where that is of its own yarn, the two are one run.
        follow = np.empty_like(here)
        if most is None:
            np.add(least, begin[column + 1], out=follow)
        else:
            np.add(least[:-1], begin[column + 1], out=follow[1:])
            follow[0] = never
        waiting.append(follow)
    before &= _CODES - 1
    return _traced(before, least[:, 0], shortest if lengths is None else lengths, most is not None)


def _hold(here: Costs, waiting: list[Costs], lengths: NDArray[np.uint16], fixed: Fixed) -> None:
    """Where a stitch is fixed (rows,), let no other yarn pass and every run be long enough.

    `lengths` (levels, yarns, rows) are told how long the runs are that begin that way.
    """
    held = np.flatnonzero(fixed != FREE)
    other = np.arange(here.shape[1])[:, None] != fixed[held]
    kept = np.where(other, _NEVER_LONG, here[..., held])
    length = lengths[..., held]
    for age, runs in enumerate(reversed(waiting), start=1):
        runs[..., held] = left = np.where(other, _NEVER_LONG, runs[..., held])
        sooner = left < kept
        kept = np.where(sooner, left, kept)
        length[sooner] = age
    here[..., held], lengths[..., held] = kept, length


def _traced(
    before: NDArray[np.uint8], least: Costs, shortest: int | NDArray[np.uint16], counted: bool
) -> NDArray[np.uint8]:
    """Follow the codes back from the cheapest ends, `least`, shape (levels, rows).

    A run that a code lets begin is `shortest` stitches long, one number or one for each code.
    """
    stitches, _, yarns, rows = before.shape
    lengths = None if isinstance(shortest, int) else shortest.reshape(stitches, -1)
    row = np.arange(rows)
    level = (least // _CODES).argmin(axis=0)
    yarn = (least[level, row] % _CODES).astype(np.intp) - 1
    flat = before.reshape(stitches, -1)
    chosen = np.empty((stitches, rows), dtype=np.uint8)
    left = np.zeros(rows, dtype=np.intp)  # stitches still to go in a run known to begin
    came_from = yarn.copy()
    for column in range(stitches - 1, -1, -1):
        chosen[column] = yarn
        at = (level * yarns + yarn) * rows + row
        code = flat[column][at]
        begins = (left == 0) & (code != _STAYS)
        came_from = np.where(begins, code.astype(np.intp) - 1, came_from)
        left = np.where(begins, shortest if lengths is None else lengths[column][at], left)
        switches = left == 1
        left -= left > 0
        if column:
            yarn = np.where(switches, came_from, yarn)
            if counted:
                level = level - switches
    return np.ascontiguousarray(chosen.T)

"""The best way to knit single rows: an exact dynamic programme along each row.

All rows are worked out side by side; only the columns are gone through one by one. Costs are whole
numbers, so that every computer finds the same rows.
"""

import numpy as np
from numpy.typing import NDArray

Costs = NDArray[np.int32]

MOST_COST = 2**24
"""The most that a row may cost as one run, or a run for itself: larger sums could overflow."""

_NEVER = np.int32(2**30)
_CODES = np.int32(32)  # the low bits of a sum tell the yarn before, as its number + 1, or:
_STAYS, _BEGINS = 0, 31


def best_rows(
    total: Costs, starts: Costs, ends: Costs, shortest: int, most: int | None = None
) -> NDArray[np.uint8]:
    """The cheapest yarns for every row, shape (rows, stitches).

    The costs have the shape (stitches, yarns, rows): `total` is the cost of knitting everything up
    to and with that stitch in that yarn, `starts` and `ends` are the cost of a run that begins or
    ends there. Every run is `shortest` stitches or longer, and a row has at most `most` runs.
    Nothing else within these bounds costs less (Viterbi's algorithm, IEEE Transactions on
    Information Theory 13 (1967), over runs).
    """
    stitches, yarns, rows = total.shape
    levels = most or 1  # level n stands for n + 1 runs so far, if they are counted
    # A run costs total[last] - total[first - 1]; the second part is taken off where it begins.
    end = (total + ends) * _CODES
    end += np.arange(1, yarns + 1, dtype=np.int32)[:, None]
    begin = starts.copy()
    begin[1:] -= total[:-1]
    begin *= _CODES
    before = np.empty((stitches, levels, yarns, rows), dtype=np.uint8)
    here = np.full((levels, yarns, rows), _NEVER)
    begun = here.copy()
    begun[0] = begin[0] + np.int32(_BEGINS)
    waiting = [begun]  # runs that are not long enough yet
    for column in range(stitches):
        if len(waiting) == shortest:
            np.minimum(here, waiting.pop(0), out=here)
        before[column] = code = here & (_CODES - np.int32(1))
        here -= code
        ended = here + end[column]
        least = ended.min(axis=1)
        if column + 1 == stitches:
            break
        # A run follows the cheapest run of another yarn.
        own = ended == least[:, None]
        other = np.where(own, _NEVER, ended).min(axis=1)
        follow = np.where(own, other[:, None], least[:, None]) + begin[column + 1]
        if most is not None:
            follow[1:] = follow[:-1]
            follow[0] = _NEVER
        waiting.append(follow)
    return _traced(before, least, shortest, counted=most is not None)


def _traced(
    before: NDArray[np.uint8], least: Costs, shortest: int, counted: bool
) -> NDArray[np.uint8]:
    """Follow the codes back from the cheapest ends, `least`, shape (levels, rows)."""
    stitches, _, yarns, rows = before.shape
    row = np.arange(rows)
    level = (least >> 5).argmin(axis=0)
    yarn = (least[level, row] & 31).astype(np.intp) - 1
    flat = before.reshape(stitches, -1)
    chosen = np.empty((stitches, rows), dtype=np.uint8)
    left = np.zeros(rows, dtype=np.intp)  # stitches still to go in a run known to begin
    came_from = yarn.copy()
    for column in range(stitches - 1, -1, -1):
        chosen[column] = yarn
        code = flat[column][(level * yarns + yarn) * rows + row]
        begins = (left == 0) & (code != _STAYS)
        came_from[begins] = code[begins].astype(np.intp) - 1
        left[begins] = shortest
        switches = left == 1
        left -= left > 0
        if column:
            yarn = np.where(switches, came_from, yarn)
            if counted:
                level = level - switches
    return np.ascontiguousarray(chosen.T)

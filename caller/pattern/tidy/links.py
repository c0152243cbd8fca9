"""Which supplies go on from one row into the next, counted for many rows at once.

A supply ends where no run of its yarn begins near its last needle. The next row comes back, so two
rows are tied at one side only: by the right ends of their runs when the lower row is knitted to the
right, by the left ends otherwise. Supplies that rest are left to `supplies.assign_supplies`.
"""

import numpy as np
from numpy.typing import NDArray

Cells = NDArray[np.uint8]
Numbers = NDArray[np.int64]
Indices = NDArray[np.intp]
Mask = NDArray[np.bool_]
Bits = NDArray[np.uint32]


def runs_in(cells: Cells) -> Numbers:
    """The runs of each row of `cells` (n, stitches)."""
    changes: Numbers = np.count_nonzero(cells[:, 1:] != cells[:, :-1], axis=1)
    return changes + 1


def links(lower: Cells, upper: Cells, goes_right: Mask, reach: int) -> Numbers:
    """How many supplies can go on from each `lower` row (n, stitches) into its `upper` row (n,).

    `goes_right` (n,) is the direction of the lower rows. An end may be tied to one other of its
    yarn, at most `reach` away. Ends are tied from left to right, the first open one with the first
    open one, which ties the most there can be (matching of points on a line, a textbook result).
    """
    count = np.zeros(len(lower), dtype=np.int64)
    if len(lower) == 0:
        return count
    yarns = int(max(lower.max(), upper.max())) + 1
    one, begins = _ends(lower, goes_right, yarns)
    one_now, one_end = begins[:-1], begins[1:]
    two, begins = _ends(upper, goes_right, yarns)
    two_now, two_end = begins[:-1], begins[1:]
    pair = np.repeat(np.arange(len(lower)), yarns)
    while True:
        more = (one_now < one_end) & (two_now < two_end)
        if not more.all():
            one_now, one_end, two_now, two_end, pair = (
                part[more] for part in (one_now, one_end, two_now, two_end, pair)
            )
        if len(pair) == 0:
            return count
        apart = one[one_now] - two[two_now]
        tied = np.abs(apart) <= reach
        count += np.bincount(pair[tied], minlength=len(count))
        one_now = one_now + (tied | (apart < 0))
        two_now = two_now + (tied | (apart > 0))


def _ends(cells: Cells, right_ends: Mask, yarns: int) -> tuple[Indices, Indices]:
    """The columns where runs end at one side, by row and yarn, and where each of these begins."""
    ends = np.ones((len(cells), cells.shape[1] + 1), dtype=bool)
    np.not_equal(cells[:, 1:], cells[:, :-1], out=ends[:, 1:-1])
    row, column = np.nonzero(np.where(right_ends[:, None], ends[:, 1:], ends[:, :-1]))
    key = row * yarns + cells[row, column]
    counts = np.bincount(key, minlength=len(cells) * yarns)
    return column[np.argsort(key, kind="stable")], np.concatenate(([0], np.cumsum(counts)))


def ends_near(cells: Cells, right_ends: Mask, reach: int) -> Bits:
    """The yarns whose runs end within `reach` of each stitch, shape (stitches, n).

    `cells` are (n, stitches); `right_ends` (n,) tells which ends of each row are meant. Yarn number
    k is bit k.
    """
    columns = np.ascontiguousarray(cells.T)
    bits = np.uint32(1) << columns.astype(np.uint32)
    same = columns[1:] == columns[:-1]
    bits[:-1][same & right_ends] = 0
    bits[1:][same & ~right_ends] = 0
    up, down = bits.copy(), bits
    done, wanted = 0, min(reach, len(bits) - 1)
    while done < wanted:
        step = min(done + 1, wanted - done)
        up[step:] |= up[:-step].copy()
        down[:-step] |= down[step:].copy()
        done += step
    return up | down


def unpacked_bits(bits: Bits, yarns: int) -> NDArray[np.int32]:
    """Bits (stitches, n) as 0 and 1, shape (stitches, yarns, n)."""
    number = np.arange(yarns, dtype=np.uint32)[:, None]
    return ((bits[:, None] >> number) & np.uint32(1)).astype(np.int32)

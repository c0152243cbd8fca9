"""Bobbins: which one each supply hangs on. A yarn's bobbins are numbered from 1."""

from dataclasses import dataclass
from heapq import heappop, heappush

import numpy as np
from numpy.typing import ArrayLike, NDArray

Indices = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Bobbins:
    """Which bobbin each supply hangs on, when a cut supply's leftover may serve a later supply.

    The arrays have one entry a supply, number 1 first. `bobbin` counts from 1 within each yarn;
    `leftover_of` is the supply that hung on the bobbin before, 0 where the bobbin is new; `alone`
    tells that the yarn has no other bobbin, so that its name says which one is meant.
    """

    bobbin: Indices
    leftover_of: Indices
    alone: NDArray[np.bool_]

    @property
    def total(self) -> int:
        """Bobbins to wind; no way of handing leftovers on takes fewer."""
        return int(np.count_nonzero(self.leftover_of == 0))


def share_bobbins(yarns: ArrayLike, first_rows: ArrayLike, last_rows: ArrayLike) -> Bobbins:
    """Hang supplies, given in the order of joining, on the fewest bobbins.

    A supply cut in one row may hand its leftover to one of its yarn that joins in a later row. In
    the order of joining every supply takes the lowest free bobbin of its yarn and a new one only
    when none is free, which takes as few as hang at once (colouring of intervals by their
    beginnings, a textbook result).
    """
    bobbin: list[int] = []
    leftover_of: list[int] = []
    hanging: dict[int, list[tuple[int, int]]] = {}  # yarn -> heap of (last row, bobbin)
    free: dict[int, list[int]] = {}  # yarn -> heap of bobbins
    last_on: dict[tuple[int, int], int] = {}  # (yarn, bobbin) -> the supply that hung there last
    columns = (np.asarray(column).tolist() for column in (yarns, first_rows, last_rows))
    for supply, (yarn, first_row, last_row) in enumerate(zip(*columns, strict=True), start=1):
        busy, idle = hanging.setdefault(yarn, []), free.setdefault(yarn, [])
        while busy and busy[0][0] < first_row:
            heappush(idle, heappop(busy)[1])
        taken = heappop(idle) if idle else len(busy) + 1
        heappush(busy, (last_row, taken))
        bobbin.append(taken)
        leftover_of.append(last_on.get((yarn, taken), 0))
        last_on[yarn, taken] = supply
    of_yarn = np.asarray(yarns, dtype=np.intp)
    most = np.zeros(of_yarn.max(initial=0) + 1, dtype=np.intp)
    np.maximum.at(most, of_yarn, bobbin)
    return Bobbins(np.array(bobbin, np.intp), np.array(leftover_of, np.intp), most[of_yarn] == 1)

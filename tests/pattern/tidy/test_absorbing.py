"""What absorbing a block costs, worked out run by run, and colour errors as whole numbers."""

from itertools import pairwise

import hypothesis.extra.numpy as arrays
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from caller.pattern.tidy.blocks import FAR, absorbing, blocks_of
from caller.pattern.tidy.energy import Draft
from caller.pattern.tidy.price_search import Costing, descend, in_colour, keep_bounds
from caller.pattern.tidy.rows import MOST_COST

Cells = NDArray[np.uint8]
OUTSIDE = 3


@st.composite
def charts(draw: st.DrawFn) -> tuple[Cells, NDArray[np.int32], int | None]:
    """Cells of three yarns, costs (rows, stitches, 4), and the yarn that is out of work, if any."""
    shape = (draw(st.integers(1, 5)), draw(st.integers(1, 8)))
    cells = draw(arrays.arrays(np.uint8, shape, elements=st.integers(0, 2)))
    costs = draw(arrays.arrays(np.int32, (*shape, 4), elements=st.integers(1, 9)))
    outside = draw(st.none() | st.just(OUTSIDE))
    if outside is not None:
        for row in range(shape[0]):
            cells[row, : draw(st.integers(0, shape[1] // 2))] = OUTSIDE
            cells[row, shape[1] - draw(st.integers(0, shape[1] // 2)) :] = OUTSIDE
    np.put_along_axis(costs, cells[..., None].astype(int), 0, axis=2)
    return cells, costs, outside


def draft_of(cells: Cells, costs: NDArray[np.int32], outside: int | None, price: int) -> Draft:
    rows, stitches = cells.shape
    total = np.zeros((stitches + 1, costs.shape[2], rows), dtype=np.int32)
    total[1:] = np.cumsum(costs.transpose(1, 2, 0), axis=0)
    bound, right = np.full(rows, stitches), np.arange(rows) % 2 == 0
    draft = Draft(cells, total, right, 2, 1, bound, cells == OUTSIDE, outside)
    draft.set_prices(0, price)
    return draft


def _in_turns() -> tuple[Cells, NDArray[np.int32], int | None]:
    """A block whose three runs are cheaper to the left, the right and the left: by sides 11 and 19,
    each to its cheaper one 3 and two turns."""
    cells = np.array([[0, 1, 2]] * 3, dtype=np.uint8)
    costs = np.ones((3, 3, 4), dtype=np.int32)
    costs[:, 1, 0], costs[:, 1, 2] = (1, 9, 1), (9, 1, 9)
    np.put_along_axis(costs, cells[..., None].astype(int), 0, axis=2)
    return cells, costs, None


@settings(max_examples=80)
@given(charts(), st.integers(0, 20))
@example(_in_turns(), 3)
@example(_in_turns(), 5)
def test_each_block_is_absorbed_in_the_cheapest_way(
    chart: tuple[Cells, NDArray[np.int32], int | None], price: int
) -> None:
    """All to the left, all to the right, or each to its cheaper side at a price for each turn."""
    cells, costs, outside = chart
    draft = draft_of(cells, costs, outside, price)
    blocks = blocks_of(cells)
    found = absorbing(draft, blocks)
    table = blocks.table
    for block in range(blocks.count):
        sides, between = [], []
        for run in np.flatnonzero(blocks.block == block):
            row, left, right = table.row[run], table.left[run], table.right[run]
            beside = [None if left == 0 else cells[row, left - 1]]
            beside += [None if right == cells.shape[1] - 1 else cells[row, right + 1]]
            beside = [None if yarn == outside else yarn for yarn in beside]
            stitches = costs[row, left : right + 1]
            sides.append([FAR if yarn is None else stitches[:, yarn].sum() for yarn in beside])
            between.append(beside[0] is not None and beside[0] == beside[1])
        leftward = [left <= right for left, right in sides]
        turns = sum(one != other for one, other in pairwise(leftward))
        ways = [sum(left for left, _ in sides), sum(right for _, right in sides)]
        mixed = sum(map(min, sides))
        best = int(np.argmin([*ways, mixed + price * turns]))
        assert found.cost[block] == [*ways, mixed][best]
        assert found.saved[block] == len(between) + sum(between)
        assert found.joins[block] == sum(
            joins and not before for before, joins in pairwise([False, *between])
        )
        if found.cost[block] < FAR:
            to = found.to[blocks.block == block]
            runs = np.flatnonzero(blocks.block == block)
            for run, yarn, cheaper in zip(runs, to, leftward, strict=True):
                goes_left = best == 0 or (best == 2 and cheaper)
                at = table.left[run] - 1 if goes_left else table.right[run] + 1
                assert yarn == cells[table.row[run], at]
    assert {sums.dtype for sums in (found.cost, found.saved, found.joins)} == {np.dtype(np.int64)}


# Colour errors as whole numbers


def test_costs_worked_by_hand() -> None:
    # A row of three stitches may cost 2^20, a stitch a third of that: 349525. The largest error,
    # 4, is as much, so 1 is 87381.25, and 3 are 262143.75, which round to 262144.
    errors = np.array([[[0, 4], [2, 3], [1, 1]]], dtype=np.float32)
    cells = np.array([[0, 0, 1]], dtype=np.uint8)
    errors[0, 1] -= 2  # only how much more it is than in the own yarn counts: 0 and 1
    costing = Costing(cells, errors, np.ones((1, 3), dtype=np.float32))
    assert costing.unit == pytest.approx(349525 / 4)
    each = np.diff(costing.total[:, :, 0], axis=0).tolist()
    assert each == [[0, 349525], [0, 87381], [1, 0]]  # a change for nothing costs 1
    assert costing.total[0].tolist() == [[0], [0]]
    assert costing.typical == 87381  # the median of 349525, 87381 and 1


def test_what_weighs_more_costs_more() -> None:
    errors = np.array([[[0, 1], [0, 1]]], dtype=np.float32)
    costing = Costing(np.zeros((1, 2), np.uint8), errors, np.array([[1, 4]], dtype=np.float32))
    assert np.diff(costing.total[:, 1, 0]).tolist() == [2**19 // 4, 2**19]


def test_a_whole_row_never_costs_more_than_sums_can_hold() -> None:
    for stitches in (1, 6, 7, 199):
        errors = np.broadcast_to(np.float32([0, 3]), (1, stitches, 2))
        weight = np.ones((1, stitches), dtype=np.float32)
        costing = Costing(np.zeros((1, stitches), np.uint8), errors, weight)
        assert 2**20 - stitches < costing.total[-1, 1, 0] <= 2**20


def test_small_errors_count_as_large_ones_do() -> None:
    errors = np.array([[[0, 1e-3], [0, 5e-4]]], dtype=np.float32)
    costing = Costing(np.zeros((1, 2), np.uint8), errors, np.ones((1, 2), dtype=np.float32))
    assert np.diff(costing.total[:, 1, 0]).tolist() == [2**19, 2**18]


def test_errors_of_nothing() -> None:
    nothing = np.zeros((2, 4, 2), dtype=np.float32)
    costing = Costing(np.zeros((2, 4), np.uint8), nothing, np.ones((2, 4), dtype=np.float32))
    assert (costing.unit, costing.typical) == (1.0, 1)
    assert costing.price(7.0) == 7


def test_the_highest_price_and_that_of_its_run_are_what_sums_can_hold() -> None:
    errors = np.array([[[0, 1], [0, 1]]], dtype=np.float32)
    costing = Costing(np.zeros((1, 2), np.uint8), errors, np.ones((1, 2), dtype=np.float32))
    highest = costing.price(1e9)
    assert 0.9 * MOST_COST < highest + highest // 4 <= MOST_COST
    assert costing.price(0.5) == round(0.5 * costing.unit)


class Counted(Draft):
    """Counts the sweeps."""

    sweeps = 0

    def sweep(self, parity: int) -> int:
        self.sweeps += 1
        return super().sweep(parity)


def three_blocks() -> Counted:
    """Seven supplies: the ground, and three blocks that split it for some rows each."""
    cells = np.zeros((9, 30), dtype=np.uint8)
    cells[3:5, 3:5] = cells[3:6, 10:12] = cells[3:7, 20:22] = 1
    total = np.zeros((31, 2, 9), dtype=np.int32)
    total[1:] = np.cumsum(cells.T[:, None] != np.arange(2)[:, None], axis=0)
    return Counted(cells, total, np.arange(9) % 2 == 0, 7, 1, np.full(9, 30))


def test_it_goes_no_further_down_than_is_wanted() -> None:
    draft = three_blocks()
    assert draft.supplies == 7
    draft.set_prices(0, 100)
    descend(draft, 9, enough=3)
    assert (draft.supplies, draft.sweeps) == (3, 2)
    assert draft.cells[:, 20:22].sum() == 8, "the largest block is left"


@pytest.mark.parametrize("row", [3, 4])
def test_a_row_that_juts_out_is_drawn_in_as_far_as_a_carry_reaches(row: int) -> None:
    # It juts out by 4 stitches, a carry reaches over 2, and no other row may change.
    cells = np.zeros((9, 24), dtype=np.uint8)
    cells[:, 12:] = 1
    cells[row, 12:16] = 0
    kept = np.ones(cells.shape, dtype=bool)
    kept[row] = False
    total = np.zeros((25, 2, 9), dtype=np.int32)
    total[1:] = np.cumsum(cells.T[:, None] != np.arange(2)[:, None], axis=0)
    draft = Draft(cells, total, np.arange(9) % 2 == 0, 2, 1, np.full(9, 24), kept)
    draft.set_prices(0, 10)
    descend(draft, 9)
    assert draft.supplies == 2
    assert np.argwhere(draft.cells != cells).tolist() == [[row, 14], [row, 15]]


def test_it_ends_when_nothing_changes() -> None:
    draft = three_blocks()
    keep_bounds(draft, 0, 1)
    assert draft.sweeps == 2
    descend(draft, 9)
    assert draft.sweeps == 4


def test_a_colour_is_one_that_is_in_work() -> None:
    cells = np.array([[OUTSIDE, 1, 1], [1, 1, OUTSIDE]], dtype=np.uint8)
    costs = np.ones((2, 3, 4), dtype=np.int32)
    assert not in_colour(draft_of(cells, costs, OUTSIDE, 0))
    assert in_colour(draft_of(cells, costs, None, 0))
    cells[0, 1] = 0
    assert in_colour(draft_of(cells, costs, OUTSIDE, 0))

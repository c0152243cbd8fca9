"""The parts that tidying is made of: the best row, the count of supplies, and the energy.

The best rows are checked by trying every row there is, the supplies by the plan that is knitted
from (both computed here).
"""

from itertools import groupby, product
from typing import Any, Literal

import hypothesis.extra.numpy as arrays
import numpy as np
import pytest
import scipy
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.rows import RowScript
from caller.pattern.supplies.plan import assign_supplies
from caller.pattern.tidy.blocks import blocks_of
from caller.pattern.tidy.energy import Draft
from caller.pattern.tidy.merge import absorb_specks, merge
from caller.pattern.tidy.rows import FREE, best_rows

Directions = st.sampled_from(["right", "left"])


def runs_of(row: tuple[int, ...]) -> list[int]:
    return [len(list(run)) for _, run in groupby(row)]


def every_row(stitches: int, yarns: int, shortest: int, most: int) -> list[tuple[int, ...]]:
    return [
        row
        for row in product(range(yarns), repeat=stitches)
        if min(runs_of(row)) >= shortest and len(runs_of(row)) <= most
    ]


# One row by itself


@st.composite
def row_problems(draw: st.DrawFn) -> tuple[Any, ...]:
    """Costs of stitches, of beginnings and of ends (stitches, yarns, rows), and the bounds.

    The costs of beginnings and ends differ from stitch to stitch, and those of ends may be below
    nothing, as they are next to rows above and below.
    """
    stitches, yarns = draw(st.integers(1, 6)), draw(st.integers(1, 3))
    shape = (stitches, yarns, 2)
    costs = draw(arrays.arrays(np.int32, shape, elements=st.integers(0, 20)))
    starts, ends = (
        draw(arrays.arrays(np.int32, shape, elements=st.integers(least, 15))) for least in (7, -7)
    )
    shortest = draw(st.integers(1, stitches))
    return costs, starts, ends, shortest, draw(st.none() | st.integers(1, 4))


def cost_of(row: tuple[int, ...], number: int, costs: Any, starts: Any, ends: Any) -> int:
    total, column = 0, 0
    for length in runs_of(row):
        yarn = row[column]
        total += starts[column, yarn, number] + ends[column + length - 1, yarn, number]
        total += costs[column : column + length, yarn, number].sum()
        column += length
    return int(total)


@settings(max_examples=120)
@given(row_problems())
def test_no_other_row_costs_less(problem: tuple[Any, ...]) -> None:
    costs, starts, ends, shortest, most = problem
    total = np.cumsum(costs, axis=0, dtype=np.int32)
    stitches, yarns, rows = costs.shape
    possible = every_row(stitches, yarns, shortest, most or stitches)
    found = best_rows(total, starts, ends, shortest, most)
    assert found.shape == (rows, stitches)
    for number, row in enumerate(map(tuple, found.tolist())):
        least = min(cost_of(other, number, costs, starts, ends) for other in possible)
        assert row in possible
        assert cost_of(row, number, costs, starts, ends) == least


def keeps(row: tuple[int, ...], fixed: list[int], shortest: int) -> bool:
    """Whether the fixed stitches have their yarns, and only runs with one of them are short."""
    column = 0
    for length in runs_of(row):
        held = [yarn for yarn in fixed[column : column + length] if yarn != FREE]
        if set(held) - {row[column]} or (length < shortest and not held):
            return False
        column += length
    return True


@settings(max_examples=120)
@given(row_problems(), st.data())
def test_no_other_row_with_its_fixed_stitches_costs_less(
    problem: tuple[Any, ...], data: st.DataObject
) -> None:
    costs, starts, ends, shortest, most = problem
    stitches, yarns, rows = costs.shape
    kept = st.sampled_from([FREE, FREE, *range(yarns)])
    fixed = data.draw(arrays.arrays(np.int8, (stitches, rows), elements=kept))
    every = [
        [row for row in every_row(stitches, yarns, 1, stitches) if keeps(row, one, shortest)]
        for one in fixed.T.tolist()
    ]
    fewest = max(min(len(runs_of(row)) for row in possible) for possible in every)
    most = None if most is None else max(most, fewest)
    total = np.cumsum(costs, axis=0, dtype=np.int32)
    found = best_rows(total, starts, ends, shortest, most, fixed)
    for number, row in enumerate(map(tuple, found.tolist())):
        possible = [row for row in every[number] if len(runs_of(row)) <= (most or stitches)]
        assert row in possible
        least = min(cost_of(other, number, costs, starts, ends) for other in possible)
        assert cost_of(row, number, costs, starts, ends) == least


# A row between its neighbours


def draft_of(
    cells: NDArray[np.uint8],
    errors: NDArray[np.int32],
    reach: int,
    first: Literal["right", "left"] = "right",
    shortest: int = 1,
    most: int | None = None,
) -> Draft:
    rows, stitches = cells.shape
    total = np.zeros((stitches + 1, errors.shape[2], rows), dtype=np.int32)
    total[1:] = np.cumsum(errors.transpose(1, 2, 0), axis=0)
    goes_right = (np.arange(rows) % 2 == 0) == (first == "right")
    bound = np.full(rows, most or stitches)
    return Draft(cells, total, goes_right, reach, shortest, bound)


def alike(cells: NDArray[np.uint8], error: int) -> NDArray[np.int32]:
    return np.where(cells[..., None] == np.arange(cells.max() + 1), 0, error).astype(np.int32)


def planned(
    cells: NDArray[np.uint8], reach: int, first: Literal["right", "left"] = "right"
) -> tuple[int, int]:
    """(runs, supplies) of the plan that is knitted from."""
    plan = assign_supplies(RowScript(Chart(cells), Bed(), 0, first), reach)
    return len(plan.supply), plan.total


def energy_of(
    cells: NDArray[np.uint8],
    errors: NDArray[np.int32],
    prices: tuple[int, int, int],
    reach: int,
    first: Literal["right", "left"],
) -> int:
    cost = int(np.take_along_axis(errors, cells[..., None].astype(int), axis=2).sum())
    edges = int((cells[1:] != cells[:-1]).sum())
    return cost + int(np.dot(prices, (*planned(cells, reach, first), edges)))


@st.composite
def drafts(
    draw: st.DrawFn, rows: int = 6, stitches: int = 12
) -> tuple[NDArray[np.uint8], NDArray[np.int32]]:
    """Cells (rows, stitches) of three yarns and costs (rows, stitches, 3), 0 for their own."""
    shape = (draw(st.integers(1, rows)), draw(st.integers(1, stitches)))
    cells = draw(arrays.arrays(np.uint8, shape, elements=st.integers(0, 2)))
    errors = draw(arrays.arrays(np.int32, (*shape, 3), elements=st.integers(1, 9)))
    np.put_along_axis(errors, cells[..., None].astype(int), 0, axis=2)
    return cells, errors


@settings(max_examples=60)
@given(drafts(), st.integers(0, 12), Directions)
def test_supplies_are_those_of_the_plan(
    chart: tuple[NDArray[np.uint8], NDArray[np.int32]], reach: int, first: Literal["right", "left"]
) -> None:
    draft = draft_of(*chart, reach, first)
    assert (draft.runs.sum(), draft.supplies) == planned(chart[0], reach, first)


@settings(max_examples=60)
@given(
    arrays.arrays(np.uint8, (3, 5), elements=st.integers(0, 2)),
    arrays.arrays(np.int32, (3, 5, 3), elements=st.integers(0, 9)),
    st.integers(1, 3),
    st.data(),
    Directions,
)
def test_no_other_row_between_its_neighbours_has_less_energy(
    cells: NDArray[np.uint8],
    errors: NDArray[np.int32],
    shortest: int,
    data: st.DataObject,
    first: Literal["right", "left"],
) -> None:
    # Where a carry is shorter than the shortest run and a run is worth as much as a supply, no two
    # runs of a row can count on the same supply, and the best row is the best there is.
    reach = data.draw(st.integers(0, shortest - 1))
    most = data.draw(st.integers(1, 5))
    supply = data.draw(st.integers(0, 12))
    prices = (supply + data.draw(st.integers(0, 5)), supply, data.draw(st.integers(0, 3)))
    draft = draft_of(cells, errors, reach, first, shortest, most)
    draft.set_prices(*prices)
    draft.sweep(1)
    found = []
    for row in every_row(5, 3, shortest, most):
        other = draft.cells.copy()
        other[1] = row
        found.append(energy_of(other, errors, prices, reach, first))
    assert energy_of(draft.cells, errors, prices, reach, first) == min(found)


# Steps


@settings(max_examples=60)
@given(
    drafts(),
    st.integers(0, 12),
    st.tuples(st.integers(0, 30), st.integers(0, 30), st.integers(0, 5)),
    st.integers(0, 30),
    Directions,
)
def test_energy_never_rises(
    chart: tuple[NDArray[np.uint8], NDArray[np.int32]],
    reach: int,
    prices: tuple[int, int, int],
    enough: int,
    first: Literal["right", "left"],
) -> None:
    draft = draft_of(*chart, reach, first)
    draft.set_prices(*prices)
    tried = np.zeros(chart[0].shape, dtype=bool)
    before = energy_of(draft.cells, chart[1], prices, reach, first)
    for step in (
        lambda: merge(draft, tried, enough),
        lambda: draft.sweep(0),
        lambda: draft.sweep(1),
    ) * 3:
        cells = draft.cells.copy()
        rows = step()
        after = energy_of(draft.cells, chart[1], prices, reach, first)
        assert draft.energy == after <= before
        assert rows == np.count_nonzero((cells != draft.cells).any(axis=1))
        assert (after < before) == (rows > 0)
        before = after


@settings(max_examples=60)
@given(
    drafts(),
    st.integers(0, 4),
    st.integers(1, 4),
    st.integers(1, 5),
    st.tuples(st.integers(0, 9), st.integers(0, 30), st.integers(0, 5)),
)
def test_mended_rows_stay_whole_and_energy_never_rises_again(
    chart: tuple[NDArray[np.uint8], NDArray[np.int32]],
    reach: int,
    shortest: int,
    most: int,
    prices: tuple[int, int, int],
) -> None:
    shortest = min(shortest, chart[0].shape[1])
    draft = draft_of(*chart, reach, "right", shortest, most)
    draft.set_prices(*prices)
    draft.sweep(0)
    draft.sweep(1)
    energy = draft.energy
    for _ in range(3):
        for row in map(tuple, draft.cells.tolist()):
            assert min(runs_of(row)) >= shortest
            assert len(runs_of(row)) <= most
        merge(draft, np.zeros(chart[0].shape, dtype=bool))
        draft.sweep(0)
        draft.sweep(1)
        assert draft.energy <= energy
        energy = draft.energy


@settings(max_examples=60)
@given(
    drafts(),
    st.integers(0, 12),
    st.tuples(st.integers(0, 9), st.integers(0, 9), st.integers(0, 9)),
    st.data(),
)
def test_offered_rows_are_taken_just_when_the_energy_falls(
    chart: tuple[NDArray[np.uint8], NDArray[np.int32]],
    reach: int,
    prices: tuple[int, int, int],
    data: st.DataObject,
) -> None:
    cells, errors = chart
    draft = draft_of(cells, errors, reach)
    draft.set_prices(*prices)
    first = data.draw(st.integers(0, len(cells) - 1))
    last = data.draw(st.integers(first, len(cells) - 1))
    offered = cells.copy()
    offered[first : last + 1] = data.draw(
        arrays.arrays(np.uint8, offered[first : last + 1].shape, elements=st.integers(0, 2))
    )
    differ = (offered != cells).any(axis=1)[first : last + 1]
    before, after = (energy_of(c, errors, prices, reach, "right") for c in (cells, offered))
    rows = draft.offer(np.arange(first, last + 1), offered[first : last + 1])
    assert draft.energy == energy_of(draft.cells, errors, prices, reach, "right") <= before
    if differ.all():  # neighbouring rows are taken or left together
        assert rows == (len(differ) if after < before else 0)
        assert np.array_equal(draft.cells, offered if after < before else cells)


def test_nothing_changes_for_nothing() -> None:
    cells = np.random.default_rng(3).integers(0, 3, (20, 20)).astype(np.uint8)
    draft = draft_of(cells, alike(cells, 1), 5)
    merge(draft, np.zeros(cells.shape, dtype=bool))
    assert draft.sweep(0) + draft.sweep(1) == 0
    assert np.array_equal(draft.cells, cells)


# Blocks of colour


@settings(max_examples=50)
@given(drafts())
def test_blocks_are_those_of_scipy(
    chart: tuple[NDArray[np.uint8], NDArray[np.int32]],
) -> None:
    cells = chart[0]
    blocks = blocks_of(cells)
    expected = []
    for yarn in range(3):
        labels, count = scipy.ndimage.label(cells == yarn)  # 4-connected by default
        expected += np.bincount(labels.ravel(), minlength=count + 1)[1:].tolist()
    assert sorted(blocks.stitches.tolist()) == sorted(expected)
    assert blocks.stitches.sum() == cells.size


@settings(max_examples=50)
@given(drafts(), st.integers(0, 11), st.integers(0, 4))
def test_specks_vanish_and_runs_only_grow(
    chart: tuple[NDArray[np.uint8], NDArray[np.int32]], most: int, reach: int
) -> None:
    cells = chart[0]
    most = min(most, cells.shape[1] - 1)
    draft = draft_of(*chart, reach)
    absorb_specks(draft, most)
    assert blocks_of(draft.cells).stitches.min() > most
    for before, after in zip(
        map(tuple, cells.tolist()), map(tuple, draft.cells.tolist()), strict=True
    ):
        assert len(runs_of(after)) <= len(runs_of(before))
        assert min(runs_of(after)) >= min(runs_of(before))
    if most == 0:
        assert np.array_equal(draft.cells, cells)
    fresh = draft_of(draft.cells, chart[1], reach)
    assert (draft.energy, draft.supplies) == (fresh.energy, fresh.supplies)


@pytest.mark.parametrize("reach", [0, 7])
def test_a_block_several_rows_tall_is_absorbed_when_it_is_not_worth_its_supply(reach: int) -> None:
    cells = np.zeros((9, 20), dtype=np.uint8)
    cells[3:6, 8:12] = 1  # 12 stitches; without them the work takes two supplies fewer
    errors = alike(cells, 10)
    for price, left in ((59, 12), (61, 0)):
        draft = draft_of(cells, errors, reach)
        draft.set_prices(0, price)
        merge(draft, np.zeros(cells.shape, dtype=bool))
        assert np.count_nonzero(draft.cells) == left


def test_no_more_blocks_are_absorbed_than_it_takes() -> None:
    cells = np.zeros((9, 30), dtype=np.uint8)
    cells[3:5, 3:5] = cells[3:6, 10:12] = cells[3:7, 20:22] = 1
    draft = draft_of(cells, alike(cells, 1), 7)
    draft.set_prices(0, 100)
    assert draft.supplies == 7
    merge(draft, np.zeros(cells.shape, dtype=bool), enough=3)
    assert draft.supplies == 3
    assert not draft.cells[:, :12].any()  # the smaller ones went
    assert np.count_nonzero(draft.cells) == 8


def test_a_block_stays_where_absorbing_it_would_cut_another_supply() -> None:
    cells = np.zeros((3, 24), dtype=np.uint8)
    cells[:, 12:] = 1
    cells[1, 4:12] = 2  # given to its left, it would take the place of a supply that ends there
    cells[1, 18] = 3
    cells[:, :4] = 4
    cells[0, 4:12] = cells[2, 4:12] = 1
    errors = alike(cells, 9)
    errors[1, 4:12, 4] = 1
    draft = draft_of(cells, errors, 4)
    draft.set_prices(0, 10)
    merge(draft, np.zeros(cells.shape, dtype=bool))
    assert draft.cells[1].tolist() == [4] * 4 + [2] * 8 + [1] * 12

"""Which run each supply carries on to: the fewest supplies first, and then the least carry.

A supply's runs form a chain. Choosing, for every run, the run its supply knits next is a matching
between runs as predecessors and runs as successors: each link saves one supply and costs its carry.
The fewest supplies with the least carry are thus a matching with the most links and, among those,
the least cost (minimum path cover of a directed acyclic graph by bipartite matching, a textbook
result).
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from caller.errors import SettingError
from caller.pattern.chart import Indices
from caller.pattern.rows import RowScript
from caller.pattern.shaping import MOST_DECREASED, MOST_INCREASED, stitches_more

_Ways = tuple[Indices, Indices, Indices]  # predecessor, successor, carry: one entry a possible link

_GRAPH = np.int32  # the only indices that the graph routines of older scipys take
_BLOCK = 1_000_000  # ways looked at together, to bound the memory
_BATCH = 600  # ways given to the solver together: its time grows faster than they do
_FEW_WAYS = 2_000  # so many are chosen among sooner than the solver is loaded
_MOST_WAYS = 5_000_000  # with rows at rest the ways cannot be looked at block by block


def run_ends(script: RowScript) -> tuple[Indices, Indices]:
    """The columns at which each run begins and ends, in the direction it is knitted.

    The first run of a row begins with the stitches that are cast on for it: its end is taken up at
    the innermost of them, but not beyond the run itself.
    """
    table = script.runs
    right = going_right(script)
    begin = np.where(right, table.left, table.right)
    if script.chart.shaped:
        left_edge, right_edge = (
            np.concatenate((edges[:1], edges[:-1]))[table.row] for edges in script.chart.edges
        )
        innermost = np.where(
            right,
            np.minimum(left_edge - 1, table.right),
            np.maximum(right_edge + 1, table.left),
        )
        begin = np.where(cast_on(script) > 0, innermost, begin)
    return begin, np.where(right, table.right, table.left)


def going_right(script: RowScript) -> NDArray[np.bool_]:
    """Whether each run is knitted to the right."""
    return script.goes_right[script.runs.row]


def cast_on(script: RowScript) -> Indices:
    """The stitches that are cast on for each run: only for the first that is knitted in a row."""
    row, starts, right = script.runs.row, script.runs.starts, going_right(script)
    more = stitches_more(script.chart)
    count = np.where(right, more["left"][row], more["right"][row])
    first = np.arange(len(row)) == np.where(right, starts[row], starts[row + 1] - 1)
    return np.where(first & (count > MOST_INCREASED), count, 0)


def bound_off(script: RowScript) -> Indices:
    """The stitches that are bound off with each run's end before the next row: only with that of
    the last run that is knitted in a row."""
    row, starts, right = script.runs.row, script.runs.starts, going_right(script)
    more = stitches_more(script.chart)
    above = np.minimum(row + 1, script.rows - 1)
    count = -np.where(right, more["right"][above], more["left"][above])
    last = np.arange(len(row)) == np.where(right, starts[row + 1] - 1, starts[row])
    return np.where(last & (count > MOST_DECREASED) & (above > row), count, 0)


def next_runs(script: RowScript, max_carry: int, max_rest_rows: int) -> Indices:
    """For each run of `script.runs`, the run its supply knits next; -1 where it is cut.

    Raises SettingError when so many rows at rest leave too many ways to compare.
    """
    following = np.full(len(script.runs.row), -1, dtype=np.intp)
    for ways in _ways(script, max_carry, max_rest_rows):
        _match(script, ways, following, max_rest_rows)
    _uncross(script, following)
    return following


def _ways(script: RowScript, max_carry: int, max_rest_rows: int) -> Iterator[_Ways]:
    """Yield the links within reach, in blocks that share no run in the same role."""
    table, columns = script.runs, script.chart.stitches
    begin, hang = run_ends(script)
    rows_on = min(max_rest_rows + 1, script.rows)
    # Runs sorted by yarn, row and column; the spare rows keep one yarn's last rows from reaching
    # into the next yarn's first ones.
    group = table.yarn.astype(np.intp) * (script.rows + rows_on) + table.row
    order = np.argsort(group, kind="stable")
    place = (group * columns + begin)[order]

    def reached(gap: int) -> tuple[Indices, Indices, Indices]:
        there, at = (group + gap) * columns, script.hanging(hang, table.row, gap)
        first = np.searchsorted(place, there + np.maximum(at - max_carry, 0))
        last = there + np.minimum(at + max_carry, columns - 1)
        return first, np.searchsorted(place, last, side="right") - first, at

    def listed(first: Indices, count: Indices, run: Indices, at: Indices) -> _Ways:
        before = np.repeat(run, count)
        within = np.arange(len(before)) - np.repeat(np.cumsum(count) - count, count)
        after = order[np.repeat(first, count) + within]
        return before, after, np.abs(begin[after] - at[before])

    every = np.arange(len(group))
    if max_rest_rows == 0:
        first, count, at = reached(1)
        ways_below = np.concatenate(([0], np.cumsum(count)))[table.starts]
        _, rows = np.unique(ways_below[:-1] // _BLOCK, return_index=True)
        cuts = [*table.starts[rows].tolist(), len(group)]
        for here in map(slice, cuts, cuts[1:]):
            yield listed(first[here], count[here], every[here], at)
        return
    found: list[_Ways] = []
    total = 0
    for gap in range(1, rows_on + 1):
        first, count, at = reached(gap)
        total += int(count.sum())
        if total > _MOST_WAYS:
            raise SettingError(
                f"With up to {max_rest_rows} rows at rest this chart has too many ways to share "
                "out its supplies",
                "allow fewer rows at rest or a shorter carry.",
            )
        found.append(listed(first, count, every, at))
    before, after, carry = map(np.concatenate, zip(*found, strict=True))
    yield before, after, carry


def _match(script: RowScript, ways: _Ways, following: Indices, max_rest_rows: int) -> None:
    """Choose among these ways and write the chosen links into `following`."""
    before, after, carry = ways
    runs = len(following)
    only = (np.bincount(before, minlength=runs)[before] == 1) & (
        np.bincount(after, minlength=runs)[after] == 1
    )
    following[before[only]] = after[only]
    before, after, carry = before[~only], after[~only], carry[~only]
    if max_rest_rows == 0 and len(before) <= _FEW_WAYS:
        table = script.runs
        yarn_and_row = table.yarn[before].astype(np.intp) * script.rows + table.row[before]
        for here in sorted({*yarn_and_row.tolist()}):
            few = yarn_and_row == here
            _link_in_order(before[few], after[few], carry[few], following)
    elif len(before):
        _match_parts((before, after, carry), following)


def _link_in_order(before: Indices, after: Indices, carry: Indices, following: Indices) -> None:
    """The most links and then the least carry between the runs of one yarn in two rows.

    Among the best choices is one in which no link crosses another (see `_uncross`), so the runs of
    both rows are gone through once, left to right, as in aligning two texts (Needleman and Wunsch,
    Journal of Molecular Biology 48, 1970).
    """
    ways = dict(zip(zip(before.tolist(), after.tolist(), strict=True), carry.tolist(), strict=True))
    upper = sorted({*after.tolist()})
    # For the runs so far: links as a negative number, carry, and the links themselves.
    best: list[tuple[int, int, tuple[tuple[int, int], ...]]] = [(0, 0, ())] * (len(upper) + 1)
    for lower in sorted({*before.tolist()}):
        row = best[:1]
        for index, run in enumerate(upper):
            found = min(row[index], best[index + 1])
            if (lower, run) in ways:
                links, so_far, chain = best[index]
                linked = (links - 1, so_far + ways[lower, run], (*chain, (lower, run)))
                found = min(found, linked)
            row.append(found)
        best = row
    for lower, run in best[-1][2]:
        following[lower] = run


def _match_parts(ways: _Ways, following: Indices) -> None:
    """Choose among many ways with the solver, a batch of parts at a time."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    before, after, carry = ways
    runs = len(following)
    # Ways that touch no common run are chosen among separately.
    ones = np.ones(len(before), dtype=np.int8)
    ends = (before.astype(_GRAPH), (after + runs).astype(_GRAPH))
    touching = coo_array((ones, ends), shape=(2 * runs, 2 * runs))
    part = connected_components(touching, directed=False)[1][before]
    order = np.argsort(part, kind="stable")
    before, after, carry, part = before[order], after[order], carry[order], part[order]
    begins = np.flatnonzero(np.concatenate(([True], part[1:] != part[:-1])))
    _, batches = np.unique(begins // _BATCH, return_index=True)
    cuts = [*begins[batches].tolist(), len(part)]
    for here in map(slice, cuts, cuts[1:]):
        _solve(before[here], after[here], carry[here], following)


def _solve(before: Indices, after: Indices, carry: Indices, following: Indices) -> None:
    """The most links, and among those the least carry, by sparse linear assignment.

    Every predecessor also has a column of its own that means "cut". A cut costs more than all the
    carries together, so that no link is ever given up for a shorter carry. All costs are whole
    numbers below 2**53, which floats keep exactly.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import min_weight_full_bipartite_matching

    runs_before, row = np.unique(before, return_inverse=True)
    runs_after, column = np.unique(after, return_inverse=True)
    here, there = len(runs_before), len(runs_after)
    cut = np.arange(here)
    cost_of_cut = here * (int(carry.max()) + 1) + 1
    # One more for every entry changes no choice and keeps 0 free to mean "no way" in the matrix.
    cost = np.concatenate((carry + 1.0, np.full(here, cost_of_cut + 1.0)))
    rows = np.concatenate((row, cut)).astype(_GRAPH)
    columns = np.concatenate((column, there + cut)).astype(_GRAPH)
    matrix = coo_array((cost, (rows, columns)), shape=(here, there + here)).tocsr()
    chosen = min_weight_full_bipartite_matching(matrix)[1]
    linked = chosen < there
    following[runs_before[linked]] = runs_after[chosen[linked]]


def _uncross(script: RowScript, following: Indices) -> None:
    """Where supplies of one yarn go between the same two rows, let none pass over another.

    The solver may leave two links crossed when that costs the same. Sorting both sides keeps every
    link within reach and the total carry the same, and never lengthens the longest carry.
    """
    table, runs = script.runs, len(following)
    before = np.flatnonzero(following >= 0)
    after = following[before]
    between = (table.yarn[before] * np.intp(script.rows) + table.row[before]) * script.rows
    between = (between + table.row[after]) * runs
    following[before[np.argsort(between + before)]] = after[np.argsort(between + after)]

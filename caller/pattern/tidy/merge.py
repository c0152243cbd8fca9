"""Doing without whole blocks of colour: those that ask for more than they show, and specks.

Rows changed one at a time cannot take out a block that is several rows tall, for each row of it
alone saves nothing.
"""

import numpy as np

from caller.pattern.rows import RunTable
from caller.pattern.tidy.blocks import Absorbing, Blocks, absorbing, blocks_of, edges, paint
from caller.pattern.tidy.energy import Draft
from caller.pattern.tidy.links import Indices, Mask, Numbers, ends_near, links

_NARROW = (8, 32)  # stitches: blocks up to these widths are looked at together


def merge(draft: Draft, tried: Mask, enough: int = 0) -> int:
    """Absorb blocks, none beside another, where the energy falls; return how many rows change.

    `tried` (rows, stitches) marks the first stitches of blocks that were looked at; they are passed
    over. No more blocks are absorbed than it takes to come down to `enough` supplies.
    """
    blocks = blocks_of(draft.cells)
    way = absorbing(draft, blocks)
    price = draft.supply_price
    # Most blocks save the supplies that begin in them and the splitting of what is around them.
    supplies = blocks.sums(~_tied_below(draft, blocks.table)) + way.joins
    rise = way.cost - draft.run_price * way.saved - price * supplies
    at = blocks.table.row[blocks.first], blocks.table.left[blocks.first]
    stays = tried[at] | _stays(draft, blocks)
    chosen = _apart(blocks, np.where(stays, 0, rise))
    tried[at[0][chosen], at[1][chosen]] = True
    saved = way.saved[chosen] - _links_lost(draft, blocks, chosen, way)
    rise = (way.cost - draft.run_price * way.saved)[chosen] - price * saved
    # The supplies that cost least come first.
    each = np.where(saved > 0, way.cost[chosen] / np.maximum(saved, 1), np.inf)
    order = np.argsort(each, kind="stable")
    order = order[rise[order] < 0]
    so_far = draft.supplies - np.cumsum(saved[order]) + saved[order]
    cells = draft.cells.copy()
    blocks.give(cells, chosen[order[so_far > enough]], way.to)
    rows = np.flatnonzero((cells != draft.cells).any(axis=1))
    draft.unsettled[rows] = True
    return draft.offer(rows, cells[rows])


def absorb_specks(draft: Draft, most: int) -> None:
    """Absorb all blocks of up to `most` stitches, the smallest first, whatever it costs.

    `most` is less than the width, so that every one of them has something beside it. Blocks with
    a stitch that is kept stay.
    """
    absorbed = False
    while True:
        blocks = blocks_of(draft.cells)
        size = np.where(_stays(draft, blocks), draft.cells.size, blocks.stitches)
        chosen = _apart(blocks, np.minimum(size - most - 1, 0))
        if len(chosen) == 0:
            if absorbed:
                draft.measure()
            return
        absorbed = True
        blocks.give(draft.cells, chosen, absorbing(draft, blocks).to)


def _stays(draft: Draft, blocks: Blocks) -> Mask:
    """Which blocks have a stitch that is kept, or a run with nothing beside it, (blocks,)."""
    left, right = edges(draft, blocks.table)
    return blocks.sums(draft.holds_kept(blocks.table) | (left & right)) > 0


def _tied_below(draft: Draft, table: RunTable) -> Mask:
    """Whether the row below has an end that each run could carry on."""
    bits = np.zeros((draft.cells.shape[1], len(draft.cells)), dtype=np.uint32)
    bits[:, 1:] = ends_near(draft.cells[:-1], draft.goes_right[:-1], draft.reach)
    begins = np.where(draft.goes_right[table.row], table.left, table.right)
    tied: Mask = bits[begins, table.row] >> table.yarn.astype(np.uint32) & np.uint32(1) == 1
    return tied


def _apart(blocks: Blocks, rise: Numbers) -> Indices:
    """The blocks with a negative rise that lie beside none with a lower one, ascending."""
    rank = np.empty(blocks.count, dtype=np.intp)
    rank[np.lexsort((np.arange(blocks.count), rise))] = np.arange(blocks.count)
    beside = np.flatnonzero(np.diff(blocks.table.row) == 0)
    one, two = blocks.block[beside], blocks.block[beside + 1]
    lowest = np.full(blocks.count, blocks.count)
    np.minimum.at(lowest, one, rank[two])
    np.minimum.at(lowest, two, rank[one])
    return np.flatnonzero((rise < 0) & (rank < lowest))


def _links_lost(draft: Draft, blocks: Blocks, chosen: Indices, way: Absorbing) -> Numbers:
    """The links that absorbing each of the `chosen` alone would cost, (n,).

    Only the stitches near a block are looked at, which `Draft.offer` makes up for.
    """
    table, stitches = blocks.table, draft.cells.shape[1]
    margin = 2 * draft.reach + 2
    runs = np.flatnonzero(np.isin(blocks.block, chosen))
    owner = np.searchsorted(chosen, blocks.block[runs])
    runs, owner = (part[np.argsort(owner, kind="stable")] for part in (runs, owner))
    begins = np.searchsorted(owner, np.arange(len(chosen)))
    lost = np.zeros(len(chosen), dtype=np.int64)
    if len(chosen) == 0:
        return lost
    row, left, right = table.row[runs], table.left[runs], table.right[runs]
    bottom = np.maximum(np.minimum.reduceat(row, begins) - 1, 0)
    top = np.minimum(np.maximum.reduceat(row, begins) + 1, len(draft.cells) - 1)
    leftmost = np.minimum.reduceat(left, begins)
    width = np.maximum.reduceat(right, begins) - leftmost + 1
    kind = np.searchsorted(_NARROW, width)
    for one_kind in np.unique(kind).tolist():
        these = kind == one_kind
        view = min(int(width[these].max()) + 2 * margin, stitches)
        shift = np.clip(leftmost - margin, 0, stitches - view)
        height = np.where(these, top - bottom + 1, 0)
        base = np.cumsum(height) - height - bottom
        rows = np.arange(height.sum()) - np.repeat(base, height)
        each = np.repeat(np.arange(len(chosen)), height)
        before = draft.cells[rows[:, None], shift[each][:, None] + np.arange(view)]
        after = before.copy()
        mine = these[owner]
        block = owner[mine]
        paint(
            after,
            row[mine] + base[block],
            left[mine] - shift[block],
            right[mine] - shift[block],
            way.to[runs[mine]],
        )
        pair = np.flatnonzero(each[1:] == each[:-1])
        goes_right = draft.goes_right[rows[pair]]
        fewer = links(before[pair], before[pair + 1], goes_right, draft.reach)
        fewer -= links(after[pair], after[pair + 1], goes_right, draft.reach)
        lost += np.bincount(each[pair], fewer, len(chosen)).astype(np.int64)
    return lost

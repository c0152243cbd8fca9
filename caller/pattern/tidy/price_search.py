"""Finding the price at which a chart takes no more supplies than wanted."""

from collections.abc import Callable
from math import log

import numpy as np
from numpy.typing import NDArray

from caller.errors import ChartError
from caller.pattern.tidy.energy import Draft
from caller.pattern.tidy.links import Cells, Mask
from caller.pattern.tidy.merge import absorb_specks, merge
from caller.pattern.tidy.rows import MOST_COST, Costs

HIGHEST_PRICE = MOST_COST * 3 // 4  # the price of a run comes on top
# A run costs a quarter of a supply and an edge a fiftieth, the best of those tried on pictures.
_RUN_PRICE, _EDGE_PRICE = 4, 50
_MENDED_EDGE = 4  # while rows are mended an edge costs a quarter of a supply
_MOST_ROW = 2**20  # a whole row in its dearest yarn; its edges come on top

_NOTHING = 1e-6  # a colour error as good as none

_ROUNDS = 4  # at one price, where a better one is still looked for
_SETTLING = 50  # rounds at most where the price is final; they settle sooner
_WORTHWHILE = 1000  # a round that lowers the energy by less than a thousandth is the last
_GROWTH = 2.5  # of the price from one draft to the next
_SLOW = 0.03  # of the way to the supplies wanted; after a shorter step the price grows by _GROWTH²
_HALVINGS = 3  # of the gap between a price too low and one high enough


class Costing:
    """Colour errors as whole numbers: `total` as in `Draft`.

    `unit` is how many make an error of 1, and `typical` is the median cost of the cheapest change
    of a stitch. Every change costs at least 1, so that nothing changes for no reason.
    """

    def __init__(
        self,
        cells: Cells,
        errors: NDArray[np.float32],
        weight: NDArray[np.float32],
    ) -> None:
        """The `errors` (rows, stitches, yarns) of each stitch count `weight` times."""
        rows, stitches = cells.shape
        yarns = errors.shape[2]
        own = np.take_along_axis(errors, cells[..., None], axis=2)[..., 0]
        highest = max(float(((errors[..., yarn] - own) * weight).max()) for yarn in range(yarns))
        most = _MOST_ROW // stitches
        self.unit = most / highest if highest > _NOTHING else 1.0
        self.total: Costs = np.zeros((stitches + 1, yarns, rows), dtype=np.int32)
        cheapest = np.full(cells.shape, most, dtype=np.int32)
        for yarn in range(yarns):
            error = (errors[..., yarn] - own) * weight
            cost = np.rint(error * np.float32(self.unit)).clip(1, most)
            cost = np.where(cells == yarn, 0, cost).astype(np.int32)
            np.minimum(cheapest, cost, out=cheapest, where=cells != yarn)
            np.cumsum(cost.T, axis=0, out=self.total[1:, yarn])
        self.typical = max(1, int(np.median(cheapest)))

    def price(self, error: float) -> int:
        """A colour error as a price."""
        return int(min(error * self.unit, HIGHEST_PRICE))


def in_colour(draft: Draft) -> bool:
    """Whether more than one yarn is in work."""
    cells = draft.cells if draft.outside is None else draft.cells[draft.cells != draft.outside]
    return bool(cells.min() < cells.max())


def set_price(draft: Draft, supply: int, edge: int) -> None:
    """Price a supply and, in proportion, a run; an edge at this price or what sums can hold."""
    draft.set_prices(supply // _RUN_PRICE, supply, min(edge, _MOST_ROW // draft.cells.shape[1]))


def keep_bounds(draft: Draft, specks: int, typical: int) -> None:
    """Mend the broken rows, changing no others, and absorb all specks.

    A supply is worth a `typical` change of a stitch here, and an edge a quarter of it, so that the
    mended rows go well with each other: this takes a third fewer supplies for a twentieth more
    changes, and a line that is widened grows on one side.
    """
    if specks:
        absorb_specks(draft, specks)
    set_price(draft, typical, typical // _MENDED_EDGE)
    broken = draft.broken(np.arange(len(draft.cells)))
    for _ in range(_SETTLING):
        changed = 0
        for parity in (0, 1):
            draft.unsettled &= broken
            changed += draft.sweep(parity)
        if changed == 0:
            break
    if specks:
        absorb_specks(draft, specks)


def descend(draft: Draft, rounds: int, enough: int = 0) -> None:
    """Lower the energy until nothing changes, at most `rounds` times, or to `enough` supplies."""
    tried = np.zeros(draft.cells.shape, dtype=bool)
    for _ in range(rounds):
        before, energy = draft.cells.copy(), draft.energy
        if not any((merge(draft, tried, enough), draft.sweep(0), draft.sweep(1))):
            break
        if draft.supplies <= enough or (energy - draft.energy) * _WORTHWHILE < energy:
            break
        changed: Mask = (before != draft.cells).any(axis=1)
        near = changed.copy()
        near[1:] |= changed[:-1]
        near[:-1] |= changed[1:]
        tried[near] = False


def fewest_changes(
    start: Draft,
    costing: Costing,
    least_price: int,
    wanted: int | None,
    specks: int,
    supplies: Callable[[Draft], int],
    told: Callable[[float], None],
) -> tuple[Draft, int]:
    """The draft with the smallest colour error found that takes at most `wanted` supplies in all.

    The price rises step by step from `least_price`, each draft beginning with the one before, and
    is then closed in upon by bisection. Blocks of up to `specks` stitches are absorbed in any case.
    `supplies` counts those of a draft, and `told` hears the part done, 0 to 1. Returns the draft
    and its price. Raises ChartError with the fewest supplies reached when they are too many.
    """

    def priced(draft: Draft, price: int) -> Draft:
        new = draft.copy()
        set_price(new, price, price // _EDGE_PRICE)
        descend(new, _ROUNDS if wanted else _SETTLING, wanted or 0)
        if specks:
            absorb_specks(new, specks)
        return new

    low, low_price = start, least_price
    if least_price:
        low = priced(start, least_price)
    first = least = supplies(low)
    if wanted is None or first <= wanted:
        return low, low_price
    best: tuple[Draft, int] | None = None
    # A supply for a typical change of a stitch: little goes at first.
    price = max(int(low_price * _GROWTH), costing.typical)
    rising, halvings, part = True, -1, 0.0  # the first high price opens the gap
    while halvings < _HALVINGS:
        draft = priced(low, price)
        count, colourful = supplies(draft), in_colour(draft)
        if colourful:
            least = min(least, count)
        if colourful and count > wanted:
            low, low_price = draft, price
            if rising:
                before, part = part, log(first / count) / log(first / wanted)
                told(part / 2)
            if price == HIGHEST_PRICE:
                break
        else:
            rising, high_price = False, price
            if colourful and (best is None or draft.row_cost.sum() < best[0].row_cost.sum()):
                best = draft, price
        if rising:
            growth = _GROWTH if part - before > _SLOW else _GROWTH**2
            price = min(int(price * growth), HIGHEST_PRICE)
        else:
            halvings += 1
            told(0.5 + 0.5 * halvings / _HALVINGS)
            price = round((max(low_price, high_price // 8, 1) * high_price) ** 0.5)
    if best is None:
        raise ChartError(
            f"The chart cannot be tidied to {wanted} supplies in all; the fewest that were "
            f"reached are {least}.",
            f"Allow at least {least}, or make the chart with fewer colours.",
        )
    return best

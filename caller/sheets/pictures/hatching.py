"""Hatchings: neighbouring ends of one yarn differ, and each keeps just its yarn's colour."""

import numpy as np
from numpy.typing import NDArray

from caller.pattern.chart import NOT_IN_WORK
from caller.pattern.picture.colour import RGB
from caller.pattern.picture.palette import packed, unpacked
from caller.pattern.supplies.plan import SupplyPlan
from caller.sheets.pictures.contrast import ink_on
from caller.sheets.pictures.fabric import Grid, Pixels


def neighbours(plan: SupplyPlan) -> NDArray[np.intp]:
    """The pairs of supplies (from 1) of one yarn that meet, (n, 2), each once.

    They meet where they touch from row to row, and where only other yarns lie between them in a
    row.
    """
    table, grid = plan.script.runs, supply_grid(plan)
    yarn = plan.supplies.yarn
    touching = np.stack((grid[:-1].ravel(), grid[1:].ravel()), axis=1)
    order = np.lexsort((table.left, table.yarn, table.row))
    along = np.stack((order[:-1], order[1:]), axis=1)
    same_row = table.row[along[:, 0]] == table.row[along[:, 1]]
    pairs = np.sort(np.concatenate((touching, plan.supply[along[same_row]])), axis=1)
    differ = (pairs[:, 0] != pairs[:, 1]) & (pairs[:, 0] > 0)
    alike = yarn[pairs[:, 0] - 1] == yarn[pairs[:, 1] - 1]
    packed = np.unique(pairs[differ & alike] @ np.array([plan.total + 1, 1]))
    return np.stack((packed // (plan.total + 1), packed % (plan.total + 1)), axis=1)


def supply_grid(plan: SupplyPlan) -> NDArray[np.intp]:
    """The supply (from 1) that knits each stitch, shape (rows, stitches); 0 out of work."""
    table, chart = plan.script.runs, plan.script.chart
    grid = np.zeros(chart.cells.shape, dtype=np.intp)
    grid[chart.cells != NOT_IN_WORK] = np.repeat(plan.supply, table.stitches)
    return grid


HATCHINGS = 6
"""How many there are; the first is none at all."""
_THIN, _INKED = 0.2, 0.45  # of a stitch; of black or white, in the yarn's colour
_FROM = 4.0  # pixels of a stitch: in smaller ones no hatching is seen


def supply_hatchings(plan: SupplyPlan) -> NDArray[np.intp]:
    """The hatching of every supply, (supplies,), supply 1 first; 0 is none.

    In the order of joining each takes the first that none of its neighbours has (greedy
    colouring); where they have all of them, the one that the fewest have.
    """
    beside: list[list[int]] = [[] for _ in range(plan.total)]
    for first, second in (neighbours(plan) - 1).tolist():
        beside[second].append(first)  # the lower number joined first and has its hatching
    chosen: list[int] = []
    for others in beside:
        taken = [0] * HATCHINGS
        for other in others:
            taken[chosen[other]] += 1
        chosen.append(taken.index(min(taken)))
    return np.array(chosen, dtype=np.intp)


def hatched(pixels: Pixels, hatching: NDArray[np.intp], grid: Grid) -> Pixels:
    """Draw the hatching of every stitch, (rows, stitches) as seen, into the pixels; return them.

    The middle of a stitch stays as it is.
    """
    if grid.cell < _FROM:
        return pixels
    down, across = grid.places
    here = hatching.astype(np.uint8).take(grid.lines, axis=0).take(grid.columns, axis=1)
    for number in range(1, HATCHINGS):
        line, column = np.nonzero(here == number)
        drawn = lines(number, down[line, 0], across[0, column])
        line, column = line[drawn], column[drawn]
        pixels[line, column] = inked(pixels[line, column])
    return pixels


def lines(number: int, down: NDArray[np.float64], across: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Where a hatching has its lines; `down` and `across` are places in a stitch, 0 to 1."""
    falling = (across - down + 0.5) % 1 < _THIN
    rising = (across + down + 0.5) % 1 < _THIN
    level = (down < _THIN) & (across >= 0)
    upright = (across < _THIN) & (down >= 0)
    drawn: NDArray[np.bool_] = (rising, falling, rising | falling, level, upright)[number - 1]
    return drawn


def inked(colours: Pixels) -> Pixels:
    """Colours (n, 3) as a hatching's lines have them: nearer to the ink that is seen on them."""
    # As one number each, for which looking colours up takes a tenth of the time.
    numbers = packed(colours)
    found = np.unique(numbers)
    known = unpacked(found)
    inks = [ink_on(colour) for colour in _colours(known)]
    mixed = known * (1 - _INKED) + np.array(inks, dtype=float).reshape(-1, 3) * _INKED
    result: Pixels = mixed.round().astype(np.uint8)[np.searchsorted(found, numbers)]
    return result


def _colours(known: Pixels) -> list[RGB]:
    return [(red, green, blue) for red, green, blue in known.tolist()]

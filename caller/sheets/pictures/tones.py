"""Tones: one yarn's colour, lighter and darker, so that neighbouring supplies differ."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from caller.pattern.supplies.plan import SupplyPlan
from caller.sheets.pictures.contrast import luminance
from caller.sheets.pictures.fabric import Pixels

APART = 12.0
"""The least difference in lightness (CIELAB L*, 0 to 100) between two tones of a yarn."""
_DARKEST, _LIGHTEST = 10.0, 96.0


def lightness(colours: NDArray[np.uint8]) -> NDArray[np.float64]:
    """CIELAB L* of sRGB colours (..., 3): CIE 15, from the relative luminance."""
    bright = luminance(colours)
    curved: NDArray[np.float64] = np.where(
        bright > (6 / 29) ** 3, 116 * np.cbrt(bright) - 16, bright * (29 / 3) ** 3
    )
    return curved


def tones(colour: tuple[int, int, int]) -> Pixels:
    """The colour and its tones, (n, 3), n at least 6: mixed with white or black, nearest first."""
    own = np.array(colour, dtype=np.float64)
    share = np.linspace(0, 1, 256)[:, None]
    ways = np.concatenate((own * share, own + (255 - own) * share)).round().astype(np.uint8)
    found = lightness(ways)
    start = float(lightness(np.array(colour, dtype=np.uint8)))
    steps = np.arange(-8, 9) * (APART + 0.8)  # a little more: mixing meets a tone only nearly
    lean = 0.1 if start >= 50 else -0.1  # light yarns are darkened first, dark ones lightened
    wanted = start + steps[np.argsort(np.abs(steps + lean))]
    wanted = wanted[(wanted == start) | ((wanted >= _DARKEST) & (wanted <= _LIGHTEST))]
    nearest: Pixels = ways[np.abs(found[None] - wanted[:, None]).argmin(axis=1)]
    return nearest


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
    differ = pairs[:, 0] != pairs[:, 1]
    alike = yarn[pairs[:, 0] - 1] == yarn[pairs[:, 1] - 1]
    packed = np.unique(pairs[differ & alike] @ np.array([plan.total + 1, 1]))
    return np.stack((packed // (plan.total + 1), packed % (plan.total + 1)), axis=1)


def supply_grid(plan: SupplyPlan) -> NDArray[np.intp]:
    """The supply (from 1) that knits each stitch, shape (rows, stitches)."""
    table, chart = plan.script.runs, plan.script.chart
    return np.repeat(plan.supply, table.right - table.left + 1).reshape(chart.rows, chart.stitches)


def supply_colours(plan: SupplyPlan, yarns: Iterable[tuple[int, int, int]]) -> Pixels:
    """The colour of every supply, (supplies, 3), supply 1 first.

    In the order of joining each takes the tone nearest to its yarn that none of its neighbours has
    (greedy colouring); where they have all of them, the one that the fewest have.
    """
    ladders = [tones(colour) for colour in yarns]
    beside: list[list[int]] = [[] for _ in range(plan.total)]
    for first, second in (neighbours(plan) - 1).tolist():
        beside[second].append(first)  # the lower number joined first and has its tone
    yarn = plan.supplies.yarn.tolist()
    chosen: list[int] = []
    for supply, others in enumerate(beside):
        taken = [0] * len(ladders[yarn[supply]])
        for other in others:
            taken[chosen[other]] += 1
        chosen.append(taken.index(min(taken)))
    return np.array([ladders[y][tone] for y, tone in zip(yarn, chosen, strict=True)], np.uint8)

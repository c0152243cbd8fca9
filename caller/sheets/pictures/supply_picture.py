"""Which supply knits where, and where each one joins, is carried and is cut."""

from collections.abc import Iterator
from functools import partial
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from caller.pattern.pattern import Pattern
from caller.pattern.picture.colour import RGB
from caller.pattern.supplies.matching import going_right, run_ends
from caller.pattern.supplies.plan import SupplyPlan
from caller.sheets.pictures.contrast import ink_on
from caller.sheets.pictures.fabric import Grid, Pixels, bordered
from caller.sheets.pictures.hatching import hatched, supply_grid, supply_hatchings
from caller.sheets.pictures.legend import Entry
from caller.sheets.pictures.lettering import DIGIT, lettering
from caller.sheets.pictures.marks import (
    RIM,
    carry_mark,
    centre_mark,
    cut_mark,
    empty_entries,
    hatched_mark,
    join_mark,
    number_mark,
    yarn_entries,
)
from caller.sheets.pictures.page import INK, PAPER, Page, page_for, piece_grid, yarn_colours
from caller.sheets.pictures.painting import painted

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

SHORTEST_CARRY = 2
"""Needles. Going on at the very next needle, as slopes do, passes behind no stitch."""
_NUMBER_SIZES = (2.0, 1.4, 1.0, 0.75, 0.6)  # digits of a scale


def supply_picture(pattern: Pattern, plan: SupplyPlan) -> "Image":
    """Every supply's territory, seen from the purl side, with its marks and a legend.

    A territory has its yarn's colour, a line about it, its bobbin's number where it fits, and a
    hatching where it meets another of the same yarn.
    """
    from PIL import ImageDraw

    grid = piece_grid(pattern, "purl")
    colours = supply_colours(pattern, plan)
    page = supply_page(pattern, plan)
    picture = painted(page, territories(plan, colours, grid))
    draw = ImageDraw.Draw(picture)
    _draw_carries(draw, plan, page)
    _draw_marks(picture, plan, page)
    _draw_numbers(draw, plan, page, colours)
    return picture


def territories(plan: SupplyPlan, colours: Pixels, grid: Grid) -> Pixels:
    """The stitches of every supply filled with its colour, (height, width, 3), with borders and
    hatchings; where no needle is in work the paper shows."""
    seen = grid.seen(supply_grid(plan))
    colours = np.concatenate((np.array([PAPER], np.uint8), colours))
    hatchings = np.concatenate(([0], supply_hatchings(plan)))[seen]
    pixels = colours[seen[np.ix_(grid.lines, grid.columns)]]
    return bordered(hatched(pixels, hatchings, grid), seen, colours, grid)


def supply_colours(pattern: Pattern, plan: SupplyPlan) -> Pixels:
    """The colour of every supply, its yarn's, (supplies, 3)."""
    return yarn_colours(pattern)[plan.supplies.yarn]


def supply_page(pattern: Pattern, plan: SupplyPlan) -> Page:
    """The page on which the territories lie."""
    line = f"Ends, from the purl side: {plan.total} in all, at most {plan.at_once} in one row."
    waits = ", or waiting" if plan.rested.any() else ""
    entries = [
        *yarn_entries(pattern),
        *empty_entries(pattern),
        Entry(partial(hatched_mark, pattern.yarns[0].rgb), "Hatched: another end of the yarn"),
        Entry(partial(number_mark, pattern.yarns[0].rgb), "Number: which bobbin of its yarn"),
        Entry(join_mark, "Ring: a new end is hung"),
        Entry(cut_mark, "Cross: an end is cut"),
        Entry(carry_mark, f"Thin line: carried {SHORTEST_CARRY} needles or more{waits}"),
        Entry(centre_mark, "Centre of the bed"),
    ]
    return page_for(pattern, piece_grid(pattern, "purl"), [line], entries)


def _draw_carries(draw: "ImageDraw", plan: SupplyPlan, page: Page) -> None:
    """A line from the needle where a supply hangs to the needle where it goes on."""
    table, begin = plan.script.runs, run_ends(plan.script)[0]
    carried = np.flatnonzero((plan.carry >= SHORTEST_CARRY) | (plan.rested > 0))
    before = plan.previous[carried]
    starts = page.middles(table.row[before], plan.hung_at[carried])
    ends = page.middles(table.row[carried], begin[carried])
    lines = np.concatenate((starts, ends), axis=1).tolist()
    thin = max(1, round(min(page.digit / 12, page.grid.cell / 3)))
    for width, colour in ((thin + 2 * max(1, thin // 2), RIM), (thin, INK)):
        for line in lines:
            draw.line(line, colour, width)


def _draw_marks(picture: "Image", plan: SupplyPlan, page: Page) -> None:
    """Rings and crosses at the first needle of a supply's first run and the last of its last."""
    row = plan.script.runs.row
    begin, end = run_ends(plan.script)
    cell, digit = page.grid.cell, page.digit
    size = max(1, round(min(max(cell * 0.85, digit * 0.45), digit * 0.8, cell * 3)))
    single = plan.joins & plan.cuts & (begin == end)
    # Both marks of a single stitch stand side by side.
    aside = np.where(going_right(plan.script), 0.25, -0.25) * single
    for stamp, where, column in (
        (join_mark(size), plan.joins, begin - aside),
        (cut_mark(size), plan.cuts, end + aside),
    ):
        corners = page.middles(row[where], column[where]) - size / 2
        for x, y in corners.round().astype(int).tolist():
            picture.paste(stamp, (x, y), stamp)


def _draw_numbers(draw: "ImageDraw", plan: SupplyPlan, page: Page, colours: Pixels) -> None:
    for supply, size, (x, y) in number_places(plan, page):
        colour: RGB = tuple(colours[supply - 1].tolist())
        draw.text(
            (x, y + size / 2),
            str(plan.bobbins.bobbin[supply - 1]),
            ink_on(colour),
            lettering(size / DIGIT),
            anchor="ms",
            stroke_width=max(1, round(size / 8)),
            stroke_fill=colour,
        )


def number_places(plan: SupplyPlan, page: Page) -> Iterator[tuple[int, float, tuple[float, float]]]:
    """Yield supply, height of a digit and middle of each number that fits its territory.

    Each number is as large as fits, and as near as can be to the middle of its territory.
    """
    grid, supplies = page.grid, supply_grid(plan)
    wide, tall = grid.width / grid.stitches, grid.height / grid.rows
    unplaced = np.ones(plan.total + 1, dtype=bool)
    middle = _middles(supplies, plan.total)
    begin, end = run_ends(plan.script)
    for where, marked in ((plan.joins, begin), (plan.cuts, end)):
        supplies[plan.script.runs.row[where], marked[where]] = 0  # the marks stay free
    for part in _NUMBER_SIZES:
        size = page.digit * part
        for digits in range(1, len(str(plan.total)) + 1):
            text = lettering(size / DIGIT).getlength("0" * digits)
            window = (ceil((size * 1.4) / tall), ceil((text + size * 0.4) / wide))
            for supply, row, column in _fitting(supplies, window, digits, unplaced, middle):
                unplaced[supply] = False
                x, y = page.middles(np.array([row - 0.5]), np.array([column - 0.5]))[0].tolist()
                yield supply, size, (x, y)


def _middles(supplies: NDArray[np.intp], total: int) -> NDArray[np.float64]:
    """The mean place of each supply's stitches, (supplies + 1, 2): row and column borders."""
    count = np.maximum(np.bincount(supplies.ravel(), minlength=total + 1), 1)
    places = np.indices(supplies.shape) + 0.5
    sums = [np.bincount(supplies.ravel(), place.ravel(), total + 1) for place in places]
    return np.stack(sums, axis=1) / count[:, None]


def _fitting(
    supplies: NDArray[np.intp],
    window: tuple[int, int],
    digits: int,
    wanted: NDArray[np.bool_],
    middle: NDArray[np.float64],
) -> Iterator[tuple[int, float, float]]:
    """Yield wanted supplies of so many digits that fill a window, and the middle of the best."""
    from scipy.ndimage import maximum_filter, minimum_filter

    rows, columns = supplies.shape[0] - window[0] + 1, supplies.shape[1] - window[1] + 1
    if rows < 1 or columns < 1:
        return
    here = slice(window[0] // 2, window[0] // 2 + rows)
    there = slice(window[1] // 2, window[1] // 2 + columns)
    least = minimum_filter(supplies, window)[here, there]
    whole = least == maximum_filter(supplies, window)[here, there]
    whole &= wanted[least] & (least >= 10 ** (digits - 1)) & (least < 10**digits)
    row, column = np.nonzero(whole)
    supply = least[row, column]
    place = np.stack((row, column), axis=1) + np.array(window) / 2
    far = ((place - middle[supply]) ** 2).sum(axis=1)
    order = np.lexsort((far, supply))
    found, first = np.unique(supply[order], return_index=True)
    best = place[order][first]
    yield from zip(found.tolist(), best[:, 0].tolist(), best[:, 1].tolist(), strict=True)

"""Outlines: the edges of a shaped piece, from measurements or from a picture.

A slope is spread evenly over its rows: d changes over n rows come every n // d or n // d + 1 rows,
and n % d times after the longer wait. That is the craft's rule ("the magic formula") and the
division that draws straight lines on a screen (J. E. Bresenham, IBM Systems Journal 4, 1965, from
memory).
"""

import re
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from caller.errors import ChartError, SettingError
from caller.pattern.bed import Direction, Side
from caller.pattern.chart import NOT_IN_WORK, Chart, Indices, trimmed
from caller.pattern.gauge import CM_PER_INCH, Gauge
from caller.pattern.shaping import MOST_DECREASED, MOST_INCREASED

_POINT = re.compile(r"\s*([\d.]+)\s*(cm|in)?\s*@\s*([\d.]+)\s*(cm|in)?\s*", re.IGNORECASE)
_SIDES: tuple[Side, ...] = ("left", "right")


@dataclass(frozen=True)
class Point:
    """The piece is `stitches` wide when `rows` have been knitted."""

    stitches: int
    rows: int


@dataclass(frozen=True)
class Outline:
    """The widths of a piece from the bottom up; with a `side` only that edge is shaped."""

    points: tuple[Point, ...]
    side: Side | None = None


def parse_outline(text: str, gauge: Gauge | None) -> tuple[Point, ...]:
    """Read "50cm@0cm, 50cm@38cm, 36cm@54cm": widths at heights, from the bottom up.

    Without a unit they are stitches and rows; lengths need a gauge. Raises SettingError.
    """
    found = []
    for part in text.split(","):
        point = _POINT.fullmatch(part)
        if point is None or any(
            value.count(".") > 1 or value == "." for value in point.group(1, 3)
        ):
            raise SettingError(
                f"{part.strip()!r} is no width at a height",
                "write the outline from the bottom up, like 50cm@0cm, 50cm@38cm, 36cm@54cm.",
            )
        width, across, height, up = point.groups()
        stitches = _count(float(width), across, gauge, "stitches")
        found.append(Point(max(1, stitches), _count(float(height), up, gauge, "rows")))
    if len(found) < 2 or found[0].rows != 0:
        raise SettingError(
            "An outline begins at height 0 and has a second height or more",
            "write it like 50cm@0cm, 50cm@38cm, 36cm@54cm.",
        )
    if found[1].rows == 0:
        raise SettingError(
            "Two widths are given at height 0", "give the one that the piece is cast on with."
        )
    if any(upper.rows < lower.rows for lower, upper in pairwise(found)):
        raise SettingError("The heights of an outline go upward", "put them in order.")
    return tuple(found)


def _count(length: float, unit: str | None, gauge: Gauge | None, what: str) -> int:
    if unit is None:
        return round(length)
    if gauge is None:
        raise SettingError(
            "Without a gauge a length cannot be turned into stitches and rows",
            "measure a swatch with row-caller swatch, or give stitches and rows, like 120@0.",
        )
    cm = length * (CM_PER_INCH if unit.casefold() == "in" else 1.0)
    return round(cm * (gauge.stitches_per_cm if what == "stitches" else gauge.rows_per_cm))


def even_spread(changes: int, rows: int) -> list[int]:
    """After how many rows each change comes, spread evenly over so many rows."""
    return [nth * rows // changes for nth in range(1, changes + 1)]


def cut_out(
    chart: Chart, points: tuple[Point, ...], first_direction: Direction, side: Side | None = None
) -> tuple[Chart, int]:
    """The chart within the outline, centred on it, up to the outline's last height; and how many
    of the chart's columns on the left are not in it.

    Widths are rounded so that both sides are alike; with a `side` only that one is shaped. Raises
    SettingError when the outline is larger than the chart, ChartError when it leaves no piece.
    """
    rows, widest = points[-1].rows, max(point.stitches for point in points)
    if rows > chart.rows or widest > chart.stitches:
        raise SettingError(
            f"The outline is {widest} stitches wide and {rows} rows tall, and the chart has "
            f"{chart.stitches} stitches and {chart.rows} rows",
            "make it smaller, or the chart larger.",
        )
    sides = _SIDES if side is None else (side,)
    taken = {
        each: _taken_off(chart.stitches, points, len(sides), each, first_direction)
        for each in sides
    }
    nothing = np.zeros(rows, dtype=np.intp)
    left, right = taken.get("left", nothing), taken.get("right", nothing)
    columns = np.arange(chart.stitches)
    inside = (columns >= left[:, None]) & (columns < chart.stitches - right[:, None])
    if not inside.any(axis=1).all():
        raise ChartError("The outline leaves rows without a stitch", "make it wider there.")
    cells = np.where(inside, chart.cells[:rows], np.uint8(NOT_IN_WORK))
    found = knittable(Chart(cells), first_direction)
    return found, int(np.flatnonzero((cells != NOT_IN_WORK).any(axis=0))[0])


def _taken_off(
    stitches: int, points: tuple[Point, ...], sides: int, side: Side, first_direction: Direction
) -> Indices:
    """The stitches out of work on one side in each row, row 1 first."""
    off = [round((stitches - point.stitches) / sides) for point in points]
    changes = np.zeros(points[-1].rows + 1, dtype=np.intp)  # before each row, counted from 0
    changes[0] = off[0]
    for number, (lower, upper) in enumerate(pairwise(points)):
        rows, more = upper.rows - lower.rows, off[number + 1] - off[number]
        if more == 0:
            continue
        sign, count, begin = (1 if more > 0 else -1), abs(more), lower.rows
        most = MOST_DECREASED if more > 0 else MOST_INCREASED
        last = points[-1].rows - 1  # what would come after the last row comes before it
        if rows == 0 or count > rows:  # all at once, or in steps where the carriage stands
            ways = [
                row
                for row in range(max(begin, 1), begin + max(rows, 2 if count > most else 1))
                if count <= most or _stands(side, row, first_direction)
            ] or [begin]
            for row, each in zip(ways, _parts(count, len(ways)), strict=True):
                changes[min(row, last)] += sign * each
            continue
        if upper.rows == points[-1].rows:
            rows = max(rows - 1, 1)
        # After a step both sides begin when both have taken it, the second before the second row.
        soonest = 2 if number and points[number - 1].rows == begin else 1
        for wait in even_spread(count, rows):
            changes[min(begin + max(wait, soonest), last)] += sign
    return np.cumsum(changes)[:-1]


def _parts(count: int, parts: int) -> list[int]:
    """As many nearly equal parts, larger ones first."""
    least, more = divmod(count, parts)
    return [least + (part < more) for part in range(parts)]


def _stands(side: Side, row: int, first_direction: Direction) -> bool:
    """Whether the carriage stands on this side before a row, counted from 0."""
    goes_right = (row % 2 == 0) == (first_direction == "right")
    return (side == "left") == goes_right


def knittable(chart: Chart, first_direction: Direction) -> Chart:
    """The chart with an outline that can be knitted: several stitches come into work and leave it
    only where the carriage stands.

    An edge that would change elsewhere changes a row later. Stitches that this brings into work are
    in the yarn of their nearest neighbour in the row.
    """
    if not chart.shaped:
        return chart
    edges: list[Indices] = []
    for side, wanted in zip(_SIDES, chart.edges, strict=True):
        outward = 1 if side == "right" else -1
        kept = [int(wanted[0])]
        for row, edge in enumerate(wanted[1:].tolist(), start=1):
            more = (edge - kept[-1]) * outward
            easy = -MOST_DECREASED <= more <= MOST_INCREASED
            here = easy or _stands(side, row, first_direction)
            kept.append(edge if here else kept[-1])
        edges.append(np.array(kept))
    left, right = (edge[:, None] for edge in edges)
    columns = np.arange(chart.stitches)
    first, last = (edge[:, None] for edge in chart.edges)
    nearest = np.take_along_axis(chart.cells, np.clip(columns, first, last), axis=1)
    inside = (columns >= left) & (columns <= right)
    return Chart(trimmed(np.where(inside, nearest, np.uint8(NOT_IN_WORK))))

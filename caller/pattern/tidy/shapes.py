"""What becomes of shapes: letters that run together, openings that close, rings that break.

A shape is what hangs together of one yarn, corners included. A letter may lose its reading by a
stitch that fills the gap to the next one, which no count of stitches or of thin lines notices.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from caller.pattern.chart import box
from caller.pattern.tidy.lines import SPECK, WHOLE_LINE
from caller.pattern.tidy.links import Cells, Indices, Mask

Kind = Literal["run together", "close", "break open", "fall apart"]
_CORNERS = np.ones((3, 3), dtype=int)


@dataclass(frozen=True)
class ShapeChange:
    """What happened to shapes of the yarn of this number, in `rows` and `columns` from 0, both
    inclusive: shapes "run together", openings in one "close" or "break open", one may "fall apart".
    """

    kind: Kind
    yarn: int
    rows: tuple[int, int]
    columns: tuple[int, int]


def shape_changes(before: Cells, after: Cells, outside: Mask) -> Iterator[ShapeChange]:
    """Every such change, by yarn. `outside` marks the needles out of work.

    What has two stitches or fewer is a speck and no opening, and what has fewer than five no shape.
    """
    for yarn in np.unique(before[~outside]).tolist():
        old, new = before == yarn, after == yarn
        if np.array_equal(old, new):
            continue
        shapes = _labelled(old, corners=True, least=WHOLE_LINE)
        for kind, places in (
            ("run together", _together(shapes, old, new)),
            *_openings(old, new, outside),
            ("fall apart", _apart(shapes, new)),
        ):
            for rows, columns in places:
                yield ShapeChange(
                    kind,
                    yarn,
                    (rows.start, rows.stop - 1),
                    (columns.start, columns.stop - 1),
                )


_Place = tuple[slice, ...]


def _together(shapes: Indices, old: Mask, new: Mask) -> list[_Place]:
    """Where added stitches touch two shapes that stay."""
    from scipy.ndimage import find_objects, maximum, maximum_filter, minimum, minimum_filter

    added = _labelled(new & ~old, corners=True)
    count = int(added.max())
    if not count:
        return []
    stays = np.where(new, shapes, 0)
    none = int(shapes.max()) + 1
    highest = maximum_filter(stays, 3)
    lowest = minimum_filter(np.where(stays > 0, stays, none), 3)
    each = np.arange(1, count + 1)
    joins = np.asarray(maximum(highest, added, each)) > np.asarray(minimum(lowest, added, each))
    places = find_objects(added)
    return [places[index] for index in np.flatnonzero(joins)]


def _openings(old: Mask, new: Mask, outside: Mask) -> Iterator[tuple[Kind, list[_Place]]]:
    from scipy.ndimage import binary_dilation, find_objects

    ground = _labelled(~old, corners=False)
    now = _labelled(~new, corners=False)
    within = _enclosed(ground, outside)
    within &= np.bincount(ground.ravel()) > SPECK
    still = _enclosed(now, outside)
    left = np.zeros(len(within), dtype=bool)
    left[ground[~new]] = True
    places = find_objects(ground)
    closed = np.flatnonzero(within & ~left)
    yield "close", [places[number - 1] for number in closed]
    open_now = np.zeros(len(within), dtype=bool)
    open_now[ground[(now > 0) & ~still[now]]] = True
    broken = []
    for number in np.flatnonzero(within & left & open_now):
        gone = binary_dilation(ground == number, _CORNERS) & old & ~new
        broken.append(box(gone) if gone.any() else places[number - 1])
    yield "break open", broken


def _apart(shapes: Indices, new: Mask) -> list[_Place]:
    """Shapes of which two parts that are shapes themselves no longer hang together.

    What reaches the edge is a ground, which falls apart wherever something on it runs together.
    """
    shapes = np.where(_inside(shapes)[shapes], shapes, 0)
    parts = _labelled(new, corners=True)
    kept = (shapes > 0) & (parts > 0)
    if not kept.any():
        return []
    pairs, sizes = np.unique(np.stack((shapes[kept], parts[kept])), axis=1, return_counts=True)
    numbers = np.bincount(pairs[0][sizes >= WHOLE_LINE])
    return [box((shapes == number) & ~new) for number in np.flatnonzero(numbers > 1)]


def _labelled(mask: Mask, corners: bool, least: int = 1) -> Indices:
    """What hangs together, numbered from 1; 0 for the rest and for what is smaller than `least`."""
    from scipy.ndimage import label

    numbers: Indices = label(mask, _CORNERS if corners else None)[0].astype(np.intp)
    if least > 1:
        numbers = np.where(np.bincount(numbers.ravel())[numbers] >= least, numbers, 0)
    return numbers


def _enclosed(ground: Indices, outside: Mask) -> Mask:
    """Which numbers reach neither the edge of the chart nor a needle out of work."""
    found = _inside(ground)
    found[ground[outside]] = False
    return found


def _inside(numbers: Indices) -> Mask:
    """Which numbers do not reach the edge of the chart."""
    found = np.ones(int(numbers.max()) + 1, dtype=bool)
    for edge in (numbers[0], numbers[-1], numbers[:, 0], numbers[:, -1]):
        found[edge] = False
    found[0] = False
    return found

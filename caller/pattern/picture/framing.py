"""What is done to a picture before it becomes a chart, and to a chart around its picture."""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from caller.errors import ChartError, PictureError, SettingError
from caller.pattern.chart import NOT_IN_WORK, Chart, box
from caller.pattern.picture.charting import MOST_ROWS, MOST_STITCHES
from caller.pattern.picture.picture import Picture

_Kind = TypeVar("_Kind", np.uint8, np.bool_)


@dataclass(frozen=True)
class Crop:
    """The part of a picture to keep: pixels from its left and top edge, then width and height."""

    left: int
    top: int
    width: int
    height: int


@dataclass(frozen=True)
class Framing:
    """Cut, turn and flip a picture, in this order.

    `quarter_turns` go clockwise; `flip` swaps left and right.
    """

    crop: Crop | None = None
    quarter_turns: int = 0
    flip: bool = False


def framed(picture: Picture, framing: Framing) -> Picture:
    """The picture as the framing wants it, without what is transparent at its edges.

    Raises PictureError when the crop lies outside the picture.
    """
    rgb, out = picture.rgb, picture.out
    if framing.crop is not None:
        crop = framing.crop
        height, width = rgb.shape[:2]
        right, bottom = crop.left + crop.width, crop.top + crop.height
        if not (0 <= crop.left < right <= width and 0 <= crop.top < bottom <= height):
            raise PictureError(
                f"The crop of {crop.width} x {crop.height} pixels at {crop.left}, {crop.top} does "
                f"not lie in the picture, which has {width} x {height} pixels.",
                "Choose a crop that does.",
            )
        rgb = rgb[crop.top : bottom, crop.left : right]
        out = None if out is None else out[crop.top : bottom, crop.left : right]
    if out is not None and not out.all():
        here = box(~out)
        rgb, out = rgb[here], out[here]
    return Picture(_turned(rgb, framing), None if out is None else _turned(out, framing))


def _turned(pixels: NDArray[_Kind], framing: Framing) -> NDArray[_Kind]:
    turned = np.rot90(pixels, -framing.quarter_turns)
    return np.ascontiguousarray(turned[:, ::-1] if framing.flip else turned)


def mirrored(chart: Chart) -> Chart:
    """The chart with left and right swapped.

    The purl side faces the knitter (seen in the trade's books), so a picture that is to be looked
    at from the knit side is knitted mirrored.
    """
    return Chart(chart.cells[:, ::-1])


def with_margins(chart: Chart, yarn: int, sides: int = 0, below: int = 0, above: int = 0) -> Chart:
    """Plain knitting around the chart in one of its yarns, given by number.

    `sides` stitches at the left and again at the right, `below` rows before the first row and
    `above` rows after the last; beside the stitches of a shaped chart, and as wide as its first and
    last row. Raises SettingError when one of them is negative, ChartError when the whole gets too
    large.
    """
    if min(sides, below, above) < 0:
        raise SettingError(
            "A border or a number of plain rows cannot be less than 0.", "Give 0 or more."
        )
    stitches, rows = chart.stitches + 2 * sides, chart.rows + below + above
    if stitches > MOST_STITCHES or rows > MOST_ROWS:
        raise ChartError(
            f"With its border and plain rows the chart would have {stitches} stitches and {rows} "
            "rows",
            f"at most {MOST_STITCHES} stitches and {MOST_ROWS} rows can be knitted.",
        )
    if not chart.shaped:
        edges = ((below, above), (sides, sides))
        return Chart(np.pad(chart.cells, edges, constant_values=yarn))
    cells = np.pad(chart.cells, ((0, 0), (sides, sides)), constant_values=NOT_IN_WORK)
    left, right = (edge[:, None] for edge in chart.edges)
    columns = np.arange(cells.shape[1])
    beside = (columns >= left) & (columns <= right + 2 * sides)
    cells = np.where(beside & (cells == NOT_IN_WORK), yarn, cells).astype(np.uint8)
    plain = np.where(cells == NOT_IN_WORK, NOT_IN_WORK, yarn).astype(np.uint8)
    return Chart(np.vstack((plain[:1].repeat(below, 0), cells, plain[-1:].repeat(above, 0))))

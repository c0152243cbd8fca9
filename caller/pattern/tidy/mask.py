"""A mask picture: black where a chart is to stay as it is."""

from pathlib import Path

import numpy as np

from caller.errors import PictureError
from caller.pattern.chart import Chart
from caller.pattern.picture.picture import WHITE, read_picture
from caller.pattern.tidy.links import Mask
from caller.pattern.yarns import colour_text

_BLACK = (0, 0, 0)


def read_mask(path: Path, chart: Chart) -> Mask:
    """Which stitches the picture marks in black, (rows, stitches); one pixel a stitch.

    It lies as the chart picture does, the last row first. Raises PictureError for another size,
    for a colour beside black and white, and where nothing is black.
    """
    pixels = read_picture(path, WHITE).rgb[::-1]
    if pixels.shape[:2] != chart.cells.shape:
        raise PictureError(
            f"The mask {path.name} is {pixels.shape[1]} by {pixels.shape[0]} pixels and the chart "
            f"has {chart.stitches} stitches by {chart.rows} rows",
            "make it as large as the chart picture, one pixel a stitch.",
        )
    black: Mask = (pixels == _BLACK).all(axis=2)
    other = ~black & ~(pixels == WHITE).all(axis=2)
    if other.any():
        row, stitch = np.argwhere(other)[0]
        red, green, blue = pixels[row, stitch].tolist()
        raise PictureError(
            f"The mask {path.name} has the colour {colour_text(red, green, blue)} in row "
            f"{row + 1}, stitch {stitch + 1} from the left",
            "paint black what is to stay as it is, and all else white, without soft edges.",
        )
    if not black.any():
        raise PictureError(
            f"The mask {path.name} has no black pixel, so it keeps nothing",
            "paint black what is to stay as it is.",
        )
    return black

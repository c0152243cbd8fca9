"""The chart picture: an indexed PNG, one pixel a stitch, in and out.

A pixel's colour says its yarn, so that the picture can be edited in any paint program.
"""

import io
from pathlib import Path

import numpy as np

from caller.errors import PatternFileError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.picture.palette import packed
from caller.pattern.picture.picture import read_picture
from caller.pattern.yarns import Yarn


def read_chart(path: Path, yarns: tuple[Yarn, ...]) -> Chart:
    """The chart picture as yarn numbers, each pixel matched to the yarn of just its colour."""
    by_colour: dict[int, int] = {}
    for number, yarn in enumerate(yarns):
        if (colour := packed(np.array(yarn.rgb))) in by_colour:
            twin = yarns[by_colour[int(colour)]]
            raise PatternFileError(
                f"The yarns {twin.name!r} and {yarn.name!r} have the same colour {yarn.colour}, "
                "so the chart cannot tell them apart",
                "give one of them another colour in both.",
            )
        by_colour[int(colour)] = number
    pixels = packed(read_picture(path).rgb[::-1])
    colours, numbers = np.unique(pixels, return_inverse=True)
    numbers = numbers.reshape(pixels.shape)
    for index, colour in enumerate(colours.tolist()):
        if colour not in by_colour:
            row, stitch = np.argwhere(numbers == index)[0]
            raise PatternFileError(
                f"The chart {path.name} has the colour #{colour:06x} in row {row + 1}, stitch "
                f"{stitch + 1} from the left, and no yarn has it",
                "the yarns are " + ", ".join(f"{yarn.name} {yarn.colour}" for yarn in yarns) + ".",
            )
    for number, yarn in enumerate(yarns):
        if not np.isin(int(packed(np.array(yarn.rgb))), colours):
            raise PatternFileError(
                f"No stitch of the chart {path.name} has the colour {yarn.colour} of yarn "
                f"{number + 1}, {yarn.name!r}",
                "remove the yarn or correct its colour.",
            )
    lookup = np.array([by_colour[colour] for colour in colours.tolist()], dtype=np.uint8)
    return Chart(lookup[numbers])


def chart_png(pattern: Pattern) -> bytes:
    """The chart as an indexed PNG, one pixel a stitch; palette entry i is yarn i."""
    from PIL import Image

    picture = Image.fromarray(np.ascontiguousarray(pattern.chart.cells[::-1]), mode="P")
    picture.putpalette([part for yarn in pattern.yarns for part in yarn.rgb])
    encoded = io.BytesIO()
    picture.save(encoded, "PNG")
    return encoded.getvalue()

"""The chart picture: an indexed PNG, one pixel a stitch, in and out.

A pixel's colour says its yarn, so that the picture can be edited in any paint program. A
transparent pixel is a needle out of work.
"""

import io
from pathlib import Path

import numpy as np

from caller.errors import PatternFileError
from caller.pattern.chart import NOT_IN_WORK, Chart, trimmed
from caller.pattern.pattern import Pattern
from caller.pattern.picture.charting import check_chart_picture
from caller.pattern.picture.palette import packed
from caller.pattern.picture.picture import WHITE, read_picture
from caller.pattern.yarns import Yarn


def read_chart(path: Path, yarns: tuple[Yarn, ...], shaped: bool = True) -> Chart:
    """The chart picture as yarn numbers, each pixel matched to the yarn of just its colour.

    Transparent pixels are out of work where the chart may be `shaped`, and white where not. Rows
    and columns at its edges that are transparent throughout are left out. Raises PatternFileError
    where the colours of yarns and pixels do not agree, and PictureError or ChartError for a picture
    that cannot be read or knitted.
    """
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
    picture = read_picture(path, None if shaped else WHITE, check_chart_picture)
    pixels = packed(picture.rgb[::-1])
    in_work = np.ones(pixels.shape, dtype=bool) if picture.out is None else ~picture.out[::-1]
    colours, found = np.unique(pixels[in_work], return_inverse=True)
    numbers = np.full(pixels.shape, -1)
    numbers[in_work] = found
    for index, colour in enumerate(colours.tolist()):
        if colour not in by_colour:
            if not shaped and read_picture(path).out is not None:
                raise PatternFileError(
                    f"The chart {path.name} has transparent pixels",
                    "write version = 2 in the pattern file for them to be needles out of work, or "
                    "fill them with a yarn's colour.",
                )
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
    if in_work.all():
        return Chart(lookup[numbers])
    if not len(colours):
        raise PatternFileError(
            f"All of the chart {path.name} is transparent", "there is nothing to knit."
        )
    return Chart(trimmed(np.where(in_work, lookup[numbers], np.uint8(NOT_IN_WORK))))


def chart_png(pattern: Pattern) -> bytes:
    """The chart as an indexed PNG, one pixel a stitch; palette entry i is yarn i.

    The entry after the last yarn's is transparent: needles out of work.
    """
    from PIL import Image

    cells, yarns = pattern.chart.cells[::-1], pattern.yarns
    palette = [part for yarn in yarns for part in yarn.rgb]
    encoded = io.BytesIO()
    if pattern.chart.shaped:
        cells = np.where(cells == NOT_IN_WORK, np.uint8(len(yarns)), cells)
        palette += WHITE
    picture = Image.fromarray(np.ascontiguousarray(cells), mode="P")
    picture.putpalette(palette)
    if pattern.chart.shaped:
        picture.save(encoded, "PNG", transparency=len(yarns))
    else:
        picture.save(encoded, "PNG")
    return encoded.getvalue()

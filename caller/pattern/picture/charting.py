"""Charts from pictures: as they are, with few colours chosen, or in the knitter's own yarns."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from caller.checks import whole
from caller.errors import ChartError, SettingError, YarnError
from caller.pattern.chart import MOST_YARNS, NOT_IN_WORK, Chart, trimmed
from caller.pattern.picture.colour_names import colour_names
from caller.pattern.picture.palette import Labelled, chosen_colours, labelled, packed, unpacked
from caller.pattern.picture.picture import Picture
from caller.pattern.picture.voting import sampled, voted
from caller.pattern.yarns import Yarn, colour_text

MOST_STITCHES = 2000
MOST_ROWS = 20_000
MOST_IN_ALL = 2_000_000
"""Stitches of a whole chart: ten thousand rows on all needles of a standard bed."""
_AT_ONCE = 1 << 16  # pixels


def exact_chart(picture: Picture) -> tuple[Chart, tuple[Yarn, ...]]:
    """Take a picture as one pixel a stitch; its bottom line is row 1.

    Every colour is a yarn, the one with the most stitches first; transparent pixels are needles out
    of work. Raises ChartError when there is only one colour or more than can be called.
    """
    out = picture.out
    present = np.zeros(1 << 24, dtype=bool)  # counts even a photograph's colours at once
    pixels = picture.rgb.reshape(-1, 3) if out is None else picture.rgb[~out]
    for start in range(0, len(pixels), _AT_ONCE):
        present[packed(pixels[start : start + _AT_ONCE])] = True
    count = int(np.count_nonzero(present))
    if count > MOST_YARNS:
        raise ChartError(
            f"The picture has {count} colours and at most {MOST_YARNS} can be called, one a yarn.",
            "Make a chart with fewer colours: row-caller chart PICTURE --colours 6.",
        )
    known = np.flatnonzero(present)
    cells = np.searchsorted(known, packed(picture.rgb[::-1]))
    return _numbered(cells, unpacked(known), None if out is None else out[::-1])


def make_chart(
    picture: Picture, stitches: int, rows: int, colours: int
) -> tuple[Chart, tuple[Yarn, ...]]:
    """Make a chart `stitches` wide and `rows` tall with at most `colours` yarns.

    Colours are chosen and given to pixels first, and the pixels of a stitch then vote (see
    `voting.voted`); the other way round, averaging would mix colours the picture does not have
    at every edge. No dithering: scattered stitches cannot be knitted. Where more than half of a
    stitch is transparent its needle is out of work. Raises ChartError for a size that cannot be
    knitted or when only one colour is left, SettingError for `colours` outside 2 to 24.
    """
    whole(SettingError, "A chart", colours, 2, MOST_YARNS, "colours")
    _check_size(stitches, rows)
    known, side, out = _looked_at(picture, rows, stitches)
    palette = chosen_colours(known, colours)
    return _numbered(voted(known, palette, side), palette, out)


def chart_in_yarns(
    picture: Picture, stitches: int, rows: int, yarns: Sequence[Yarn], colours: int | None = None
) -> tuple[Chart, tuple[Yarn, ...]]:
    """Make a chart in the knitter's own yarns, each stitch in the one that looks nearest.

    With more `colours` than yarns the others are found in the picture. Returns the yarns that some
    stitch needs, in the order given, the found ones last. Raises ChartError for a size that cannot
    be knitted, or when fewer than two yarns are given or needed or more than can be called, and
    YarnError when two have the same colour.
    """
    wanted = len(yarns) if colours is None else colours
    if not 2 <= wanted <= MOST_YARNS:
        raise ChartError(
            f"A picture in blocks of colour needs 2 to {MOST_YARNS} yarns, not {wanted}.",
            "Give more of them, or fewer, or --colours to have the others found in the picture.",
        )
    if wanted < len(yarns):
        raise ChartError(
            f"{len(yarns)} yarns are given, and {wanted} colours are wanted",
            "leave yarns out, or give a larger number of colours.",
        )
    by_colour: dict[str, Yarn] = {}
    for yarn in yarns:
        twin = by_colour.setdefault(yarn.colour, yarn)
        if twin is not yarn:
            raise YarnError(
                f"The yarns {twin.name!r} and {yarn.name!r} have the same colour {yarn.colour}",
                "leave one of them out or correct its colour.",
            )
    _check_size(stitches, rows)
    known, side, out = _looked_at(picture, rows, stitches)
    palette = np.array([yarn.rgb for yarn in yarns], dtype=np.uint8)
    if wanted > len(yarns):
        palette = chosen_colours(known, wanted, palette)
    yarns = (*yarns, *_found(palette[len(yarns) :], yarns))
    votes = voted(known, palette, side)
    needed = np.unique(votes if out is None else votes[~out])
    if len(needed) < 2:
        raise ChartError(
            f"Every stitch of the picture looks most like the yarn {yarns[int(needed[0])].name!r}",
            "give yarns that are more like the picture's colours.",
        )
    used = tuple(yarns[int(index)] for index in needed)
    return _chart(np.searchsorted(needed, votes), out), used


def one_colour_a_stitch(picture: Picture, stitches: int, rows: int) -> tuple[Chart, Chart, Chart]:
    """The red, green and blue of a picture in one colour a stitch, the mean of what lies under it.

    Each is laid out like a chart, so that what is done to a chart can be done to it; its cells are
    0 to 254, for 255 is a needle out of work.
    """
    samples, side = sampled(picture.rgb[::-1], rows, stitches)
    parts = samples.reshape(rows, side, stitches, side, 3)
    if picture.out is None:
        values, out = parts.mean(axis=(1, 3)), None
    else:
        clear = sampled(picture.out[::-1].astype(np.uint8), rows, stitches)[0].astype(bool)
        inside = ~clear.reshape(rows, side, stitches, side)
        count = inside.sum(axis=(1, 3))
        values = (parts * inside[..., None]).sum(axis=(1, 3)) / np.maximum(count, 1)[..., None]
        out = 2 * count < side * side
    red, green, blue = np.rint(values).clip(0, NOT_IN_WORK - 1).astype(np.intp).transpose(2, 0, 1)
    return _chart(red, out), _chart(green, out), _chart(blue, out)


def _looked_at(
    picture: Picture, rows: int, stitches: int
) -> tuple[Labelled, int, NDArray[np.bool_] | None]:
    """Samples of the picture, `side` x `side` a stitch, row 1 first; `side`; and which stitches are
    transparent, (rows, stitches), None where none is.

    Transparent samples look like the nearest that is not, and hardly count.
    """
    samples, side = sampled(picture.rgb[::-1], rows, stitches)
    if picture.out is None:
        return labelled(samples), side, None
    from scipy.ndimage import distance_transform_edt

    out = sampled(picture.out[::-1].astype(np.uint8), rows, stitches)[0].astype(bool)
    if out.all():
        raise ChartError("All of the picture is transparent", "there is nothing to knit.")
    nearest = distance_transform_edt(out, return_distances=False, return_indices=True)
    known = labelled(samples[tuple(nearest)])
    level = known.level & ~out
    share = out.reshape(rows, side, stitches, side).mean(axis=(1, 3))
    return replace(known, level=level if level.any() else ~out), side, share > 0.5


def _found(palette: NDArray[np.uint8], beside: Sequence[Yarn] = ()) -> tuple[Yarn, ...]:
    """Yarns for colours that were found, by names that those beside them do not have."""
    if not len(palette):
        return ()
    colours: list[tuple[int, int, int]] = list(map(tuple, palette.tolist()))
    names = colour_names(colours, [yarn.name for yarn in beside])
    return tuple(Yarn(name, colour_text(*rgb)) for name, rgb in zip(names, colours, strict=True))


def _check_size(stitches: int, rows: int) -> None:
    whole(ChartError, "A width", stitches, 2, MOST_STITCHES, "stitches")
    if not 1 <= rows <= MOST_ROWS:
        raise ChartError(
            f"A height of {rows} rows cannot be knitted",
            f"choose 1 to {MOST_ROWS} rows, or crop the picture.",
        )
    if stitches * rows > MOST_IN_ALL:
        raise ChartError(
            f"A chart of {stitches} x {rows} stitches cannot be knitted",
            f"choose {MOST_IN_ALL:,} stitches in all at most.",
        )


def check_chart_picture(width: int, height: int) -> None:
    """ChartError where a picture has too many pixels to be taken as one a stitch."""
    if width > MOST_STITCHES or height > MOST_ROWS or width * height > MOST_IN_ALL:
        raise ChartError(
            f"A picture of {width} x {height} pixels cannot be one pixel a stitch: a chart has "
            f"at most {MOST_STITCHES} stitches, {MOST_ROWS} rows and {MOST_IN_ALL:,} in all",
            "make a chart of it: row-caller chart PICTURE --gauge 32x42/10cm --width 40cm.",
        )


def _chart(cells: NDArray[np.intp], out: NDArray[np.bool_] | None) -> Chart:
    """The chart of these yarn numbers, without the rows and columns at its edges that are empty."""
    if out is None:
        return Chart(cells.astype(np.uint8))
    return Chart(trimmed(np.where(out, NOT_IN_WORK, cells).astype(np.uint8)))


def _numbered(
    cells: NDArray[np.intp], palette: NDArray[np.uint8], out: NDArray[np.bool_] | None = None
) -> tuple[Chart, tuple[Yarn, ...]]:
    """A chart with its yarns numbered by their stitches, most first, equal ones by colour."""
    seen = cells.ravel() if out is None else cells[~out]
    counts = np.bincount(seen, minlength=len(palette))
    order = np.lexsort((packed(palette), -counts))[: np.count_nonzero(counts)]
    if len(order) < 2:
        raise ChartError(
            "The picture has only one colour at this size",
            "a picture in blocks of colour needs two or more.",
        )
    number = np.zeros(len(palette) + 1, dtype=np.intp)  # a transparent pixel may have no colour
    number[order] = np.arange(len(order))
    return _chart(number[cells], out), _found(palette[order])

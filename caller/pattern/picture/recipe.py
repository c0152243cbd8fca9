"""From a picture to a pattern: all the knitter's wishes in one place, and what comes of them."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from caller.errors import SettingError, YarnError
from caller.pattern.bed import Bed, Direction, FabricSide
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.gauge import CM_PER_INCH, Gauge
from caller.pattern.outline import Outline, cut_out, knittable
from caller.pattern.panels import PanelOf, panels
from caller.pattern.pattern import Pattern
from caller.pattern.picture.charting import chart_in_yarns, make_chart, one_colour_a_stitch
from caller.pattern.picture.framing import Framing, framed, mirrored, with_margins
from caller.pattern.picture.lookalikes import close_pairs
from caller.pattern.picture.picture import Picture
from caller.pattern.picture.sizing import sized
from caller.pattern.yarns import Yarn
from caller.plain_text import LONGEST_TITLE, shortened

Colours = NDArray[np.uint8]


@dataclass(frozen=True)
class Size:
    """A width or height: a count of stitches or rows, or a length in cm."""

    count: int | None = None
    length_cm: float | None = None


def parse_size(text: str) -> Size:
    """Read "96" (stitches or rows), "30cm" or "12in"; SettingError for anything else."""
    plain = text.strip().casefold()
    try:
        for unit, cm in (("cm", 1.0), ("in", CM_PER_INCH)):
            if plain.endswith(unit):
                return Size(length_cm=float(plain.removesuffix(unit)) * cm)
        return Size(count=int(plain))
    except ValueError:
        raise SettingError(
            f"The size {text!r} cannot be read",
            "write a count like 96, or a length like 30cm or 12in.",
        ) from None


@dataclass(frozen=True)
class Margins:
    """Plain knitting around the picture: stitches at each side, rows below and above."""

    sides: int = 0
    below: int = 0
    above: int = 0


COLOURS = 4
"""How many are chosen from a picture where nobody says it."""


@dataclass(frozen=True)
class Recipe:
    """How a picture becomes a pattern.

    So many `colours` are chosen from the picture, 4 where no number is given, unless the knitter's
    own `yarns` are; where fewer yarns than colours are given, the others are found. `background`
    names the yarn of the margins, else it is the one that most of the picture's edge is in.
    """

    title: str
    gauge: Gauge
    width: Size | None = None
    height: Size | None = None
    framing: Framing = field(default_factory=Framing)
    colours: int | None = None
    yarns: tuple[Yarn, ...] = ()
    background: str | None = None
    margins: Margins = field(default_factory=Margins)
    outline: Outline | None = None
    seen_from: FabricSide = "purl"
    bed: Bed = field(default_factory=Bed)
    first_needle: str | None = None
    first_direction: Direction = "right"


def whole_chart(picture: Picture, recipe: Recipe) -> tuple[Chart, tuple[Yarn, ...]]:
    """The chart of the recipe, as the knitter sees it, whether or not it fits the bed.

    What is transparent is out of work, with an outline that can be knitted. Raises a BadInputError
    for a wish that cannot be met.
    """
    if recipe.yarns and recipe.background is not None:
        _named(recipe.yarns, recipe.background)
    chart, yarns = _charted(*_sized(picture, recipe), recipe)
    return _laid(chart, _plain(chart, yarns, recipe), recipe), yarns


def whole_picture(picture: Picture, recipe: Recipe) -> tuple[Chart, tuple[Yarn, ...], Colours]:
    """The chart of the recipe, its yarns, and the picture itself in one colour a stitch.

    The picture (rows, stitches, 3) is sRGB, laid as the chart is, with its margins in their yarn's
    colour. Raises what `whole_chart` raises.
    """
    framed_picture, stitches, rows = _sized(picture, recipe)
    chart, yarns = _charted(framed_picture, stitches, rows, recipe)
    plain = _plain(chart, yarns, recipe)
    parts = [
        _laid(part, yarns[plain].rgb[number], recipe)
        for number, part in enumerate(one_colour_a_stitch(framed_picture, stitches, rows))
    ]
    return _laid(chart, plain, recipe), yarns, np.stack([part.cells for part in parts], axis=-1)


def _sized(picture: Picture, recipe: Recipe) -> tuple[Picture, int, int]:
    """The picture as the recipe frames it, and its stitches and rows."""
    picture = framed(picture, recipe.framing)
    width, height = recipe.width or Size(), recipe.height or Size()
    stitches, rows = sized(
        recipe.gauge,
        picture.rgb.shape[0] / picture.rgb.shape[1],
        stitches=width.count,
        width_cm=width.length_cm,
        rows=height.count,
        height_cm=height.length_cm,
    )
    return picture, stitches, rows


def _charted(
    picture: Picture, stitches: int, rows: int, recipe: Recipe
) -> tuple[Chart, tuple[Yarn, ...]]:
    if recipe.yarns:
        return chart_in_yarns(picture, stitches, rows, recipe.yarns, recipe.colours)
    wanted = COLOURS if recipe.colours is None else recipe.colours
    return make_chart(picture, stitches, rows, wanted)


def _plain(chart: Chart, yarns: tuple[Yarn, ...], recipe: Recipe) -> int:
    """The number of the margins' yarn; 0 where there are none."""
    if recipe.margins == Margins():
        return 0
    return background_yarn(chart, yarns, recipe.background)


def _laid(chart: Chart, plain: int, recipe: Recipe) -> Chart:
    """The chart with its margins, as it hangs on the bed, in its outline."""
    margins = recipe.margins
    if margins != Margins():
        chart = with_margins(chart, plain, margins.sides, margins.below, margins.above)
    chart = mirrored(chart) if recipe.seen_from == "knit" else chart
    chart = knittable(chart, recipe.first_direction)
    if recipe.outline is None:
        return chart
    outline = recipe.outline
    return cut_out(chart, outline.points, recipe.first_direction, outline.side)[0]


def background_yarn(chart: Chart, yarns: tuple[Yarn, ...], name: str | None = None) -> int:
    """The yarn's number, by its name or as the one that most of the chart's edge is in."""
    if name is None:
        cells = chart.cells
        left, right = chart.edges
        every = np.arange(chart.rows)
        edge = np.concatenate([cells[0], cells[-1], cells[every, left], cells[every, right]])
        return int(np.bincount(edge[edge != NOT_IN_WORK]).argmax())
    return _named(yarns, name)


def _named(yarns: tuple[Yarn, ...], name: str) -> int:
    """The number of the yarn of this name; YarnError when there is none."""
    for number, yarn in enumerate(yarns):
        if yarn.name.casefold() == name.casefold():
            return number
    raise YarnError(
        f"There is no yarn {name!r} for the background",
        f"the yarns are {', '.join(yarn.name for yarn in yarns)}.",
    )


def pattern_of(chart: Chart, yarns: tuple[Yarn, ...], recipe: Recipe) -> Pattern:
    """The pattern that a chart becomes; BedError when it does not lie on the bed."""
    return Pattern(
        title=recipe.title,
        chart=chart,
        yarns=yarns,
        bed=recipe.bed,
        gauge=recipe.gauge,
        first_direction=recipe.first_direction,
        first_needle=recipe.first_needle,
        seen_from=recipe.seen_from,
    )


def panel_patterns(
    chart: Chart, yarns: tuple[Yarn, ...], recipe: Recipe, seam_stitches: int
) -> tuple[Pattern, ...]:
    """A chart too wide for the bed as one pattern a panel; raises what `panel_parts` raises, and
    ChartError when a panel has only one colour."""
    return tuple(
        replace(pattern_of(cut, used, replace(recipe, title=title)), panel=panel)
        for cut, used, title, panel in panel_parts(
            chart, yarns, recipe.title, recipe.bed, seam_stitches
        )
    )


def panel_parts(
    chart: Chart, yarns: tuple[Yarn, ...], title: str, bed: Bed, seam_stitches: int
) -> Iterator[tuple[Chart, tuple[Yarn, ...], str, PanelOf | None]]:
    """The chart, yarns and title of each panel, from left to right, and which one it is; None where
    the whole chart fits the bed.

    A panel lists only the yarns that it needs. Raises a BedError or SettingError for seams that
    cannot be.
    """
    parts = panels(chart, bed, seam_stitches)
    if len(parts) == 1:
        yield chart, yarns, title, None
        return
    for number, part in enumerate(parts, start=1):
        which = f", panel {number} of {len(parts)}"
        whole = shortened(title, LONGEST_TITLE - len(which)) + which
        yield *only_used(part.chart, yarns), whole, PanelOf(number, len(parts), seam_stitches)


def only_used(chart: Chart, yarns: tuple[Yarn, ...]) -> tuple[Chart, tuple[Yarn, ...]]:
    """The chart with just the yarns that it uses, numbered anew in their order."""
    in_work = chart.cells != NOT_IN_WORK
    needed = np.unique(chart.cells[in_work])
    cells = np.where(in_work, np.searchsorted(needed, chart.cells), NOT_IN_WORK)
    return Chart(cells.astype(np.uint8)), tuple(yarns[int(index)] for index in needed)


def with_chart(pattern: Pattern, chart: Chart) -> Pattern:
    """The pattern with another chart of its yarns; those that it no longer uses are left out."""
    numbered, used = only_used(chart, pattern.yarns)
    return replace(pattern, chart=numbered, yarns=used)


_EYES = {
    "protan": "eyes weak in red",
    "deutan": "eyes weak in green",
    "tritan": "eyes weak in blue",
}


def likeness_warnings(yarns: tuple[Yarn, ...]) -> Iterator[str]:
    """A sentence for every two yarns that are hard to tell apart."""
    for pair in close_pairs(yarns):
        eyes = "any eye" if "full" in pair.sights else " and ".join(_EYES[s] for s in pair.sights)
        yield f"{pair.first.name} and {pair.second.name} look alike to {eyes}."

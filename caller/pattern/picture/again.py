"""Wishes as a recipe, and a chart made anew from the picture that its pattern remembers."""

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import get_args

import numpy as np

from caller.errors import ChartError, PictureError, SettingError
from caller.pattern.bed import Side
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.gauge import Gauge
from caller.pattern.outline import Outline, parse_outline
from caller.pattern.panels import panels
from caller.pattern.pattern import Pattern
from caller.pattern.picture.colour import RGB
from caller.pattern.picture.framing import Crop, Framing
from caller.pattern.picture.picture import Picture, read_picture
from caller.pattern.picture.recipe import (
    Colours,
    Margins,
    Recipe,
    parse_size,
    whole_chart,
    whole_picture,
)
from caller.pattern.picture.source import Source, fingerprint
from caller.pattern.yarns import Yarn


@dataclass(frozen=True, eq=False)
class Original:
    """What a chart was made from: the `chart` as it would be made now, and its picture in one
    colour a stitch, `colours` (rows, stitches, 3), sRGB."""

    chart: Chart
    colours: Colours


def with_wishes(recipe: Recipe, source: Source) -> Recipe:
    """The recipe with the wishes of the source; SettingError or PictureError for one that cannot
    be read."""
    background, _ = background_of(source, recipe.yarns)
    return replace(
        recipe,
        width=parse_size(source.width) if source.width else None,
        height=parse_size(source.height) if source.height else None,
        framing=Framing(_crop(source.crop), source.rotate // 90, source.flip),
        background=background,
        margins=Margins(source.border, source.plain_below, source.plain_above),
        outline=_outline(source, recipe.gauge),
    )


def background_of(source: Source, yarns: tuple[Yarn, ...]) -> tuple[str | None, RGB | None]:
    """The background yarn's name, where it is one, and the colour behind transparent parts."""
    text = source.background
    if not text:
        return None, None
    if text.startswith("#"):
        return None, Yarn("background", text).rgb
    for yarn in yarns:
        if yarn.name.casefold() == text.casefold():
            return yarn.name, yarn.rgb
    return text, None


def made_again(pattern: Pattern, folder: Path) -> Pattern:
    """The pattern with its chart made anew, at its gauge and in its yarns, from its picture.

    `folder` holds the pattern file. Reminders for rows that there are no more are left out. Raises
    a BadInputError where the picture is not remembered or cannot be read, or a wish cannot be met.
    """
    panel = pattern.panel
    if panel is not None and pattern.source is not None:
        raise SettingError(
            f"This is panel {panel.number} of {panel.of}, and one alone is not made anew",
            f"make all of them anew from {pattern.source.file} with row-caller chart, --panels and "
            "your wishes of then; they stand under [picture] in the pattern file.",
        )
    source, recipe, picture = _remembered(pattern, folder)
    chart = _renumbered(*whole_chart(picture, recipe), pattern)
    unshaped = pattern.chart.shaped and not chart.shaped
    # A background may fill what was transparent; anything else that shaped it was not remembered.
    if unshaped and read_picture(folder / source.file).out is None:
        raise SettingError(
            f"{pattern.title} is shaped, and its pattern file does not say how",
            "make the chart anew from the picture, unshaped, with --output and another name, and "
            "shape that with row-caller shape.",
        )
    return replace(
        pattern,
        chart=chart,
        source=replace(source, made=fingerprint(chart)),
        reminders=tuple(one for one in pattern.reminders if one.row <= chart.rows),
    )


def original(pattern: Pattern, folder: Path) -> Original:
    """What the pattern's chart was made from.

    Raises a BadInputError as `made_again` does, and where the chart is not as large as the one
    that would be made.
    """
    _, recipe, picture = _remembered(pattern, folder)
    chart, yarns, colours = whole_picture(picture, recipe)
    chart = _renumbered(chart, yarns, pattern)
    panel = pattern.panel
    if panel and panel.number <= len(parts := panels(chart, pattern.bed, panel.seam)):
        part = parts[panel.number - 1]
        first, last = part.first_column - part.seam_left, part.last_column + part.seam_right
        chart, colours = part.chart, colours[:, first : last + 1]
    if not np.array_equal(chart.cells == NOT_IN_WORK, pattern.chart.cells == NOT_IN_WORK):
        raise ChartError(
            "The chart is not as large as it would be made from its picture now",
            "make it anew with row-caller chart.",
        )
    return Original(chart, colours)


def _remembered(pattern: Pattern, folder: Path) -> tuple[Source, Recipe, Picture]:
    """The pattern's source, its recipe and its picture."""
    source, gauge = pattern.source, pattern.gauge
    if source is None:
        raise SettingError(
            "The pattern does not remember a picture to make its chart from",
            "make another with row-caller chart PICTURE.",
        )
    if gauge is None:
        raise SettingError("The pattern has no gauge", "give one with --gauge.")
    recipe = Recipe(
        pattern.title,
        gauge,
        yarns=pattern.yarns,
        seen_from=pattern.seen_from,
        bed=pattern.bed,
        first_needle=pattern.first_needle,
        first_direction=pattern.first_direction,
    )
    recipe = with_wishes(recipe, source)
    path, behind = folder / source.file, background_of(source, pattern.yarns)[1]
    picture = read_picture(path) if behind is None else read_picture(path, behind)
    return source, recipe, picture


def _renumbered(chart: Chart, used: tuple[Yarn, ...], pattern: Pattern) -> Chart:
    """The chart by the numbers of the pattern's yarns."""
    numbers = np.full(NOT_IN_WORK + 1, NOT_IN_WORK, dtype=np.uint8)
    numbers[: len(used)] = [pattern.yarns.index(yarn) for yarn in used]
    return Chart(numbers[chart.cells])


def changed_since(pattern: Pattern) -> bool:
    """Whether stitches were changed since the chart was made, by tidying or in a paint program."""
    return pattern.source is not None and pattern.source.made != fingerprint(pattern.chart)


def _outline(source: Source, gauge: Gauge) -> Outline | None:
    if not source.outline:
        return None
    side = next((side for side in get_args(Side) if side == source.outline_side), None)
    return Outline(parse_outline(source.outline, gauge), side)


def _crop(text: str) -> Crop | None:
    if not text:
        return None
    if not re.fullmatch(r"\s*\d+(\s*,\s*\d+){3}\s*", text):
        raise PictureError(
            f"The crop {text!r} is not LEFT,TOP,WIDTH,HEIGHT in pixels.",
            "Write four whole numbers.",
        )
    return Crop(*(int(number) for number in text.split(",")))

"""Wishes as a recipe, and a chart made anew from the picture that its pattern remembers."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np

from caller.errors import PictureError, SettingError
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.pattern import Pattern
from caller.pattern.picture.framing import Crop, Framing
from caller.pattern.picture.picture import read_picture
from caller.pattern.picture.recipe import Margins, Recipe, parse_size, whole_chart
from caller.pattern.picture.source import Source, fingerprint
from caller.pattern.yarns import Yarn

Colour = tuple[int, int, int]


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
    )


def background_of(source: Source, yarns: tuple[Yarn, ...]) -> tuple[str | None, Colour | None]:
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
    source, gauge = pattern.source, pattern.gauge
    if source is None:
        raise SettingError(
            "The pattern does not remember a picture to make its chart from",
            "make another with row-caller chart PICTURE.",
        )
    if source.panels:
        raise SettingError(
            f"This is panel {source.panel} of {source.panels}, and one alone is not made anew",
            f"make all of them anew from {source.file} with row-caller chart, --panels and your "
            "wishes of then; they stand under [picture] in the pattern file.",
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
    chart, used = whole_chart(picture, recipe)
    numbers = np.full(NOT_IN_WORK + 1, NOT_IN_WORK, dtype=np.uint8)
    numbers[: len(used)] = [pattern.yarns.index(yarn) for yarn in used]
    chart = Chart(numbers[chart.cells])
    return replace(
        pattern,
        chart=chart,
        source=replace(source, made=fingerprint(chart)),
        reminders=tuple(one for one in pattern.reminders if one.row <= chart.rows),
    )


def changed_since(pattern: Pattern) -> bool:
    """Whether stitches were changed since the chart was made, by tidying or in a paint program."""
    return pattern.source is not None and pattern.source.made != fingerprint(pattern.chart)


def _crop(text: str) -> Crop | None:
    if not text:
        return None
    if not re.fullmatch(r"\s*\d+(\s*,\s*\d+){3}\s*", text):
        raise PictureError(
            f"The crop {text!r} is not LEFT,TOP,WIDTH,HEIGHT in pixels.",
            "Write four whole numbers.",
        )
    return Crop(*(int(number) for number in text.split(",")))

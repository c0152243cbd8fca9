"""Before the first stitch: from a picture to a pattern."""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import click

from caller.cli.base import FILE, main
from caller.cli.screen import show
from caller.errors import BedError, PatternFileError, PictureError, SettingError
from caller.pattern.bed import COMMON_BEDS, Bed, Direction, FabricSide, Numbering

if TYPE_CHECKING:
    from caller.pattern.pattern import Pattern
    from caller.pattern.picture.recipe import Recipe
    from caller.pattern.yarns import Yarn


@main.command()
@click.argument("picture", type=FILE)
@click.option(
    "--gauge", required=True, help="Stitches x rows / length, like 31x44/10cm or 8x10.5/in."
)
@click.option("--width", help="Stitches across, like 96, or a length, like 30cm or 12in.")
@click.option("--height", help="Rows, or a length; the gauge settles what is not given.")
@click.option(
    "--colours",
    type=int,
    help="How many yarns; otherwise 4, or those of --yarn. More than --yarn: the others are found.",
)
@click.option(
    "--yarn", "yarns", multiple=True, help="One of your own yarns, like 'navy=#1b2a4a'; repeat it."
)
@click.option("--crop", help="The part to keep, in pixels: LEFT,TOP,WIDTH,HEIGHT.")
@click.option("--rotate", type=click.Choice(["90", "180", "270"]), help="Turn it clockwise.")
@click.option("--flip", is_flag=True, help="Swap left and right.")
@click.option("--border", type=int, default=0, help="Plain stitches at each side.")
@click.option("--plain-below", type=int, default=0, help="Plain rows before the picture.")
@click.option("--plain-above", type=int, default=0, help="Plain rows after the picture.")
@click.option(
    "--background",
    help="For border, plain rows and transparent parts: a colour like #f4efe0, or one of your "
    "yarns by name.",
)
@click.option(
    "--seen-from",
    type=click.Choice(get_args(FabricSide)),
    default="purl",
    show_default=True,
    help="The side that shows the picture. The purl side faces you, so for the knit side, as for "
    "lettering, the chart is mirrored.",
)
@click.option(
    "--bed",
    "bed_kind",
    type=click.Choice(list(COMMON_BEDS)),
    default="standard",
    show_default=True,
    help="A common bed; --needles and --pitch describe any other.",
)
@click.option("--needles", type=int, help="Needles of the bed.")
@click.option("--pitch", type=float, help="Needle pitch in mm.")
@click.option(
    "--numbering",
    type=click.Choice(get_args(Numbering)),
    default="centre",
    show_default=True,
    help="Needles numbered outward from the centre, or from the left end.",
)
@click.option("--first-needle", help="Leftmost needle, like L40; otherwise about the centre.")
@click.option(
    "--first-direction",
    type=click.Choice(get_args(Direction)),
    default="right",
    show_default=True,
    help="Where the carriage goes in row 1.",
)
@click.option("--panels", is_flag=True, help="Divide what is too wide into panels to be sewn.")
@click.option("--seam", type=int, default=1, show_default=True, help="Seam stitches of a panel.")
@click.option("--title", help="What the pattern is called aloud.")
@click.option(
    "--output", type=FILE, help="The pattern file to write; otherwise PICTURE's name with .toml."
)
@click.option("--replace", is_flag=True, help="Overwrite files that exist.")
def chart(picture: Path, **wishes: Any) -> None:
    """Make a chart and a pattern file from PICTURE."""
    from caller.pattern.picture.picture import read_picture
    from caller.pattern.picture.recipe import (
        likeness_warnings,
        panel_patterns,
        pattern_of,
        whole_chart,
    )

    path = wishes["output"] or Path(f"{picture.stem}.toml")
    if path.suffix.lower() != ".toml":
        raise PatternFileError(
            "A pattern file's name ends in .toml", f"write --output {path}.toml."
        )
    recipe, background = _recipe(picture, wishes)
    if not wishes["panels"] and recipe.width is not None and recipe.width.count is not None:
        recipe.bed.centred(max(0, recipe.width.count))  # before a large picture is worked on
    source = read_picture(picture) if background is None else read_picture(picture, background)
    cells, yarns = whole_chart(source, recipe)
    if wishes["panels"]:
        made = panel_patterns(cells, yarns, recipe, wishes["seam"])
    else:
        try:
            made = (pattern_of(cells, yarns, recipe),)
        except BedError as error:
            raise BedError(
                error.finding, f"{error.remedy} Or add --panels to knit it in parts."
            ) from None
    _write(made, path, wishes["replace"])
    if recipe.width is not None and recipe.height is not None:
        show("Take note: width and height are both given, so the picture may be stretched.")
    for yarn in recipe.yarns:
        if yarn not in yarns:
            show(
                f"Take note: no stitch looks most like {yarn.name}, so it is not in the pattern; "
                "correct its colour if it should be."
            )
    for warning in likeness_warnings(yarns):
        show(f"Take note: {warning}")
    show(
        "The picture is seen from the knit side, so the chart is mirrored: the purl side faces you."
        if recipe.seen_from == "knit"
        else "The chart is as the picture is, seen from the purl side, which faces you; for the "
        "knit side, as for lettering, add --seen-from knit."
    )


def _recipe(picture: Path, wishes: dict[str, Any]) -> "tuple[Recipe, tuple[int, int, int] | None]":
    """The wishes as a recipe, and the colour behind transparent parts."""
    from caller.pattern.gauge import parse_gauge
    from caller.pattern.picture.framing import Framing
    from caller.pattern.picture.recipe import Margins, Recipe, parse_size
    from caller.pattern.storage.pattern_file import title_of

    needles, pitch = COMMON_BEDS[wishes["bed_kind"]]
    needles = needles if wishes["needles"] is None else wishes["needles"]
    pitch = pitch if wishes["pitch"] is None else wishes["pitch"]
    yarns = tuple(map(_own_yarn, wishes["yarns"]))
    background, behind = _background(wishes["background"], yarns)
    sizes = {
        side: None if wishes[side] is None else parse_size(wishes[side])
        for side in ("width", "height")
    }
    recipe = Recipe(
        title=wishes["title"] or title_of(picture),
        gauge=parse_gauge(wishes["gauge"]),
        width=sizes["width"],
        height=sizes["height"],
        framing=Framing(_crop(wishes["crop"]), int(wishes["rotate"] or 0) // 90, wishes["flip"]),
        colours=wishes["colours"],
        yarns=yarns,
        background=background,
        margins=Margins(wishes["border"], wishes["plain_below"], wishes["plain_above"]),
        seen_from=wishes["seen_from"],
        bed=Bed(needles, pitch, wishes["numbering"]),
        first_needle=wishes["first_needle"],
        first_direction=wishes["first_direction"],
    )
    return recipe, behind


def _own_yarn(text: str) -> "Yarn":
    from caller.pattern.yarns import Yarn

    name, equals, colour = text.rpartition("=")
    if not equals:
        raise SettingError(f"{text!r} is no yarn", "write its name and colour like navy=#1b2a4a.")
    return Yarn(name, colour.strip())


def _background(
    text: str | None, yarns: "tuple[Yarn, ...]"
) -> tuple[str | None, tuple[int, int, int] | None]:
    """The background yarn's name, where it is one, and the colour behind transparent parts."""
    from caller.pattern.yarns import Yarn

    if text is None:
        return None, None
    if text.startswith("#"):
        return None, Yarn("background", text).rgb
    for yarn in yarns:
        if yarn.name.casefold() == text.casefold():
            return yarn.name, yarn.rgb
    return text, None


def _crop(text: str | None) -> Any:
    from caller.pattern.picture.framing import Crop

    if text is None:
        return None
    if not re.fullmatch(r"\s*\d+(\s*,\s*\d+){3}\s*", text):
        raise PictureError(
            f"The crop {text!r} is not LEFT,TOP,WIDTH,HEIGHT in pixels.",
            "Write four whole numbers.",
        )
    return Crop(*(int(number) for number in text.split(",")))


def _write(made: "tuple[Pattern, ...]", path: Path, replace: bool) -> None:
    from caller.pattern.storage import pattern_file

    paths = [path]
    if len(made) > 1:
        paths = [path.with_stem(f"{path.stem}-{number}") for number in range(1, len(made) + 1)]
    for target in paths:
        pattern_file.refuse_existing(target, replace)
    for pattern, target in zip(made, paths, strict=True):
        written, chart_path = pattern_file.save(pattern, target, replace)
        names = ", ".join(yarn.name for yarn in pattern.yarns)
        show(
            f"{pattern.chart.stitches} stitches, {pattern.chart.rows} rows; "
            f"{len(pattern.yarns)} yarns: {names}."
        )
        show(f"Written: {written} and its chart {chart_path}.")

"""Before the first stitch: from a picture to a pattern."""

from dataclasses import replace
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Any, get_args

import click
from click.core import ParameterSource

from caller.cli import again
from caller.cli.base import FILE, main
from caller.cli.screen import ask, asks, show
from caller.cli.written import write_all
from caller.errors import BedError, ChartError, PatternFileError, SettingError
from caller.pattern.bed import COMMON_BEDS, Direction, FabricSide, Numbering
from caller.settings import Rotation

if TYPE_CHECKING:
    from collections.abc import Iterator

    from caller.pattern.pattern import Pattern
    from caller.pattern.picture.recipe import Recipe
    from caller.pattern.picture.source import Source
    from caller.pattern.yarns import Yarn

_TYPED = ParameterSource.COMMANDLINE
_KNIT_TRANSPARENT = (
    "Or add --background with a colour or one of your yarns, and transparent parts are knitted."
)
_WHICH_SIDE = "Which side will show, knit or purl? Most pieces show the knit side"


@main.command()
@click.argument("picture", type=FILE)
@click.option("--gauge", help="Stitches x rows / length, like 32x42/10cm or 8x10.5/in.")
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
@click.option("--rotate", type=click.Choice(get_args(Rotation)), help="Turn it clockwise.")
@click.option("--flip", is_flag=True, default=None, help="Swap left and right.")
@click.option("--border", type=int, help="Plain stitches at each side.")
@click.option("--plain-below", type=int, help="Plain rows before the picture.")
@click.option("--plain-above", type=int, help="Plain rows after the picture.")
@click.option(
    "--background",
    help="For border, plain rows and transparent parts: a colour like #f4efe0, or one of your "
    "yarns by name.",
)
@click.option(
    "--seen-from",
    type=click.Choice(get_args(FabricSide)),
    help="The side that will show: knit unless you say purl. The purl side faces you, so for the "
    "knit side the chart is mirrored.",
)
@click.option(
    "--bed",
    "bed_kind",
    type=click.Choice(list(COMMON_BEDS)),
    help="A common bed, standard unless you say another; --needles and --pitch describe any.",
)
@click.option("--needles", type=int, help="Needles of the bed.")
@click.option("--pitch", type=float, help="Needle pitch in mm.")
@click.option(
    "--numbering",
    type=click.Choice(get_args(Numbering)),
    help="Needles numbered outward from the centre, as usual, or from the left end.",
)
@click.option("--first-needle", help="Leftmost needle, like L40; otherwise about the centre.")
@click.option(
    "--first-direction",
    type=click.Choice(get_args(Direction)),
    help="Where the carriage goes in row 1: right unless you say left.",
)
@click.option("--panels", is_flag=True, help="Divide what is too wide into panels to be sewn.")
@click.option("--seam", type=int, default=1, show_default=True, help="Seam stitches of a panel.")
@click.option("--title", help="What the pattern is called aloud.")
@click.option(
    "--output", type=FILE, help="The pattern file to write; otherwise PICTURE's name with .toml."
)
@click.option("--replace", is_flag=True, help="Overwrite files that exist.")
def chart(picture: Path, **wishes: Any) -> None:
    """Make a chart and a pattern file from PICTURE.

    PICTURE may be a pattern file: its chart is made anew from the picture that it remembers.
    """
    from caller.pattern.picture.again import background_of
    from caller.pattern.picture.picture import read_picture
    from caller.pattern.picture.recipe import (
        likeness_warnings,
        panel_patterns,
        pattern_of,
        whole_chart,
    )
    from caller.sheets.cautions import number_in_name

    if picture.suffix.lower() == ".toml":
        given = click.get_current_context().get_parameter_source
        typed = {key: value for key, value in wishes.items() if given(key) is _TYPED}
        again.make(picture, typed)
        return
    path = wishes["output"] or Path(f"{picture.stem}.toml")
    if path.suffix.lower() != ".toml":
        raise PatternFileError(
            "A pattern file's name ends in .toml", f"write --output {path}.toml."
        )
    source = again.source_of(picture, path, wishes)
    side = wishes["seen_from"] or (ask(_WHICH_SIDE, ("knit", "purl")) if asks() else "knit")
    recipe = _recipe(picture, {**wishes, "seen_from": side}, source)
    if not wishes["panels"] and recipe.width is not None and recipe.width.count is not None:
        recipe.bed.centred(max(0, recipe.width.count))  # before a large picture is worked on
    _, behind = background_of(source, recipe.yarns)
    pixels = read_picture(picture) if behind is None else read_picture(picture, behind)
    try:
        cells, yarns = whole_chart(pixels, recipe)
    except ChartError as error:
        if pixels.out is None:
            raise
        raise ChartError(error.finding, f"{error.remedy} {_KNIT_TRANSPARENT}") from None
    if wishes["panels"]:
        made = panel_patterns(cells, yarns, recipe, wishes["seam"])
    else:
        try:
            made = (pattern_of(cells, yarns, recipe),)
        except BedError as error:
            raise BedError(
                error.finding, f"{error.remedy} Or add --panels to knit it in parts."
            ) from None
    _write(made, source, path, wishes["replace"])
    if recipe.width is not None and recipe.height is not None:
        show("Take note: width and height are both given, so the picture may be stretched.")
    for yarn in recipe.yarns:
        if yarn not in yarns:
            show(
                f"Take note: no stitch looks most like {yarn.name}, so it is not in the pattern; "
                "correct its colour if it should be."
            )
    for yarn in yarns:
        if yarn.has_number:
            show(f"Take note: {number_in_name(yarn)}")
    for warning in likeness_warnings(yarns):
        show(f"Take note: {warning}")
    if cells.shaped:
        show(
            "Transparent parts are needles out of work, so the piece is shaped. Where several "
            f"stitches come or go, an edge may change a row later, with the carriage there. "
            f"{_KNIT_TRANSPARENT}"
        )
    if side == "knit":
        other = "" if wishes["seen_from"] else " For the purl side, add --seen-from purl."
        show(
            "The knit side will show, so the chart is mirrored: the purl side faces you "
            f"while you knit.{other}"
        )
    else:
        show("The purl side will show, which faces you: the chart is as the picture is.")
    if len(made) == 1:
        for told in _effort(made[0], path):
            show(told)


def _effort(pattern: "Pattern", path: Path) -> "Iterator[str]":
    """How many ends the chart takes, and what to do next."""
    from caller.calling.words.numbers import counted
    from caller.pattern.tidy.advice import MANY_SUPPLIES

    ends, at_once, name = pattern.supply_plan.total, pattern.supply_plan.at_once, quote(str(path))
    yield f"{counted(ends, 'end')} to hang in all, {at_once} at once."
    if at_once > MANY_SUPPLIES:
        yield (
            "That is a lot for two hands. Fewer colours, or a part of the picture (--crop), take "
            f"fewer; so does row-caller tidy {name} --at-once {MANY_SUPPLIES}"
        )
    yield f"What to wind and where it lies: row-caller plan {name}"


def _recipe(picture: Path, wishes: dict[str, Any], source: "Source") -> "Recipe":
    from caller.pattern.gauge import parse_gauge
    from caller.pattern.picture.again import with_wishes
    from caller.pattern.picture.recipe import Recipe
    from caller.pattern.storage.pattern_file import title_of

    if wishes["gauge"] is None:
        raise SettingError(
            "Without a gauge a chart has no proportions",
            "measure a swatch and give it like --gauge 32x42/10cm.",
        )
    recipe = Recipe(
        title=wishes["title"] or title_of(picture),
        gauge=parse_gauge(wishes["gauge"]),
        colours=wishes["colours"],
        yarns=tuple(map(_own_yarn, wishes["yarns"])),
        seen_from=wishes["seen_from"],
        bed=again.bed_of(wishes),
        first_needle=wishes["first_needle"],
        first_direction=wishes["first_direction"] or "right",
    )
    return with_wishes(recipe, source)


def _own_yarn(text: str) -> "Yarn":
    from caller.pattern.yarns import Yarn

    name, equals, colour = text.rpartition("=")
    if not equals:
        raise SettingError(f"{text!r} is no yarn", "write its name and colour like navy=#1b2a4a.")
    return Yarn(name, colour.strip())


def _write(made: "tuple[Pattern, ...]", source: "Source", path: Path, overwrite: bool) -> None:
    from caller.pattern.picture.source import fingerprint

    write_all(
        tuple(replace(one, source=replace(source, made=fingerprint(one.chart))) for one in made),
        path,
        overwrite,
    )

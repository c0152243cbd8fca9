"""The piece as it will look, from both sides, and the pictures that are kept of it."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from caller.errors import PictureError
from caller.files import not_written, refuse_to_replace, write_whole
from caller.pattern.bed import FabricSide
from caller.pattern.pattern import Pattern
from caller.pattern.supplies.plan import SupplyPlan
from caller.sheets.pictures.fabric import Pixels
from caller.sheets.pictures.legend import Entry
from caller.sheets.pictures.marks import centre_mark, empty_entries, yarn_entries
from caller.sheets.pictures.page import Page, page_for, piece_grid, piece_on
from caller.sheets.pictures.painting import painted, png
from caller.sheets.pictures.supply_picture import supply_picture

if TYPE_CHECKING:
    from PIL.Image import Image

_SEEN_FROM = {
    "purl": "The purl side: as it hangs on the bed, facing you.",
    "knit": "The knit side: mirrored. Needles, left and right are yours at the bed.",
}


def piece_picture(pattern: Pattern, side: FabricSide) -> "Image":
    """The piece as it will look from this side, with scales and a legend.

    The purl side lies as charted; on the knit side left and right are exchanged. Stitches have the
    proportions of the gauge, within a pixel.
    """
    return painted(piece_page(pattern, side), piece_pixels(pattern, side))


def piece_pixels(pattern: Pattern, side: FabricSide) -> Pixels:
    """The piece alone, (height, width, 3), as `piece_on` draws it."""
    return piece_on(pattern, piece_grid(pattern, side))


def piece_page(pattern: Pattern, side: FabricSide) -> Page:
    """The page on which the piece lies."""
    entries = [*yarn_entries(pattern), *empty_entries(pattern)]
    entries.append(Entry(centre_mark, "Centre of the bed"))
    return page_for(pattern, piece_grid(pattern, side), [_SEEN_FROM[side]], entries)


def write_pictures(
    pattern: Pattern, plan: SupplyPlan, stem: Path, replace: bool = False
) -> list[Path]:
    """Write STEM.purl-side.png, STEM.knit-side.png and STEM.supplies.png; the paths written.

    Each file is written whole or not at all. Raises PictureError when one of them exists and
    `replace` is not given, or when one cannot be written.
    """
    drawn: dict[str, Callable[[], Image]] = {
        "purl-side": partial(piece_picture, pattern, "purl"),
        "knit-side": partial(piece_picture, pattern, "knit"),
        "supplies": partial(supply_picture, pattern, plan),
    }
    if not stem.name:
        raise PictureError(f"{stem} names no file", f"give the pictures a name, like {stem}/boat.")
    paths = [stem.with_name(f"{stem.name}.{what}.png") for what in drawn]
    for path in paths:
        refuse_to_replace(path, replace, PictureError)
    contents = [png(draw()) for draw in drawn.values()]
    for path, content in zip(paths, contents, strict=True):
        try:
            write_whole(path, content)
        except OSError as error:
            raise not_written(path, error, PictureError) from None
    return paths

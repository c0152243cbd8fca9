"""The pages to print: chart, plan and bobbins, as one PDF or as a PNG a page."""

import io
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from caller.errors import PictureError, SettingError
from caller.files import not_written, refuse_to_replace, write_all_whole
from caller.pattern.pattern import Pattern
from caller.settings import PaperSize
from caller.sheets import plan
from caller.sheets.printing.chart_pages import chart_pages, key_lines, tiles
from caller.sheets.printing.paper import DPI, SIZES, Paper, text_pages

if TYPE_CHECKING:
    from PIL.Image import Image


def paper_of(name: PaperSize) -> Paper:
    """The paper of this name."""
    return Paper(*SIZES[name])


def pages(pattern: Pattern, paper: Paper) -> "Iterator[Image]":
    """The chart's pages, then those of the plan with its bobbins."""
    yield from chart_pages(pattern, paper)
    yield from text_pages(paper, pattern.title, [*key_lines(pattern), *plan.as_lines(pattern)])


def chart_count(pattern: Pattern, paper: Paper) -> int:
    """How many pages the chart takes; those of the plan come on top."""
    return len(tiles(pattern, paper))


def write_pages(
    pattern: Pattern,
    path: Path,
    paper: Paper,
    replace: bool = False,
    done: Callable[[], None] = lambda: None,
) -> list[Path]:
    """Write PATH.pdf, or PATH-1.png and so on when it ends in .png; the paths written.

    `done` is told of each page. Every page prints at true size. Files are written whole or not at
    all. Raises SettingError for another kind of file, PictureError when one exists and `replace` is
    not given, or cannot be written.
    """
    kind = path.suffix.lower()
    if kind not in (".pdf", ".png"):
        raise SettingError(
            f"{path} is not a PDF or PNG file", "give a name that ends in .pdf or .png."
        )
    drawn = pages(pattern, paper)
    if kind == ".pdf":
        refuse_to_replace(path, replace, PictureError)
        contents = {path: _pdf(drawn, done)}
    else:
        contents = {}
        for number, page in enumerate(drawn, start=1):
            target = path.with_stem(f"{path.stem}-{number}")
            refuse_to_replace(target, replace, PictureError)
            encoded = io.BytesIO()
            page.save(encoded, "PNG", dpi=(DPI, DPI))
            contents[target] = encoded.getvalue()
            done()
    try:
        write_all_whole(contents)
    except OSError as error:
        raise not_written(path, error, PictureError) from None
    return list(contents)


def _pdf(drawn: "Iterator[Image]", done: Callable[[], None]) -> bytes:
    """The pages one after the other, so that no more than one is held as a picture."""
    encoded = io.BytesIO()
    for number, page in enumerate(drawn):
        more = {"append": True} if number else {}
        page.save(encoded, "PDF", resolution=DPI, quality=95, **more)
        done()
    return encoded.getvalue()

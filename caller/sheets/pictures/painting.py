"""The page drawn: the piece, its scales, the way of the carriage and the words."""

import io
from typing import TYPE_CHECKING

from caller.sheets.pictures import scales
from caller.sheets.pictures.fabric import Pixels
from caller.sheets.pictures.legend import BASELINE, LINE, Block, Mark
from caller.sheets.pictures.lettering import lettering
from caller.sheets.pictures.page import INK, PAPER, Page

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

_GAP = 0.22  # ems at least between the labels of needles


def painted(page: Page, piece: Pixels) -> "Image":
    """The page with the piece (height, width, 3) in its place."""
    from PIL import Image, ImageDraw

    picture = Image.new("RGB", (page.width, page.height), PAPER)
    draw = ImageDraw.Draw(picture)
    left, top, right, bottom = page.box
    line = _line(page)
    draw.rectangle((left - line, top - line, right + line - 1, bottom + line - 1), INK)
    _draw_needles(draw, page)
    _draw_rows(draw, page)
    picture.paste(Image.fromarray(piece), (left, top))  # last, over whatever reaches into it
    _draw_carriage(draw, page)
    _draw_block(picture, draw, page.head, (page.em, page.em / 2), page.em)
    _draw_block(picture, draw, page.key, page.legend_at, page.em)
    return picture


def png(picture: "Image") -> bytes:
    """A picture as the content of a PNG file."""
    encoded = io.BytesIO()
    picture.save(encoded, "PNG")
    return encoded.getvalue()


def _draw_block(
    picture: "Image", draw: "ImageDraw", block: Block, at: tuple[float, float], em: float
) -> None:
    for part in block.parts:
        x, y = at[0] + part.x, at[1] + part.y
        if isinstance(part, Mark):
            mark = part.entry.draw(round(em * 1.1))
            picture.paste(mark, (round(x), round(y)), mark if mark.mode == "RGBA" else None)
        else:
            draw.text((x, y), part.text, INK, lettering(part.em), anchor="ls")


def _draw_needles(draw: "ImageDraw", page: Page) -> None:
    script, grid, em = page.pattern.script, page.grid, page.em
    bed, first, font = page.pattern.bed, script.first_needle, lettering(em)
    left, top, _, bottom = page.box
    centre = grid.x(bed.left_half - first)
    widest = max(font.getlength(bed.label(at)) for at in (first, script.last_needle))
    step = scales.step_for(grid.width / grid.stitches, widest + _GAP * em)
    labels, spans = scales.needle_labels(bed, first, grid.stitches, step), []
    for label in labels:
        half, x = font.getlength(label.text) / 2, grid.x(label.place + 0.5)
        if first + label.place in bed.centre_needles:  # kept apart, however narrow a stitch is
            away = max(abs(x - centre), half + em * 0.3)
            x = centre + away if x > centre else centre - away
        spans.append((x - half, x + half))
    for index in scales.without_overlap(spans, _GAP * em):
        x = left + sum(spans[index]) / 2
        draw.text((x, top - em), labels[index].text, INK, font, anchor="ms")
        draw.text((x, bottom + em + page.digit), labels[index].text, INK, font, anchor="ms")
    for tick in _with_room(scales.needle_ticks(bed, first, grid.stitches), page):
        x = left + grid.x(tick.place + 0.5)
        _draw_tick(draw, page, (x, top), (0, -1), tick)
        _draw_tick(draw, page, (x, bottom), (0, 1), tick)
    for y, away in ((top, -1), (bottom, 1)):
        x, far = left + centre, y + away * em * 0.75
        draw.polygon([(x, y), (x - em * 0.35, far), (x + em * 0.35, far)], INK)


def _draw_rows(draw: "ImageDraw", page: Page) -> None:
    grid, em, half, font = page.grid, page.em, page.digit / 2, lettering(page.em)
    left, top, right, _ = page.box
    labels = scales.row_labels(
        grid.rows, scales.step_for(grid.height / grid.rows, 1.35 * page.digit)
    )
    middles = [grid.y(label.place + 0.5) for label in labels]
    spans = [(y - half, y + half) for y in middles]
    for index in scales.without_overlap(spans, 0.3 * page.digit):
        y, text = top + middles[index] + half, labels[index].text
        draw.text((left - em * 0.9, y), text, INK, font, anchor="rs")
        draw.text((right + em * 0.9, y), text, INK, font, anchor="ls")
    for tick in _with_room(scales.row_ticks(grid.rows), page):
        y = top + grid.y(tick.place + 0.5)
        _draw_tick(draw, page, (left, y), (-1, 0), tick)
        _draw_tick(draw, page, (right, y), (1, 0), tick)


def _with_room(ticks: tuple[scales.Tick, ...], page: Page) -> list[scales.Tick]:
    """The ticks that do not run into one another: all, the tenths, or none."""
    for step, kept in ((5, ticks), (10, [tick for tick in ticks if tick.tenth])):
        if step * page.grid.cell >= 3 * _line(page):
            return list(kept)
    return []


def _draw_tick(
    draw: "ImageDraw",
    page: Page,
    at: tuple[float, float],
    outward: tuple[int, int],
    tick: scales.Tick,
) -> None:
    """A line from the piece's edge outward."""
    length = page.em * (0.65 if tick.tenth else 0.35)
    end = (at[0] + outward[0] * length, at[1] + outward[1] * length)
    draw.line((*at, *end), INK, _line(page))


def _draw_carriage(draw: "ImageDraw", page: Page) -> None:
    """The way of the carriage in rows 1 and 2, row 1 below, as they are knitted."""
    em, font = page.em, lettering(page.em)
    middle = (page.box[0] + page.box[2]) / 2
    baseline = page.carriage_top + em * BASELINE
    for row in range(min(2, page.grid.rows), 0, -1):
        way = page.pattern.script.direction(row)
        text = f"Row {row}: {way}"
        draw.text((middle, baseline), text, INK, font, anchor="ms")
        ahead = 1 if (way == "right") == (page.grid.side == "purl") else -1
        y, gap = baseline - page.digit / 2, font.getlength(text) / 2 + em * 0.4
        tip, head = middle + ahead * page.carriage_reach, em * 0.4
        for begin, end in (
            (middle - ahead * page.carriage_reach, middle - ahead * gap),
            (middle + ahead * gap, tip - ahead * head),
        ):
            draw.line((begin, y, end, y), INK, round(1.5 * _line(page)))
        wing = tip - ahead * 2 * head
        draw.polygon([(tip, y), (wing, y - head), (wing, y + head)], INK)
        baseline += em * LINE


def _line(page: Page) -> int:
    """How thick a line is."""
    return max(1, round(page.digit / 12))

"""The picture of what tidying changed: all three pieces, and each mark told from the others."""

import io

import numpy as np
from drawings import chart, rings
from PIL import Image

from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.gauge import Gauge
from caller.pattern.pattern import Pattern
from caller.pattern.tidy.settings import TidySettings
from caller.pattern.tidy.trial import tried
from caller.pattern.yarns import Yarn
from caller.sheets.pictures.changes import changed_pixels, changes_png, states
from caller.sheets.pictures.fabric import Grid
from caller.sheets.pictures.page import piece_on


def pattern_of(knitted: Chart, colours: list[tuple[int, int, int]]) -> Pattern:
    yarns = tuple(
        Yarn(name, "#{:02x}{:02x}{:02x}".format(*rgb))
        for name, rgb in zip(("sand", "cream", "navy", "red"), colours, strict=False)
    )
    return Pattern("Rings", knitted, yarns, gauge=Gauge(30, 42))


def test_the_middle_of_every_stitch_tells_what_became_of_it() -> None:
    knitted, colours = chart(rings(), 60, 4)
    pattern = pattern_of(knitted, list(colours))
    kept = np.zeros(knitted.cells.shape, dtype=bool)
    kept[:20] = True
    result = tried(pattern, TidySettings(shortest_run=3), kept=kept).result
    grid = Grid(knitted.rows, knitted.stitches, knitted.rows * 9, knitted.stitches * 9, "purl")
    pixels = changed_pixels(pattern, result, grid)
    middle, corner = pixels[4::9, 4::9][::-1].sum(axis=2), pixels[1::9, 1::9][::-1].sum(axis=2)
    state = states(result)
    assert set(np.unique(state)) == {0, 1, 2, 3}
    assert (state[:20] == 3).all()
    dark, white = 100, 3 * 255
    assert (middle[(state == 1) | (state == 3)] < dark).all()
    assert (middle[state == 2] == white).all()
    assert (middle[state == 0] > dark).all()
    assert np.array_equal(state != 0, (middle < dark) | (middle == white))
    corner_dark = corner < dark
    assert corner_dark[state == 2].all()


def test_three_pieces_and_a_key_on_one_picture() -> None:
    knitted, colours = chart(rings(), 60, 4)
    pattern = pattern_of(knitted, list(colours))
    result = tried(pattern, TidySettings(shortest_run=2)).result
    with Image.open(io.BytesIO(changes_png(pattern, result))) as picture:
        pixels = np.asarray(picture)
    assert pixels.shape[0] > 2 * pixels.shape[1]  # a piece wider than tall: one below the other
    parts = np.array_split(pixels, 3)
    for colour in colours[1:]:
        shown = [(part == colour).all(axis=2).sum() for part in parts]
        assert shown[0] > 500
        assert shown[1] > shown[0]  # lines are wider
        assert shown[2] == 0  # paled


def test_needles_out_of_work_are_paper() -> None:
    cells = np.zeros((20, 16), dtype=np.uint8)
    cells[4:16, 7] = 1
    cells[:, :2] = NOT_IN_WORK
    pattern = pattern_of(Chart(cells), [(205, 170, 120), (27, 42, 74)])
    result = tried(pattern, TidySettings(shortest_run=2)).result
    grid = Grid(20, 16, 180, 144, "purl")
    for pixels in (piece_on(pattern, grid), changed_pixels(pattern, result, grid)):
        assert (pixels[:, :16] == 255).all()
    assert changes_png(pattern, result)

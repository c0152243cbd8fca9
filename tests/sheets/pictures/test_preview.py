"""The piece as it will look: colours, proportions, scales and files."""

from pathlib import Path
from typing import Literal

import hypothesis.extra.numpy as arrays
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from caller.errors import PictureError
from caller.pattern.bed import Bed, Direction, FabricSide
from caller.pattern.chart import Chart
from caller.pattern.gauge import Gauge
from caller.pattern.pattern import Pattern
from caller.pattern.supplies.plan import assign_supplies
from caller.pattern.yarns import Yarn
from caller.sheets.pictures.fabric import Grid, grid_for
from caller.sheets.pictures.page import PAPER, Page, piece_grid
from caller.sheets.pictures.painting import painted
from caller.sheets.pictures.preview import (
    piece_page,
    piece_picture,
    piece_pixels,
    write_pictures,
)

YARNS = (
    Yarn("navy", "#1b2a4a"),
    Yarn("cream", "#efe6d2"),
    Yarn("brick", "#b23a2e"),
    Yarn("moss", "#6f8f72"),
)
SIDES: tuple[FabricSide, ...] = ("purl", "knit")


def pattern_of(
    cells: np.ndarray, gauge: Gauge | None = None, first_direction: Direction = "right"
) -> Pattern:
    bed = Bed(max(200, cells.shape[1]))
    return Pattern("Boat", Chart(cells), YARNS, bed, gauge, first_direction)


@st.composite
def patterns(draw: st.DrawFn) -> Pattern:
    shape = st.tuples(st.integers(1, 14), st.integers(1, 14))
    cells = draw(arrays.arrays(np.uint8, shape, elements=st.integers(0, 3)))
    gauge = Gauge(draw(st.integers(10, 50)), draw(st.integers(10, 60)))
    return pattern_of(cells, draw(st.sampled_from([None, gauge])))


def stitch_colour(pixels: np.ndarray, grid: Grid, row: int, column: int) -> tuple[int, ...]:
    """The colour at the middle of a stitch counted from 0, worked out apart from the program."""
    from_left = grid.stitches - 1 - column if grid.side == "knit" else column
    x = int((from_left + 0.5) * pixels.shape[1] / grid.stitches)
    y = int((grid.rows - row - 0.5) * pixels.shape[0] / grid.rows)
    return tuple(pixels[y, x].tolist())


@given(patterns(), st.sampled_from(SIDES))
@settings(max_examples=30, deadline=None)
def test_every_stitch_has_the_colour_of_its_yarn(pattern: Pattern, side: FabricSide) -> None:
    pixels, grid = piece_pixels(pattern, side), piece_grid(pattern, side)
    for (row, column), yarn in np.ndenumerate(pattern.chart.cells):
        assert stitch_colour(pixels, grid, row, column) == YARNS[yarn].rgb


def test_row_1_is_at_the_bottom_and_the_knit_side_is_mirrored() -> None:
    # The purl side faces the knitter, so the knit side is its mirror image (seen, facts of the
    # trade). A cream stitch on the leftmost needle of row 1, brick on the rightmost of row 3.
    cells = np.zeros((3, 4), dtype=np.uint8)
    cells[0, 0], cells[2, 3] = 1, 2
    purl, knit = (piece_pixels(pattern_of(cells), side) for side in SIDES)
    height, width = purl.shape[:2]
    low, high, left, right = height * 5 // 6, height // 6, width // 8, width * 7 // 8
    assert tuple(purl[low, left]) == YARNS[1].rgb == tuple(knit[low, right])
    assert tuple(purl[high, right]) == YARNS[2].rgb == tuple(knit[high, left])
    assert tuple(purl[low, right]) == YARNS[0].rgb == tuple(knit[low, left])


@given(
    st.integers(1, 2000),
    st.integers(1, 400),
    st.floats(10, 50),
    st.floats(0.5, 3),
    st.sampled_from(SIDES),
)
def test_the_piece_has_the_proportions_of_the_knitting(
    rows: int, stitches: int, across: float, wide: float, side: FabricSide
) -> None:
    up = across * wide
    grid = grid_for(rows, stitches, Gauge(across, up), side)
    # Centimetres wide over centimetres tall.
    assert grid.width / grid.height == pytest.approx((stitches / across) / (rows / up), rel=0.01)


def test_without_a_gauge_the_page_says_so() -> None:
    cells = np.eye(30, 20, dtype=np.uint8)
    page = piece_page(pattern_of(cells), "purl")
    assert any("1.3 times as wide as tall" in line for line in page.lines)
    assert page.grid.width / page.grid.height == pytest.approx(1.3 * 20 / 30, rel=0.01)
    known = piece_page(pattern_of(cells, Gauge(30, 42)), "purl")
    assert not any("gauge" in line for line in known.lines)


@pytest.mark.parametrize("side", SIDES)
def test_the_piece_lies_in_its_frame_on_the_page(side: FabricSide) -> None:
    pattern = pattern_of(np.eye(40, 30, dtype=np.uint8), Gauge(30, 42))
    picture, page = piece_picture(pattern, side), piece_page(pattern, side)
    piece = np.asarray(picture.crop(page.box))
    assert np.array_equal(piece, piece_pixels(pattern, side))


def contrast(first: tuple[int, ...], second: tuple[int, ...]) -> float:
    from coloraide import Color

    one, other = (Color("srgb", [part / 255 for part in c]) for c in (first, second))
    return float(one.contrast(other, method="wcag21"))


@pytest.mark.parametrize(
    "colours", [("#6f8f72", "#6f8f80"), ("#1b2a4a", "#30323a"), ("#ffffff", "#efe6d2")]
)
def test_blocks_of_similar_colours_are_told_apart(colours: tuple[str, str]) -> None:
    cells = np.zeros((12, 12), dtype=np.uint8)
    cells[4:8, 4:8] = 1
    yarns = (Yarn("one", colours[0]), Yarn("other", colours[1]))
    pixels = piece_pixels(Pattern("Alike", Chart(cells), yarns), "purl")
    middle = pixels.shape[0] // 2, pixels.shape[1] // 2
    for line in (pixels[middle[0]], pixels[:, middle[1]]):
        known = {tuple(colour) for colour in line.tolist()}
        inks = known & {(0, 0, 0), (255, 255, 255)} - {yarn.rgb for yarn in yarns}
        assert len(inks) == 1
        for yarn in yarns:
            assert contrast(inks.copy().pop(), yarn.rgb) >= 3  # WCAG 2.2, 1.4.11


def dark(picture: Image.Image, box: tuple[float, float, float, float]) -> int:
    """How many pixels of a part of the picture are inked."""
    part = picture.crop(tuple(map(round, box))).convert("L")
    return int((np.asarray(part) < 128).sum())


def strips(page: Page) -> dict[str, tuple[float, float, float, float]]:
    """Where the scales' numbers stand around the piece, clear of its ticks."""
    left, top, right, bottom = page.box
    em = page.em
    return {
        "above": (left, top - 2 * em, right, top - em * 0.9),
        "below": (left, bottom + em * 0.9, right, bottom + 2 * em),
        "on the left": (left - 2.5 * em, top, left - em * 0.8, bottom),
        "on the right": (right + em * 0.8, top, right + 2.5 * em, bottom),
    }


SIZES = [(118, 80), (30, 12), (5, 6), (60, 190), (2, 1), (1, 1)]


@pytest.mark.parametrize("shape", SIZES)
@pytest.mark.parametrize("side", SIDES)
def test_scales_stand_on_all_four_sides(shape: tuple[int, int], side: FabricSide) -> None:
    pattern = pattern_of(np.zeros(shape, dtype=np.uint8), Gauge(30, 42))
    picture, page = piece_picture(pattern, side), piece_page(pattern, side)
    for where, box in strips(page).items():
        assert dark(picture, box) > page.digit, where
    assert picture.getpixel((0, 0)) == PAPER


def test_the_needles_change_places_on_the_knit_side() -> None:
    # An odd piece: L7 stands at one end and R8 at the other.
    pattern = pattern_of(np.zeros((20, 15), dtype=np.uint8), Gauge(30, 42))
    ends = {}
    for side in SIDES:
        picture, page = piece_picture(pattern, side), piece_page(pattern, side)
        left, top, right, _ = page.box
        half = round(1.2 * page.em)
        for end, x in (("left", left), ("right", right)):
            middle = x + (1 if end == "left" else -1) * round(page.grid.width / 30)
            box = (middle - half, round(top - 2 * page.em), middle + half, round(top - page.em / 2))
            part = np.asarray(picture.crop(box).convert("L")) < 128
            ink = np.flatnonzero(part.any(axis=0))
            ends[side, end] = part[:, ink[0] : ink[-1] + 1].sum()
    assert ends["purl", "left"] == pytest.approx(ends["knit", "right"], rel=0.05)
    assert ends["purl", "right"] == pytest.approx(ends["knit", "left"], rel=0.05)
    assert ends["purl", "left"] < 0.9 * ends["purl", "right"]  # an L7 takes less ink than an R8


@pytest.mark.parametrize("shape", [*SIZES, (2000, 200), (400, 200), (12, 400)])
def test_numbers_can_be_read(shape: tuple[int, int]) -> None:
    page = piece_page(pattern_of(np.zeros(shape, dtype=np.uint8), Gauge(30, 42)), "purl")
    on_paper = min(210 / page.width, 297 / page.height)  # A4, in mm to the pixel
    assert page.digit * on_paper >= 2.99
    long = page.grid.height > 2 * page.grid.width  # such a page is scrolled along
    on_screen = 600 / (page.width if long else page.height)
    assert page.digit * on_screen >= 10.5


@pytest.mark.parametrize(
    ("first", "side", "tip"),
    [
        ("right", "purl", "right"),
        ("left", "purl", "left"),
        ("right", "knit", "left"),
        ("left", "knit", "right"),
    ],
)
def test_arrows_show_the_way_of_the_carriage(
    first: Direction, side: FabricSide, tip: Literal["left", "right"]
) -> None:
    pattern = pattern_of(np.zeros((80, 60), dtype=np.uint8), Gauge(30, 42), first)
    picture, page = piece_picture(pattern, side), piece_page(pattern, side)
    left, _, right, _ = page.box
    em, line = page.em, page.em * 1.4
    for row, y in ((2, page.carriage_top), (1, page.carriage_top + line)):
        ends = {
            "left": dark(picture, (left - 2, y, left + em, y + line)),
            "right": dark(picture, (right - em, y, right + 2, y + line)),
        }
        ahead = tip if row == 1 else {"left": "right", "right": "left"}[tip]
        assert max(ends, key=lambda end: ends[end]) == ahead
        assert max(ends.values()) > 2 * min(ends.values()) > 0


def test_a_huge_chart_keeps_every_stitch() -> None:
    cells = np.random.default_rng(3).integers(0, 4, (2000, 200)).astype(np.uint8)
    pattern = pattern_of(cells, Gauge(30, 42))
    pixels, grid = piece_pixels(pattern, "knit"), piece_grid(pattern, "knit")
    down = ((np.arange(2000) + 0.5) * grid.height / 2000).astype(int)
    across = ((np.arange(200) + 0.5) * grid.width / 200).astype(int)
    colours = np.array([yarn.rgb for yarn in YARNS], dtype=np.uint8)
    assert np.array_equal(pixels[np.ix_(down, across)], colours[cells[::-1, ::-1]])


@pytest.mark.parametrize("shape", [(2000, 2000), (20_000, 200), (20_000, 1), (1, 2000)])
def test_no_chart_is_too_large_to_draw(shape: tuple[int, int]) -> None:
    page = piece_page(pattern_of(np.zeros(shape, dtype=np.uint8), Gauge(30, 42)), "purl")
    assert page.width * page.height < (Image.MAX_IMAGE_PIXELS or 0)


def test_long_names_and_many_yarns_stay_on_the_page() -> None:
    yarns = tuple(
        Yarn(f"{n} a yarn with quite a long name indeed", f"#{n:02x}8040") for n in range(24)
    )
    cells = np.arange(24, dtype=np.uint8).reshape(4, 6)
    pattern = Pattern("A title, " * 8, Chart(cells), yarns)
    page = piece_page(pattern, "purl")
    picture = painted(page, piece_pixels(pattern, "purl"))
    assert dark(picture, (0, 0, page.width, page.height)) > 1000
    edge = page.em * 0.4
    for strip in (
        (page.width - edge, 0, page.width, page.height),
        (0, page.height - edge, page.width, page.height),
        (0, 0, edge, page.height),
    ):
        assert dark(picture, strip) == 0


def small() -> tuple[Pattern, object]:
    pattern = pattern_of(np.eye(6, 5, dtype=np.uint8), Gauge(30, 42))
    return pattern, assign_supplies(pattern.script, 3)


NAMES = ["boat.2.purl-side.png", "boat.2.knit-side.png", "boat.2.supplies.png"]


def test_three_pictures_are_written(tmp_path: Path) -> None:
    pattern, plan = small()
    paths = write_pictures(pattern, plan, tmp_path / "boat.2")
    assert [path.name for path in paths] == NAMES
    assert sorted(tmp_path.iterdir()) == sorted(paths)
    with Image.open(paths[1]) as picture:
        assert np.array_equal(np.asarray(picture), np.asarray(piece_picture(pattern, "knit")))


@pytest.mark.parametrize("existing", NAMES)
def test_an_existing_picture_is_kept(tmp_path: Path, existing: str) -> None:
    (tmp_path / existing).write_text("precious")
    with pytest.raises(PictureError, match=rf"{existing} exists already; add --replace"):
        write_pictures(*small(), tmp_path / "boat.2")
    assert [path.read_text() for path in tmp_path.iterdir()] == ["precious"]
    write_pictures(*small(), tmp_path / "boat.2", replace=True)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(NAMES)
    with Image.open(tmp_path / existing) as picture:
        assert picture.format == "PNG"


def test_pictures_that_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(PictureError, match="cannot be written: No such file or directory"):
        write_pictures(*small(), tmp_path / "missing" / "boat")
    (tmp_path / "file").write_text("not a folder")
    with pytest.raises(PictureError, match="cannot be written: Not a directory"):
        write_pictures(*small(), tmp_path / "file" / "boat")
    with pytest.raises(PictureError, match="names no file"):
        write_pictures(*small(), Path())
    (tmp_path / NAMES[0]).mkdir()
    with pytest.raises(PictureError, match="cannot be written: Is a directory"):
        write_pictures(*small(), tmp_path / "boat.2", replace=True)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([NAMES[0], "file"])

"""Letters that run together and openings that close, against charts drawn by hand and against
scikit-image's count of shapes and openings in lettering."""

import numpy as np
import pytest
import skimage
from drawings import CREAM, NAVY, chart, font
from PIL import Image, ImageDraw

from caller.pattern.gauge import Gauge
from caller.pattern.pattern import Pattern
from caller.pattern.tidy.advice import advise
from caller.pattern.tidy.shapes import shape_changes
from caller.pattern.tidy.trial import ChangedShapes
from caller.pattern.yarns import Yarn, colour_text
from caller.sheets.tidy_report import as_json, as_lines, shapes_place

BAR = [".........", ".###.###.", ".###.###.", "........."]
RING = [".........", ".#######.", ".#.....#.", ".#######.", "........."]
SPECK = [".........", ".#######.", ".##..###.", ".#######.", "........."]


def cells(rows: list[str]) -> np.ndarray:
    return np.array([[mark == "#" for mark in row] for row in rows[::-1]]).astype(np.uint8)


def ink(before: list[str], after: list[str]) -> list[tuple[object, ...]]:
    one, two = cells(before), cells(after)
    return [
        (change.kind, change.rows, change.columns)
        for change in shape_changes(one, two, np.zeros(one.shape, dtype=bool))
        if change.yarn == 1
    ]


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        pytest.param(BAR, BAR, [], id="nothing changes"),
        pytest.param(BAR, ["........."] + [".#######."] * 2 + ["........."],
                     [("run together", (1, 2), (4, 4))], id="a gap is filled"),
        pytest.param(BAR, [".........", ".###.###.", ".#######.", "........."],
                     [("run together", (1, 1), (4, 4))], id="a stitch is enough"),
        pytest.param(BAR, ["###......", ".###.###.", ".###.###.", "........."], [],
                     id="a shape that only grows"),
        pytest.param(RING, [".........", *[".#######."] * 3, "........."],
                     [("close", (2, 2), (2, 6))], id="an opening closes"),
        pytest.param(SPECK, [".........", *[".#######."] * 3, "........."], [],
                     id="two stitches are a speck"),
        pytest.param(RING, [".........", ".###.###.", ".#.....#.", ".#######.", "........."],
                     [("break open", (3, 3), (4, 4))], id="a ring breaks"),
        pytest.param(RING, [".........", ".#######.", ".#.#...#.", ".#######.", "........."], [],
                     id="an opening that is smaller"),
        pytest.param(["...........", ".#########.", ".#########.", "..........."],
                     ["...........", *[".####.####."] * 2, "..........."],
                     [("fall apart", (1, 2), (5, 5))], id="a shape falls apart"),
        pytest.param(["...........", "###########", "###########", "..........."],
                     ["...........", *["#####.#####"] * 2, "..........."], [],
                     id="a band from edge to edge is a ground"),
    ],
)  # fmt: skip
def test_changes(before: list[str], after: list[str], expected: list[tuple[object, ...]]) -> None:
    assert ink(before, after) == expected


def test_what_is_out_of_work_is_no_opening() -> None:
    one = cells(RING)
    outside = np.zeros(one.shape, dtype=bool)
    outside[2, 4] = True
    two = np.where(one == 0, 1, one).astype(np.uint8)
    assert [c.kind for c in shape_changes(one, two, outside) if c.yarn == 1] == []


def sign(text: str) -> Image.Image:
    letters = font(64)
    left, top, right, bottom = letters.getbbox(text)
    picture = Image.new("RGB", (int(right - left) + 40, int(bottom - top) + 40), CREAM)
    ImageDraw.Draw(picture).text((20 - left, 20 - top), text, NAVY, letters)
    return picture


@pytest.mark.parametrize("width", [60, 70, 80, 100, 120])
def test_lettering_that_no_longer_reads_is_named_and_not_advised(width: int) -> None:
    """Gaps of a stitch between letters, and openings in them, as scikit-image counts both."""
    advised = 0
    for text in ("Boat hire", "QUAY 7"):
        knitted, colours = chart(sign(text), width, 2)
        yarns = tuple(
            Yarn(name, colour_text(*rgb)) for name, rgb in zip(("a", "b"), colours, strict=True)
        )
        dark = int(np.argmin(np.sum(colours, axis=1)))
        for advice in advise(Pattern("Sign", knitted, yarns, gauge=Gauge(30, 42))):
            trial = advice.trial
            assert trial is not None
            counts = []
            for here in (knitted.cells == dark, trial.result.chart.cells == dark):
                shapes = int(skimage.measure.label(here, connectivity=2).max())
                counts.append((shapes, shapes - skimage.measure.euler_number(here, connectivity=2)))
            if counts[0] != counts[1]:
                assert trial.shapes or trial.lost
                assert not advice.stands
            advised += advice.stands
            if trial.shapes:
                told = list(as_lines(trial, None))
                first = shapes_place(max(trial.shapes, key=lambda one: one.places))
                assert f"{first[0].upper()}{first[1:]}." in told
                assert any(one["what"] in first for one in as_json(trial, None)["shapes"])
    assert advised or width <= 80


@pytest.mark.parametrize(
    ("kind", "told"),
    [
        ("close", "openings in navy close in row 5, between L3 and R7"),
        ("break open", "rings of navy break open in row 5, between L3 and R7"),
        ("run together", "letters or shapes of navy run together in row 5, between L3 and R7"),
    ],
)
def test_what_became_of_shapes_is_told(kind, told):
    assert shapes_place(ChangedShapes(kind, "navy", 5, 5, "L3", "R7", 1)) == told

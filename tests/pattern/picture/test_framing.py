"""Crop, turns, flips and margins, against numpy and against what a hand would do on paper."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from caller.errors import ChartError, PictureError, SettingError
from caller.pattern.chart import Chart
from caller.pattern.picture.framing import Crop, Framing, framed, mirrored, with_margins
from caller.pattern.picture.picture import Picture

SIDES = st.integers(1, 9)
PICTURES = arrays(np.uint8, st.tuples(SIDES, SIDES, st.just(3)))
CHARTS = arrays(np.uint8, st.tuples(SIDES, SIDES), elements=st.integers(0, 23)).map(Chart)
# Four pixels and their places: a b over c d.
A, B, C, D = [1, 1, 1], [2, 2, 2], [3, 3, 3], [4, 4, 4]
FOUR = Picture(np.uint8([[A, B], [C, D]]))


@pytest.mark.parametrize(
    ("framing", "expected"),
    [
        (Framing(), [[A, B], [C, D]]),
        (Framing(quarter_turns=1), [[C, A], [D, B]]),
        (Framing(quarter_turns=2), [[D, C], [B, A]]),
        (Framing(quarter_turns=-1), [[B, D], [A, C]]),
        (Framing(flip=True), [[B, A], [D, C]]),
        (Framing(quarter_turns=1, flip=True), [[A, C], [B, D]]),
        (Framing(Crop(1, 0, 1, 2)), [[B], [D]]),
        (Framing(Crop(0, 1, 2, 1), quarter_turns=1), [[C], [D]]),
    ],
)
def test_four_pixels(framing, expected):
    assert framed(FOUR, framing).rgb.tolist() == expected


@given(PICTURES)
def test_four_quarter_turns_or_two_flips_change_nothing(rgb):
    picture = Picture(rgb)
    turned = framed(picture, Framing(quarter_turns=1))
    assert (framed(turned, Framing(quarter_turns=3)).rgb == rgb).all()
    assert (framed(picture, Framing(quarter_turns=4)).rgb == rgb).all()
    flipped = framed(picture, Framing(flip=True))
    assert (framed(flipped, Framing(flip=True)).rgb == rgb).all()


@given(PICTURES, st.data())
def test_a_crop_is_the_slice(rgb, data):
    height, width = rgb.shape[:2]
    left, top = data.draw(st.integers(0, width - 1)), data.draw(st.integers(0, height - 1))
    wide, tall = data.draw(st.integers(1, width - left)), data.draw(st.integers(1, height - top))
    cut = framed(Picture(rgb), Framing(Crop(left, top, wide, tall)))
    assert (cut.rgb == rgb[top : top + tall, left : left + wide]).all()


@pytest.mark.parametrize(
    "crop",
    [
        Crop(0, 0, 3, 1),
        Crop(0, 0, 1, 3),
        Crop(-1, 0, 2, 2),
        Crop(0, -1, 2, 2),
        Crop(2, 0, 1, 1),
        Crop(0, 0, 0, 1),
        Crop(0, 0, 1, 0),
        Crop(1, 1, -1, 1),
        Crop(0, 0, 10**9, 10**9),
    ],
)
def test_a_crop_outside_the_picture_is_refused(crop):
    with pytest.raises(PictureError, match="which has 2 x 2 pixels"):
        framed(FOUR, Framing(crop))


@given(CHARTS)
def test_mirrored(chart):
    other = mirrored(chart)
    assert (other.cells == chart.cells[:, ::-1]).all()
    assert mirrored(other) == chart


@given(CHARTS, st.integers(0, 3), st.integers(0, 5), st.integers(0, 5), st.integers(0, 5))
def test_margins_are_plain_and_keep_the_picture(chart, yarn, sides, below, above):
    whole = with_margins(chart, yarn, sides, below, above)
    assert whole.stitches == chart.stitches + 2 * sides
    assert whole.rows == chart.rows + below + above
    inside = (slice(below, below + chart.rows), slice(sides, sides + chart.stitches))
    assert (whole.cells[inside] == chart.cells).all()
    outside = np.ones(whole.cells.shape, dtype=bool)
    outside[inside] = False
    assert (whole.cells[outside] == yarn).all()


def test_plain_rows_below_come_first():
    whole = with_margins(Chart(np.uint8([[1, 2]])), 0, below=1, above=2)
    assert whole.cells.tolist() == [[0, 0], [1, 2], [0, 0], [0, 0]]


def test_margins_that_cannot_be():
    chart = Chart(np.uint8([[1, 2]]))
    for margins in ({"sides": -1}, {"below": -1}, {"above": -2}):
        with pytest.raises(SettingError, match="cannot be less than 0"):
            with_margins(chart, 0, **margins)
    with pytest.raises(ChartError, match="2002 stitches"):
        with_margins(chart, 0, sides=1000)
    with pytest.raises(ChartError, match="20001 rows"):
        with_margins(chart, 0, above=20_000)

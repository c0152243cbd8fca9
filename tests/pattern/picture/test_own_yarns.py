"""Charts in the knitter's own yarns: every stitch in the one that looks nearest."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from caller.errors import ChartError, YarnError
from caller.pattern.picture.charting import chart_in_yarns
from caller.pattern.picture.colour import differences
from caller.pattern.picture.picture import Picture
from caller.pattern.yarns import Yarn, colour_text

YARNS = (
    Yarn("navy", "#16243f"),
    Yarn("cream", "#f3ead3"),
    Yarn("rust", "#a83c09"),
    Yarn("moss", "#769958"),
)
PIXELS = arrays(np.uint8, st.tuples(st.integers(2, 6), st.integers(2, 6), st.just(3)))


@given(PIXELS)
@settings(deadline=None)
def test_each_stitch_is_the_nearest_yarn_by_ciede2000(rgb):
    rows, stitches = rgb.shape[:2]
    apart = differences(rgb.reshape(-1, 3), [yarn.rgb for yarn in YARNS])
    nearest = apart.argmin(axis=1).reshape(rows, stitches)[::-1]
    large = Picture(np.kron(rgb, np.ones((4, 4, 1), dtype=np.uint8)))
    try:
        chart, used = chart_in_yarns(large, stitches, rows, YARNS)
    except ChartError:
        assert len(np.unique(nearest)) == 1
        return
    names = np.array([yarn.name for yarn in used])[chart.cells]
    expected = np.array([yarn.name for yarn in YARNS])[nearest]
    two = np.partition(apart, 1, axis=1)[:, :2].reshape(rows, stitches, 2)[::-1]
    clear = two[..., 1] - two[..., 0] > 0.01
    assert (names == expected)[clear].all()


def test_yarns_keep_their_order_and_the_unneeded_are_left_out():
    rgb = np.uint8([[[240, 230, 210], [170, 60, 10]], [[240, 230, 210], [240, 235, 215]]])
    chart, used = chart_in_yarns(Picture(rgb), 2, 2, YARNS)
    assert [yarn.name for yarn in used] == ["cream", "rust"]
    assert chart.cells.tolist() == [[0, 0], [0, 1]]


@given(arrays(np.uint8, (4, 5), elements=st.integers(0, 3)))
@settings(deadline=None)
def test_a_picture_in_just_these_colours_is_taken_over(grid):
    rgb = np.array([yarn.rgb for yarn in YARNS], dtype=np.uint8)[grid[::-1]]
    if len(np.unique(grid)) < 2:
        with pytest.raises(ChartError, match=YARNS[grid[0, 0]].name):
            chart_in_yarns(Picture(rgb), 5, 4, YARNS)
        return
    chart, used = chart_in_yarns(Picture(rgb), 5, 4, YARNS)
    assert (np.array([YARNS.index(yarn) for yarn in used])[chart.cells] == grid).all()


def test_yarns_that_cannot_be():
    rgb = np.zeros((4, 4, 3), dtype=np.uint8)
    rgb[:2] = 255
    picture = Picture(rgb)
    with pytest.raises(ChartError, match="2 to 24 yarns, not 1"):
        chart_in_yarns(picture, 4, 4, YARNS[:1])
    many = [Yarn(f"yarn {number}", colour_text(number, 0, 0)) for number in range(25)]
    with pytest.raises(ChartError, match="2 to 24 yarns, not 25"):
        chart_in_yarns(picture, 4, 4, many)
    with pytest.raises(YarnError, match="'cream' and 'ecru' have the same colour #f3ead3"):
        chart_in_yarns(picture, 4, 4, (*YARNS, Yarn("ecru", "#F3EAD3")))
    with pytest.raises(ChartError, match="2001 stitches"):
        chart_in_yarns(picture, 2001, 4, YARNS)

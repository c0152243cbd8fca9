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


def test_own_yarns_are_kept_and_the_others_found():
    # A quarter each of navy, cream and two greens; navy and cream are the knitter's.
    grid = np.kron([[0, 1], [2, 3]], np.ones((8, 8), dtype=int))
    rgb = np.array([(20, 40, 70), (240, 235, 215), (118, 153, 88), (10, 70, 30)], np.uint8)[grid]
    own = YARNS[:2]
    chart, used = chart_in_yarns(Picture(rgb), 16, 16, own, 4)
    assert used[:2] == own
    assert sorted(yarn.colour for yarn in used[2:]) == ["#0a461e", "#769958"]
    assert len({yarn.name for yarn in used}) == 4
    assert ((chart.cells == 0) == (grid[::-1] == 0)).all()
    assert ((chart.cells == 1) == (grid[::-1] == 1)).all()
    # With three, one green must stand for both.
    _, three = chart_in_yarns(Picture(rgb), 16, 16, own, 3)
    assert three[:2] == own
    assert len(three) == 3
    one = chart_in_yarns(Picture(rgb), 16, 16, YARNS[:1], 4)[1]
    assert one[0] == YARNS[0]
    assert len(one) == 4
    with pytest.raises(ChartError, match="4 yarns are given, and 3 colours are wanted"):
        chart_in_yarns(Picture(rgb), 16, 16, YARNS, 3)
    with pytest.raises(ChartError, match="2 to 24 yarns, not 25"):
        chart_in_yarns(Picture(rgb), 16, 16, YARNS, 25)


def test_a_picture_that_has_no_more_colours_than_the_yarns():
    rgb = np.array([(22, 36, 63), (243, 234, 211)], np.uint8)[
        np.kron([[0, 1]], np.ones((4, 4), int))
    ]
    _, used = chart_in_yarns(Picture(rgb), 8, 4, YARNS[:2], 5)
    assert used == YARNS[:2]


@given(PIXELS, st.integers(1, 3), st.integers(2, 8))
@settings(deadline=None)
def test_found_colours_never_change_the_knitters_own(rgb, own, colours):
    large = Picture(np.kron(rgb, np.ones((4, 4, 1), dtype=np.uint8)))
    try:
        _, used = chart_in_yarns(large, rgb.shape[1], rgb.shape[0], YARNS[:own], max(own, colours))
    except ChartError:
        return
    kept = [yarn for yarn in used if yarn in YARNS]
    assert kept == [yarn for yarn in YARNS[:own] if yarn in used]
    assert used[: len(kept)] == tuple(kept)
    assert len({yarn.name for yarn in used}) == len({yarn.colour for yarn in used}) == len(used)

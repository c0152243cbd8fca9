"""Charts from pictures: nothing lost, nothing invented, the right way up."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from skimage.draw import line
from skimage.measure import label
from skimage.transform import resize

from caller.errors import ChartError, SettingError
from caller.pattern.chart import MOST_YARNS
from caller.pattern.picture import Picture, exact_chart, make_chart
from caller.pattern.yarns import colour_text

# Colours far enough apart that no two are near.
FLAT = np.uint8(
    [
        (20, 20, 30),
        (250, 250, 245),
        (200, 30, 40),
        (30, 90, 160),
        (240, 190, 60),
        (20, 120, 70),
    ]
)


def picture_of(numbers, palette=FLAT):
    """Yarn numbers as seen on the bed (row 1 first) as a picture (top line first)."""
    return Picture(palette[np.asarray(numbers)[::-1]])


def colours_of(chart, yarns):
    """The chart in colours, row 1 first."""
    return np.uint8([yarn.rgb for yarn in yarns])[chart.cells]


def grids(smallest=1, largest=8):
    sides = st.tuples(st.integers(smallest, largest), st.integers(max(2, smallest), largest))
    return arrays(np.uint8, sides, elements=st.integers(0, len(FLAT) - 1)).filter(
        lambda grid: len(np.unique(grid)) > 1
    )


def enlarged(grid, down, across):
    return np.repeat(np.repeat(grid, down, axis=0), across, axis=1)


@given(grids())
@settings(deadline=None)
def test_a_picture_taken_as_it_is(grid):
    chart, yarns = exact_chart(picture_of(grid))
    assert (colours_of(chart, yarns) == FLAT[grid]).all()
    counts = np.bincount(chart.cells.ravel())
    assert (counts[:-1] >= counts[1:]).all()
    assert {yarn.rgb for yarn in yarns} == set(map(tuple, FLAT[np.unique(grid)].tolist()))


def test_equal_counts_are_ordered_by_colour():
    _, yarns = exact_chart(picture_of([[2, 0, 1]]))
    assert [yarn.colour for yarn in yarns] == ["#14141e", "#c81e28", "#fafaf5"]


def test_the_bottom_line_is_row_one():
    picture = Picture(np.uint8([[[255, 0, 0], [255, 0, 0]], [[0, 0, 255], [255, 0, 0]]]))
    for chart, yarns in (exact_chart(picture), make_chart(picture, 2, 2, 2)):
        assert [yarn.colour for yarn in yarns] == ["#ff0000", "#0000ff"]
        assert chart.cells.tolist() == [[1, 0], [0, 0]]


def test_more_colours_than_can_be_called():
    many = np.zeros((5, 5, 3), dtype=np.uint8)
    many[..., 0] = np.arange(25).reshape(5, 5)
    with pytest.raises(ChartError, match=r"has 25 colours .* --colours 6"):
        exact_chart(Picture(many))
    chart, yarns = exact_chart(Picture(np.where(many == 24, 23, many)))
    assert len(yarns) == len({yarn.name for yarn in yarns}) == MOST_YARNS
    assert chart.cells.max() == MOST_YARNS - 1


def test_a_photograph_names_all_its_colours():
    noise = np.random.default_rng(3).integers(0, 256, (300, 300, 3), dtype=np.uint8)
    count = len(np.unique(noise.reshape(-1, 3), axis=0))
    with pytest.raises(ChartError, match=f"has {count} colours"):
        exact_chart(Picture(noise))


def test_a_single_colour_is_no_picture():
    plain = Picture(np.full((6, 6, 3), 90, dtype=np.uint8))
    with pytest.raises(ChartError, match="only one colour"):
        exact_chart(plain)
    with pytest.raises(ChartError, match="only one colour"):
        make_chart(plain, 4, 4, 4)


@given(grids(), st.integers(1, 11), st.integers(1, 11), st.integers(0, 18))
@settings(deadline=None)
def test_flat_artwork_is_kept_stitch_by_stitch(grid, down, across, spare):
    """Enlarged any number of times and asked for at its own size, every stitch comes back."""
    wanted = len(np.unique(grid)) + spare
    rows, stitches = grid.shape
    picture = picture_of(enlarged(grid, down, across))
    chart, yarns = make_chart(picture, stitches, rows, wanted)
    assert (colours_of(chart, yarns) == FLAT[grid]).all()


@given(grids(smallest=2), st.integers(2, 40), st.integers(1, 40))
@settings(deadline=None)
def test_no_colour_is_invented(grid, stitches, rows):
    """At any size, every stitch has a colour of the flat picture, even beside other colours."""
    try:
        chart, yarns = make_chart(picture_of(enlarged(grid, 7, 5)), stitches, rows, len(FLAT))
    except ChartError as error:
        assert "only one colour at this size" in str(error)  # noqa: PT017
        return
    assert (chart.rows, chart.stitches) == (rows, stitches)
    assert {yarn.rgb for yarn in yarns} <= set(map(tuple, FLAT[np.unique(grid)].tolist()))
    assert (np.bincount(chart.cells.ravel()) > 0).all()
    assert len(np.unique(chart.cells)) == len(yarns)


def softened(grid, factor):
    """Enlarged with softened edges: no edge falls between two pixels."""
    fine = FLAT[enlarged(grid, 4 * factor + 2, 4 * factor + 2)[::-1]][1:, 1:].astype(float)
    height, width = (side // 4 * 4 for side in fine.shape[:2])
    blocks = fine[:height, :width].reshape(height // 4, 4, width // 4, 4, 3)
    return Picture(np.rint(blocks.mean(axis=(1, 3))).astype(np.uint8))


@given(grids(smallest=3, largest=6), st.integers(6, 16))
@settings(deadline=None)
def test_softened_edges_bring_no_yarn(grid, factor):
    picture = softened(grid, factor)
    assert len(np.unique(picture.rgb.reshape(-1, 3), axis=0)) > len(np.unique(grid))
    chart, yarns = make_chart(picture, grid.shape[1], grid.shape[0], len(np.unique(grid)))
    assert (colours_of(chart, yarns) == FLAT[grid]).all()


@given(st.integers(0, 2**32 - 1), st.integers(2, 8))
@settings(max_examples=8, deadline=None)
def test_a_turned_picture_gives_a_turned_chart(chance, wanted):
    coarse = np.random.default_rng(chance).uniform(0, 255, (14, 11, 3))
    soft = resize(coarse, (160, 120), order=1).astype(np.uint8)
    chart, yarns = make_chart(Picture(soft), 15, 20, wanted)
    for turn in (np.fliplr, np.flipud):
        turned, same = make_chart(Picture(turn(soft)), 15, 20, wanted)
        assert same == yarns
        assert (turned.cells == turn(chart.cells)).all()


@pytest.mark.parametrize("width", [3, 5, 8, 10])
@pytest.mark.parametrize("start", range(95, 106))
def test_thin_lines_survive(width, start):
    """Lines at least half a stitch wide (of 10 pixels, here 5) stay whole wherever they fall."""
    lines = np.ones((200, 200), dtype=np.uint8)
    lines[:, start : start + width] = 0
    chart, yarns = make_chart(picture_of(lines), 20, 20, 2)
    dark = [yarn.colour for yarn in yarns].index(colour_text(*FLAT[0]))
    if width >= 5:
        assert ((chart.cells == dark).sum(axis=1) >= 1).all()
    assert ((chart.cells == dark).sum(axis=1) <= 2).all()


def test_a_slanting_line_stays_in_one_piece():
    picture = np.ones((300, 200), dtype=np.uint8)
    for shift in range(6):
        down, across = line(10, 5 + shift, 290, 180 + shift)
        picture[down, across] = 0
    chart, _ = make_chart(picture_of(picture), 20, 42, 2)
    assert label(chart.cells == 1, connectivity=2).max() == 1


def test_a_gradient_is_cut_into_the_colours_asked_for():
    ramp = np.zeros((40, 256, 3), dtype=np.uint8)
    ramp[..., :] = np.arange(256)[None, :, None]
    for wanted in (2, 5, 12):
        chart, yarns = make_chart(Picture(ramp), 60, 10, wanted)
        assert len(yarns) == wanted
        assert (chart.cells == chart.cells[0]).all()


@given(st.integers(0, 2**32 - 1), st.integers(2, 24))
@settings(max_examples=15, deadline=None)
def test_the_same_picture_gives_the_same_chart(chance, wanted):
    noise = np.random.default_rng(chance).integers(0, 256, (40, 30, 3), dtype=np.uint8)
    first = make_chart(Picture(noise), 15, 20, wanted)
    assert first == make_chart(Picture(noise.copy()), 15, 20, wanted)
    assert len(first[1]) <= wanted
    assert first[0].cells.shape == (20, 15)


@pytest.mark.parametrize(
    ("stitches", "rows", "colours", "error", "message"),
    [
        (1, 10, 4, ChartError, "1 stitches"),
        (-3, 10, 4, ChartError, "-3 stitches"),
        (2001, 10, 4, ChartError, "2001 stitches"),
        (10, 0, 4, ChartError, "0 rows"),
        (10, 20_001, 4, ChartError, "20001 rows"),
        (10, 10, 1, SettingError, "2 to 24 colours, not 1"),
        (10, 10, 25, SettingError, "2 to 24 colours, not 25"),
    ],
)
def test_sizes_that_cannot_be(stitches, rows, colours, error, message):
    picture = picture_of(np.eye(6, dtype=np.uint8))
    with pytest.raises(error, match=message):
        make_chart(picture, stitches, rows, colours)


def test_the_smallest_and_the_largest_chart():
    picture = picture_of([[0, 1, 2], [0, 0, 2]])
    assert make_chart(picture, 2, 1, 3)[0].cells.shape == (1, 2)
    assert make_chart(picture, 2000, 300, 2)[0].cells.shape == (300, 2000)

"""Charts from pictures: nothing lost, nothing invented, the right way up."""

from pathlib import Path

import numpy as np
import pytest
import scipy
import skimage
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from caller.errors import ChartError, SettingError
from caller.pattern.chart import MOST_YARNS
from caller.pattern.picture.charting import exact_chart, make_chart
from caller.pattern.picture.colour import lab
from caller.pattern.picture.palette import chosen_colours, labelled
from caller.pattern.picture.picture import Picture, read_picture
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
@settings(max_examples=30)
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
@settings(max_examples=30)
def test_flat_artwork_is_kept_stitch_by_stitch(grid, down, across, spare):
    """Enlarged any number of times and asked for at its own size, every stitch comes back."""
    wanted = len(np.unique(grid)) + spare
    rows, stitches = grid.shape
    picture = picture_of(enlarged(grid, down, across))
    chart, yarns = make_chart(picture, stitches, rows, wanted)
    assert (colours_of(chart, yarns) == FLAT[grid]).all()


@given(grids(smallest=2), st.integers(2, 40), st.integers(1, 40))
@settings(max_examples=30)
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
@settings(max_examples=30)
def test_softened_edges_bring_no_yarn(grid, factor):
    picture = softened(grid, factor)
    assert len(np.unique(picture.rgb.reshape(-1, 3), axis=0)) > len(np.unique(grid))
    chart, yarns = make_chart(picture, grid.shape[1], grid.shape[0], len(np.unique(grid)))
    assert (colours_of(chart, yarns) == FLAT[grid]).all()


@pytest.mark.parametrize("pixels", [2, 3, 4, 8])
def test_a_soft_edge_does_not_take_the_yarn_between(pixels):
    """Between navy and white lies a blue; where the two meet, no stitch gets it."""
    navy, blue, white = (20, 30, 70), (110, 125, 160), (245, 245, 245)
    wide = 20 * pixels
    line = np.repeat([navy, white, navy, blue], [wide - 1, wide, wide, wide + 1], axis=0)
    soft = np.array(line, dtype=float)
    for edge in (wide - 1, 2 * wide - 1):
        soft[edge] = np.mean([soft[edge - 1], soft[edge + 1]], axis=0)
    picture = Picture(np.broadcast_to(soft.astype(np.uint8), (8, 4 * wide, 3)))
    chart, yarns = make_chart(picture, 80, 4, 3)
    assert {yarn.rgb for yarn in yarns} == {navy, blue, white}
    between = [yarn.rgb for yarn in yarns].index(blue)
    assert not (chart.cells[:, :59] == between).any()
    assert (chart.cells[:, 60:] == between).all()


def test_flat_colours_stay_exact_under_a_camera_s_noise():
    rng = np.random.default_rng(5)
    picture = picture_of(enlarged(np.uint8([[0, 1], [2, 3]]), 60, 60)).rgb.astype(int)
    noisy = rng.random(picture.shape[:2]) < 0.3
    picture[noisy] += rng.integers(-5, 6, (int(noisy.sum()), 3))
    _, yarns = make_chart(Picture(picture.clip(0, 255).astype(np.uint8)), 10, 10, 4)
    assert {yarn.rgb for yarn in yarns} == set(map(tuple, FLAT[:4].tolist()))


def test_a_picture_of_very_many_colours_keeps_its_plain_background():
    photo = np.random.default_rng(6).integers(0, 256, (300, 600, 3), dtype=np.uint8)
    photo[:, 300:] = (93, 131, 157)
    kept = labelled(photo)
    assert len(kept.known) <= 32_768
    assert np.abs(kept.known[kept.numbers].astype(int) - photo).max() < 8
    _, yarns = make_chart(Picture(photo), 60, 40, 6)
    assert yarns[0].rgb == (93, 131, 157)


def test_a_silhouette_brings_two_yarns_however_many_are_asked_for():
    """A real picture, from scikit-image: black on white, its edges softened."""
    horse = read_picture(Path(skimage.__file__).parent / "data" / "horse.png")
    assert len(np.unique(horse.rgb.reshape(-1, 3), axis=0)) > 100
    for wanted in (2, 6, 24):
        _, yarns = make_chart(horse, 140, 161, wanted)
        assert [yarn.name for yarn in yarns] == ["white", "black"]


@given(st.integers(0, 2**32 - 1), st.integers(2, 8))
@settings(max_examples=3)
def test_a_turned_picture_gives_a_turned_chart(chance, wanted):
    coarse = np.random.default_rng(chance).uniform(0, 255, (14, 11, 3))
    soft = skimage.transform.resize(coarse, (160, 120), order=1).astype(np.uint8)
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
        down, across = skimage.draw.line(10, 5 + shift, 290, 180 + shift)
        picture[down, across] = 0
    chart, _ = make_chart(picture_of(picture), 20, 42, 2)
    assert skimage.measure.label(chart.cells == 1, connectivity=2).max() == 1


def test_a_gradient_is_cut_into_the_colours_asked_for():
    ramp = np.zeros((40, 256, 3), dtype=np.uint8)
    ramp[..., :] = np.arange(256)[None, :, None]
    for wanted in (2, 5, 12):
        chart, yarns = make_chart(Picture(ramp), 60, 10, wanted)
        assert len(yarns) == wanted
        assert (chart.cells == chart.cells[0]).all()


def test_a_steep_gradient_is_cut_from_end_to_end():
    """Nearly every pixel lies on a slope here; then all of them count."""
    y, x = np.mgrid[:10, :10] * 28
    steep = np.stack([x, y, 0 * x], axis=-1).astype(np.uint8)
    chart, yarns = make_chart(Picture(steep), 10, 10, 4)
    assert len(yarns) == 4
    assert np.bincount(chart.cells.ravel()).min() >= 10
    assert len(np.unique(chart.cells[[0, 0, -1, -1], [0, -1, 0, -1]])) == 4


@pytest.mark.parametrize("name", ["astronaut.png", "coffee.png", "chelsea.png"])
@pytest.mark.parametrize("wanted", [3, 8])
def test_colours_are_chosen_as_well_as_by_many_tries(name, wanted):
    """Against the best of 20 random starts of SciPy's own k-means (measured: 1.00 to 1.04)."""
    photo = read_picture(Path(skimage.__file__).parent / "data" / name).rgb[::8, ::8]
    known = labelled(photo)
    points = np.repeat(lab(known.known), known.counts, axis=0)

    def error(centres):
        return (scipy.spatial.distance.cdist(points, centres).min(axis=1) ** 2).mean()

    rng = np.random.default_rng(8)
    tries = [scipy.cluster.vq.kmeans2(points, wanted, minit="++", rng=rng)[0] for _ in range(20)]
    assert error(lab(chosen_colours(known, wanted))) <= 1.06 * min(map(error, tries))


@given(st.integers(0, 2**32 - 1), st.integers(2, 24))
@settings(max_examples=8)
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
        (10, 10, 1, SettingError, "A chart of 1 colours cannot be used"),
        (10, 10, 25, SettingError, "A chart of 25 colours cannot be used"),
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

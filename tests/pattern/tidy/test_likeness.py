"""The likeness of two charts, against scikit-image and against what a knitter would say."""

import numpy as np
import pytest
import scipy
import skimage
from drawings import DRAWINGS, chart, sign

from caller.pattern.picture.colour import lab
from caller.pattern.tidy.likeness import likeness, likeness_to, similarity

GREYS = tuple((grey, grey, grey) for grey in (20, 90, 160, 240))


@pytest.mark.parametrize("seed", range(3))
def test_of_greys_it_is_the_published_similarity(seed: int) -> None:
    """scikit-image with the window and constants of Wang et al. 2004, map by map."""
    random = np.random.default_rng(seed)
    one, two = random.integers(0, 4, (2, 30, 40)).astype(np.uint8)
    two[:, :20] = one[:, :20]
    lightness = lab(GREYS)[:, 0]
    _, expected = skimage.metrics.structural_similarity(
        lightness[one], lightness[two], data_range=100, gaussian_weights=True, sigma=1.5,
        use_sample_covariance=False, full=True,
    )  # fmt: skip
    found, weight = similarity(one, two, GREYS)
    assert found == pytest.approx(expected, abs=2e-3)  # greys are not quite without colour
    assert likeness(one, two, GREYS) == pytest.approx(
        (found * weight).sum() / weight.sum(), abs=1e-9
    )


@pytest.mark.parametrize("name", DRAWINGS)
def test_the_same_is_wholly_alike_either_way_round(name: str) -> None:
    knitted, colours = chart(DRAWINGS[name](), 60, 4)
    turned = np.roll(knitted.cells, 3, axis=1)
    assert likeness(knitted.cells, knitted.cells, colours) == pytest.approx(1)
    both = [likeness(*pair, colours) for pair in ((knitted.cells, turned), (turned, knitted.cells))]
    assert both[0] == pytest.approx(both[1])
    assert 0 <= both[0] < 0.9


@pytest.mark.parametrize("name", DRAWINGS)
def test_to_a_picture_it_is_the_same_measure(name: str) -> None:
    """A picture of just the yarns' colours is as like a chart as its own chart is."""
    knitted, colours = chart(DRAWINGS[name](), 60, 4)
    picture = np.array(colours, dtype=np.uint8)[knitted.cells]
    changed = np.where(scipy.ndimage.binary_opening(knitted.cells == 0), knitted.cells, 0)
    assert likeness_to(picture, knitted.cells, knitted.cells, colours) == pytest.approx(1)
    assert likeness_to(picture, knitted.cells, changed, colours) == pytest.approx(
        likeness(knitted.cells, changed, colours)
    )


def test_plain_charts() -> None:
    plain, other = np.zeros((5, 8), dtype=np.uint8), np.ones((5, 8), dtype=np.uint8)
    assert likeness(plain, plain, GREYS) == 1
    assert likeness(plain, other, GREYS) == 0


def test_it_notices_lettering_that_a_count_of_stitches_does_not() -> None:
    """Of as many changed stitches, lettering wiped away weighs more than a border moved."""
    knitted, colours = chart(sign(), 150, 3)
    ground = int(np.bincount(knitted.cells.ravel()).argmax())
    red = int(np.argmax(np.array(colours)[:, 0] - np.array(colours)[:, 2]))
    wiped = np.where(knitted.cells == red, ground, knitted.cells)
    changed = np.count_nonzero(wiped != knitted.cells)
    frame = knitted.cells.copy()
    navy = 3 - ground - red
    inner = scipy.ndimage.binary_dilation(frame == navy) & (frame == ground)
    rows, columns = np.nonzero(inner & (np.indices(frame.shape)[0] < 12))
    frame[rows[:changed], columns[:changed]] = navy
    assert 0.5 * changed < np.count_nonzero(frame != knitted.cells) <= changed
    assert changed < 0.04 * frame.size
    assert likeness(knitted.cells, wiped, colours) < 0.8
    assert likeness(knitted.cells, frame, colours) > likeness(knitted.cells, wiped, colours) + 0.05


def test_a_colour_of_the_same_lightness_is_noticed() -> None:
    # Red and green of L* 53 and 54 (computed by this program's own CIELAB, tested elsewhere).
    colours = ((240, 240, 240), (255, 0, 0), (0, 147, 0))
    lightness = lab(colours)[:, 0]
    assert abs(lightness[1] - lightness[2]) < 1.5
    cells = np.zeros((20, 20), dtype=np.uint8)
    cells[5:15, 5:15] = 1
    other = np.where(cells == 1, 2, 0).astype(np.uint8)
    assert likeness(cells, other, colours) < 0.7

"""How alike two charts look where there is something to see: lines, lettering and outlines.

The measure is the structural similarity of Z. Wang, A. C. Bovik, H. R. Sheikh and E. P. Simoncelli,
"Image quality assessment", IEEE Transactions on Image Processing 13 (2004), with its window and its
constants. Colours are CIELAB, and their three parts are one vector: its variances and covariances
add up, so that a grey picture gives just the published figure of its lightness. Places are weighed
by what they show, log(1 + s² / C) with the larger variance s² of the two, much as in Z. Wang and
X. Shang, "Spatial pooling strategies for perceptual image quality assessment", ICIP 2006 (from
memory), and where a thin line is in either of them ten times as much (our own choice): neither a
plain ground, which is nearly all of a sign, nor its frame makes up for lettering that is gone.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from caller.pattern.picture.colour import RGB, differences, lab
from caller.pattern.tidy.lines import THIN, thin_lines
from caller.pattern.tidy.links import Cells

_SIGMA, _TRUNCATE = 1.5, 3.5  # stitches; of sigma: the window of 11 x 11 of the paper
_NEAR = 5  # stitches and rows round about a line in which it is looked at
_OF_A_LINE = 9.0
_RANGE = 100.0  # of lightness
_C1, _C2 = (0.01 * _RANGE) ** 2, (0.03 * _RANGE) ** 2

Map = NDArray[np.float64]
Colours = NDArray[np.uint8]


def likeness(before: Cells, after: Cells, colours: Sequence[RGB]) -> float:
    """1 for the same picture, 0 for nothing in common. `colours` are the yarns'."""
    return _pooled(*similarity(before, after, colours), np.array_equal(before, after))


def likeness_to(picture: Colours, charted: Cells, after: Cells, colours: Sequence[RGB]) -> float:
    """How alike a chart looks to the picture that it is made from, by the same measure.

    `picture` (rows, stitches, 3) is sRGB in one colour a stitch; its lines are those of `charted`,
    the chart as it was before any stitch of it was changed.
    """
    known, numbers = np.unique(picture.reshape(-1, 3), axis=0, return_inverse=True)
    shades = lab(known)[numbers].reshape(picture.shape)
    similar, weight = _similarity(shades, lab(colours)[after])
    weight *= 1 + _OF_A_LINE * _lines(charted, after, colours)
    return _pooled(similar, weight, False)


def _pooled(similar: Map, weight: Map, same: bool) -> float:
    if not weight.any():
        return 1.0 if same else 0.0
    return float(np.clip((similar * weight).sum() / weight.sum(), 0, 1))


def similarity(before: Cells, after: Cells, colours: Sequence[RGB]) -> tuple[Map, Map]:
    """The structural similarity of every stitch's surroundings, and how much each weighs."""
    shades = lab(colours)
    similar, weight = _similarity(shades[before], shades[after])
    return similar, weight * (1 + _OF_A_LINE * _lines(before, after, colours))


def _similarity(before: Map, after: Map) -> tuple[Map, Map]:
    """The same of two pictures in CIELAB, (rows, stitches, 3), lines weighing no more."""
    size = before.shape[:2]
    mean_of_one, mean_of_two, one_two = (np.zeros(size) for _ in range(3))
    squares_one, squares_two = (np.zeros(size) for _ in range(2))
    means = np.zeros(size)
    for part in range(3):
        one, two = before[..., part], after[..., part]
        mean_one, mean_two = _smooth(one), _smooth(two)
        means += mean_one * mean_two
        mean_of_one += mean_one**2
        mean_of_two += mean_two**2
        squares_one += _smooth(one**2)
        squares_two += _smooth(two**2)
        one_two += _smooth(one * two)
    variance_one = np.maximum(squares_one - mean_of_one, 0)
    variance_two = np.maximum(squares_two - mean_of_two, 0)
    luminance = (2 * means + _C1) / (mean_of_one + mean_of_two + _C1)
    structure = (2 * (one_two - means) + _C2) / (variance_one + variance_two + _C2)
    weight = np.log1p(np.maximum(variance_one, variance_two) / _C2)
    weight[weight < 1e-9] = 0  # rounding on a plain ground
    return luminance * structure, weight


def _lines(before: Cells, after: Cells, colours: Sequence[RGB]) -> Map:
    """How much of a thin line is near each stitch in either chart, 0 to 1."""
    from scipy.ndimage import maximum_filter

    apart = differences(colours, colours)
    lines = np.maximum(thin_lines(before, apart, THIN), thin_lines(after, apart, THIN))
    near: Map = maximum_filter(lines, _NEAR).astype(np.float64)
    return near


def _smooth(values: Map) -> Map:
    from scipy.ndimage import gaussian_filter

    smooth: Map = gaussian_filter(values, _SIGMA, truncate=_TRUNCATE)
    return smooth

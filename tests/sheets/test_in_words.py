"""Pictures in words, against the pictures."""

import re

import numpy as np
import skimage
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.sheets.in_words import Patch, changed_patches, changes_in_words, yarns_in_words

YARNS = (Yarn("navy", "#1d3557"), Yarn("ivory", "#f5ecd7"), Yarn("rust", "#a83c09"))


def pattern_of(cells) -> Pattern:
    cells = np.asarray(cells, dtype=np.uint8)
    return Pattern("A flag", Chart(cells), YARNS[: max(2, int(cells.max()) + 1)])


def test_where_each_yarn_lies():
    cells = np.zeros((9, 6), dtype=np.uint8)
    cells[6:, 4:] = 1  # rows 7 to 9 at the right
    cells[3, 0] = 2
    assert list(yarns_in_words(pattern_of(cells))) == [
        "navy: 87 percent of the stitches, rows 1 to 9, from L3 to R3.",
        "ivory: 11 percent of the stitches, rows 7 to 9, from R2 to R3, "
        "mostly high up and on the right.",
        "rust: 2 percent of the stitches, row 4, at L3, mostly halfway up and on the left.",
    ]


def test_what_was_changed():
    before = np.zeros((9, 6), dtype=np.uint8)
    before[0, 0] = 1
    after = before.copy()
    after[2:4, 1:3] = 1
    after[4, 3] = 1  # hangs together at a corner
    after[8, 5] = 1
    assert list(changes_in_words(changed_patches(pattern_of(before), after))) == [
        "Rows 3 to 5, from L2 to R1: 5 stitches, navy before, ivory after.",
        "Row 9, at R3: 1 stitch, navy before, ivory after.",
    ]


def test_only_the_largest_are_told():
    many = [Patch(9 - n, 1, 1, "L1", "L1", "navy", "ivory") for n in range(8)]
    *told, more = changes_in_words(many)
    assert len(told) == 5
    assert more == "And 3 smaller places with 9 stitches in all."
    assert list(changes_in_words([])) == []


GRIDS = arrays(
    np.uint8, st.tuples(st.integers(2, 12), st.integers(2, 12)), elements=st.integers(0, 2)
)


@given(GRIDS, st.integers(0, 2**32 - 1))
def test_patches_are_those_of_a_reference_library(before, seed):
    before[0, :2], before[-1, -1] = (0, 1), 2  # every yarn is in it
    random = np.random.default_rng(seed)
    after = np.where(random.random(before.shape) < 0.3, 2, before).astype(np.uint8)
    pattern = pattern_of(before)
    first = pattern.script.first_needle
    expected = sorted(  # scikit-image, which is not what the program uses
        (int(p.area), p.bbox[0] + 1, p.bbox[2], *(pattern.bed.label(first + c)
         for c in (p.bbox[1], p.bbox[3] - 1)))
        for p in skimage.measure.regionprops(skimage.measure.label(before != after, connectivity=2))
    )  # fmt: skip
    found = changed_patches(pattern, after)
    assert (
        sorted((p.stitches, p.first_row, p.last_row, p.first_needle, p.last_needle) for p in found)
        == expected
    )
    assert all(patch.after == "rust" for patch in found)
    assert sum(patch.stitches for patch in found) == (before != after).sum()


@given(GRIDS)
def test_every_yarn_is_told(cells):
    cells[0, :2], cells[-1, -1] = (0, 1), 2
    told = list(yarns_in_words(pattern_of(cells)))
    assert [line.split(":")[0] for line in told] == [yarn.name for yarn in YARNS]
    shares = [int(found[1]) for line in told if (found := re.search(r": (\d+) percent", line))]
    assert abs(sum(shares) - 100) <= 3

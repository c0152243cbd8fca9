"""The cast-on: its figures against the rules of the craft, and against a piece worked by hand."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_pieces import HALVES, STEPS

from caller.pattern.bed import COMMON_BEDS, Bed
from caller.pattern.casting_on import CAST_ON_WIDTHS, cast_on
from caller.pattern.chart import Chart
from caller.pattern.gauge import Gauge
from caller.pattern.pattern import Fabric
from caller.sheets import casting_on

TWELVE_INCHES = Chart(np.tile(STEPS.chart.cells, (1, 12)))
WIDE = replace(STEPS, chart=TWELVE_INCHES, gauge=Gauge(8, 10.5, 1, "in"))


def test_yarn_of_the_edge():
    # A long tail is three times the width and a tenth: 12 in wide, about 40 in; or four times: 9 in
    # wide, 36 in (two rules of the craft, seen; practice). 96 stitches at 8 to the inch are 12 in.
    tail_in = 15 / 2.54
    edge_in = cast_on(WIDE).length_m * 100 / 2.54 - tail_in
    assert 12 * 3.3 < edge_in <= 12 * CAST_ON_WIDTHS + 1e-9
    assert CAST_ON_WIDTHS * 9 == 36


def test_waste_yarn_cord_and_comb_by_hand():
    """96 stitches on a standard bed, 10.5 rows to the inch: an inch is 11 rows, 12 to come back."""
    on = cast_on(replace(WIDE, fabric=Fabric(loop_mm=10)))
    assert (on.stitches, on.plain_rows, on.waste_rows) == (96, 2, 12)
    assert (on.waste_m, on.cord_m) == pytest.approx((12 * 0.96 + 0.3, 0.96 + 0.3))
    assert on.comb_cm == pytest.approx(96 * 0.45)
    assert on.weights == 4, "at both edges and at a third and two thirds of 43 cm"
    assert STEPS.yarns[on.yarn].name == "navy"


@given(st.sampled_from(sorted(COMMON_BEDS)), st.integers(2, 110))
def test_any_width_on_any_common_bed(kind, stitches):
    cells = np.arange(stitches, dtype=np.uint8)[None] % 2
    on = cast_on(replace(HALVES, chart=Chart(cells), bed=Bed(*COMMON_BEDS[kind])))
    assert on.stitches == stitches
    assert on.weights >= 2
    assert on.waste_rows % 2 == 0
    assert 0 <= on.comb_cm / 15 - (on.weights - 2) <= 1


def test_what_is_not_known_is_not_told():
    bare = replace(HALVES, fabric=Fabric())
    assert cast_on(bare).waste_m is None
    told = " ".join(casting_on.as_lines(bare))
    assert "manual comes first" in told
    assert "begins in row 1: knit 2 plain rows" in told
    assert "rows of it over the same needles, then one row of ravel cord, then" in told
    assert "The first 2 rows are plain" in " ".join(casting_on.as_lines(WIDE))
    assert casting_on.as_json(WIDE)["yarn"] == "navy"

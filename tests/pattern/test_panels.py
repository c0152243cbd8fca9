"""Panels: together they are the chart, whatever the bed and the seams."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from caller.errors import BedError, ChartError, SettingError
from caller.pattern.bed import Bed
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.panels import panels


def chart_of(stitches: int, rows: int = 3, picture: int = 0) -> Chart:
    cells = np.random.default_rng(picture).integers(0, 5, (rows, stitches), dtype=np.uint8)
    return Chart(cells)


def fewest(stitches: int, needles: int, seam: int) -> int:
    """By trying: k panels hold k beds less two seams where each two of them meet."""
    count = 1
    while count * needles - 2 * seam * (count - 1) < stitches:
        count += 1
    return count


@given(
    st.integers(1, 300), st.integers(1, 6), st.integers(2, 60), st.integers(0, 6), st.integers(0, 9)
)
def test_panels_without_their_seams_give_the_chart_back(stitches, rows, needles, seam, picture):
    assume(needles >= 4 * seam)
    chart, bed = chart_of(stitches, rows, picture), Bed(needles)
    try:
        found = panels(chart, bed, seam)
    except BedError:
        # Refused only where fewer stitches than a seam would be left of some panel.
        assert seam > 0
        count = fewest(stitches, needles, seam)
        assert (stitches + 2 * seam * (count - 1)) // count - 2 * seam < seam
        return
    shown = [
        panel.chart.cells[:, panel.seam_left : panel.chart.stitches - panel.seam_right]
        for panel in found
    ]
    assert Chart(np.concatenate(shown, axis=1)) == chart
    assert len(found) == fewest(stitches, needles, seam)
    # They follow each other without a gap and have all the rows.
    assert [panel.first_column for panel in found[1:]] == [
        panel.last_column + 1 for panel in found[:-1]
    ]
    assert {panel.chart.rows for panel in found} == {rows}
    # They fit the bed, as equally wide as can be.
    widths = [panel.chart.stitches for panel in found]
    assert max(widths) <= needles
    assert max(widths) - min(widths) <= 1
    # Seams stand at the inner edges alone, and are the neighbour's own stitches.
    assert (found[0].seam_left, found[-1].seam_right) == (0, 0)
    for one, other in pairwise(found):
        assert one.seam_right == other.seam_left == seam
        assert one.stitches >= seam
        ours, theirs = one.chart.cells, other.chart.cells
        edge = ours.shape[1]
        # The 2 x seam columns about the joint are the same in both panels.
        assert (ours[:, edge - 2 * seam : edge] == theirs[:, : 2 * seam]).all()


def test_a_blanket_of_three_panels():
    # 500 stitches on 200 needles with one seam stitch on either side: two beds hold at most
    # 400 - 2 stitches, three 600 - 4. On the beds lie 500 + 4 = 504 stitches, 168 each (computed
    # by hand).
    found = panels(chart_of(500), Bed(200), 1)
    assert [panel.chart.stitches for panel in found] == [168, 168, 168]
    assert [(panel.first_column, panel.last_column) for panel in found] == [
        (0, 166),
        (167, 332),
        (333, 499),
    ]
    assert [(panel.seam_left, panel.seam_right) for panel in found] == [(0, 1), (1, 1), (1, 0)]


def test_a_chart_that_fits_is_one_panel():
    chart = chart_of(200)
    (panel,) = panels(chart, Bed(200), 5)
    assert panel.chart == chart
    assert (panel.first_column, panel.last_column) == (0, 199)
    assert (panel.seam_left, panel.seam_right) == (0, 0)


def test_one_stitch_too_wide_takes_two_panels():
    assert [panel.chart.stitches for panel in panels(chart_of(201), Bed(200), 0)] == [101, 100]
    assert [panel.chart.stitches for panel in panels(chart_of(398), Bed(200), 1)] == [200, 200]
    assert len(panels(chart_of(399), Bed(200), 1)) == 3


@pytest.mark.parametrize("seam", [-1, True, 1.5, "2", None, float("nan")])
def test_seams_that_cannot_be_sewn(seam):
    with pytest.raises(SettingError, match="whole number, 0 or more"):
        panels(chart_of(300), Bed(200), seam)


@pytest.mark.parametrize("seam", [100, 101, 10**9])
def test_seams_that_take_the_whole_bed(seam):
    with pytest.raises(BedError, match="nothing is left of a bed of 200 needles"):
        panels(chart_of(300), Bed(200), seam)


def test_panels_narrower_than_their_seams():
    with pytest.raises(BedError, match="panel 2 of 6 would show only 2 stitches"):
        panels(chart_of(20), Bed(10), 4)


def test_a_shaped_chart_in_panels():
    """A trapezium keeps its slopes; a shape that leaves a panel empty in a row is refused."""
    columns, rows = np.arange(40), np.arange(10)[:, None]
    inside = (columns >= rows) & (columns < 40 - rows)
    chart = Chart(np.where(inside, 1, NOT_IN_WORK).astype(np.uint8))
    left, right = panels(chart, Bed(24), 1)
    assert (left.chart.edges[0] == np.arange(10)).all()
    assert (left.chart.edges[1] == left.chart.stitches - 1).all()
    assert right.chart.in_work + left.chart.in_work == chart.in_work + 2 * 10
    steep = (columns >= 4 * rows) & (columns >= 0)
    with pytest.raises(ChartError, match="Panel 1 of 2 has no stitch in row 7"):
        panels(Chart(np.where(steep, 1, NOT_IN_WORK).astype(np.uint8)), Bed(24), 1)

"""Thin lines: which stitches are one, that they are widened, and that nothing kept is changed."""

import hypothesis.extra.numpy as arrays
import numpy as np
import pytest
import scipy
from drawings import chart, rings, sign
from hypothesis import given, settings
from hypothesis import strategies as st
from supply_checks import script_of

from caller.errors import ChartError, SettingError
from caller.pattern.bed import Bed
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.rows import RowScript, run_table
from caller.pattern.supplies.plan import assign_supplies
from caller.pattern.tidy.lines import thin_lines
from caller.pattern.tidy.report import TidyResult
from caller.pattern.tidy.settings import TidySettings
from caller.pattern.tidy.tidying import tidy, yarn_errors

REACH = 7
WIDE = ["......."] * 4  # ground
EIGHT = np.ones((3, 3), dtype=int)
GREYS = ((240, 240, 240), (20, 20, 20), (120, 120, 120))  # ground, ink, a tone between
APART = yarn_errors(Chart(np.arange(3)[None]), GREYS)[0].astype(float)


def tidied(
    knitted: Chart, colours: tuple[tuple[int, int, int], ...], wish: TidySettings, kept=None
) -> TidyResult:
    errors = yarn_errors(knitted, colours)
    return tidy(RowScript(knitted, Bed(), 0), errors, wish, REACH, kept=kept)


def strengths(*rows: str) -> list[str]:
    """Each stitch as # (wholly a line), + (in part) or a dot, the top row first."""
    cells = script_of(*rows).chart.cells
    found = thin_lines(cells, APART, 3)
    return ["".join("#" if one > 0.8 else "+" if one > 0 else "." for one in r) for r in found][
        ::-1
    ]


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        pytest.param(["...a..."] * 6, ["...#..."] * 6, id="a stroke"),
        pytest.param([*WIDE, "aaaaaaa", *WIDE], [*WIDE, "#######", *WIDE], id="lying"),
        pytest.param([*WIDE, "...a...", "...a...", *WIDE], ["......."] * 10, id="a speck"),
        pytest.param(["...aaaa"] * 6, ["......."] * 6, id="an edge of what is wide"),
        pytest.param(["....baaaa"] * 6, ["........."] * 6, id="a tone along a soft edge"),
        pytest.param(["aaaa.aaaa", "aaaa.aaaa"] * 3 + ["........."] * 3,
                     ["....+...."] * 6 + ["........."] * 3, id="a gap counts less"),
    ],
)  # fmt: skip
def test_which_stitches_are_a_line(rows: list[str], expected: list[str]) -> None:
    assert strengths(*rows) == expected


@pytest.mark.parametrize("shortest", [2, 3, 4])
def test_a_line_with_room_is_widened_and_loses_no_stitch(shortest: int) -> None:
    cells = np.zeros((30, 40), dtype=np.uint8)
    cells[4:26, 12] = 1
    cells[np.arange(4, 26), np.arange(4, 26) // 2 + 20] = 1  # slanting
    result = tidied(Chart(cells), GREYS[:2], TidySettings(shortest_run=shortest))
    after = result.chart.cells
    assert (after[cells == 1] == 1).all()
    assert not result.report.lost.any()
    assert ((after == 1).sum(axis=1)[4:26] == 2 * shortest).all()
    upright = after[4:26, :16]
    assert (upright == upright[0]).all()  # on one side all along


def test_a_line_is_widened_on_the_side_that_costs_least() -> None:
    # The tone b to the left of the line is nearer to its ink than the ground to its right.
    result = tidied(script_of(*["....bbba......"] * 5).chart, GREYS, TidySettings(shortest_run=2))
    assert (result.chart.cells == result.chart.cells[0]).all()
    assert "".join(".ab"[yarn] for yarn in result.chart.cells[0]) == "....bbaa......"


@pytest.mark.parametrize("radius", [6, 9.5, 14])
def test_a_ring_of_one_stitch_stays_whole(radius: float) -> None:
    y, x = np.mgrid[:36, :36] - 17.5
    cells = (np.abs(np.hypot(x, y) - radius) < 0.5).astype(np.uint8)
    assert scipy.ndimage.label(cells, EIGHT)[1] == 1
    after = tidied(Chart(cells), GREYS[:2], TidySettings(shortest_run=2)).chart.cells
    assert scipy.ndimage.label(after == 1, EIGHT)[1] == 1
    assert (after[cells == 1] == 1).all()
    inside = scipy.ndimage.label(after == 0)[0]
    assert inside[18, 18] != inside[0, 0]  # and closed


def test_letters_live() -> None:
    """Every letter of a sign is still there, with nearly all of its stitches."""
    knitted, colours = chart(sign(), 150, 3)
    after = tidied(knitted, colours, TidySettings(shortest_run=2)).chart.cells
    ground = int(np.bincount(knitted.cells.ravel()).argmax())
    found = 0
    for yarn in set(range(3)) - {ground}:
        letters, count = scipy.ndimage.label(knitted.cells == yarn, EIGHT)
        for letter in range(1, count + 1):
            assert (after[letters == letter] == yarn).mean() > 0.97
        found += count
    assert found == 21  # 10 signs, 9 signs with a dot on one, and the frame


def test_rings_cross_and_stay_whole() -> None:
    knitted, colours = chart(rings(), 100, 4)
    result = tidied(knitted, colours, TidySettings(shortest_run=2))
    ground = int(np.bincount(knitted.cells.ravel()).argmax())
    for yarn in set(range(4)) - {ground}:
        # Where two of them cross, one row of one stitch each has room for one only.
        assert (result.chart.cells == yarn)[knitted.cells == yarn].mean() > 0.97
    assert result.report.lost.sum() <= 5


# What is kept


@settings(max_examples=40)
@given(st.data())
def test_what_is_kept_never_changes_and_only_its_runs_are_short(data: st.DataObject) -> None:
    shape = (data.draw(st.integers(1, 10)), data.draw(st.integers(2, 14)))
    cells = data.draw(arrays.arrays(np.uint8, shape, elements=st.integers(0, 2)))
    kept = data.draw(arrays.arrays(np.bool_, shape))
    shortest = data.draw(st.integers(1, min(4, shape[1])))
    specks = data.draw(st.integers(0, min(3, shape[1] - 1)))
    at_once = data.draw(st.none() | st.integers(2, 8))
    price = data.draw(st.sampled_from([0.0, 0.5, 2.0]))
    if len(np.unique(cells)) == 1:
        return
    before = Chart(cells)
    errors = (cells[..., None] != np.arange(3)).astype(np.float32)
    wish = TidySettings(shortest, specks, at_once, None, price)
    try:
        result = tidy(RowScript(before, Bed(), 0), errors, wish, 3, kept=kept)
    except ChartError as error:
        told = str(error)
    else:
        told = ""
    if told:
        assert "single colour" in told or "to be kept takes" in told
        return
    after = result.chart.cells
    assert (after == cells)[kept].all()
    table = run_table(result.chart)
    for row, left, right in zip(table.row, table.left, table.right, strict=True):
        assert right - left + 1 >= shortest or kept[row, left : right + 1].any()
    if at_once is not None:
        assert np.diff(table.starts).max() <= at_once


def test_what_is_kept_may_be_too_much_for_a_row() -> None:
    laid = script_of("........", "a.a.a.a.")
    errors = yarn_errors(laid.chart, GREYS[:2])
    with pytest.raises(ChartError, match="takes 8 supplies at once in row 1, and at most 3"):
        tidy(laid, errors, TidySettings(at_once=3), REACH, kept=np.ones((2, 8), dtype=bool))


@pytest.mark.parametrize("wish", [{"shortest_run": 3}, {"in_all": 4}, {"at_once": 5, "specks": 6}])
def test_thin_lines_are_kept_on_demand(wish: dict[str, int]) -> None:
    cells = np.zeros((24, 40), dtype=np.uint8)
    cells[2:22, 8] = 1
    cells[4:14, 20:30] = 1
    cells[6, 14] = 2  # a speck
    after = tidied(Chart(cells), GREYS, TidySettings(**wish, keep_thin_lines=True)).chart.cells
    assert np.array_equal(after[:, :12] == 1, cells[:, :12] == 1)


# Shaped pieces


@settings(max_examples=40)
@given(st.data())
def test_a_shaped_piece_keeps_its_shape_and_its_bounds(data: st.DataObject) -> None:
    """Edges that move by a stitch a row at most."""
    rows, stitches = data.draw(st.integers(2, 9)), data.draw(st.integers(6, 14))
    cells = data.draw(arrays.arrays(np.uint8, (rows, stitches), elements=st.integers(0, 2)))
    middle = stitches // 2
    left, right = data.draw(st.integers(0, middle)), data.draw(st.integers(middle + 1, stitches))
    for row in range(rows):
        cells[row, :left] = cells[row, right:] = NOT_IN_WORK
        left = min(middle, max(0, left + data.draw(st.integers(-1, 1))))
        right = max(middle + 1, min(stitches, right + data.draw(st.integers(-1, 1))))
    in_work = cells != NOT_IN_WORK
    shortest, specks = data.draw(st.integers(1, 4)), data.draw(st.integers(0, 3))
    at_once = data.draw(st.none() | st.integers(2, 6))
    wish = TidySettings(shortest, specks, at_once, None, data.draw(st.sampled_from([0.0, 1.0])))
    before = Chart(cells)
    errors = (np.where(in_work, cells, 0)[..., None] != np.arange(3)).astype(np.float32)
    if len(np.unique(cells[in_work])) == 1:
        return
    told = ""
    try:
        result = tidy(RowScript(before, Bed(), 0), errors, wish, 3)
    except (ChartError, SettingError) as error:
        told = str(error)
    if told:
        assert "single colour" in told or "to be kept takes" in told or "not knitted" in told
        return
    after = result.chart.cells
    assert ((after != NOT_IN_WORK) == in_work).all()
    assert set(np.unique(after[in_work])) <= set(np.unique(cells[in_work]))
    table = run_table(result.chart)
    width = in_work.sum(axis=1)
    length = table.right - table.left + 1
    assert (length >= shortest)[width[table.row] >= shortest].all()
    assert np.array_equal(after[width < shortest], cells[width < shortest])
    if at_once is not None:
        assert np.bincount(table.row).max() <= at_once


def test_a_shaped_sail_is_tidied_in_all() -> None:
    cells = np.full((30, 40), NOT_IN_WORK, dtype=np.uint8)
    for row in range(30):
        cells[row, 5 + row // 3 : 35 - row // 3] = 0
    cells[3:25, 18:20] = 1
    cells[4, 9] = cells[9, 24] = cells[12:14, 26] = 1
    shaped = Chart(cells)
    before = assign_supplies(RowScript(shaped, Bed(), 0), REACH).total
    result = tidied(shaped, GREYS[:2], TidySettings(in_all=before - 4))
    assert assign_supplies(RowScript(result.chart, Bed(), 0), REACH).total <= before - 4
    assert np.array_equal(result.chart.cells == NOT_IN_WORK, cells == NOT_IN_WORK)
    assert (result.chart.cells[3:25, 18:20] == 1).all()

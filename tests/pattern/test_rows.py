"""Chart to rows to chart is the identity, decoded by a reader that shares no code with ours."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from caller.errors import BedError, ChartError
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.rows import RowScript
from caller.pattern.yarns import Yarn
from caller.sheets.scripts.row_script import as_json

YARNS = (
    Yarn("navy", "#1b2a4a"),
    Yarn("ivory", "#f4efe0"),
    Yarn("rust", "#a0522d"),
    Yarn("moss", "#556b2f"),
)

grids = arrays(
    np.uint8,
    st.tuples(st.integers(1, 12), st.integers(1, 23)),
    elements=st.integers(0, len(YARNS) - 1),
)
directions = st.sampled_from(["right", "left"])


def knit_by_hand(script: dict, first_direction: str) -> tuple[dict[tuple[int, int], str], list]:
    """Lay and knit every run of the JSON, needle by needle, as a person at the bed would.

    Needles are a number line without a zero: L2, L1, R1, R2 are -2, -1, 1, 2. Checks on the way
    that the carriage alternates and that each needle is passed once, in the carriage's order.
    """

    def on_line(label: str) -> int:
        side, number = re.fullmatch(r"([LR])([1-9]\d*)", label).groups()
        return -int(number) if side == "L" else int(number)

    leftmost, rightmost = on_line(script["first_needle"]), on_line(script["last_needle"])
    bed = [needle for needle in range(leftmost, rightmost + 1) if needle != 0]
    assert len(bed) == script["cast_on"]
    knitted, going = {}, first_direction
    for count, row in enumerate(script["rows"], start=1):
        assert row["row"] == count
        assert row["direction"] == going
        passed = []
        for run in row["runs"]:
            start, end = on_line(run["from"]), on_line(run["to"])
            low, high = min(start, end), max(start, end)
            needles = [n for n in bed if low <= n <= high]
            needles = needles if start <= end else needles[::-1]
            assert len(needles) == run["stitches"]
            for needle in needles:
                knitted[count, needle] = run["yarn"]
            passed += needles
        assert passed == (bed if going == "right" else bed[::-1])
        going = "left" if going == "right" else "right"
    return knitted, bed


@given(grids, directions)
def test_the_script_rebuilds_the_chart(grid, first_direction):
    names = np.array([yarn.name for yarn in YARNS])
    pattern = Pattern("Any", Chart(grid), YARNS, Bed(30), None, first_direction)
    knitted, bed = knit_by_hand(as_json(pattern), first_direction)
    rebuilt = [[knitted[row, needle] for needle in bed] for row in range(1, grid.shape[0] + 1)]
    assert (np.array(rebuilt) == names[grid]).all()


@given(grids)
def test_neighbouring_runs_differ(grid):
    for row in RowScript(Chart(grid), Bed(30), 2):
        assert all(a.yarn != b.yarn for a, b in zip(row.runs, row.runs[1:], strict=False))
        assert all(abs(a.last - b.first) == 1 for a, b in zip(row.runs, row.runs[1:], strict=False))


def laid(row: dict) -> list[dict]:
    """The needles of a row's runs; which supply knits them is the supplies' own test."""
    names = ("yarn", "from", "to", "stitches")
    return [{name: run[name] for name in names} for run in row["runs"]]


def test_row_one_is_the_bottom_row_and_goes_left_to_right():
    # Charts are worked from the bottom row up, usually starting left to right, and rows alternate
    # (common practice of the trade).
    grid = np.array([[0, 0, 1], [1, 0, 0]], dtype=np.uint8)
    script = as_json(Pattern("Two rows", Chart(grid), YARNS[:2]))
    assert [row["direction"] for row in script["rows"]] == ["right", "left"]
    assert laid(script["rows"][0]) == [
        {"yarn": "navy", "from": "L1", "to": "R1", "stitches": 2},
        {"yarn": "ivory", "from": "R2", "to": "R2", "stitches": 1},
    ]
    assert laid(script["rows"][1]) == [
        {"yarn": "navy", "from": "R2", "to": "R1", "stitches": 2},
        {"yarn": "ivory", "from": "L1", "to": "L1", "stitches": 1},
    ]


@pytest.mark.parametrize(
    ("stitches", "first", "last"),
    [
        (100, "L50", "R50"),  # 100 stitches lie on left 50 to right 50: common practice
        (101, "L50", "R51"),
        (1, "R1", "R1"),
        (2, "L1", "R1"),
        (200, "L100", "R100"),
    ],
)
def test_centred_work(stitches, first, last):
    bed = Bed(200)
    position = bed.centred(stitches)
    assert bed.label(position) == first
    assert bed.label(position + stitches - 1) == last


@given(st.integers(2, 300))
def test_labels_and_positions_agree(needles):
    bed = Bed(needles)
    labels = [bed.label(position) for position in range(needles)]
    assert [bed.position(label) for label in labels] == list(range(needles))
    assert len(set(labels)) == needles
    assert not {"L0", "R0"} & set(labels)


@pytest.mark.parametrize("label", ["L0", "R0", "L101", "R101", "50", "X5", "", "L-5", "L1.5", "R٣"])
def test_labels_that_are_no_needle(label):
    with pytest.raises(BedError):
        Bed(200).position(label)


def test_wider_than_the_bed():
    with pytest.raises(BedError, match="201 stitches wide and the bed has 200 needles"):
        Bed(200).centred(201)


@pytest.mark.parametrize("number", [0, -1, 4])
def test_rows_that_do_not_exist(number):
    script = RowScript(Chart(np.zeros((3, 4), dtype=np.uint8)), Bed(), 10)
    with pytest.raises(ChartError, match="the rows are 1 to 3"):
        script.row(number)


@pytest.mark.parametrize(("needles", "pitch"), [(0, 4.5), (1, 4.5), (-5, 4.5), (200, 0), (200, -1)])
def test_beds_that_cannot_be(needles, pitch):
    with pytest.raises(BedError):
        Bed(needles, pitch)


def test_work_beside_the_bed():
    with pytest.raises(BedError):
        RowScript(Chart(np.zeros((3, 4), dtype=np.uint8)), Bed(10), 7)


@pytest.mark.parametrize("shape", [(0, 0), (0, 5), (5, 0), (5,), (2, 2, 2)])
def test_a_chart_has_stitches(shape):
    with pytest.raises(ChartError):
        Chart(np.zeros(shape, dtype=np.uint8))


@pytest.mark.parametrize("picture", ["horse", "coins", "camera"])
def test_runs_agree_with_an_independent_labelling(picture):
    """Runs of real pictures against scipy.ndimage.label, one row and one colour at a time.

    The pictures are those that the scikit-image wheel carries.
    """
    data = pytest.importorskip("skimage.data")
    from scipy import ndimage

    grey = np.asarray(getattr(data, picture)()).astype(float)
    grey = grey if grey.ndim == 2 else grey[..., 0]
    bands = np.digitize(grey, np.linspace(grey.min(), grey.max() + 1e-9, 5)[1:-1])
    grid = bands.astype(np.uint8)[:200, :200]
    script = RowScript(Chart(grid), Bed(200), 0)
    along_rows = np.array([[0, 0, 0], [1, 1, 1], [0, 0, 0]])
    expected = {}
    for yarn in np.unique(grid).tolist():
        labels, count = ndimage.label(grid == yarn, structure=along_rows)
        for rows, columns in ndimage.find_objects(labels, count):
            assert rows.stop - rows.start == 1
            expected[rows.start, columns.start] = (yarn, columns.stop - 1)
    table = script.runs
    found = {
        (int(row), int(left)): (int(yarn), int(right))
        for row, yarn, left, right in zip(
            table.row, table.yarn, table.left, table.right, strict=True
        )
    }
    assert found == expected
    assert len(found) > 200

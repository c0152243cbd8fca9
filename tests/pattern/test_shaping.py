"""Shaped pieces: what is done at the edges, what is refused, and that ends go with their stitches.

The rules (one stitch more and two fewer by a transfer tool on either side; more by casting on and
binding off where the carriage stands; three stitches moved together when fully fashioned) are
common practice, from memory.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from supply_checks import by_flow, walk
from transfers import shaped_cells

from caller.errors import ChartError
from caller.pattern.bed import Bed
from caller.pattern.chart import NOT_IN_WORK, Chart, trimmed
from caller.pattern.outline import knittable
from caller.pattern.pattern import Pattern
from caller.pattern.rows import RowScript
from caller.pattern.shaping import Shaping
from caller.pattern.supplies.plan import assign_supplies
from caller.pattern.yarns import Yarn

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"), Yarn("rust", "#a0522d"))


def cells_of(*rows_from_the_top: str) -> np.ndarray:
    """A dot is a needle out of work, a to c are yarns 0 to 2."""
    numbers = {".": NOT_IN_WORK, "a": 0, "b": 1, "c": 2}
    return np.array(
        [[numbers[one] for one in row] for row in reversed(rows_from_the_top)], np.uint8
    )


def pattern_of(*rows_from_the_top: str, **more) -> Pattern:
    return Pattern("Any", Chart(cells_of(*rows_from_the_top)), YARNS, **more)


def test_what_is_done_at_each_edge():
    # Row 2 goes left, row 3 right; the leftmost needle is position 94.
    shaped = pattern_of(
        "...aaa......",
        "..aaaaa.....",
        ".aaaaaaaaa..",
        "..aaaaaaaa..",
        "..aaaaaa....",
    )
    assert [shaped.script.in_work(row) for row in range(1, 6)] == [
        (96, 101),
        (96, 103),
        (95, 103),
        (96, 100),
        (97, 99),
    ]
    done = [shaped.script.shapings(row) for row in range(1, 6)]
    assert done[0] == ()
    assert done[1] == (Shaping("cast on", "right", 102, 103, 103, 0),)
    assert done[2] == (Shaping("increase", "left", 95, 95, 95, 3),)
    assert done[3] == (
        Shaping("bind off", "right", 103, 101, 100, 0),
        Shaping("decrease", "left", 95, 95, 96, 1),  # to a narrow row
    )
    assert done[4] == (  # the carriage stands on the left
        Shaping("decrease", "left", 96, 96, 97, 1),
        Shaping("decrease", "right", 100, 100, 99, 1),
    )


def test_a_rectangle_has_none():
    plain = pattern_of("ab", "aa")
    assert not plain.chart.shaped
    assert plain.chart.in_work == 4
    assert [plain.script.shapings(row) for row in (1, 2)] == [(), ()]


@pytest.mark.parametrize(
    ("rows", "finding", "remedy"),
    [
        (("ab", "..", "aa"), "Row 2 of the chart has no stitch", "a piece of its own"),
        (("aaaa", "a.ba"), "Row 1 has an opening in the work, at stitch 2", "sew them together"),
        (("..ab", "aa.."), "Row 2 has no needle in common with row 1", "pieces of their own"),
        (
            ("..aaaa", "abaaaa", "abaaaa", "abaaaa")[::-1],
            "Before row 2, 2 stitches would be cast on on the left",
            "let row 2 keep the left edge of row 1",
        ),
        (
            ("...aaa", "abaaaa"),
            "Before row 2, 3 stitches would be bound off on the left, at R1, and the carriage "
            "stands on the right",
            "change it in row 3",
        ),
        (
            ("abaaaa", "abaaaa", "aba...", "abaaaa"),
            "The needles on the right from R3 leave the work in row 2 and come back in row 3",
            "short rows cannot be called",
        ),
        (
            ("abaaaa", "aba...", "aba...", "abaaaa"),
            "leave the work in row 2 and come back in row 4",
            "short rows cannot be called",
        ),
    ],
)
def test_what_cannot_be_knitted_is_refused(rows, finding, remedy):
    with pytest.raises(ChartError) as caught:
        pattern_of(*rows)
    assert finding in caught.value.finding
    assert remedy in caught.value.remedy


def test_a_chart_of_nothing():
    with pytest.raises(ChartError, match="Row 1 of the chart has no stitch"):
        Chart(np.full((2, 2), NOT_IN_WORK, np.uint8))
    assert trimmed(cells_of("....", ".ab.", "....")).tolist() == [[0, 1]]
    assert trimmed(cells_of("..")).tolist() == [[255, 255]]


def test_an_edge_in_the_wrong_row_is_moved_by_a_row():
    """Both sides lose four stitches above row 1; the right does so at once, the left a row later,
    for before row 2 the carriage stands on the right."""
    found = knittable(Chart(cells_of("....aab....", "....aab....", "aaaaaabbbbb")), "right")
    assert found == Chart(cells_of("....aab....", "aaaaaab....", "aaaaaabbbbb"))
    assert knittable(found, "right") == found
    # What is kept is in the colour of its neighbour, on the right as on the left.
    found = knittable(Chart(cells_of("....aab....", "....aab....", "aaaaaabbbbb")), "left")
    assert found == Chart(cells_of("....aab....", "....aabbbbb", "aaaaaabbbbb"))
    # Stitches cast on come a row later too; the left side's are in time before row 3.
    found = knittable(Chart(cells_of("aabbb", "aabbb", "..b..")), "right")
    assert found == Chart(cells_of("aabbb", "..bbb", "..b.."))


@given(shaped_cells(), st.sampled_from(["left", "right"]))
def test_any_outline_is_made_knittable(cells, first_direction):
    try:
        chart = knittable(Chart(cells), first_direction)
        script = RowScript(chart, Bed(), 50, first_direction)
    except ChartError as error:
        told = str(error)
    else:
        told = None
    if told is not None:  # the two that moving an edge by a row does not mend
        assert "short rows" in told or "in common" in told
        return
    for row in script:
        start = "left" if row.direction == "right" else "right"
        for done in script.shapings(row.number):
            assert done.kind in ("increase", "decrease") or done.side == start
            assert done.stitches == 1 or done.kind != "increase"
    assert chart.in_work == sum(run.stitches for row in script for run in row.runs)


@settings(max_examples=60, deadline=None)
@given(
    shaped_cells(),
    st.integers(0, 5),
    st.integers(0, 3),
    st.sampled_from(["fully fashioned", "simple"]),
)
def test_ends_go_with_their_stitches_on_the_fewest_supplies(cells, carry, rest, method):
    try:
        script = RowScript(Chart(cells), Bed(), 50, "right", method)
    except ChartError:
        return
    plan = assign_supplies(script, carry, rest)
    assert walk(plan, carry, rest) == by_flow(script, carry, rest)
    table = plan.supplies
    assert table.stitches.sum() == script.chart.in_work
    done = [one for row in range(1, script.rows + 1) for one in script.shapings(row)]
    for kind, counted in (("cast on", table.cast_on), ("bind off", table.bound_off)):
        assert counted.sum() == sum(one.stitches for one in done if one.kind == kind)
    for row in range(1, script.rows + 1):
        hung = len(plan.hanging(row)) if row > 1 else 0
        joined = int((table.first_row == row).sum())
        assert plan.in_row[row - 1] == hung + joined


def test_the_end_that_binds_off_is_cut_afterwards():
    """Row 1 ends in ivory, which binds off four stitches on the right and is not needed after."""
    shaped = pattern_of("aaaaaa....", "aaaaaabbbb")
    plan = shaped.supply_plan
    assert [(entry.supply, entry.end) for entry in plan.row(1)] == [(1, "keep"), (2, "keep")]
    assert plan.cuts[:2].tolist() == [False, True]
    assert plan.hanging(2) == [(100, 0, 1), (100, 1, 2)]  # ivory when it has bound off
    assert plan.binds_off(2) == (2, True)
    assert plan.supplies.last_row.tolist() == [2, 2]
    assert plan.supplies.bound_off.tolist() == [0, 4]


def test_stitches_are_cast_on_with_the_end_that_knits_them():
    """Navy hangs at needle 99, two away from the first of three new stitches, 101 to 103."""
    shaped = pattern_of("aaaaaaa", "aaab...")
    plan = shaped.supply_plan
    (entry,) = plan.row(2)
    assert (entry.start, entry.carry, entry.run.first) == ("continue", 2, 103)
    assert plan.supplies.cast_on.tolist() == [3, 0]

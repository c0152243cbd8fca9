"""Outlines from measurements, against worked examples of others.

- A sleeve and a set-in armhole at 28 stitches and 40 rows to 10 cm: designyourownsweater
  .blogspot.com, "Sleeve" and "Set-in sleeves", January 2007 (seen). 72 stitches become 156 over 176
  rows: 42 a side, every 4th row 34 times and every 5th row 8 times. A back 62 cm wide is cast on
  with 174 stitches; after 152 rows 8 stitches are bound off at the beginning of row 153 and of row
  154; 26 a side are then decreased over 64 rows, which is 2 rows with 12 left over.
- Even spread over so many rows is the division of E. Bjorklund's rhythms and of J. E. Bresenham's
  lines (from memory): no two waits differ by more than one row, and no stretch has more than its
  share.
- Steps where the carriage stands, for what is steeper than a stitch a row: common practice.
"""

from collections import Counter
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.errors import ChartError, SettingError
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.gauge import Gauge
from caller.pattern.outline import Point, cut_out, even_spread, parse_outline
from caller.pattern.rows import RowScript

GAUGE = Gauge(28, 40)


def cut(outline: str, stitches: int, rows: int, direction="right", side=None) -> RowScript:
    chart = Chart(np.zeros((rows, stitches), np.uint8))
    shaped, _ = cut_out(chart, parse_outline(outline, GAUGE), direction, side)
    return RowScript(shaped, Bed(), 10, direction)


def widths(script: RowScript, *rows: int) -> list[int]:
    return [last - first + 1 for first, last in map(script.in_work, rows)]


def done(script: RowScript, side: str) -> list[tuple[int, str, int]]:
    """Before which row, what, and how many stitches, on one side."""
    rows = range(1, script.rows + 1)
    every = [(row, one) for row in rows for one in script.shapings(row)]
    return [(row, one.kind, one.stitches) for row, one in every if one.side == side]


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_sleeve_as_in_the_worked_example(side):
    sleeve = cut("72@0, 156@176, 156@196", 156, 196)
    assert [last - first + 1 for first, last in map(sleeve.in_work, (1, 177, 196))] == [
        72,
        156,
        156,
    ]
    changes = done(sleeve, side)
    assert {what[1:] for what in changes} == {("increase", 1)}
    rows = [row for row, *_ in changes]
    waits = Counter(later - earlier for earlier, later in pairwise([1, *rows]))
    assert waits == {4: 34, 5: 8}


def test_an_armhole_as_in_the_worked_example():
    """The carriage stands on the right before row 153 when row 1 goes to the left."""
    back = cut("62cm@0cm, 62cm@38cm, 56cm@38cm, 38cm@54cm, 38cm@64cm", 174, 256, "left")
    assert back.rows == 256
    assert back.in_work(152) == (10, 183)
    right, left = done(back, "right"), done(back, "left")
    assert (right[0], left[0]) == ((153, "bind off", 8), (154, "bind off", 8))
    for changes in (right[1:], left[1:]):
        assert {what[1:] for what in changes} == {("decrease", 1)}
        waits = [
            later - earlier for earlier, later in pairwise([153, *(row for row, *_ in changes)])
        ]
        assert len(waits) == 26
        assert Counter(waits) == {2: 14, 3: 12}
    assert widths(back, 256) == [106]  # 38 cm


def test_a_raglan_that_ends_at_the_top():
    """60 stitches to 20 over 40 rows: a stitch a side every other row, and the last row has 20."""
    raglan = cut("60@0, 60@10, 20@50", 60, 50)
    assert widths(raglan, 50) == [20]
    rows = [row for row, *_ in done(raglan, "left")]
    assert len(rows) == 20
    assert {later - earlier for earlier, later in pairwise(rows)} <= {1, 2}
    assert rows[-1] == 50


def test_a_shoulder_is_bound_off_in_steps_where_the_carriage_stands():
    """20 stitches a side over 8 rows: five at a time, on either side every other row."""
    back = cut("80@0, 80@20, 40@28, 40@30", 80, 30)
    assert done(back, "left") == [(row, "bind off", 5) for row in (21, 23, 25, 27)]
    assert done(back, "right") == [(row, "bind off", 5) for row in (22, 24, 26, 28)]
    # All at once where the width falls at one height.
    square = cut("80@0, 80@20, 40@20, 40@30", 80, 30)
    assert done(square, "left") == [(21, "bind off", 20)]
    assert done(square, "right") == [(22, "bind off", 20)]
    wider = cut("40@0, 40@20, 80@20, 80@30", 80, 30)
    assert done(wider, "left") == [(21, "cast on", 20)]


def test_a_steep_slope_from_the_bottom():
    """Before row 1 nothing is cast on but the piece itself; then in steps, on either side."""
    cup = cut("20@0, 60@10, 60@20", 60, 20)
    assert done(cup, "left") == [(row, "cast on", 5) for row in (3, 5, 7, 9)]
    assert done(cup, "right") == [(row, "cast on", 4) for row in (2, 4, 6, 8, 10)]


def test_both_sides_slope_alike_after_a_step():
    """A stitch a row after the step: neither side has more to do than the other."""
    back = cut("80@0, 80@20, 72@20, 60@26, 60@30", 80, 30)
    left, right = done(back, "left"), done(back, "right")
    assert (left[0], right[0]) == ((21, "bind off", 4), (22, "bind off", 4))
    assert left[1:] == right[1:]
    assert left[1] == (23, "decrease", 2)


def test_one_side_alone():
    front = cut("40@0, 40@20, 30@40", 40, 40, side="right")
    assert done(front, "left") == []
    assert len(done(front, "right")) == 10
    assert front.in_work(40) == (10, 39)


def test_the_columns_left_out():
    chart = Chart(np.zeros((10, 40), np.uint8))
    shaped, from_left = cut_out(chart, (Point(20, 0), Point(30, 10)), "right")
    assert (shaped.stitches, from_left) == (30, 5)
    plain, from_left = cut_out(chart, (Point(40, 0), Point(40, 10)), "right")
    assert not plain.shaped
    assert (plain, from_left) == (chart, 0)


@given(st.integers(1, 60), st.integers(1, 400))
def test_even_spread(changes, rows):
    after = even_spread(changes, rows)
    waits = Counter(later - earlier for earlier, later in pairwise([0, *after]))
    wait, longer = divmod(rows, changes)
    assert waits == Counter({wait: changes - longer, wait + 1: longer}) - Counter()
    assert after[-1] == rows
    for nth, row in enumerate(after, start=1):  # never a whole row away from the straight line
        assert 0 <= nth * rows / changes - row < 1


@given(
    st.lists(st.tuples(st.integers(4, 60), st.integers(0, 30)), min_size=1, max_size=5),
    st.sampled_from(["left", "right"]),
    st.sampled_from([None, "left", "right"]),
)
def test_any_outline_can_be_knitted_and_has_its_widths(steps, direction, side):
    """Each width is held for three rows, and is there in the third of them to the stitch."""
    points, height = [], 0
    for stitches, rows in steps:
        points += [Point(stitches, height), Point(stitches, height + 3)]
        height += 3 + rows
    chart = Chart(np.zeros((points[-1].rows, 60), np.uint8))
    try:
        shaped, from_left = cut_out(chart, tuple(points), direction, side)
        script = RowScript(shaped, Bed(), 10 + from_left, direction)
    except ChartError as error:
        told = str(error)
    else:
        told = None
    if told is not None:
        assert "short rows" in told or "in common" in told
        return
    for point in points[1::2]:
        off = round((60 - point.stitches) / (1 if side else 2))
        left, right = (off if side in (None, which) else 0 for which in ("left", "right"))
        assert script.in_work(point.rows) == (10 + left, 69 - right)
    assert script.rows == points[-1].rows


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("50cm", "no width at a height"),
        ("50cm@", "no width at a height"),
        ("5.5.5cm@0, 3@4", "no width at a height"),
        ("50cm@0cm", "begins at height 0"),
        ("50cm@1cm, 50cm@2cm", "begins at height 0"),
        ("50@0, 50@9, 40@8", "go upward"),
        ("50@0, 40@0, 40@9", "Two widths are given at height 0"),
    ],
)
def test_an_outline_that_cannot_be_read(text, message):
    with pytest.raises(SettingError, match=message):
        parse_outline(text, GAUGE)


def test_lengths_need_a_gauge():
    with pytest.raises(SettingError, match="Without a gauge"):
        parse_outline("50cm@0, 40cm@9", None)
    assert parse_outline("50@0, 40@9", None) == (Point(50, 0), Point(40, 9))
    assert parse_outline("10in@0cm, 5IN@2in", Gauge(8, 10.5, 1, "in")) == (
        Point(80, 0),
        Point(40, 21),
    )


def test_an_outline_larger_than_the_chart():
    with pytest.raises(
        SettingError, match="62 stitches wide and 9 rows tall, and the chart has 60"
    ):
        cut("60@0, 62@9", 60, 9)
    with pytest.raises(SettingError, match="the chart has 60 stitches and 9 rows"):
        cut("60@0, 60@10", 60, 9)

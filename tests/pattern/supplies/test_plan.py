"""Which supply knits which run: the rules, the two optima, and the arrays of the plan.

The optima are checked by trying every plan on small charts and, on pictures that are not ours (the
ones that scikit-image ships), by networkx, a reference library with another formulation (both
computed here). The longest float of 2.5 cm or 5 stitches is a figure of the trade (seen; sources
disagree).
"""

from pathlib import Path
from typing import Literal

import hypothesis.extra.numpy as arrays
import numpy as np
import pytest
import skimage.data
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from supply_checks import by_flow, chart_of, script_of, tried_out, walk

from caller.errors import ChartError, SettingError
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.gauge import Gauge
from caller.pattern.rows import RowScript, Run
from caller.pattern.supplies.plan import (
    SuppliedRun,
    SupplyPlan,
    assign_supplies,
    default_max_carry,
)

DIRECTIONS = st.sampled_from(["right", "left"])
DEMO_PICTURES = sorted(
    path
    for path in (Path(__file__).parents[3] / "demo_patterns").rglob("*")
    if path.suffix in (".png", ".jpg", ".gif")
)


def small_charts(rows: int = 5, stitches: int = 5, yarns: int = 3) -> st.SearchStrategy[Chart]:
    shapes = st.tuples(st.integers(1, rows), st.integers(1, stitches))
    return arrays.arrays(np.uint8, shapes, elements=st.integers(0, yarns - 1)).map(Chart)


def figures(plan: SupplyPlan) -> tuple[int, int]:
    return plan.total, plan.total_carry


# Both optima


@settings(max_examples=200)
@given(
    small_charts(),
    st.integers(0, 3),
    st.integers(0, 2),
    DIRECTIONS,
)
def test_no_other_plan_is_better(
    chart: Chart, max_carry: int, max_rest_rows: int, first: Literal["right", "left"]
) -> None:
    script = RowScript(chart, Bed(), 7, first)
    plan = assign_supplies(script, max_carry, max_rest_rows)
    assert walk(plan, max_carry, max_rest_rows) == figures(plan)
    assert figures(plan) == tried_out(script, max_carry, max_rest_rows)


@settings(max_examples=40)
@given(
    small_charts(rows=12, stitches=30, yarns=4),
    st.integers(0, 12),
    st.integers(0, 3),
    DIRECTIONS,
)
def test_no_flow_is_better(
    chart: Chart, max_carry: int, max_rest_rows: int, first: Literal["right", "left"]
) -> None:
    script = RowScript(chart, Bed(), 0, first)
    plan = assign_supplies(script, max_carry, max_rest_rows)
    assert walk(plan, max_carry, max_rest_rows) == figures(plan)
    assert figures(plan) == by_flow(script, max_carry, max_rest_rows)


@pytest.mark.no_cover
@pytest.mark.parametrize(("max_carry", "max_rest_rows"), [(1, 0), (7, 0), (60, 0), (7, 2)])
@pytest.mark.parametrize(
    ("name", "colours"), [("horse", 2), ("coins", 4), ("astronaut", 6), ("chelsea", 8)]
)
def test_no_flow_is_better_on_real_pictures(
    name: str, colours: int, max_carry: int, max_rest_rows: int
) -> None:
    picture = np.asarray(getattr(skimage.data, name)())
    if picture.dtype == bool:
        picture = picture.astype(np.uint8) * 255
    script = RowScript(chart_of(Image.fromarray(picture), 50, colours), Bed(), 50)
    plan = assign_supplies(script, max_carry, max_rest_rows)
    assert walk(plan, max_carry, max_rest_rows) == figures(plan)
    assert figures(plan) == by_flow(script, max_carry, max_rest_rows)


@pytest.mark.no_cover
@pytest.mark.parametrize("path", DEMO_PICTURES, ids=lambda path: path.name)
def test_no_flow_is_better_on_our_own_pictures(path: Path) -> None:
    with Image.open(path) as picture:
        script = RowScript(chart_of(picture, min(picture.width, 60), 8), Bed(), 0)
    plan = assign_supplies(script, 7)
    assert walk(plan, 7, 0) == figures(plan) == by_flow(script, 7, 0)


def test_many_batches_give_what_one_gives(monkeypatch: pytest.MonkeyPatch) -> None:
    cells = np.random.default_rng(5).integers(0, 3, (30, 40))
    script = RowScript(Chart(cells), Bed(), 0)
    for max_rest_rows in (0, 1):
        whole = assign_supplies(script, 6, max_rest_rows)
        monkeypatch.setattr("caller.pattern.supplies.matching._FEW_WAYS", 0)
        monkeypatch.setattr("caller.pattern.supplies.matching._BATCH", 7)
        monkeypatch.setattr("caller.pattern.supplies.matching._BLOCK", 50)
        assert figures(assign_supplies(script, 6, max_rest_rows)) == figures(whole)
        assert figures(whole) == by_flow(script, 6, max_rest_rows)
        monkeypatch.undo()


@settings(max_examples=60)
@given(small_charts(rows=8, stitches=20, yarns=2), st.integers(0, 20))
def test_few_ways_are_chosen_among_as_many_are(chart: Chart, max_carry: int) -> None:
    script = RowScript(chart, Bed(), 0)
    few = assign_supplies(script, max_carry)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("caller.pattern.supplies.matching._FEW_WAYS", 0)
        many = assign_supplies(script, max_carry)
    assert figures(few) == figures(many)
    assert figures(few) == walk(few, max_carry, 0)


@settings(max_examples=60)
@given(small_charts(rows=8, stitches=20, yarns=2), st.integers(0, 20), st.integers(0, 2))
def test_supplies_between_the_same_two_rows_do_not_cross(
    chart: Chart, max_carry: int, max_rest_rows: int
) -> None:
    plan = assign_supplies(RowScript(chart, Bed(), 0), max_carry, max_rest_rows)
    row, yarn = plan.script.runs.row, plan.script.runs.yarn
    links = [(int(plan.previous[run]), run) for run in np.flatnonzero(~plan.joins).tolist()]
    for before, after in links:
        for other_before, other_after in links:
            alike = (yarn[before], row[before], row[after]) == (
                yarn[other_before],
                row[other_before],
                row[other_after],
            )
            if alike and before < other_before:
                assert after < other_after


@settings(max_examples=40)
@given(small_charts(rows=6, stitches=12), st.integers(0, 6), st.integers(0, 2))
def test_a_longer_reach_never_takes_more_supplies(
    chart: Chart, max_carry: int, max_rest_rows: int
) -> None:
    script = RowScript(chart, Bed(), 0)
    total = assign_supplies(script, max_carry, max_rest_rows).total
    assert assign_supplies(script, max_carry + 1, max_rest_rows).total <= total
    assert assign_supplies(script, max_carry, max_rest_rows + 1).total <= total


# Worked by hand. Columns count from 0; column 0 lies on the needle at position 100.


def told(plan: SupplyPlan, row: int) -> list[tuple[int, int, str, int, str]]:
    """(yarn, supply, start, carry, end) of each run of the row, as knitted."""
    return [
        (entry.run.yarn, entry.supply, entry.start, entry.carry, entry.end)
        for entry in plan.row(row)
    ]


def test_one_row() -> None:
    plan = assign_supplies(script_of("..aab"), 5)
    assert told(plan, 1) == [
        (0, 1, "join", 0, "cut"),
        (1, 2, "join", 0, "cut"),
        (2, 3, "join", 0, "cut"),
    ]
    assert (plan.total, plan.at_once, plan.total_carry) == (3, 3, 0)


def test_one_row_going_left() -> None:
    plan = assign_supplies(script_of("..aab", first_direction="left"), 5)
    assert [entry.run for entry in plan.row(1)] == [
        Run(2, 104, 104),
        Run(1, 103, 102),
        Run(0, 101, 100),
    ]
    assert [entry.supply for entry in plan.row(1)] == [1, 2, 3]
    assert plan.supply.tolist() == [3, 2, 1]  # the arrays lie left to right


def test_a_straight_block_carries_nothing() -> None:
    plan = assign_supplies(script_of(".aa.", ".aa.", ".aa."), 0)
    assert (plan.total, plan.total_carry) == (3, 0)
    # Row 1 ends at column 2, row 2 begins there going left.
    assert plan.row(2)[1] == SuppliedRun(
        Run(1, 102, 101), 2, "continue", "keep", carry=0, rested=0, carried_from=102
    )
    assert [entry.end for entry in plan.row(3)] == ["cut", "cut", "cut"]


def test_a_block_that_splits_keeps_its_supply_on_the_nearer_side() -> None:
    # Going right, the block ends at column 6; going left, its halves begin at columns 6 and 2.
    plan = assign_supplies(script_of("aaa.aaa", "aaaaaaa"), 5)
    assert told(plan, 2) == [
        (1, 1, "continue", 0, "cut"),
        (0, 2, "join", 0, "cut"),
        (1, 3, "join", 0, "cut"),
    ]


def test_a_block_that_merges_goes_on_with_the_nearer_supply() -> None:
    # Going right, the halves end at columns 2 and 6; going left, the whole begins at column 6.
    plan = assign_supplies(script_of("aaaaaaa", "aaa.aaa"), 5)
    assert [entry.end for entry in plan.row(1)] == ["cut", "cut", "keep"]
    assert told(plan, 2) == [(1, 3, "continue", 0, "cut")]


def test_two_blocks_that_shift_keep_a_supply_each() -> None:
    # Ends at 3 and 9, beginnings at 5 and 11: two carries of 2.
    plan = assign_supplies(script_of("....aa....aa..", "..aa....aa...."), 3)
    assert [entry.carry for entry in plan.row(2) if entry.run.yarn == 1] == [2, 2]


def test_the_nearest_supply_is_given_up_when_that_saves_a_supply() -> None:
    # Yarn a ends at 2 and 6, and begins at 5 and 9, within 3 needles. 6 to 5 costs 1 and leaves 2
    # and 9 alone; 2 to 5 and 6 to 9 cost 6 and save a supply.
    plan = assign_supplies(script_of("aaaaaa...a", "aaa...a..."), 3)
    assert [(e.supply, e.carry) for e in plan.row(2) if e.run.yarn == 1] == [(3, 3), (1, 3)]


def test_carries_that_cost_the_same_are_laid_without_crossing() -> None:
    # Yarn a ends at 4 and 6, and begins at 4 and 2. 4 to 4 and 6 to 2 cost 4, but the second passes
    # over the first; 6 to 4 and 4 to 2 cost 4 too.
    plan = assign_supplies(script_of(".aa.a..", "....a.a"), 4)
    links = [(e.run.first - 100, e.carried_from) for e in plan.row(2) if e.run.yarn == 1]
    assert links == [(4, 106), (2, 104)]


def test_a_block_that_shifts_too_far_takes_a_new_supply() -> None:
    rows = ("...aa", "aa...")  # ends at column 1, begins at column 4
    far = assign_supplies(script_of(*rows), 2)
    near = assign_supplies(script_of(*rows), 3)
    assert [entry.start for entry in far.row(2) if entry.run.yarn == 1] == ["join"]
    assert [entry.carry for entry in near.row(2) if entry.run.yarn == 1] == [3]


def test_the_first_direction_decides_what_is_near() -> None:
    rows = ("aaaaa", "aa...")
    # Right first: a ends at column 1 and begins at column 4, going left. Left first: it ends at
    # column 0 and begins at column 0, going right.
    right = assign_supplies(script_of(*rows), 2)
    left = assign_supplies(script_of(*rows, first_direction="left"), 2)
    assert told(right, 2) == [(1, 3, "join", 0, "cut")]
    assert told(left, 2) == [(1, 2, "continue", 0, "cut")]


def test_a_block_that_vanishes_for_a_row() -> None:
    # Row 1 right: ground 1 ends at column 0, a is 2 at column 1, ground 3 ends at column 2. Row 2
    # left: ground from column 2 to 0 is 3, which then hangs where row 3 begins.
    script = script_of(".a.", "...", ".a.")
    cut_off = assign_supplies(script, 1)
    assert told(cut_off, 3) == [
        (0, 3, "continue", 0, "cut"),
        (1, 4, "join", 0, "cut"),
        (0, 5, "join", 0, "cut"),
    ]
    # With one row at rest, 1 and 2 go on where they hang: ground at 0 and a at 1. Ground 3 hangs at
    # 0 after row 2, three supplies in all: 1 carries from 0 to 2, or 3 does, at a reach of 2.
    assert assign_supplies(script, 1, 1).total == 4
    rested = assign_supplies(script, 2, 1)
    assert (rested.total, rested.total_carry) == (3, 2)
    a = rested.row(3)[1]
    assert (a.supply, a.start, a.rested, a.carry, a.carried_from) == (2, "continue", 1, 0, 101)


def test_two_blocks_that_change_places() -> None:
    # a ends at 1, b at 3; going left b begins at 1 and a at 3: each is carried 2 over the other.
    plan = assign_supplies(script_of("bbaa", "aabb"), 2)
    assert told(plan, 2) == [(1, 1, "continue", 2, "cut"), (2, 2, "continue", 2, "cut")]
    assert assign_supplies(script_of("bbaa", "aabb"), 1).total == 4


def test_no_supply_knits_two_runs_of_a_row() -> None:
    plan = assign_supplies(script_of("a.a.a.a"), 2000, 1000)
    assert plan.supply.tolist() == [1, 2, 3, 4, 5, 6, 7]


def test_one_yarn_does_not_reach_into_the_next() -> None:
    # The last rows of one yarn and the first rows of the next lie side by side in the search.
    script = script_of("bbbb", "bbbb", "aaaa", "aaaa", "....")
    for max_rest_rows in (0, 1, 7, 1000):
        plan = assign_supplies(script, 2000, max_rest_rows)
        assert walk(plan, 2000, max_rest_rows) == (3, 0)


# The arrays and sums of the plan


def test_the_sums_worked_by_hand() -> None:
    # Row 1 right: . joins 1 (ends 0), a joins 2 (ends 2), . joins 3 (ends 4).
    # Row 2 left: . from 4 to 3 keeps 3; a at 2 keeps 2, carry 0; . from 1 keeps 1, carry 1.
    # Row 3 right: all ground from column 0: supply 1 hangs at 0, carry 0.
    plan = assign_supplies(script_of(".....", "..a..", ".aa.."), 1)
    table = plan.supplies
    assert table.yarn.tolist() == [0, 1, 0]
    assert table.first_row.tolist() == [1, 1, 1]
    assert table.last_row.tolist() == [3, 2, 2]
    assert table.stitches.tolist() == [8, 3, 4]
    assert table.carry.tolist() == [1, 0, 0]
    assert plan.in_row.tolist() == [3, 3, 1]
    assert (plan.total, plan.at_once, plan.total_carry) == (3, 3, 1)


@settings(max_examples=60)
@given(small_charts(rows=8, stitches=10), st.integers(0, 4), st.integers(0, 3), DIRECTIONS)
def test_the_arrays_agree_with_the_rows(
    chart: Chart, max_carry: int, max_rest_rows: int, first: Literal["right", "left"]
) -> None:
    plan = assign_supplies(RowScript(chart, Bed(), 50, first), max_carry, max_rest_rows)
    hanging = [0] * chart.rows
    for supply in range(1, plan.total + 1):
        knitted = [
            (number, entry)
            for number in range(1, chart.rows + 1)
            for entry in plan.row(number)
            if entry.supply == supply
        ]
        table, index = plan.supplies, supply - 1
        assert {entry.run.yarn for _, entry in knitted} == {int(table.yarn[index])}
        assert table.first_row[index] == knitted[0][0]
        assert table.last_row[index] == knitted[-1][0]
        assert table.stitches[index] == sum(entry.run.stitches for _, entry in knitted)
        assert table.carry[index] == sum(entry.carry for _, entry in knitted)
        for number in range(knitted[0][0], knitted[-1][0] + 1):
            hanging[number - 1] += 1
    assert ((plan.hung_at == -1) == plan.joins).all()
    assert plan.in_row.tolist() == hanging
    assert plan.at_once == max(hanging)
    assert int(plan.supplies.stitches.sum()) == chart.rows * chart.stitches
    assert np.count_nonzero(plan.joins) == np.count_nonzero(plan.cuts) == plan.total


@pytest.mark.parametrize("number", [0, 3, -1])
def test_a_row_that_is_not_there(number: int) -> None:
    plan = assign_supplies(script_of("a.", ".a"), 1)
    with pytest.raises(ChartError, match=f"There is no row {number}; the rows are 1 to 2"):
        plan.row(number)


# Settings


@pytest.mark.parametrize("value", [-1, 2001, 2.5, True, "5", None, float("nan")])
def test_a_carry_that_cannot_be_used(value: object) -> None:
    with pytest.raises(SettingError) as refusal:
        assign_supplies(script_of("a."), value)  # type: ignore[arg-type]
    assert str(refusal.value) == (
        f"A longest carry of {value} needles cannot be used; give a whole number from 0 to 2000."
    )


@pytest.mark.parametrize("value", [-1, 1001, 0.0, False, "1", None])
def test_a_rest_that_cannot_be_used(value: object) -> None:
    with pytest.raises(SettingError) as refusal:
        assign_supplies(script_of("a."), 5, value)  # type: ignore[arg-type]
    assert str(refusal.value) == (
        f"A longest rest of {value} rows cannot be used; give a whole number from 0 to 1000."
    )


def test_too_many_ways_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("caller.pattern.supplies.matching._MOST_WAYS", 20)
    script = script_of("a.a.a.", ".a.a.a", "a.a.a.")
    with pytest.raises(SettingError, match="With up to 2 rows at rest this chart has too many"):
        assign_supplies(script, 6, 2)
    assert assign_supplies(script, 6).total == 6  # without rest any chart can be shared out


@pytest.mark.parametrize(
    ("gauge", "needles"),
    [
        (None, 5),
        (Gauge(20, 28), 5),
        (Gauge(28, 40), 7),
        (Gauge(30, 39), 7),
        (Gauge(40, 60), 10),
        (Gauge(8, 10.5, 1, "in"), 7),
        (Gauge(3, 4), 1),
    ],
)
def test_the_longest_carry_is_the_stitches_in_two_and_a_half_centimetres(
    gauge: Gauge | None, needles: int
) -> None:
    assert default_max_carry(gauge) == needles

"""A row as acts: in the order of the hands, and as the plan has it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from caller.calling.acts import (
    Cross,
    Cut,
    End,
    Hang,
    Keep,
    Lay,
    Pass,
    Remember,
    TakeUp,
    row_acts,
    setting_up,
)
from caller.calling.changes import row_changes
from caller.errors import ChartError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern, Reminder, SupplyRules
from caller.pattern.yarns import Yarn

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"), Yarn("rust", "#a0522d"))


def pattern_of(grid, **more) -> Pattern:
    return Pattern("Any", Chart(np.array(grid, dtype=np.uint8)), YARNS, **more)


# Eight stitches on needles 96 to 103. Row 1 to the right in navy; row 2 to the left: navy 103, a
# new ivory over 102 and 101, a second navy to 96; row 3 to the right: navy from 96 to 98, ivory,
# which hangs at 101, on 99; a third navy, for the first hangs at 103 and may be carried 2 needles.
ENDS = pattern_of(
    [[0] * 8, [0, 0, 0, 0, 0, 1, 1, 0], [0, 0, 0, 1, 0, 0, 0, 0]],
    supply_rules=SupplyRules(2),
    reminders=(Reminder(3, "move the weights up"),),
)
NAVY_1, IVORY = End(1, 0, 1, False), End(2, 1, 1, True)
NAVY_2, NAVY_AGAIN = End(3, 0, 2, False), End(4, 0, 1, False)


def test_the_ends_hang_before_row_1():
    assert setting_up(ENDS) == (Hang(NAVY_1, 96, "left"),)
    assert list(row_acts(ENDS, 1)) == [
        TakeUp(NAVY_1, 96, obvious=True, shared=False),
        Lay(NAVY_1, 96, 103),
        Pass("right"),
    ]


def test_in_the_order_of_the_hands():
    assert list(row_acts(ENDS, 2)) == [
        TakeUp(NAVY_1, 103, obvious=True, shared=False),
        Lay(NAVY_1, 103, 103),
        Hang(IVORY, 102, "right"),
        Lay(IVORY, 102, 101),
        Hang(NAVY_2, 100, "right"),
        Lay(NAVY_2, 100, 96),
        Pass("left"),
        Cut(NAVY_1, 103, shared=False),
    ]
    assert list(row_acts(ENDS, 3)) == [
        TakeUp(NAVY_2, 96, obvious=True, shared=False),
        Lay(NAVY_2, 96, 98),
        TakeUp(IVORY, 101, obvious=False, shared=False),
        Cross(NAVY_2, IVORY, 98),
        Lay(IVORY, 99, 99),
        Hang(NAVY_AGAIN, 100, "left"),
        Lay(NAVY_AGAIN, 100, 103),
        Pass("right"),
        Cut(NAVY_2, 98, shared=False),
        Cut(IVORY, 99, shared=False),
        Keep(NAVY_AGAIN, 103, shared=False),
        Remember("move the weights up"),
    ]
    assert row_acts(ENDS, 3).cuts_all
    assert not row_acts(ENDS, 2).cuts_all


@pytest.mark.parametrize("number", [0, 4])
def test_there_is_no_such_row(number):
    with pytest.raises(ChartError):
        row_acts(ENDS, number)


def test_an_end_with_another_as_near_is_not_obvious():
    """Row 2, to the left, lays navy on 99, between the navy ends at 98 and 100."""
    near = pattern_of([[0, 0, 1, 0, 1, 1], [0, 1, 0, 1, 1, 1]])
    takes = [step.take for step in row_acts(near, 2).steps if step.lay.end.yarn == 0]
    assert [(take.hangs_at, take.obvious) for take in takes] == [(100, False), (98, True)]


def test_two_ends_that_hang_at_one_needle():
    """Ivory's first end rests at needle 99 through row 2, in which its second one ends there."""
    grid = [[1, 1, 0, 0, 1], [0, 1, 1, 1, 0], [1, 0, 1, 0, 0], [1, 1, 1, 0, 1]]
    rests = pattern_of(grid, supply_rules=SupplyRules(3, 3))
    assert [(end.yarn, end.needle) for end in rests.supply_plan.hanging(3)].count((1, 99)) == 2
    takes = [step.take for step in row_acts(rests, 3).steps if step.lay.end.yarn == 1]
    # Once the first is laid, the second is the only one there.
    assert [(take.hangs_at, take.shared, take.obvious) for take in takes] == [
        (99, True, False),
        (99, False, True),
    ]


@given(
    arrays(np.uint8, st.tuples(st.integers(1, 7), st.integers(1, 8)), elements=st.integers(0, 2)),
    st.integers(0, 4),
    st.integers(0, 2),
)
def test_the_acts_are_those_of_the_plan(grid, max_carry, max_rest_rows):
    pattern = pattern_of(grid, supply_rules=SupplyRules(max_carry, max_rest_rows))
    plan = pattern.supply_plan
    hung = [hang.end.supply for hang in setting_up(pattern)]
    cut = []
    for number in range(1, pattern.script.rows + 1):
        acts, entries = row_acts(pattern, number), plan.row(number)
        assert [(step.lay.first, step.lay.last) for step in acts.steps] == [
            (entry.run.first, entry.run.last) for entry in entries
        ]
        for step, entry in zip(acts.steps, entries, strict=True):
            assert step.lay.end == step.take.end
            assert (step.lay.end.supply, step.lay.end.yarn) == (entry.supply, entry.run.yarn)
            if isinstance(step.take, Hang):
                hung.append(step.take.end.supply)
            elif number > 1:
                assert step.take.hangs_at == entry.carried_from
                assert entry.carry <= 1 or not step.take.obvious
        cut += [act.end.supply for act in acts.cuts]
        assert (acts.kept is not None) == (number == pattern.script.rows)
    assert acts.kept is not None
    cut.append(acts.kept.end.supply)
    assert sorted(hung) == sorted(cut) == list(range(1, plan.total + 1))


@given(
    arrays(np.uint8, st.tuples(st.integers(2, 6), st.integers(1, 8)), elements=st.integers(0, 2))
)
def test_the_changes_make_a_row_of_the_one_before(grid):
    pattern = pattern_of(grid)
    for number in range(2, pattern.script.rows + 1):
        changes = row_changes(pattern, row_acts(pattern, number))
        if changes is None:
            continue
        row = grid[number - 2].copy()
        for step, taken in changes:
            if taken:
                first, last = sorted((step.lay.first, step.lay.last))
                offset = pattern.script.first_needle
                assert (row[first - offset : last - offset + 1] != step.lay.end.yarn).all()
                row[first - offset : last - offset + 1] = step.lay.end.yarn
        assert (row == grid[number - 1]).all()

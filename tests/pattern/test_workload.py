"""What a plan asks of the knitter, against hand-worked rows and a matching by networkx."""

from typing import Literal

import hypothesis.extra.numpy as arrays
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from supply_checks import script_of

from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.rows import RowScript
from caller.pattern.supplies.plan import SupplyPlan, assign_supplies
from caller.pattern.workload import (
    LongCarry,
    Stretch,
    Summary,
    YarnWork,
    by_yarn,
    crowded,
    densest,
    long_carries,
    single_stitches,
    summary,
)


@st.composite
def plans(draw: st.DrawFn) -> SupplyPlan:
    shape = st.tuples(st.integers(1, 10), st.integers(1, 12))
    cells = draw(arrays.arrays(np.uint8, shape, elements=st.integers(0, 2)))
    first: Literal["right", "left"] = draw(st.sampled_from(["right", "left"]))
    script = RowScript(Chart(cells), Bed(), 30, first)
    return assign_supplies(script, draw(st.integers(0, 5)), draw(st.integers(0, 2)))


# Row 1 right: ground 1 over column 0, a 2 over 1 to 3, ground 3 over 4 and 5.
# Row 2 left: ground from 5 to 0, with 3 (hangs at 5); 1 and 2 are cut in row 1.
# Row 3 right: ground to 2 with 3 (hangs at 0), a 4 over column 3, ground 5 over 4 and 5.
# Row 4 left: ground 5, a 4 from column 3, ground 3 from column 2: all carry 0.
# Row 5 right: a 4 hangs at column 3 and begins at column 1, carry 2; ground 3 hangs at 0.
FIVE_ROWS = script_of(".aaa..", "...a..", "...a..", "......", ".aaa..")


def test_five_rows_worked_by_hand() -> None:
    plan = assign_supplies(FIVE_ROWS, 2)
    assert plan.supplies.first_row.tolist() == [1, 1, 1, 3, 3]
    assert plan.supplies.last_row.tolist() == [1, 1, 5, 5, 5]
    assert summary(plan) == Summary(
        supplies=5,
        clips=3,
        tails=3,
        ends=10,
        bobbins=3,
        carries=1,
        longest_carry=2,
        single_stitches=4,
    )
    assert plan.bobbins.bobbin.tolist() == [1, 1, 2, 1, 1]
    assert plan.bobbins.leftover_of.tolist() == [0, 0, 0, 2, 1]
    assert by_yarn(plan) == (
        YarnWork(yarn=0, supplies=3, bobbins=2, ends=6, stitches=22),
        YarnWork(yarn=1, supplies=2, bobbins=1, ends=4, stitches=8),
    )


def test_dense_and_crowded_rows_worked_by_hand() -> None:
    plan = assign_supplies(FIVE_ROWS, 2)
    assert densest(plan) == (Stretch(1, 1, 3, 3), Stretch(3, 5, 3, 3), Stretch(2, 2, 1, 1))
    assert densest(plan, 1) == (Stretch(1, 1, 3, 3),)
    assert crowded(plan, 2) == (Stretch(1, 1, 3, 3), Stretch(3, 5, 3, 3))
    assert crowded(plan, 0) == (Stretch(1, 5, 3, 3),)
    assert crowded(plan, 3) == ()


def test_a_leftover_waits_for_the_next_row() -> None:
    # a is cut at column 0 in row 1 and joins far away in row 2, then again in row 3: a supply cut
    # in one row serves the next.
    plan = assign_supplies(script_of("a......", "......a", "a......"), 1)
    mine = plan.supplies.yarn == 1
    assert plan.bobbins.bobbin[mine].tolist() == [1, 1, 1]
    # In one row nothing can be handed on.
    one_row = assign_supplies(script_of("a.a.a"), 1)
    assert one_row.bobbins.total == one_row.total == 5


def test_long_carries_worked_by_hand() -> None:
    # Row 1 right: a ends at column 1 (needle 101); row 2 left: it begins at column 6, carry 5.
    # The ground: row 1 ends at 9, row 2 begins at 9 and at 4; the second joins.
    plan = assign_supplies(script_of(".....aa...", "aa........"), 5)
    assert long_carries(plan, 4) == (LongCarry(2, 1, 1, 101, 106, 5),)
    assert long_carries(plan, 5) == ()


def test_single_stitches_of_each_row() -> None:
    plan = assign_supplies(script_of("a.aa.a", "aaaaaa", "a....."), 1)
    assert single_stitches(plan).tolist() == [1, 0, 4]


@settings(max_examples=150, deadline=None)
@given(plans())
def test_no_way_of_handing_on_takes_fewer_bobbins(plan: SupplyPlan) -> None:
    """Fewest bobbins = supplies less the most leftovers handed on (Dilworth; computed here)."""
    table, on = plan.supplies, plan.bobbins
    every = range(plan.total)
    import networkx as nx

    may_serve = nx.Graph()
    may_serve.add_nodes_from(("cut", supply) for supply in every)
    may_serve.add_nodes_from(("joins", supply) for supply in every)
    may_serve.add_edges_from(
        (("cut", a), ("joins", b))
        for a in every
        for b in every
        if table.yarn[a] == table.yarn[b] and table.last_row[a] < table.first_row[b]
    )
    cut = [("cut", supply) for supply in every]
    matching = nx.bipartite.hopcroft_karp_matching(may_serve, cut)
    assert on.total == plan.total - len(matching) // 2
    assert on.total == sum(yarn.bobbins for yarn in by_yarn(plan))
    # What is handed on exists, is of the yarn, was cut in an earlier row and is used once.
    used = [int(supply) - 1 for supply in on.leftover_of if supply]
    assert len(used) == len(set(used))
    for later, earlier in enumerate(on.leftover_of.tolist()):
        if earlier:
            assert ("cut", earlier - 1) in may_serve[("joins", later)]
            assert on.bobbin[earlier - 1] == on.bobbin[later]


@settings(max_examples=100, deadline=None)
@given(plans(), st.integers(0, 6))
def test_the_facts_agree_with_the_rows(plan: SupplyPlan, limit: int) -> None:
    rows = [plan.row(number) for number in range(1, plan.script.rows + 1)]
    entries = [entry for row in rows for entry in row]
    facts = summary(plan)
    assert facts.ends == 2 * facts.supplies
    assert facts.tails == max(sum(entry.start == "join" for entry in row) for row in rows)
    assert facts.carries == sum(entry.carry > 0 for entry in entries)
    assert facts.longest_carry == max(entry.carry for entry in entries)
    assert facts.single_stitches == sum(entry.run.stitches == 1 for entry in entries)
    assert facts.clips == int(plan.in_row.max())
    for what in ("supplies", "bobbins", "ends"):
        assert getattr(facts, what) == sum(getattr(yarn, what) for yarn in by_yarn(plan))

    long = long_carries(plan, limit)
    assert sorted(carry.needles for carry in long) == sorted(
        entry.carry for entry in entries if entry.carry > limit
    )
    assert all(abs(carry.to_needle - carry.from_needle) == carry.needles for carry in long)
    assert list(long) == sorted(long, key=lambda carry: (-carry.needles, carry.row))

    full = {
        number
        for stretch in crowded(plan, limit)
        for number in range(stretch.first_row, stretch.last_row + 1)
    }
    assert full == {number for number in range(1, len(rows) + 1) if plan.in_row[number - 1] > limit}

    dense = densest(plan, len(rows))
    numbers = [
        number
        for stretch in dense
        for number in range(stretch.first_row, stretch.last_row + 1)
        if (len(rows[number - 1]), plan.in_row[number - 1]) == (stretch.runs, stretch.supplies)
    ]
    assert sorted(numbers) == list(range(1, len(rows) + 1))
    assert list(dense) == sorted(dense, key=lambda s: (-s.runs, -s.supplies, s.first_row))

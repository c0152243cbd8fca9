"""Whoever does to the letter what the call says knits the chart, and has no end left over.

What is said is read by an independent parser and done by hands that know nothing of the plan; then
every join, carry and cut of the plan must have been said once, at its row.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from row_decoder import Heard, Work, understood
from simulated_hands import Hands
from transfers import shaped_cells

from caller.calling.commands import Command
from caller.calling.session import begin, step
from caller.calling.words.row_call import row_call
from caller.errors import ChartError
from caller.pattern.bed import Bed
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.finishing import cast_off
from caller.pattern.pattern import Pattern, SupplyRules
from caller.pattern.storage.pattern_file import load
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

DEMOS = sorted((Path(__file__).parents[3] / "demo_patterns").glob("*.toml"))
METHODS = ["fully fashioned", "simple"]
WORDINGS = ["short", "full", "changes"]


def work_of(pattern: Pattern) -> Work:
    half = pattern.bed.needles // 2
    names = [yarn.name for yarn in pattern.yarns]
    return Work(names, *pattern.script.in_work(1), half)


def rows_called(pattern: Pattern, chosen: CallSettings) -> list[Heard]:
    """Every row as it is understood from its whole call."""
    heard: list[Heard] = []
    for row in pattern.script:
        clauses = [clause.said for clause in row_call(pattern, row, chosen)]
        heard.append(understood(clauses, work_of(pattern), heard[-1] if heard else None))
    return heard


def rows_of_a_session(pattern: Pattern, chosen: CallSettings) -> list[Heard]:
    """Every row as it is understood by a knitter who says nothing but "next row"."""
    heard: list[Heard] = []
    answer = begin(pattern, chosen, None, 160)
    clauses = [clause.said for clause in answer.say[4:]]  # after the opening
    while answer.state.place.row <= pattern.script.rows:
        row = answer.state.place.row
        answer = step(pattern, chosen, answer.state, Command.NEXT)
        if answer.state.place.row != row:
            heard.append(understood(clauses, work_of(pattern), heard[-1] if heard else None))
            clauses = []
        clauses += [clause.said for clause in answer.say]
    return heard


def check(pattern: Pattern, heard: list[Heard]) -> None:
    hands = Hands(pattern.shaping == "fully fashioned")
    for row in heard:
        hands.follow(row)
        check_plan(pattern, row)
    names = np.array([yarn.name for yarn in pattern.yarns])
    in_work = [cells[cells != NOT_IN_WORK] for cells in pattern.chart.cells]
    assert hands.knitted == [tuple(names[cells]) for cells in in_work]
    # One end hangs in the end: where the carriage stands, on the side from which it binds off.
    assert hands.binds_off is not None
    assert hands.hanging == [hands.binds_off]
    side = pattern.script.direction(pattern.script.rows)
    assert hands.binds_off.needle == hands.in_work[side == "right"]
    assert hands.binds_off.yarn == pattern.yarns[cast_off(pattern).yarn].name
    assert hands.hung == hands.cut + 1 == pattern.supply_plan.total


def check_plan(pattern: Pattern, row: Heard) -> None:
    """Joins, floats and cuts are those of the plan, each told once at its row."""
    entries = pattern.supply_plan.row(row.row)
    names = [pattern.yarns[entry.run.yarn].name for entry in entries]
    joins = [
        (name, entry.run.first)
        for name, entry in zip(names, entries, strict=True)
        if entry.start == "join"
    ]
    told = [(end.yarn, end.at) for end in row.hung]
    told += [(one.end.yarn, one.first) for one in row.laid if one.end.new]
    taken = {one.first: one.end.at for one in row.laid if one.end.at is not None}
    wound = set()
    for shaped in row.shapes:
        assert (shaped.kind, shaped.side, shaped.stitches) in [
            (done.kind, done.side, done.stitches) for done in pattern.script.shapings(row.row)
        ]
        if shaped.kind == "cast on" and shaped.end.new:  # hung when stitches are cast on with it
            told.insert(0, (shaped.end.yarn, shaped.edge))
        elif shaped.kind == "cast on":
            wound.add(shaped.edge)
            if shaped.end.at is not None:
                taken[shaped.edge] = shaped.end.at
    assert len(row.shapes) == len(pattern.script.shapings(row.row))
    assert told == joins
    for entry in entries:
        floats = entry.carry > 1 and entry.run.first not in wound
        if floats or entry.run.first in taken:
            assert taken[entry.run.first] == entry.carried_from
    cuts = [
        (name, entry.run.last)
        for name, entry in zip(names, entries, strict=True)
        if entry.end == "cut"
    ]
    assert (row.kept is not None) == (row.row == pattern.script.rows)
    if row.kept is not None:
        assert (row.kept.yarn, row.kept.at) == cuts.pop()
    if row.cuts_all is None:
        assert [(end.yarn, end.at) for end in row.cuts] == cuts
    else:
        assert row.cuts_all == len(cuts)


@pytest.mark.no_cover
@pytest.mark.parametrize("wording", WORDINGS)
@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_the_demo_patterns(path, wording):
    pattern = load(path)
    check(pattern, rows_of_a_session(pattern, CallSettings(wording=wording)))
    check(pattern, rows_called(pattern, CallSettings(wording=wording, crossings=True)))


@pytest.mark.no_cover
@pytest.mark.parametrize("rest", [0, 3])
@pytest.mark.parametrize("picture", ["astronaut", "coffee", "chelsea"])
def test_real_pictures(picture, rest):
    """Pictures of the scikit-image wheel in five tones, 60 stitches wide: wild, and not tidied."""
    data = pytest.importorskip("skimage.data")
    image = getattr(data, picture)().mean(axis=2)
    lines = np.linspace(0, image.shape[0] - 1, 50).astype(int)
    columns = np.linspace(0, image.shape[1] - 1, 60).astype(int)
    tones = np.digitize(image[np.ix_(lines, columns)], [50, 100, 150, 200]).astype(np.uint8)
    pattern = pattern_of(tones, max_carry=6, max_rest_rows=rest)
    check(pattern, rows_of_a_session(pattern, CallSettings()))


any_call = st.builds(
    CallSettings,
    wording=st.sampled_from(WORDINGS),
    numbers=st.sampled_from(["words", "digits", "checked"]),
    runs_at_once=st.integers(0, 5),
    crossings=st.booleans(),
)
grids = arrays(
    np.uint8, st.tuples(st.integers(1, 9), st.integers(1, 12)), elements=st.integers(0, 2)
)


@settings(max_examples=150)
@given(
    grids,
    st.integers(0, 5),
    st.integers(0, 3),
    st.sampled_from(["right", "left"]),
    any_call,
)
def test_random_charts(grid, max_carry, max_rest_rows, direction, chosen):
    pattern = pattern_of(grid, max_carry, max_rest_rows, direction)
    check(pattern, rows_of_a_session(pattern, chosen))
    check(pattern, rows_called(pattern, chosen))


@settings(max_examples=50, deadline=None)
@given(shaped_cells(), st.integers(0, 5), st.integers(0, 3), st.sampled_from(METHODS), any_call)
def test_random_shapes(cells, max_carry, max_rest_rows, method, chosen):
    try:
        pattern = replace(pattern_of(cells, max_carry, max_rest_rows), shaping=method)
    except ChartError:  # short rows
        return
    check(pattern, rows_of_a_session(pattern, chosen))
    check(pattern, rows_called(pattern, chosen))


def pattern_of(grid, max_carry=5, max_rest_rows=0, direction="right") -> Pattern:
    names = ("navy", "ivory", "rust", "sand", "moss")
    return Pattern(
        "Any",
        Chart(grid),
        tuple(Yarn(name, f"#{index:06x}") for index, name in enumerate(names)),
        bed=Bed(100),
        first_direction=direction,
        supply_rules=SupplyRules(max_carry, max_rest_rows),
    )

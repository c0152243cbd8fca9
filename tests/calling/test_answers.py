"""What the knitter asks in the middle of the work."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from caller.calling.commands import Command
from caller.calling.place import Place
from caller.calling.session import begin, step
from caller.calling.state import State
from caller.calling.words.utterance import said
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern, SupplyRules
from caller.pattern.storage.pattern_file import load
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"), Yarn("rust", "#a0522d"))
USUAL = CallSettings()
DEMOS = sorted((Path(__file__).parents[2] / "demo_patterns").glob("*.toml"))


def pattern_of(grid, **more) -> Pattern:
    return Pattern("Any", Chart(np.array(grid, dtype=np.uint8)), YARNS, **more)


PATTERN = pattern_of([[0, 0, 1, 1], [0, 0, 1, 1], [0, 0, 1, 1], [0, 1, 1, 1], [2, 2, 1, 0]])


def answer(order, row, settings=USUAL, pattern=PATTERN, run=0, times=()) -> str:
    state = State(Place(row, run), 160, row_times_s=tuple(times))
    return said(step(pattern, settings, state, order).say)


def test_where():
    assert answer(Command.WHERE, 2) == (
        "This is row two of five, going left. The carriage is on the right."
    )
    # Rows alternate; before a row to the right the carriage stands on the left (practice).
    assert answer(Command.WHERE, 5).endswith("going right. The carriage is on the left.")


def test_where_in_a_row_that_comes_in_pieces():
    one, two = CallSettings(runs_at_once=1), CallSettings(runs_at_once=2)
    assert "From yarn three of three." in answer(Command.WHERE, 5, one, run=2)
    assert "From yarn one of three." in answer(Command.WHERE, 5, two)
    assert "From yarn three of three." in answer(Command.WHERE, 5, two, run=2)
    assert "yarn" not in answer(Command.WHERE, 1, two)


def test_the_rows_to_go():
    assert answer(Command.REMAINING, 2) == (
        "Four rows to go, counting this one. "
        "I can tell how long it takes once three rows are timed."
    )
    assert answer(Command.REMAINING, 5).startswith("This is the last row. I can")
    assert "finished" in answer(Command.REMAINING, 6)


@pytest.mark.parametrize(
    ("row_s", "time"),
    [
        (1, "Less than a minute."),
        (15, "About one minute."),
        (37, "About two minutes."),
        (300, "About twenty minutes."),
        (465, "About thirty minutes."),
        (500, "About thirty-five minutes."),
        (900, "About one hour."),
        (1100, "About one hour and fifteen minutes."),
        (5400, "About six hours."),
    ],
)
def test_the_time_to_go(row_s, time):
    assert answer(Command.REMAINING, 2, times=(row_s,) * 3).endswith(f"counting this one. {time}")


def test_the_time_is_taken_from_the_rows_of_this_session():
    """The clock is handed in; a long break in between does not spoil the pace."""
    pattern = pattern_of([[0, 1]] * 40)
    state = begin(pattern, USUAL, Place(11), 160, now_s=1000.0).state
    now_s = 1000.0
    for row_s in (50, 60, 3600, 70, 60):
        now_s += row_s
        state = step(pattern, USUAL, state, Command.NEXT, now_s).state
    told = said(step(pattern, USUAL, state, Command.REMAINING, now_s + 30).say)
    # Rows 16 to 40 at the median of 60 s.
    assert told == "Twenty-five rows to go, counting this one. About twenty-five minutes."


def test_pieces_are_not_timed_as_rows():
    settings = CallSettings(runs_at_once=1)
    state = begin(PATTERN, settings, Place(1, 0), 160).state
    for now_s in (-10, 0, 10, 20, 30, 40):
        state = step(PATTERN, settings, state, Command.NEXT, now_s).state
    assert state.row_times_s == (20, 20)


def test_what_changes():
    assert answer(Command.CHANGES, 1) == (
        "No change through row three. Row number four, going left. ivory takes left one."
    )
    assert answer(Command.CHANGES, 3).startswith(
        "Row number four, going left. ivory takes left one."
    )
    assert "new rust takes left two, as far as left one." in answer(Command.CHANGES, 4)
    assert answer(Command.CHANGES, 5) == "This is the last row."
    assert "finished" in answer(Command.CHANGES, 6)
    same = pattern_of([[0, 1, 2, 2]] * 3)
    assert answer(Command.CHANGES, 1, pattern=same) == (
        "No change through row two. Row number three, going right. Same as the row before. "
        "After the pass, cut two ends, all but one. Keep rust, at right two, which binds off."
    )


def test_the_supplies_that_hang():
    assert answer(Command.SUPPLIES, 1).startswith(
        "Before row one, the carriage stands on the left. Hang two ends, tails to the left. "
        "navy, at left two. ivory, at right one."
    )
    assert answer(Command.SUPPLIES, 2) == ("Two ends hang. navy, at left one. ivory, at right two.")
    assert answer(Command.SUPPLIES, 5) == "Two ends hang. navy, at left two. ivory, at left one."
    few = pattern_of([[0, 0, 1, 1], [0, 0, 0, 0], [0, 0, 0, 0]])
    assert answer(Command.SUPPLIES, 3, pattern=few) == "One end hangs. navy, at left two."
    assert "finished" in answer(Command.SUPPLIES, 6)


@settings(deadline=None)
@given(
    arrays(np.uint8, st.tuples(st.integers(1, 7), st.integers(1, 8)), elements=st.integers(0, 2)),
    st.integers(0, 3),
    st.integers(0, 2),
)
def test_the_supplies_add_up(grid, max_carry, max_rest_rows):
    """Followed run by run from the plan: joined, kept at the last needle, cut."""
    pattern = pattern_of(grid, supply_rules=SupplyRules(max_carry, max_rest_rows))
    hung: dict[int, tuple[int, int, int]] = {}
    for number in range(1, pattern.script.rows + 1):
        assert pattern.supply_plan.hanging(number) == sorted(hung.values())
        for run in pattern.supply_plan.row(number):
            hung[run.supply] = (run.run.last, run.run.yarn, run.supply)
            if run.end == "cut":
                del hung[run.supply]
    assert hung == {}
    assert pattern.supply_plan.hanging(pattern.script.rows + 1) == []


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_question_has_an_answer_in_every_row(path):
    pattern = load(path)
    for row in range(1, pattern.script.rows + 2):
        for order in Command:
            assert answer(order, row, pattern=pattern), (order, row)

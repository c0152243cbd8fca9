"""Spoken moves faster than anyone knits: the third is held, and the place is checked instead."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.commands import Command
from caller.calling.moves import HURRY_S
from caller.calling.session import begin, step
from caller.calling.words.utterance import said, shown
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

ROWS = 40
CELLS = np.tile(np.repeat([[0, 1, 2]], 4, axis=1), (ROWS, 1)).astype(np.uint8)
PATTERN = Pattern(
    "Forty rows",
    Chart(CELLS),
    (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"), Yarn("rust", "#a0522d")),
)
USUAL = CallSettings()


def begun(settings=USUAL):
    """The first row, its ends hung."""
    return replace(begin(PATTERN, settings, None, 160).state, setting_up=None)


def moved(gaps_s, order=Command.NEXT, spoken=True, settings=USUAL, state=None):
    """The answers to one order, again and again, so many seconds apart."""
    now_s, answers = 0.0, []
    state = state or begun(settings)
    for gap_s in gaps_s:
        now_s += gap_s
        answers.append(step(PATTERN, settings, state, order, now_s, spoken))
        state = answers[-1].state
    return answers


def rows(answers):
    return [answer.state.place.row for answer in answers]


def test_the_third_in_a_hurry_is_a_place_check():
    assert rows(moved([60, 2, 2, 2])) == [2, 3, 3, 4]
    held = moved([2, 2, 2])[-1]
    assert held.state.place.row == 3
    assert shown(held.say) == (
        "That was quick. This is still row 3 of 40. "
        "Check: carriage on the left, 3 ends. Say it again to move."
    )
    assert said(held.say).startswith("That was quick. This is still row three.")


def test_said_again_after_the_check_it_moves():
    assert rows(moved([2, 2, 2, 2, 2])) == [2, 3, 3, 4, 5]


@pytest.mark.parametrize("order", [Command.NEXT, Command.BACK])
def test_both_ways(order):
    start = begin(PATTERN, USUAL, None, 160, chosen=20).state
    way = 1 if order is Command.NEXT else -1
    assert rows(moved([1, 1, 1], order, state=start)) == [20 + way, 20 + 2 * way, 20 + 2 * way]


def test_keys_and_pedals_may_hurry():
    assert rows(moved([0.2] * 10, spoken=False)) == list(range(2, 12))


def test_a_key_between_begins_the_count_anew():
    state = begun()
    for spoken, row in ((True, 2), (True, 3), (False, 4), (True, 5), (True, 6), (True, 6)):
        state = step(PATTERN, USUAL, state, Command.NEXT, 0.0, spoken).state
        assert state.place.row == row


def test_pieces_of_one_row_are_no_hurry():
    by_yarn = CallSettings(runs_at_once=1)
    answers = moved([2] * 6, settings=by_yarn)
    assert [answer.state.place.row for answer in answers] == [1, 1, 2, 2, 2, 3]


def test_the_knitters_own_pace_counts():
    """Rows of four seconds, a plain piece: after three of them four seconds are no hurry."""
    state = replace(begun(), row_times_s=(4.0, 4.2, 3.9))
    assert rows(moved([4] * 8, state=state)) == list(range(2, 10))


def test_moves_in_a_hurry_are_no_pace():
    assert moved([60, 2, 60])[-1].state.row_times_s == (60.0, 60.0)
    assert moved([60, 2, 60], spoken=False)[-1].state.row_times_s == (60.0, 2.0, 60.0)


def test_a_row_at_a_time_is_never_held():
    assert rows(moved([HURRY_S + 1] * 10)) == list(range(2, 12))


@given(st.lists(st.sampled_from([0.5, 2.0, 5.0, 9.0, 20.0, 29.0]), min_size=3, max_size=12))
def test_three_in_a_row_are_impossible(gaps_s):
    """At a pace of a minute a row, however the false moves come; more of them would change it."""
    state = replace(begun(), row_times_s=(60.0,) * 9)
    steps = np.diff([1, *rows(moved(gaps_s, state=state))])
    assert set(steps) <= {0, 1}
    assert "111" not in "".join(map(str, steps))

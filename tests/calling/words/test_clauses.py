"""The words of the rows: read back by an independent reader, and some of them word for word."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from row_decoder import Heard, Work, understood

from caller.calling.place import Place, after
from caller.calling.words import utterance
from caller.calling.words.clauses import word_count
from caller.calling.words.row_call import call, plain_stretch, row_call
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern, Reminder, SupplyRules
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

NAMES = ("navy", "ivory", "new supply", "plain", "navy, to")


def pattern_of(grid, names=NAMES[:3], **more) -> Pattern:
    yarns = tuple(Yarn(name, f"#{index:06x}") for index, name in enumerate(names))
    return Pattern("Any", Chart(np.array(grid, dtype=np.uint8)), yarns, **more)


def said(pattern, row, **chosen) -> str:
    return utterance.said(row_call(pattern, pattern.script.row(row), CallSettings(**chosen)))


def shown(pattern, row, **chosen) -> str:
    return utterance.shown(row_call(pattern, pattern.script.row(row), CallSettings(**chosen)))


# Rows from the bottom up, as they lie on needles L3 to R3.
BLOCKS = pattern_of(
    [[0, 0, 0, 1, 1, 1], [0, 0, 0, 0, 0, 1], [0, 0, 0, 0, 0, 1], [0, 2, 2, 2, 2, 2]]
)


def test_short():
    assert said(BLOCKS, 1) == "Row one, to the right. navy, to left one. ivory, to right three."
    assert shown(BLOCKS, 2) == "Row 2, to the left: ivory to R3; navy to L3."


def test_full():
    assert said(BLOCKS, 1, wording="full") == (
        "Row one, to the right. "
        "navy, from left three, to left one, over three stitches, new supply, tail to the left. "
        "ivory, from right one, to right three, over three stitches, new supply, tail to the left."
    )
    assert said(BLOCKS, 2, wording="full") == (
        "Row two, to the left. "
        "ivory, from right three, to right three, over one stitch. "
        "navy, from right two, to left three, over five stitches, carried from left one."
    )
    assert shown(BLOCKS, 4, wording="full") == (
        "Row 4, to the left: new supply R3 to L2, 5 stitches, new supply, tail to the right; "
        "navy L3 to L3, 1 stitch, carried from R2. "
        "After the pass, cut new supply at L2. After the pass, cut navy at L3."
    )


def test_changes():
    assert said(BLOCKS, 1, wording="changes") == said(BLOCKS, 1)
    assert said(BLOCKS, 2, wording="changes") == (
        "Row two, to the left. navy takes right two, to right one."
    )
    assert said(BLOCKS, 3, wording="changes") == "Row three, to the right. As the last row."
    assert shown(BLOCKS, 3, wording="changes") == "Row 3, to the right: as the last row."
    assert shown(BLOCKS, 4, wording="changes") == ("Row 4, to the left: new supply takes R3 to L2.")


def test_changes_give_way_to_the_short_wording_where_that_is_briefer():
    pattern = pattern_of([[0, 1, 0, 1, 0, 1], [1, 1, 1, 1, 1, 0]])
    assert said(pattern, 2, wording="changes") == said(pattern, 2)


def test_events():
    assert said(BLOCKS, 2, events=True) == (
        "Row two, to the left. ivory, to right three. navy, to left three, carried from left one."
    )
    assert said(BLOCKS, 3, events=True) == (
        "Row three, to the right. navy, to right two. ivory, to right three. "
        "After the pass, cut ivory at right three."
    )
    assert said(BLOCKS, 2, wording="changes", events=True) == (
        "Row two, to the left. navy takes right two, to right one, carried from left one."
    )
    assert said(BLOCKS, 3, wording="changes", events=True) == (
        "Row three, to the right. As the last row. After the pass, cut ivory at right three."
    )


def test_events_of_runs_that_do_not_change():
    pattern = pattern_of([[1, 2, 1, 0, 0, 0], [1, 2, 1, 0, 2, 2]])
    assert said(pattern, 2, wording="changes", events=True).startswith(
        "Row two, to the left. new supply takes right three, to right two, new supply, tail to the "
        "right. navy at right one, carried from right three. After the pass, cut "
    )


def test_a_yarn_on_the_next_needle_is_not_told_as_a_carry():
    pattern = pattern_of([[0, 0, 0, 1, 1, 1], [0, 0, 1, 1, 1, 1]])
    assert "carried" not in said(pattern, 2, events=True)


def test_crossings():
    assert said(BLOCKS, 1, crossings=True).endswith("right three. Cross at one joint.")
    three = pattern_of([[0, 0, 1, 2, 2, 2]])
    assert said(three, 1, crossings=True).endswith("Cross at two joints.")
    plain = pattern_of([[0] * 6, [1] * 6])
    assert "Cross" not in said(plain, 1, crossings=True)


def test_reminders_come_last():
    pattern = replace(BLOCKS, reminders=(Reminder(2, "move the weights up"),))
    told = said(pattern, 2, wording="full", crossings=True)
    assert told.endswith("Cross at one joint. Remember: move the weights up.")


PLAIN = pattern_of([[0, 0, 1], *[[1, 1, 1]] * 12, [0, 1, 1], [0, 0, 0], [1, 1, 1]])


def test_plain_rows_are_told_once_and_counted():
    usual = CallSettings()
    assert utterance.said(call(PLAIN, usual, Place(2))) == (
        "Row two, to the left. Twelve plain rows, ivory, to row thirteen, one three."
    )
    assert utterance.said(call(PLAIN, usual, Place(4))) == "Plain ivory, three of twelve."
    assert (
        utterance.shown(call(PLAIN, usual, Place(4))) == "Row 4, to the left: plain ivory, 3 of 12."
    )
    assert utterance.said(call(PLAIN, usual, Place(4), "afresh")) == (
        "Row four, to the left. ivory, to left one. Plain ivory, three of twelve."
    )
    assert utterance.said(call(PLAIN, usual, Place(4), "whole")) == (
        "Row four, to the left. ivory, to left one."
    )
    assert "plain" not in utterance.said(call(PLAIN, usual, Place(15)))
    assert plain_stretch(PLAIN, 1) is plain_stretch(PLAIN, 15) is plain_stretch(PLAIN, 16) is None


def test_plain_rows_keep_their_events_and_reminders():
    pattern = replace(PLAIN, reminders=(Reminder(4, "move the weights up"),))
    told = CallSettings(events=True)
    assert utterance.said(call(pattern, told, Place(2))) == (
        "Row two, to the left. Twelve plain rows, ivory, to row thirteen, one three."
    )
    assert utterance.said(call(pattern, told, Place(4))) == (
        "Plain ivory, three of twelve. Remember: move the weights up."
    )
    new = pattern_of([[0, 0, 0], [1, 1, 1], [1, 1, 1]])
    assert utterance.said(call(new, told, Place(2))) == (
        "Row two, to the left. Two plain rows, ivory, to row three. "
        "ivory at right two, new supply, tail to the right."
    )
    assert utterance.said(call(new, told, Place(3))) == (
        "Plain ivory, two of two. After the pass, cut ivory at right two."
    )


def test_pieces():
    two, three_runs = CallSettings(runs_at_once=2), pattern_of([[0, 0, 1, 2, 2, 2]])
    place, told = Place(1), []
    while place.row == 1:
        told.append(utterance.said(call(three_runs, two, place)))
        place = after(three_runs, two, place)
    assert told == [
        "Row one, to the right. navy, to left two. ivory, to left one.",
        "new supply, to right three. End of row.",
    ]
    assert utterance.said(call(three_runs, two, Place(1, 2), "afresh")) == (
        "Row one, to the right. From yarn three of three, at right one. "
        "new supply, to right three. End of row."
    )
    assert utterance.said(call(BLOCKS, two, Place(1))).endswith("ivory, to right three.")


def test_the_pause_between_runs():
    call_ = row_call(BLOCKS, BLOCKS.script.row(1), CallSettings(pause_s=2.5))
    assert [clause.pause_s for clause in call_[1:]] == [2.5, 2.5]


def test_checks():
    every = CallSettings(check_every_rows=2)
    assert utterance.said(call(BLOCKS, every, Place(3))).startswith(
        "Check: carriage on the left, two supplies. Row three, to the right."
    )
    for row, told in [(1, False), (2, False), (4, False)]:
        assert ("Check" in utterance.said(call(BLOCKS, every, Place(row)))) is told
    assert "Check" not in utterance.said(call(BLOCKS, every, Place(3), "afresh"))
    assert "Check" not in utterance.said(call(BLOCKS, CallSettings(), Place(3)))


any_settings = st.builds(
    CallSettings,
    wording=st.sampled_from(["short", "full", "changes"]),
    numbers=st.sampled_from(["words", "digits", "checked"]),
    events=st.booleans(),
    crossings=st.booleans(),
    check_every_rows=st.integers(0, 3),
)
# Stitches in few yarns and few rows, so that rows repeat, blocks come and go, and plain rows occur.
grids = arrays(
    np.uint8, st.tuples(st.integers(1, 8), st.integers(1, 12)), elements=st.integers(0, 2)
) | st.lists(
    st.sampled_from([(0,) * 30, (1,) * 30, (0,) * 13 + (1,) * 17, (0,) * 15 + (2,) + (1,) * 14]),
    min_size=1,
    max_size=8,
).map(lambda rows: np.array(rows, dtype=np.uint8))


@settings(max_examples=200, deadline=None)
@given(
    grids,
    st.permutations(NAMES),
    st.sampled_from(["right", "left"]),
    st.sampled_from(["centre", "straight"]),
    st.integers(0, 3),
    any_settings,
)
def test_every_wording_tells_the_row(grid, names, direction, numbering, max_carry, chosen):
    """Each row is rebuilt from its words and from the row as it was understood before."""
    pattern, work = laid(grid, names[:3], direction, numbering, max_carry)
    before = None
    for row in pattern.script:
        clauses = [clause.said for clause in row_call(pattern, row, chosen)]
        before = understood(clauses, work, before)
        assert before == true_row(pattern, row.number)


@settings(max_examples=200, deadline=None)
@given(
    grids,
    st.permutations(NAMES),
    st.sampled_from(["right", "left"]),
    any_settings,
    st.integers(0, 4),
)
def test_the_session_tells_every_row(grid, names, direction, chosen, runs_at_once):
    """The same for what is called from place to place, in pieces and with plain rows counted."""
    pattern, work = laid(grid, names[:3], direction, "centre", 2)
    if chosen.wording != "changes":
        chosen = replace(chosen, runs_at_once=runs_at_once)
    place, before = Place(1), None
    while place.row <= pattern.script.rows:
        row, clauses = place.row, []
        while place.row == row:
            clauses += [clause.said for clause in call(pattern, chosen, place)]
            place = after(pattern, chosen, place)
        before = understood(clauses, work, before)
        assert before == true_row(pattern, row)


def laid(grid, names, direction, numbering, max_carry) -> tuple[Pattern, Work]:
    bed = Bed(40, numbering=numbering)
    rules = SupplyRules(max_carry)
    pattern = pattern_of(grid, names, bed=bed, first_direction=direction, supply_rules=rules)
    first = 20 - grid.shape[1] // 2
    half = 20 if numbering == "centre" else None
    return pattern, Work(names, first, first + grid.shape[1] - 1, half)


def true_row(pattern: Pattern, row: int) -> Heard:
    ways = {"right": ["right", "left"], "left": ["left", "right"]}[pattern.first_direction]
    names = tuple(pattern.yarns[cell].name for cell in pattern.chart.cells[row - 1])
    return Heard(row, ways[(row - 1) % 2], names)


@settings(deadline=None)
@given(grids, any_settings)
def test_changes_are_never_longer_than_the_short_wording(grid, chosen):
    pattern = pattern_of(grid)
    for row in pattern.script:
        changes = row_call(pattern, row, replace(chosen, wording="changes"))
        short = row_call(pattern, row, replace(chosen, wording="short"))
        assert word_count(changes) <= word_count(short)


@pytest.mark.parametrize("style", ["words", "digits", "checked"])
def test_what_is_shown_has_figures_in_every_style(style):
    assert shown(BLOCKS, 1, numbers=style) == shown(BLOCKS, 1)

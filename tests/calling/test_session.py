"""The session as a pure function, and the words it says."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from caller.calling import wording
from caller.calling.commands import PHRASES, WAYS, Command, from_key, from_line, from_phrase
from caller.calling.session import Place, begin, step
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern, Reminder
from caller.pattern.yarns import Yarn

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"), Yarn("rust", "#a0522d"))
GRID = np.array([[0, 0, 1, 1], [0, 1, 1, 1], [2, 2, 1, 0]], dtype=np.uint8)
PATTERN = Pattern("Three rows", Chart(GRID), YARNS, reminders=(Reminder(2, "move the weights up"),))

moves = st.lists(st.sampled_from(list(Command)), max_size=30)


def test_a_row_call():
    call = wording.row_call(PATTERN, PATTERN.script.row(2))
    assert wording.said(call) == (
        "Row two, to the left. ivory, to left one. navy, to left two. "
        "Remember: move the weights up."
    )
    assert wording.shown(call) == (
        "Row 2, to the left: ivory to L1; navy to L2. Remember: move the weights up."
    )


def test_it_opens_with_the_pattern_and_its_first_row():
    opened = begin(PATTERN, None)
    assert opened.place == Place(1)
    assert wording.shown(opened.say) == (
        "Three rows. 4 stitches, L2 to R2; 3 rows. Row 1, to the right: navy to L1; ivory to R2."
    )


def test_it_carries_on_and_says_so():
    opened = begin(PATTERN, 2)
    assert opened.place == Place(2)
    assert wording.shown(opened.say).startswith("Carrying on at row 2 of 3. Row 2, to the left:")


def test_back_from_row_one_is_said():
    answer = step(PATTERN, Place(1), Command.BACK)
    assert answer.place == Place(1)
    assert wording.shown(answer.say).startswith("This is the first row")


def test_the_end_says_how_many_rows():
    answer = step(PATTERN, Place(3), Command.NEXT)
    assert answer.place == Place(4)
    assert wording.said(answer.say) == "The picture is finished. All three rows are knitted."
    again = step(PATTERN, answer.place, Command.NEXT)
    assert again == answer
    assert step(PATTERN, answer.place, Command.BACK).place == Place(3)


@given(moves)
def test_the_place_never_leaves_the_work(commands):
    place = begin(PATTERN, None).place
    for command in commands:
        before = place
        answer = step(PATTERN, place, command)
        place = answer.place
        assert 1 <= place.row <= PATTERN.script.rows + 1
        assert abs(place.row - before.row) <= 1
        assert wording.said(answer.say), "every command is answered by ear"
        assert answer.leave == (command is Command.LEAVE)
        if command in (Command.REPEAT, Command.WHERE, Command.HELP, Command.LEAVE):
            assert place == before


@given(st.integers(1, 2))
def test_back_undoes_next(row):
    there = step(PATTERN, Place(row), Command.NEXT).place
    assert step(PATTERN, there, Command.BACK).place == Place(row)


def words(text: str) -> str:
    return " ".join(re.findall(r"[a-z']+", text.casefold()))


def everything_said(pattern: Pattern) -> list[str]:
    rows = range(1, pattern.script.rows + 2)
    says = [begin(pattern, kept).say for kept in (None, *rows)]
    says += [step(pattern, Place(row), command).say for row in rows for command in Command]
    says.append(wording.not_understood())
    # A pause of 0.29 s or more ends a word for the ears, so clauses apart by that are apart.
    spoken = []
    for say in says:
        breath = ""
        for clause in say:
            breath += " " + clause.said
            if clause.pause_s >= 0.4:
                spoken.append(breath)
                breath = ""
        spoken.append(breath)
    return spoken


def test_no_command_phrase_is_ever_said():
    for text in everything_said(PATTERN):
        for phrase in PHRASES:
            assert phrase not in words(text), text


@given(
    arrays(np.uint8, st.tuples(st.integers(1, 6), st.integers(1, 9)), elements=st.integers(0, 2)),
    st.sampled_from(["right", "left"]),
)
def test_the_words_rebuild_the_row(grid, direction):
    """A decoder of our own reads the said words and lays the yarns; needles by counting words."""
    pattern = Pattern("Any", Chart(grid), YARNS, Bed(20), None, direction)
    counted = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]
    for number in range(1, grid.shape[0] + 1):
        text = wording.said(wording.row_call(pattern, pattern.script.row(number)))
        head, *runs = text.removesuffix(".").split(". ")
        going = 1 if head.endswith("to the right") else -1
        assert head.split(",")[0] == f"Row {counted[number - 1]}"
        at = pattern.script.first_needle if going == 1 else pattern.script.last_needle
        laid = {}
        for run in runs:
            name, side, count = re.fullmatch(r"(\w+), to (left|right) (\w+)", run).groups()
            needle = counted.index(count) + 1
            end = 10 - needle if side == "left" else 9 + needle
            while (end - at) * going >= 0:
                laid[at] = name
                at += going
        expected = [YARNS[cell].name for cell in grid[number - 1]]
        assert [laid[needle] for needle in sorted(laid)] == expected


def test_the_table_is_consistent():
    phrases = [phrase for way in WAYS for phrase in way.phrases]
    keys = [key for way in WAYS for key in way.keys]
    assert len(phrases) == len(set(phrases))
    assert len(keys) == len(set(keys))
    assert {way.command for way in WAYS} == set(Command)
    for one in phrases:
        assert one == " ".join(one.casefold().split())
        assert not any(other != one and other.startswith(one) for other in phrases)


@pytest.mark.parametrize(
    ("key", "command"),
    # The keys that the design asks for, pedals included.
    [(key, Command.NEXT) for key in ("space", "enter", "pagedown", "right")]
    + [(key, Command.REPEAT) for key in ("r", "R", "up")]
    + [(key, Command.BACK) for key in ("b", "left", "pageup", "backspace")]
    + [("q", Command.LEAVE), ("?", Command.HELP), ("x", None), ("f13", None)],
)
def test_keys(key, command):
    assert from_key(key) is command


@pytest.mark.parametrize(
    ("line", "command"),
    [
        ("next", Command.NEXT),
        ("  Next ROW ", Command.NEXT),
        ("", Command.NEXT),
        ("r", Command.REPEAT),
        ("go back", Command.BACK),
        ("where", Command.WHERE),
        ("?", Command.HELP),
        ("q", Command.LEAVE),
        ("nextrow", None),
        ("next row please", None),
        ("7", None),
    ],
)
def test_typed_lines(line, command):
    assert from_line(line) is command


def test_only_whole_phrases_are_spoken_commands():
    assert from_phrase("next row") is Command.NEXT
    assert from_phrase("next") is None
    assert from_phrase("") is None


def test_the_help_tells_of_every_command():
    text = wording.shown(wording.help_text())
    for way in WAYS:
        assert way.does in text
        for phrase in way.phrases:
            assert f'"{phrase}"' in text

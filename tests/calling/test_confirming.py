"""Rows gone to and rows unravelled: read back first, done on a yes, and left by anything else."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.commands import Command
from caller.calling.confirming import ANSWER_S
from caller.calling.events import NotQuiteHeard, Pressed, Spoken, Typed
from caller.calling.orders import overheard, understood
from caller.calling.place import Place
from caller.calling.session import begin, step
from caller.calling.spelling import Asked
from caller.calling.state import State
from caller.calling.words.utterance import said, shown
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

ROWS = 60
YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"), Yarn("rust", "#a0522d"))
# Rust knits in rows 21 to 30 only, so after row 30 its end is cut.
CELLS = np.tile(np.repeat(np.array([[0, 1, 1]], dtype=np.uint8), 4, axis=1), (ROWS, 1))
CELLS[20:30, 8:] = 2
PATTERN = Pattern("Sixty rows", Chart(CELLS), YARNS)
USUAL = CallSettings()


def at(row: int) -> State:
    return State(Place(row), 160)


def answers(*orders, row=20, settings=USUAL, gap_s=5.0, spoken=True):
    """The answers to these orders, one after the other, so many seconds apart."""
    state, now_s, told = at(row), 0.0, []
    for order in orders:
        now_s += gap_s
        told.append(step(PATTERN, settings, state, order, now_s, spoken))
        state = told[-1].state
    return told


def to_row(number: str) -> Asked:
    return Asked(Command.ROW, number)


def unravelled(number: str) -> Asked:
    return Asked(Command.UNRAVEL, number)


def test_a_row_is_read_back_and_gone_to_on_a_yes():
    asked, done = answers(to_row("42"), Command.YES)
    assert shown(asked.say) == "Row 42? Say yes please, or go back."
    assert asked.state.place == Place(20)
    assert done.state.place == Place(42)
    assert said(done.say).startswith("Check: carriage on the right,")
    assert "Row number forty-two, going left." in said(done.say)


def test_what_was_pressed_or_cannot_be_said_now_is_answered_by_keys():
    """While listening is paused a spoken yes is passed over."""
    by_keys = "Row 42? For yes press Y, for no B."
    asked, again = answers(to_row("42"), Command.REPEAT, spoken=False)
    assert shown(asked.say) == shown(again.say) == by_keys
    assert shown(answers(Command.PAUSE, to_row("42"))[-1].say) == by_keys
    [two] = answers(Asked(Command.ROW, "13", "30", close=True), spoken=False)
    assert shown(two.say).endswith("For the first press Y, for the other B.")


def test_a_number_that_is_misheard_easily_is_read_back_in_digits():
    """The lab's misses were thirteen for thirty and fourteen for forty; words alone in the
    settings do not take the digits from a question."""
    for numbers in ("words", "checked"):
        [asked] = answers(to_row("13"), settings=CallSettings(numbers=numbers))
        assert said(asked.say).startswith("Row thirteen, one three?")
    [asked] = answers(to_row("13"), settings=CallSettings(numbers="digits"))
    assert said(asked.say).startswith("Row one three?")


@pytest.mark.parametrize("order", [Command.NEXT, Command.BACK])
def test_a_move_is_a_no_and_does_not_move(order):
    _, left = answers(to_row("42"), order)
    assert left.state.place == Place(20)
    assert left.state.question is None
    assert shown(left.say) == "Not done. This is still row 20."
    assert answers(to_row("42"), order, Command.YES)[-1].state.place == Place(20)


def test_a_question_in_between_is_a_no_and_is_answered():
    _, left = answers(to_row("42"), Command.WHERE)
    assert shown(left.say).startswith("Not done. This is still row 20. This is row 20 of 60")
    assert answers(to_row("42"), Command.WHERE, Command.YES)[-1].state.place == Place(20)


def test_a_repeat_reads_it_back_again():
    asked, again, done = answers(to_row("42"), Command.REPEAT, Command.YES)
    assert again.say == asked.say
    assert done.state.place == Place(42)


def test_another_number_is_read_back_instead():
    """Misheard: the knitter says it once more."""
    _, corrected, done = answers(to_row("13"), to_row("30"), Command.YES)
    assert shown(corrected.say).startswith("Row 30?")
    assert done.state.place == Place(30)


def test_the_same_number_said_again_was_the_next_likeliest():
    """Thirty was said and heard as thirteen; said again, nobody means what was just read back."""
    heard = Asked(Command.ROW, "13", "30")
    _, again, done = answers(heard, heard, Command.YES)
    assert shown(again.say).startswith("Row 30?")
    assert done.state.place == Place(30)
    # A third time it is thirteen again: nobody is stuck.
    assert shown(answers(heard, heard, heard)[-1].say).startswith("Row 13?")
    back = answers(Asked(Command.UNRAVEL, "14", "4"), Asked(Command.UNRAVEL, "14", "4"))[-1]
    assert shown(back.say).startswith("4 rows unravelled?")


def test_two_numbers_that_sound_alike_are_both_asked_for():
    heard = Asked(Command.ROW, "13", "30", close=True)
    asked, done = answers(heard, Command.YES)
    told = "Row 13, or row 30? Say yes please for the first, go back for the other."
    assert shown(asked.say) == told
    assert "one three" in said(asked.say), "a teen is told from a ten"
    assert done.state.place == Place(13)
    _, other, gone = answers(heard, Command.BACK, Command.YES)
    assert shown(other.say) == "Row 30? Say yes please, or go back."
    assert gone.state.place == Place(30)
    assert answers(heard, Command.BACK, Command.BACK)[-1].state.place == Place(20)
    assert answers(heard, Command.NEXT)[-1].state.place == Place(20)
    # Said once more, one is asked for by itself, and nothing is done unasked.
    assert shown(answers(heard, heard)[-1].say).startswith("Row 13? Say")
    assert shown(answers(heard, to_row("30"))[-1].say).startswith("Row 30? Say")
    assert shown(answers(heard, heard, heard)[-1].say).startswith("Row 30? Say")
    assert answers(heard, heard)[-1].state.place == Place(20)


def test_a_number_that_cannot_be_meant_is_not_asked_for():
    heard = Asked(Command.UNRAVEL, "13", "30", close=True)
    assert shown(answers(heard)[-1].say).startswith("13 rows unravelled? So row 7?")
    both = shown(answers(heard, row=60)[-1].say)
    assert both.startswith("13 or 30 rows unravelled? Say yes please for the first,")
    assert answers(heard, Command.BACK, Command.YES, row=60)[-1].state.place == Place(30)


def test_needles_that_sound_alike_are_both_answered():
    both = said(answers(Asked(Command.NEEDLE, "L13", "L30", close=True))[-1].say)
    each = [said(answers(Asked(Command.NEEDLE, one))[-1].say) for one in ("L13", "L30")]
    assert both == " ".join(each)
    new_bobbin = answers(Asked(Command.BOBBIN, "L13", "L30", close=True))[-1]
    assert said(new_bobbin.say) == f"{both} Which of these two? Say it again."
    assert not new_bobbin.state.refills


def test_a_yes_that_comes_too_late_does_nothing():
    late = answers(to_row("42"), Command.YES, gap_s=ANSWER_S + 1)[-1]
    assert late.state.place == Place(20)
    assert said(late.say) == "Nothing was asked."
    # And a move is a move again.
    moved = answers(to_row("42"), Command.NEXT, gap_s=ANSWER_S + 1)[-1]
    assert moved.state.place == Place(21)


def test_rows_unravelled():
    """The carriage as it must stand, and every end that hangs there again, rust's too."""
    asked, done = answers(unravelled("10"), Command.YES, row=35)
    assert shown(asked.say) == "10 rows unravelled? So row 25? Say yes please, or go back."
    assert done.state.place == Place(25)
    told = said(done.say)
    # Before a row to the right the carriage stands on the left (practice).
    assert told.startswith("Check: carriage on the left,")
    assert "rust" in told.split("Row twenty-five")[0]
    assert "rust" not in said(answers(to_row("34"), Command.YES, row=35)[-1].say)


def test_after_the_last_row():
    done = answers(unravelled("1"), Command.YES, row=ROWS + 1)[-1]
    assert done.state.place == Place(ROWS)


@pytest.mark.parametrize(
    ("order", "wrong"),
    [
        (to_row("61"), "There is no row 61; the picture has 60 rows."),
        (to_row("0"), "There is no row 0; the picture has 60 rows."),
        (to_row("-3"), "That is not a number of rows."),
        (to_row("forty"), "That is not a number of rows."),
        (to_row("9" * 5000), "That is not a number of rows."),
        (to_row("²"), "That is not a number of rows."),
        (to_row(" "), "No number was given."),
        (unravelled("20"), "There are only 19 rows below this one."),
        (unravelled("0"), "There are only 19 rows below this one."),
    ],
)
def test_numbers_that_cannot_be(order, wrong):
    [answer] = answers(order)
    assert shown(answer.say) == wrong
    assert answer.state.question is None
    assert answer.state.place == Place(20)


def test_leaving_is_asked_of_a_voice_and_not_of_a_key():
    asked, done = answers(Command.LEAVE, Command.YES)
    assert not asked.leave
    assert shown(asked.say) == "Stop for today? Say yes please, or go back."
    assert done.leave
    assert "Stopping at row 20" in shown(done.say)
    assert answers(Command.LEAVE, spoken=False)[0].leave
    assert answers(to_row("42"), Command.LEAVE, spoken=False)[-1].leave, "Ctrl-C always leaves"
    assert not answers(Command.LEAVE, Command.NEXT)[-1].leave
    assert answers(Command.LEAVE, Command.LEAVE)[-1].leave, "said twice it is meant"
    asked = answers(to_row("42"), Command.LEAVE)[-1]
    assert not asked.leave, "it is not the answer to another question"
    assert "Stop for today?" in shown(asked.say)


def test_the_keys_are_told_where_nothing_is_listened_for():
    [asked] = answers(to_row("42"), settings=CallSettings(said=()))
    assert shown(asked.say) == "Row 42? For yes press Y, for no B."


def test_a_row_by_keys():
    state, told = at(20), []
    for key in ("g", "4", "r", "g", "4", "2", "enter", "y"):
        order = understood(PATTERN.bed, state, Pressed(key))
        assert order is not None
        answer = step(PATTERN, USUAL, state, order)
        state, told = answer.state, [*told, shown(answer.say)]
    assert told[0] == "Which row? Press its number, then Enter; Enter alone for none."
    assert told[2].startswith("Row 20"), "no key of a number but a command, as ever"
    assert told[6].startswith("Row 42?")
    assert state.place == Place(42)


def test_the_number_comes_with_the_word():
    bed = PATTERN.bed
    assert understood(bed, at(1), Spoken(Command.ROW, "42")) == to_row("42")
    assert understood(bed, at(1), Spoken(Command.ROW, "13", "30")) == Asked(Command.ROW, "13", "30")
    assert understood(bed, at(1), Spoken(Command.NEEDLE, "L2")) == Asked(Command.NEEDLE, "L2")
    assert understood(bed, at(1), Spoken(Command.NEXT)) is Command.NEXT


# Marks.


def test_a_marked_row_is_told_of_when_it_is_called():
    [marked] = answers(Command.MARK)
    assert shown(marked.say) == "Row 20 is marked."
    again = begin(PATTERN, USUAL, Place(19), 160, marked=marked.state.marked).state
    called = step(PATTERN, USUAL, again, Command.NEXT)
    assert shown(called.say).startswith("You marked this one. Row 20,")
    off = step(PATTERN, USUAL, called.state, Command.MARK)
    assert shown(off.say) == "Row 20 is no longer marked."
    assert off.state.marked == frozenset()


# Listening paused.


def test_paused_it_hears_nothing_but_the_way_back():
    paused = answers(Command.PAUSE)[-1]
    assert said(paused.say) == (
        "I have stopped listening. To be heard again, say carry on listening, or press the "
        "letter L."
    )
    for event in (Spoken(Command.NEXT), Spoken(Command.LEAVE), NotQuiteHeard()):
        assert overheard(paused.state, event, 5.0)
    asked = step(PATTERN, USUAL, paused.state, to_row("42"), 5.0).state
    assert overheard(asked, Spoken(Command.YES), 6.0), "asked by keys, while somebody else talks"
    assert not overheard(paused.state, Spoken(Command.LISTEN), 5.0)
    assert not overheard(paused.state, Pressed("space"), 5.0)
    told = step(PATTERN, USUAL, paused.state, Command.WHERE)
    assert "I have stopped listening." in said(told.say)
    back = step(PATTERN, USUAL, paused.state, Command.LISTEN)
    assert said(back.say) == "I can hear you again."
    assert not overheard(back.state, Spoken(Command.NEXT), 5.0)


def test_a_yes_is_passed_over_unless_something_was_asked():
    asked = answers(to_row("42"))[-1].state
    assert not overheard(asked, Spoken(Command.YES), 6.0)
    assert overheard(asked, Spoken(Command.YES), 6.0 + ANSWER_S)
    assert overheard(at(1), Spoken(Command.YES), 0.0)


@given(
    st.lists(
        st.sampled_from(list(Command))
        | st.builds(
            Asked,
            st.sampled_from([Command.ROW, Command.UNRAVEL, Command.NEEDLE]),
            st.sampled_from(["1", "7", "13", "30", "60", "61", "x", "l3", ""]),
        ),
        max_size=40,
    ),
    st.sampled_from([0.5, 10.0, 40.0]),
)
def test_no_number_moves_without_a_yes_right_after_it_was_read_back(orders, gap_s):
    state, now_s = at(20), 0.0
    for order in orders:
        now_s += gap_s
        before, state = state, step(PATTERN, USUAL, state, order, now_s).state
        moved = state.place.row - before.place.row
        if order is Command.YES and before.question is not None and gap_s <= ANSWER_S:
            assert state.place.row == before.question.row or state.place == before.place
        else:
            assert abs(moved) <= 1
            assert moved == 0 or order in (Command.NEXT, Command.BACK)
        if before.question is not None and order in (Command.NEXT, Command.BACK):
            assert moved == 0 or gap_s > ANSWER_S


def test_the_finishing_ends_where_a_row_is_gone_to():
    answer = answers(Command.FINISH, to_row("42"), Command.YES, Command.NEXT, row=ROWS + 1)[-1]
    assert answer.state.place == Place(43)


# Remarks, typed key by key.


def test_a_remark_is_typed_at_the_keys_and_read_back_at_its_row():
    state, told = at(20), []
    for key in ("o", "L", "o", "x", "backspace", "space", "9", "b", "enter"):
        order = understood(PATTERN.bed, state, Pressed(key))
        answer = step(PATTERN, USUAL, state, order)
        state = answer.state
        told.append((said(answer.say), shown(answer.say)))
    assert told == [
        *[("Type your remark, then Enter; Enter alone for none.",) * 2, ("L.", "L"), ("o.", "Lo")],
        *[("x.", "Lox"), ("Taken back.", "Lo"), ("space.", "Lo "), ("9.", "Lo 9"), ("b.", "Lo 9b")],
        ("Row twenty is marked: Lo 9b.", "Row 20 is marked: Lo 9b."),
    ]
    assert state.remarks == {20: "Lo 9b"}
    again = begin(PATTERN, USUAL, Place(20), 160, marked=state.marked, remarks=state.remarks)
    assert "You noted here: Lo 9b. Row 20," in shown(again.say)


def test_no_remark_is_made_of_nothing_nor_by_a_pedal():
    asking = step(PATTERN, USUAL, at(20), Command.REMARK).state
    for key in ("pagedown", "left"):
        assert understood(PATTERN.bed, asking, Pressed(key)) in (Command.NEXT, Command.BACK)
    assert understood(PATTERN.bed, asking, Typed("loose edge")) == Asked(
        Command.REMARK, "loose edge"
    )
    spaces = step(PATTERN, USUAL, asking, understood(PATTERN.bed, asking, Pressed("space"))).state
    none = step(PATTERN, USUAL, spaces, understood(PATTERN.bed, spaces, Pressed("enter")))
    assert shown(none.say) == "No remark was given."
    assert none.state.spelling is None
    assert not none.state.remarks

"""What helps when something went wrong, on a piece that can be read at a glance."""

import pytest
from small_pieces import STEPS

from caller.calling.commands import Command
from caller.calling.place import Place
from caller.calling.session import step
from caller.calling.spelling import Asked, Spelled
from caller.calling.state import State
from caller.calling.words.utterance import said, shown
from caller.settings import CallSettings

USUAL = CallSettings()


def at(row: int) -> State:
    return State(Place(row), 160)


def ask(label: str, state: State):
    return step(STEPS, USUAL, state, Asked(Command.HAPPENED, label))


def test_a_needle_over_the_last_rows():
    assert shown(ask("r1", at(8)).say) == (
        "On R1, from the newest row down: "
        "From row 5 through row 7, rust, hung in row 5 at R1, cut in row 7 at R2. "
        "From row 3 through row 4, cream, hung in row 3 at L2. "
        "From row 1 through row 2, navy, bobbin 1, hung in row 1 at L4. "
        "To come below its last change, unravel 3 rows. "
        "To hear what can be done, ask the same again."
    )


def test_only_rows_that_are_knitted_are_told():
    assert shown(ask("R1", at(4)).say).startswith(
        "On R1, from the newest row down: Row 3, cream, hung in row 3 at L2."
    )
    assert said(ask("R1", at(1)).say) == "No row is knitted yet."
    assert "Row 8, navy" in shown(ask("R1", at(9)).say), "also after the end"
    for label, told in (("L9", "There is no stitch on left nine"), ("z", "is not a needle")):
        assert told in said(ask(label, at(4)).say)


def test_asked_again_the_ways_out_are_told():
    """Duplicate stitch, latching up, and unravelling are common practice, from memory."""
    once = ask("R1", at(8))
    twice = ask("R1", once.state)
    for way in ("duplicate stitch", "latch it up", "hang it now", "unravel the rows"):
        assert way in said(twice.say)
    assert ask("R1", twice.state).say == once.say
    other = ask("R2", once.state)
    assert "duplicate" not in said(other.say)
    after = step(STEPS, USUAL, once.state, Command.WHERE)
    assert ask("R1", after.state).say == once.say


def test_by_keys_too():
    state = at(8)
    for _ in range(2):
        answer = step(STEPS, USUAL, state, Command.HAPPENED)
        for key in ("r", "1", "enter"):
            answer = step(STEPS, USUAL, answer.state, Spelled(key))
        state = answer.state
    assert "duplicate stitch" in said(answer.say)


def unravelled(row: int, count: int) -> str:
    asked = step(STEPS, USUAL, at(row), Asked(Command.UNRAVEL, str(count)))
    return shown(step(STEPS, USUAL, asked.state, Command.YES).say)


def test_unravelling_tells_which_ends_come_back_and_which_come_off():
    told = unravelled(8, 3)  # rows 5 to 7
    before = set(ends_before(5))
    assert told.startswith("Check: carriage on the left, 3 ends. ")
    assert "2 ends that were cut come back; join more yarn to each. navy 1 at L4; cream at" in told
    assert "rust comes off." in told
    assert all(end in told for end in before)
    assert "comes back" not in unravelled(5, 1)
    assert "come off" not in unravelled(5, 1)
    assert "come off" not in unravelled(5, 4), "at row 1 they are hung anew"


def ends_before(row: int) -> list[str]:
    """By the plan: each end that hangs, as it is shown."""
    plan, bed = STEPS.supply_plan, STEPS.bed
    return [f"at {bed.label(one.needle)}" for one in plan.hanging(row)]


@pytest.mark.parametrize("row", range(2, 9))
@pytest.mark.parametrize("count", [1, 2, 4])
def test_what_comes_back_hangs_and_what_comes_off_does_not(row, count):
    """Against the plan: every supply that was cut in the rows and was there before hangs again."""
    if count >= row:
        return
    told, first = unravelled(row, count), row - count
    table = STEPS.supply_plan.supplies
    back = (table.first_row < first) & (table.last_row >= first) & (table.last_row < row)
    assert ("comes back" in told or "come back" in told) == bool(back.any())

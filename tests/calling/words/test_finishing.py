"""The finishing, heard step by step after the last row, and its figures against the craft."""

import re
from dataclasses import replace

import numpy as np
import pytest
from small_pieces import STEPS
from test_utterance import sets_nothing_off

from caller.calling.acts import row_acts
from caller.calling.commands import Command
from caller.calling.place import Place
from caller.calling.session import begin, step
from caller.calling.state import State
from caller.calling.words.finishing import finishing_steps
from caller.calling.words.row_call import row_call
from caller.calling.words.utterance import said, shown
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.finishing import cast_off, tails
from caller.pattern.gauge import Gauge
from caller.pattern.panels import PanelOf
from caller.pattern.winding import Refill
from caller.settings import CallSettings

USUAL = CallSettings()


def at(row: int) -> State:
    return State(Place(row), 160)


MEASURED = replace(STEPS, gauge=Gauge(30, 40))


def test_a_cast_off_takes_six_times_the_width():
    # The rule of the craft (seen; sources agree): 60 cm wide, 3.6 m and a tail of 15 cm.
    wide = replace(MEASURED, chart=type(STEPS.chart)(np.tile(STEPS.chart.cells, (1, 20))))
    stitches = 160
    how = cast_off(wide)
    assert how.stitches == stitches
    assert how.length_m == pytest.approx(6 * stitches / 30 * 0.1 + 0.15)


def test_the_last_row_keeps_the_end_that_binds_off():
    """It hangs on the carriage's side, and is named by the call and by the finishing."""
    how, last = cast_off(STEPS), row_acts(STEPS, STEPS.script.rows)
    assert last.kept is not None
    assert last.kept.end.supply == how.supply
    assert last.kept.needle == STEPS.script.in_work(last.number)[last.direction == "right"]
    name, side = STEPS.yarns[how.yarn].name, last.direction
    told = said(row_call(STEPS, STEPS.script.row(STEPS.script.rows)))
    assert re.search(rf"[Kk]eep {name}, at {side} \w+, which binds off\.", told)
    assert f"from the {side}, where the carriage stands, with the {name} that" in steps(STEPS)[0]


def test_every_end_is_woven_in_where_it_hangs():
    found = {(one.yarn, one.row, STEPS.bed.label(one.needle), one.begins) for one in tails(STEPS)}
    table = STEPS.supply_plan.supplies
    assert len(tails(STEPS)) == 2 * len(table.yarn)
    assert {(2, 5, "R1", True), (2, 7, "R2", False), (1, 3, "L2", True)} <= found
    filled = tails(STEPS, (Refill(0, 1, 2, STEPS.bed.position("R4")),))
    assert len(filled) == len(tails(STEPS)) + 2


def steps(pattern, *refills):
    return [shown(step) for step in finishing_steps(pattern, USUAL, refills)]


def test_the_steps():
    told = steps(MEASURED)
    assert told[0].startswith("Bind off 8 stitches from the left, where the carriage stands, with ")
    assert told[-1].startswith("Wash it as the labels of its yarns say")
    assert "Block it: wet it, pin it out 3 centimetres wide and 2 centimetres high" in told[-2]
    rust = next(one for one in told if one.startswith("rust"))
    assert rust == "rust, 2 tails: row 5 at R1; row 7 at R2."
    assert any("tails to weave in." in one for one in told)
    assert not any("panel" in one for one in told)
    filled = steps(MEASURED, Refill(2, 1, 6, MEASURED.bed.position("R2")))
    assert "rust, 4 tails: row 5 at R1; row 6 at R2, both ends; row 7 at R2." in filled


def test_the_steps_word_for_word():
    told = finishing_steps(MEASURED, CallSettings(numbers="checked"))
    assert [said(step) for step in told[:4]] == [
        "Bind off eight stitches from the left, where the carriage stands, with the navy that "
        "hangs there. It takes about forty centimetres: six times the width, and a tail. Go on "
        "when that is done.",
        "Take the weights off as the last stitch leaves its needle, and let the piece rest for a "
        "day before you measure it.",
        "Eight tails to weave in. Weave each one in on the purl side, into stitches of its own "
        "colour, along the joint, so that it closes the gap there.",
        "navy, four tails: Row one, at left four. Row three, at right two. Row seven, at left one. "
        "Row eight, at left four.",
    ]
    assert shown(told[0]).endswith("cm: 6 times the width, and a tail. Go on when that is done.")
    assert shown(told[3]).endswith("tails: row 1 at L4; row 3 at R2; row 7 at L1; row 8 at L4.")
    assert said(told[-2]) == (
        "Block it: wet it, pin it out three centimetres wide and two centimetres high, as the "
        "swatch measured, and let it dry."
    )
    assert [[clause.pause_s for clause in step] for step in told] == [
        *([0.0, 0.0], [0.0], [0.15, 0.0], [0.15] * 5, [0.15] * 3, [0.15] * 3, [0.0], [0.0])
    ]


def test_many_tails_come_a_few_at_once():
    needles = [Refill(0, 1, row, STEPS.bed.position("L4")) for row in (2, 4, 6)]
    told = steps(STEPS, *needles)
    assert told[3:6] == [
        "navy, 10 tails: row 1 at L4; row 2 at L4, both ends; row 3 at R2.",
        "navy, from tail 5 of 10: row 4 at L4, both ends; row 6 at L4.",
        "navy, from tail 8 of 10: row 6 at L4; row 7 at L1; row 8 at L4.",
    ]
    assert told[-2] == "Block it: wet it, pin it to its shape without a pull, and let it dry."


def test_a_shaped_piece():
    """What is bound off is what is in work in the last row; the widest row is pinned out."""
    cells = STEPS.chart.cells.copy()
    cells[-2:, 6:] = NOT_IN_WORK
    told = steps(replace(MEASURED, chart=Chart(cells)))
    assert told[0].startswith("Bind off 6 stitches")
    assert cast_off(replace(MEASURED, chart=Chart(cells))).length_m == pytest.approx(
        0.06 * 2 + 0.15
    )
    assert "3 centimetres wide at the widest and" in told[-2]


def test_panels_are_sewn():
    told = " ".join(steps(replace(MEASURED, panel=PanelOf(2, 3, 2))))
    assert "This is panel 2 of 3" in told
    assert "the seam takes 2 stitches of each edge" in told
    one = finishing_steps(replace(MEASURED, panel=PanelOf(2, 3, 1)), CallSettings(numbers="digits"))
    assert said(one[-2]) == (
        "This is panel two of three, counted from the left as they hang. Sew it to its neighbours "
        "edge to edge, row by row, for the rows are in line; the seam takes one stitch of each "
        "edge."
    )


def test_sizes_in_the_numbers_that_are_wished():
    wide = replace(MEASURED, chart=Chart(np.tile(STEPS.chart.cells, (1, 8))))
    blocked = finishing_steps(wide, CallSettings(numbers="digits"))[-2]
    assert "pin it out two one centimetres wide and two centimetres high" in said(blocked)


def test_it_is_heard_step_by_step_after_the_last_row():
    expected = finishing_steps(MEASURED, USUAL)
    early = step(MEASURED, USUAL, at(3), Command.FINISH)
    assert said(early.say) == "That is told after the last row."
    answer = step(MEASURED, USUAL, at(9), Command.FINISH)
    heard = [answer.say]
    for _ in range(len(expected)):
        answer = step(MEASURED, USUAL, answer.state, Command.NEXT)
        heard.append(answer.say)
    assert tuple(heard[:-1]) == expected
    assert said(heard[-1]) == "That was the last step."
    assert step(MEASURED, USUAL, answer.state, Command.REPEAT).say == expected[-1]
    back = step(MEASURED, USUAL, answer.state, Command.BACK)
    assert back.say == expected[-2]
    first = step(MEASURED, USUAL, at(9), Command.FINISH)
    left = step(MEASURED, USUAL, first.state, Command.BACK)
    assert left.state.place == Place(9)
    assert said(left.say).startswith("The picture is finished.")
    assert said(step(MEASURED, USUAL, left.state, Command.REPEAT).say).startswith("The picture is")
    row = step(MEASURED, USUAL, left.state, Command.BACK)
    assert row.state.place.row == 8
    assert all(sets_nothing_off(say) for say in heard)


def test_another_evening_goes_on_at_the_step_that_was_told():
    expected = finishing_steps(MEASURED, USUAL)
    answer = step(MEASURED, USUAL, at(9), Command.FINISH)
    for told in expected:
        kept = answer.state.place
        opened = begin(MEASURED, USUAL, kept, 160)
        assert opened.state.place == kept
        assert opened.say[-len(told) :] == told
        assert said(opened.say).startswith("The picture is finished.")
        answer = step(MEASURED, USUAL, answer.state, Command.NEXT)
    later = begin(MEASURED, USUAL, Place(9, 999), 160)
    assert later.state.place == Place(9, len(expected)), "of a plan that had more steps"
    assert later.say[-len(expected[-1]) :] == expected[-1]
    assert begin(MEASURED, USUAL, Place(9), 160).state.place == Place(9)

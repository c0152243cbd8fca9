"""What the page shows, against the pattern itself and what is called."""

import json
from dataclasses import replace

import numpy as np
import pytest
from small_pieces import HALVES, STEPS, YARNS

from caller.calling import orders, session
from caller.calling.commands import Command
from caller.calling.events import Typed
from caller.calling.place import Place
from caller.calling.state import Told
from caller.calling.words.utterance import shown
from caller.devices.page.view import view
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings


def told_of(pattern=STEPS, settings=None, orders=(), kept=None):
    settings = settings or CallSettings()
    answer = session.begin(pattern, settings, kept, 160)
    for order in orders:
        answer = session.step(pattern, settings, answer.state, order)
    return Told(pattern, settings, answer, begun=True)


def test_a_row_as_it_is_called():
    """Row 5 of the piece, 00112200 from L4 to R4: navy, cream, rust, navy, two needles each."""
    seen = view(told_of(kept=Place(5)))
    assert seen["heading"] == "Row 5 of 8, going right"
    assert seen["way"] == "right"
    assert [run["last"] for run in seen["runs"]] == ["L3", "L1", "R2", "R4"]
    assert [run["end"].removeprefix("new ").split()[0] for run in seen["runs"]] == [
        "navy", "cream", "rust", "navy",
    ]  # fmt: skip
    assert seen["bar"]["runs"] == [
        {"colour": "#1b2a4a", "stitches": 2, "first": "L4", "last": "L3"},
        {"colour": "#f4efe0", "stitches": 2, "first": "L2", "last": "L1"},
        {"colour": "#a0522d", "stitches": 2, "first": "R1", "last": "R2"},
        {"colour": "#1b2a4a", "stitches": 2, "first": "R3", "last": "R4"},
    ]
    assert seen["bar"]["centre"] == 4
    assert not seen["bar"]["turn"]
    assert len(seen["hanging"]) == len(STEPS.supply_plan.hanging(5)) > 1


@pytest.mark.parametrize("runs_at_once", [0, 1, 3])
@pytest.mark.parametrize("wording", ["short", "full", "changes"])
def test_every_step_of_a_piece(runs_at_once, wording):
    """From the ends to hang to the last step of the finishing: what is shown is what is told."""
    settings = CallSettings(runs_at_once=runs_at_once, wording=wording)
    told = told_of(settings=settings)
    places, rows = [], set()
    for _ in range(80):
        seen = json.loads(json.dumps(view(told)))
        state = told.answer.state
        assert seen["words"] == shown(told.answer.say)
        places.append(seen["at"])
        if seen["bar"] is not None:
            rows.add(state.place.row)
            bar = seen["bar"]
            width = sum(run["stitches"] for run in bar["runs"])
            assert bar["before"] + width + bar["after"] == STEPS.chart.stitches
            cells = STEPS.chart.cells[state.place.row - 1]
            drawn = np.repeat([run["colour"] for run in bar["runs"]], [
                run["stitches"] for run in bar["runs"]
            ])  # fmt: skip
            assert drawn.tolist() == [YARNS[cell].colour for cell in cells]
            assert sum(run["now"] for run in seen["runs"]) >= 1
            assert bar["turn"] == (state.place.row % 2 == 0)
        if runs_at_once == 1 and wording != "changes" and seen["runs"]:
            assert [run["now"] for run in seen["runs"]].count(True) == 1
        answer = session.step(STEPS, settings, state, Command.NEXT)
        if state.place == Place(STEPS.script.rows + 1):
            answer = session.step(STEPS, settings, state, Command.FINISH)
        told = replace(told, answer=answer)
    assert rows == set(range(1, STEPS.script.rows + 1))
    assert len(set(places)) > STEPS.script.rows
    assert view(told)["heading"] == "Finishing"


def test_what_a_press_was_meant_for_is_told_apart():
    """Each move leads to another step, so that a press that comes twice moves once."""
    told, seen = told_of(), set()
    for _ in range(12):
        step = view(told)["at"]
        assert step not in seen
        seen.add(step)
        told = replace(
            told, answer=session.step(STEPS, CallSettings(), told.answer.state, Command.NEXT)
        )
        if told.answer.state.place.row > STEPS.script.rows:
            break
    assert len(seen) >= STEPS.script.rows


def test_questions_can_be_answered():
    before = replace(told_of(kept=Place(5)), begun=False)
    seen = view(before)
    assert seen["question"]
    assert (seen["runs"], seen["heading"], seen["at"]) == ([], "", "")
    state = told_of().answer.state
    order = orders.understood(STEPS.bed, state, Typed("row 6"))
    asked = replace(before, answer=session.step(STEPS, CallSettings(), state, order), begun=True)
    assert view(asked)["question"]
    assert not view(told_of())["question"]
    gone = session.step(STEPS, CallSettings(), state, Command.LEAVE)
    assert view(replace(before, answer=gone, begun=True))["ended"]


def test_needles_out_of_work_are_drawn_too():
    """A row that is decreased from six needles to four: one is out of work at either side."""
    out = NOT_IN_WORK
    grid = np.array([[0] * 6, [1] * 6, [out, 0, 0, 0, 0, out]], dtype=np.uint8)
    shaped = Pattern("Shaped", Chart(grid), YARNS[:2])
    seen = view(told_of(shaped, kept=Place(3)))
    assert (seen["bar"]["before"], seen["bar"]["after"]) == (1, 1)
    assert seen["shapes"]


def test_the_ends_to_hang_before_row_1():
    """Navy begins at the left edge, L20, and cream at the centre, R1."""
    seen = view(told_of(HALVES))
    assert seen["heading"] == "Before row 1: hang these ends"
    assert [(run["end"], run["to"], run["last"]) for run in seen["runs"]] == [
        ("navy", "at", "L20"),
        ("cream", "at", "R1"),
    ]
    assert seen["runs"][0]["more"] == "tail to the left"
    assert view(told_of(HALVES, orders=[Command.NEXT]))["heading"].startswith("Row 1 of 10")

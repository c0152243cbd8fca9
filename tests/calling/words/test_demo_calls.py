"""Every row of every demo pattern in every wording, as a session calls it."""

import re
from pathlib import Path

import pytest
from row_decoder import Work, understood
from test_utterance import sets_nothing_off

from caller.calling.commands import Command
from caller.calling.session import begin, step
from caller.calling.words.utterance import said
from caller.pattern.chart import NOT_IN_WORK
from caller.pattern.storage.pattern_file import load
from caller.settings import CallSettings

DEMOS = sorted((Path(__file__).parents[3] / "demo_patterns").glob("*.toml"))
NUMBER_TO = re.compile(
    r"\b(zero|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|\w+teen|\w+ty"
    r"|hundred|thousand),? to\b",
    re.IGNORECASE,
)
"""A number right before "to" is heard as another number: "four to" as 42."""
CALLS = {
    "as usual": CallSettings(),
    "whole rows": CallSettings(runs_at_once=0, crossings=True, numbers="words"),
    "run by run": CallSettings(runs_at_once=1, check_every_rows=10),
    "full": CallSettings(wording="full", numbers="digits"),
    "full, three runs": CallSettings(wording="full", runs_at_once=3),
    "changes": CallSettings(wording="changes", check_every_rows=7),
    "changes, digits": CallSettings(wording="changes", runs_at_once=0, numbers="digits"),
}


@pytest.mark.no_cover
@pytest.mark.parametrize("settings", CALLS.values(), ids=CALLS)
@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_whole_session_by_next_alone(path, settings):
    """The decoder that knows only the words rebuilds the chart; nothing sets the caller off."""
    pattern = load(path)
    names = [yarn.name for yarn in pattern.yarns]
    work = Work(names, *pattern.script.in_work(1), 100)
    answer, rows = begin(pattern, settings, None, 160), []
    clauses = [clause.said for clause in answer.say[4:]]  # after the opening
    while answer.state.place.row <= pattern.script.rows:
        assert sets_nothing_off(answer.say)
        assert not NUMBER_TO.search(said(answer.say)), said(answer.say)
        row = answer.state.place.row
        answer = step(pattern, settings, answer.state, Command.NEXT)
        if answer.state.place.row != row:
            rows.append(understood(clauses, work, rows[-1] if rows else None))
            clauses = []
        clauses += [clause.said for clause in answer.say]
    ways = ("right", "left")  # row 1 of every demo goes to the right
    assert [(row.row, row.way, row.yarns) for row in rows] == [
        (row + 1, ways[row % 2], tuple(names[cell] for cell in cells if cell != NOT_IN_WORK))
        for row, cells in enumerate(pattern.chart.cells)
    ]
    assert "The picture is finished" in clauses[0]

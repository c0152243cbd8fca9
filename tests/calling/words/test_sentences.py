"""The plain sentences, each as it is said, as it is shown, and with the silence after it.

The words are our own choice; this table is where a change of one is seen.
"""

import numpy as np
import pytest

from caller.calling.commands import Command
from caller.calling.words import sentences as of
from caller.calling.words.utterance import Clause, Utterance, said, shown
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.pattern import Pattern
from caller.pattern.shaping import Method
from caller.pattern.yarns import Yarn

PAUSE_S = 0.3
WORDS = {"wake up": Command.LISTEN, "loose ends": Command.FINISH, "mark it": Command.MARK}

TABLE = [
    (
        of.carrying_on(13, 118, "checked"),
        "Carrying on at row thirteen, one three of one hundred and eighteen.",
        "Carrying on at row 13 of 118.",
        [PAUSE_S],
    ),
    (of.carrying_on(2, 9), "Carrying on at row two of nine.", "Carrying on at row 2 of 9.", [0.3]),
    (
        of.starting_at(4, 7, 9, "digits"),
        "Starting at row four of nine. Your place was row seven.",
        "Starting at row 4 of 9. Your place was row 7.",
        [PAUSE_S, PAUSE_S],
    ),
    *(
        (
            of.starting_at(14, was, 19, "checked"),
            "Starting at row fourteen, one four of nineteen.",
            "Starting at row 14 of 19.",
            [PAUSE_S],
        )
        for was in (None, 14, 20)
    ),
    (
        of.first_row(),
        "This is the first row; nothing comes before it.",
        "This is the first row; nothing comes before it.",
        [PAUSE_S],
    ),
    (
        of.finished(13, "checked"),
        "The picture is finished. All thirteen rows are knitted.",
        "The picture is finished. All 13 rows are knitted.",
        [0.0],
    ),
    (
        of.for_help(),
        "For help, say help me please, or press the question mark.",
        "For help, say help me please, or press the question mark.",
        [0.3],
    ),
    (
        of.for_help({}),
        "For help, press the question mark.",
        "For help, press the question mark.",
        [0.3],
    ),
    (
        of.to_finish(),
        "To hear what is left to do, go on.",
        "To hear what is left to do, go on.",
        [0.0],
    ),
    (
        of.marked(29, False, remark="check the ear"),
        "Row twenty-nine is no longer marked. Its remark went with it: check the ear.",
        "Row 29 is no longer marked. Its remark went with it: check the ear.",
        [0.0, 0.0, 0.0],
    ),
    (
        of.leaving(9, 9),
        "Stopping at row nine. Your place is kept.",
        "Stopping at row 9 of 9. Your place is kept.",
        [0.0],
    ),
    (
        of.leaving(10, 9),
        "The picture is finished. All nine rows are knitted. Your place is kept. Goodbye.",
        "The picture is finished. All 9 rows are knitted. Your place is kept. Goodbye.",
        [0.0, 0.0],
    ),
    (of.rate(200, True), "Two hundred words a minute.", "200 words a minute.", [0.0]),
    (
        of.rate(350, True),
        "Three hundred and fifty words a minute; there is no faster rate.",
        "350 words a minute; there is no faster rate.",
        [0.0],
    ),
    (
        of.rate(80, False),
        "Eighty words a minute; there is no slower rate.",
        "80 words a minute; there is no slower rate.",
        [0.0],
    ),
    (of.rate(80, True), "Eighty words a minute.", "80 words a minute.", [0.0]),
    (
        of.hurried(Clause("Check.", "check."), 15, 20, "checked"),
        "That was quick. This is still row fifteen, one five. Check. Say it again to move.",
        "That was quick. This is still row 15 of 20. check. Say it again to move.",
        [0.15, 0.0, 0.0],
    ),
    (of.listening(True, WORDS), "I can hear you again.", "I can hear you again.", [0.0]),
    (
        of.listening(False, WORDS),
        "I have stopped listening. To be heard again, say wake up, or press the letter L.",
        "I have stopped listening. To be heard again, say wake up, or press the letter L.",
        [0.15, 0.0],
    ),
    (
        of.listening(False, {"mark it": Command.MARK}),
        "I have stopped listening. To be heard again, press the letter L.",
        "I have stopped listening. To be heard again, press the letter L.",
        [0.15, 0.0],
    ),
    (
        of.listening(False, {}),
        "Spoken commands are off in this session.",
        "Spoken commands are off in this session.",
        [0.0],
    ),
    (of.marked(17, True), "Row seventeen is marked.", "Row 17 is marked.", [0.0]),
    (
        of.marked(17, False, "checked"),
        "Row seventeen, one seven is no longer marked.",
        "Row 17 is no longer marked.",
        [0.0],
    ),
    (
        of.remarked(13, "mind the mast", "checked"),
        "Row thirteen, one three is marked: mind the mast.",
        "Row 13 is marked: mind the mast.",
        [0.15, 0.15],
    ),
    (
        of.not_noted(13, "checked"),
        "What you noted at row thirteen, one three was not kept; note it there again.",
        "What you noted at row 13 was not kept; note it there again.",
        [0.0],
    ),
    (of.marked_row(), "You marked this one.", "You marked this one.", [0.15]),
    (
        of.marked_row("Mind the mast!"),
        "You noted here: Mind the mast!",
        "You noted here: Mind the mast!",
        [0.15, 0.15],
    ),
    (
        of.not_understood(),
        "That was not understood. For help, press the question mark.",
        "That was not understood. For help, press the question mark.",
        [0.0],
    ),
]


@pytest.mark.parametrize(("utterance", "words", "written", "pauses"), TABLE)
def test_a_sentence(utterance: Utterance, words: str, written: str, pauses: list[float]):
    assert said(utterance) == words
    assert shown(utterance) == written
    assert [clause.pause_s for clause in utterance] == pauses


OUT = NOT_IN_WORK
YARNS = (Yarn("navy", "#1b2a4a"), Yarn("cream", "#f4efe0"))


@pytest.mark.parametrize(
    ("rows", "method", "words", "written"),
    [
        (
            [[0] * 12 + [1]] * 14,
            "simple",
            "Quay. thirteen stitches, from left six, as far as right seven. fourteen rows.",
            "Quay. 13 stitches, L6 to R7; 14 rows.",
        ),
        (
            [[OUT, 0, 0, OUT], [1] * 4],
            "simple",
            "Quay. Shaped, simple; two stitches in row one, from left one, as far as right one. "
            "two rows.",
            "Quay. Shaped, simple; 2 stitches in row 1, L1 to R1; 2 rows.",
        ),
    ],
    ids=["straight", "shaped"],
)
def test_the_opening(rows: list[list[int]], method: Method, words: str, written: str):
    chart = Chart(np.array(rows, dtype=np.uint8))
    pattern = Pattern("Quay", chart, YARNS, shaping=method)
    opened = of.opening(pattern, "checked")
    assert (said(opened), shown(opened)) == (words, written)
    assert [clause.pause_s for clause in opened] == [0.15, 0.15, PAUSE_S]


def test_help_names_what_can_be_pressed_and_said():
    mark = next(one for one in of.more_help(WORDS) if "mark" in one.said)
    assert mark.said.endswith('or say "mark it".')
    taught = next(one for one in of.more_help({}, taught=("mark",)) if "mark" in one.said)
    assert taught.said.endswith(", or say what you taught for it.")
    assert all("say" not in one.said for one in of.more_help({}))
    assert any("listen" in one.said for one in of.more_help(WORDS))
    assert not any("listen" in one.said for one in of.more_help({})), "nobody listens"
    assert of.help_text(WORDS)[-1].said == "For the others, ask for help again."
    assert {one.pause_s for one in of.help_text(WORDS)[:-1]} == {0.15}

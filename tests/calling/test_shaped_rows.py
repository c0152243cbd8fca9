"""Shaped rows at the machine: what is done first, with which end, and which needles are told."""

import numpy as np
import pytest

from caller.calling import answers
from caller.calling.acts import Hang, Lay, Pass, Shape, TakeUp, row_acts
from caller.calling.commands import Command
from caller.calling.place import Place
from caller.calling.session import begin, step
from caller.calling.words.row_call import check_place, plain_stretch, row_call
from caller.calling.words.utterance import said, shown
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.pattern import Pattern, SupplyRules
from caller.pattern.shaping import Shaping
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"), Yarn("rust", "#a0522d"))


def pattern_of(*rows_from_the_top: str, **more) -> Pattern:
    numbers = {".": NOT_IN_WORK, "a": 0, "b": 1, "c": 2}
    rows = [[numbers[one] for one in row] for row in reversed(rows_from_the_top)]
    return Pattern("Any", Chart(np.array(rows, np.uint8)), YARNS, **more)


# Ten stitches, L5 to R5 at the widest. Row 2 goes left.
PIECE = pattern_of(
    ".aaaaaaaa.",
    "aabbbaaaaa",
    "aaaaaaaaaa",
    "aaaaaaa...",
    supply_rules=SupplyRules(2),
)


def called(row: int, wording: str = "short", pattern: Pattern = PIECE) -> str:
    return said(row_call(pattern, pattern.script.row(row), CallSettings(wording=wording)))


def test_edges_come_first_and_the_end_goes_on_from_there():
    acts = row_acts(PIECE, 2)
    navy = acts.steps[0].lay.end
    assert list(acts) == [
        Shape(Shaping("cast on", "right", 102, 104, 104, 0), TakeUp(navy, 101, True, False)),
        TakeUp(navy, 104, obvious=True, shared=False),
        Lay(navy, 104, 95),
        Pass("left"),
    ]


def test_cast_on_with_a_new_end():
    acts = row_acts(pattern_of("aaaaaacc", "aaaabb.."), 2)
    assert isinstance(acts.shapes[0].take, Hang)
    assert acts.shapes[0].take.needle == 102
    told = called(2, pattern=pattern_of("aaaaaacc", "aaaabb.."))
    assert "First cast on two on the right, with new rust, edge at right four. rust, to " in told


def test_the_words_of_all_wordings():
    assert called(2) == (
        "Row number two, going left. First cast on three on the right, with navy, edge at right "
        "five. "
        "navy, to left five."
    )
    assert called(4).startswith(
        "Row number four, going left. First decrease one on each side, edges at left four and "
        "right four. "
        "navy, to left four. After the pass, keep navy"
    )
    assert (
        "First decrease one on each side, fully fashioned, three stitches moved, edges at left four"
        in called(4, "full")
    )
    assert (
        "First cast on three on the right, from right three, as far as right five, with navy, edge"
        in called(2, "full")
    )
    assert called(2, "changes").endswith("edge at right five. Same as the row before.")
    simple = pattern_of("aaab.", "aaabb", shaping="simple")
    assert "First decrease one on the right, simple, edge at" in called(2, "full", simple)
    shows = shown(row_call(PIECE, PIECE.script.row(4)))
    assert shows.startswith("Row 4, going left: decrease 1 on each side, edges L4 and R4; navy to")
    assert shown(row_call(PIECE, PIECE.script.row(2))) == (
        "Row 2, going left: cast on 3 on the right with navy, edge R5; navy to L5."
    )


def test_bind_off_and_cut():
    """Ivory binds off four and is not needed after; the other side is told second."""
    piece = pattern_of(".aaaaa....", "aaaaaabbbb")
    assert called(2, pattern=piece).startswith(
        "Row number two, going left. First bind off four on the right, with ivory, edge at right "
        "one, "
        "then cut it. Then decrease one on the left, edge at left four. navy, to left four."
    )
    assert "cut" not in called(1, pattern=piece)
    # Another ivory end comes to hang at the new edge, so the bobbin is told.
    two = pattern_of("acb....", "acbacbb")
    assert "with ivory, bobbin two, edge at left one, then cut it." in called(2, pattern=two)


def test_the_needles_in_work():
    usual = CallSettings()
    assert said(answers.where(PIECE, usual, Place(1))).endswith(
        "Seven needles in work, from left five, as far as right two."
    )
    assert "no stitch on right three" in said(answers.needle(PIECE, usual, Place(1), "R3"))
    assert "right three is navy" in said(answers.needle(PIECE, usual, Place(2), "R3"))
    # Before row 2 the stitches of row 1 are in work, and before row 4 those of row 3.
    check = [check_place(PIECE, row, usual).said for row in (1, 2, 4)]
    assert check == [
        "Check: carriage on the left, seven needles in work, one end.",
        "Check: carriage on the right, seven needles in work, one end.",
        "Check: carriage on the right, ten needles in work, one end.",
    ]
    plain = pattern_of("ab", "aa")
    assert check_place(plain, 2, usual).said == "Check: carriage on the right, one end."


def test_a_session_opens_with_row_1s_stitches_and_shapes_in_portions():
    wide = pattern_of("acacbc.", "acacbcb")
    one = CallSettings(runs_at_once=1)
    answer = begin(wide, one, None, 160)
    assert "Shaped, fully fashioned; seven stitches in row one, from left three," in said(
        answer.say
    )
    heard = []
    while answer.state.place.row < 2:
        answer = step(wide, one, answer.state, Command.NEXT)
    while answer.state.place.row == 2:
        heard.append(said(answer.say))
        where = said(answers.where(wide, one, answer.state.place))
        answer = step(wide, one, answer.state, Command.NEXT)
    assert "First decrease one on the right, edge at right three. The row goes on." in heard[0]
    assert len(heard) == 7  # the edge, and six runs
    assert "From yarn six of six." in where


def test_binding_off_is_told_alone_and_nothing_follows_by_itself():
    piece = pattern_of("acb....", "acbacbb")
    follow = CallSettings(follow=True)
    answer = begin(piece, follow, Place(1), 160)
    while answer.state.place.row < 2:
        answer = step(piece, follow, answer.state, Command.NEXT)
    assert said(answer.say).endswith("edge at left one, then cut it. The row goes on.")
    assert answer.goes_on_s is None
    answer = step(piece, follow, answer.state, Command.NEXT)
    assert said(answer.say).startswith("ivory")
    assert answer.state.place == Place(2, 1)


def test_a_shaped_row_is_a_change():
    piece = pattern_of("aab..", "aabb.", "aabb.", "aabbb", "aabbb")
    told = said(answers.changes(piece, CallSettings(), Place(1)))
    assert told.startswith(
        "No change through row two. Row number three, going right. First decrease one"
    )


def test_plain_rows_are_counted_up_to_the_next_shaping():
    plain = pattern_of("ab..", "aa..", "aaa.", "aaa.", "aaaa")
    assert [plain_stretch(plain, row) for row in range(1, 6)] == [None, (2, 3), (2, 3), None, None]
    told = said(begin(plain, CallSettings(), Place(2), 160).say)
    assert (
        "First decrease one on the right, edge at right one. Two plain rows, navy, through" in told
    )


@pytest.mark.parametrize("wording", ["short", "full", "changes"])
def test_no_command_is_said(wording):
    for row in PIECE.script:
        for phrase in ("next row", "repeat that", "go back", "previous row"):
            assert phrase not in called(row.number, wording)

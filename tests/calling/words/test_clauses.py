"""The words of the rows: read back by an independent reader, and some of them word for word."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from row_decoder import Work, understood

from caller.calling.acts import End
from caller.calling.place import Place, after
from caller.calling.portions import portion, split
from caller.calling.words import sentences, utterance
from caller.calling.words.clauses import in_work_clause, place_check
from caller.calling.words.ends import bobbin_clause, names_clause
from caller.calling.words.row_call import (
    call,
    check_place,
    plain_stretch,
    row_call,
    setting_up_call,
)
from caller.pattern.bed import Bed
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.pattern import Pattern, Reminder, SupplyRules
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

NAMES = ("navy", "ivory", "takes rose", "plain", "navy, to", "only")


def pattern_of(grid, names=("navy", "ivory", "rose"), **more) -> Pattern:
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
# Row 2 carries ivory and takes up navy that has just been laid; rows 2 and 3 end ends.
ENDS = pattern_of(
    [[0] * 8, [0, 0, 0, 0, 0, 1, 1, 0], [0, 0, 0, 1, 0, 0, 0, 0], [2] * 8],
    supply_rules=SupplyRules(2),
)


def test_short():
    assert said(BLOCKS, 2) == (
        "Row number two, going left. ivory, only right three. "
        "navy, waiting at left one, as far as left three."
    )
    assert shown(BLOCKS, 2) == "Row 2, going left: ivory only R3; navy waiting at L1, to L3."


def test_the_ends_hang_before_row_1():
    assert said(BLOCKS, 1) == (
        "Before row one, the carriage stands on the left. Hang two ends, tails to the left. "
        "navy, at left three. ivory, at right one. "
        "Where two yarns meet, take up the next one from under the one just laid. "
        "Row number one, going right. navy, to left one. ivory, to right three."
    )
    assert shown(ENDS, 1) == (
        "Before row 1, the carriage stands on the left. Hang navy 1 at L4, tail to the left. "
        "Where two yarns meet, take up the next one from under the one just laid. "
        "Row 1, going right: navy to R4."
    )


def test_what_is_hung_carried_and_cut():
    assert said(ENDS, 2) == (
        "Row number two, going left. navy, only right four. new ivory, to right two. "
        "new navy, bobbin two, as far as left four. After the pass, cut navy, at right four."
    )
    assert said(ENDS, 3) == (
        "Row number three, going right. navy, to left two. ivory, waiting at right two, only "
        "left one. "
        "new navy, bobbin one, as far as right four. After the pass, cut three ends, all of them."
    )


@pytest.mark.parametrize("name", ["navy 2", "shade thirty", "502", "denim no. 7b"])
def test_a_name_that_ends_in_a_number_is_not_followed_by_to(name):
    """ "navy two to left three" is heard as one number more; other names have it nowhere near."""
    piece = pattern_of([[0, 0, 1], [0, 0, 1], [0, 1, 1]], (name, "ivory"))
    for row in (1, 2, 3):
        for crossings in (False, True):
            told = said(piece, row, crossings=crossings)
            assert not re.search(rf"{name}, to (?:left|right)", told)
    assert f"{name}, as far as right one" in said(piece, 1)
    assert f", from under {name}, as far as right two" in said(piece, 3, crossings=True)
    assert [yarn.has_number for yarn in piece.yarns] == [True, False]
    assert Yarn("two tone", "#1b2a4a").has_number
    assert not Yarn("two tone", "#1b2a4a").ends_in_number
    assert not Yarn("stone", "#1b2a4a").has_number


def test_full():
    assert said(BLOCKS, 2, wording="full") == (
        "Row number two, going left. ivory, only right three. "
        "navy, waiting at left one, from right two, as far as left three, over five stitches."
    )
    assert shown(ENDS, 3, wording="full") == (
        "Row 3, going right: navy L4 to L2, 3 stitches; ivory waiting at R2, only L1; "
        "new navy 1, tail to the left R1 to R4, 4 stitches. "
        "After the pass, cut navy at L2. Cut ivory at L1. Cut navy at R4."
    )


def test_a_single_needle_after_a_bobbins_number():
    one_at_the_end = pattern_of([[1, 1, 0, 1], [2, 2, 2, 2], [0, 1, 0, 1]])
    assert shown(one_at_the_end, 3).startswith("Row 3, going right: new navy 1 only L2; ")


def test_the_pause_after_a_row_like_the_last():
    same = pattern_of([[0, 0, 1, 1]] * 3)
    for pause_s in (0.5, 2.0):
        settings = CallSettings(wording="changes", pause_s=pause_s)
        told = row_call(same, same.script.row(2), settings)[-1]
        assert (told.said, told.pause_s) == ("Same as the row before.", pause_s)


def test_no_count_or_total_has_its_digits_added():
    wide = pattern_of([[0] * 15 + [1] * 17] * 14)
    told = said(wide, 13, wording="full")
    assert "over fifteen stitches" in told
    assert "Row number thirteen, one three, going right." in told
    assert sentences.carrying_on(13, 14, "checked")[0].said == (
        "Carrying on at row thirteen, one three of fourteen."
    )


def test_changes():
    assert said(BLOCKS, 1, wording="changes") == said(BLOCKS, 1)
    assert said(BLOCKS, 2, wording="changes") == (
        "Row number two, going left. navy, waiting at left one, takes right two, as far as right "
        "one."
    )
    assert said(BLOCKS, 3, wording="changes") == (
        "Row number three, going right. Same as the row before. After the pass, cut ivory, at "
        "right three."
    )
    assert shown(BLOCKS, 3, wording="changes").startswith(
        "Row 3, going right: same as the row before."
    )
    assert shown(ENDS, 4, wording="changes").startswith("Row 4, going left: new rose to L4.")


def test_changes_give_way_to_the_short_wording_where_that_is_briefer():
    pattern = pattern_of([[0, 1, 0, 1, 0, 1], [1, 1, 1, 1, 1, 0]])
    assert said(pattern, 2, wording="changes") == said(pattern, 2)


def test_ends_of_runs_that_do_not_change():
    pattern = pattern_of([[1, 2, 1, 0, 0, 0], [1, 2, 1, 0, 2, 2]])
    assert said(pattern, 2, wording="changes").startswith(
        "Row number two, going left. new rose, bobbin two, takes right three, as far as right two. "
        "navy, waiting at right three, at right one. "
    )


def test_a_yarn_on_the_next_needle_is_found_by_itself():
    pattern = pattern_of([[0, 0, 0, 1, 1, 1], [0, 0, 1, 1, 1, 1]])
    assert "waiting" not in said(pattern, 2)


def test_of_two_ends_as_near_the_call_says_which():
    """Row 2, going left, begins navy at L1, between the navy ends at L2 and R1."""
    near = pattern_of([[0, 0, 1, 0, 1, 1], [0, 1, 0, 1, 1, 1]])
    assert said(near, 1).count("navy, bobbin") == 2
    told = said(near, 2)
    assert "navy, waiting at right one, only left one. " in told
    assert "navy, only left three." in told, "by then only one is left"


def test_of_two_ends_on_one_needle_the_call_says_which():
    """After row 2, which rests one of them, both ivory ends hang at L2."""
    rest = pattern_of(
        [[1, 0, 1, 1], [1, 1, 1, 1], [1, 1, 0, 1]], supply_rules=SupplyRules(5, max_rest_rows=1)
    )
    assert said(rest, 3) == (
        "Row number three, going right. ivory, bobbin one, waiting at left two, as far as left "
        "one. "
        "navy, only right one. ivory, waiting at left two, only right two. "
        "After the pass, cut two ends, all but one. Keep ivory, at right two, which binds off."
    )
    assert shown(rest, 3).startswith("Row 3, going right: ivory 1 waiting at L2, to L1; navy only")


def test_crossings():
    assert said(BLOCKS, 2, crossings=True) == (
        "Row number two, going left. ivory, only right three. "
        "navy, waiting at left one, from under ivory, to left three."
    )
    assert shown(BLOCKS, 3, crossings=True).startswith(
        "Row 3, going right: navy to R2; ivory from under navy only R3."
    )
    assert "under ivory" not in said(BLOCKS, 4, crossings=True), "a new end crosses nothing"
    assert said(BLOCKS, 1, crossings=True) == said(BLOCKS, 1)


def test_reminders_come_last():
    pattern = replace(BLOCKS, reminders=(Reminder(3, "move the weights up"),))
    told = said(pattern, 3, wording="full", crossings=True)
    assert told.endswith("cut ivory, at right three. Remember: move the weights up.")


PLAIN = pattern_of([[0, 0, 1], *[[1, 1, 1]] * 12, [0, 1, 1], [0, 0, 0], [1, 1, 1]])


def called(pattern, place, how="on", **chosen) -> str:
    return utterance.said(call(pattern, CallSettings(**chosen), place, how))


def test_plain_rows_are_told_once_and_counted():
    assert called(PLAIN, Place(2)) == (
        "Row number two, going left. Twelve plain rows, ivory, through row thirteen, one three."
    )
    assert called(PLAIN, Place(4)) == "Plain ivory, three out of twelve rows."
    third = call(PLAIN, CallSettings(), Place(4))
    assert utterance.shown(third) == "Row 4, going left: plain ivory, 3 out of 12 rows."
    assert called(PLAIN, Place(4), "afresh") == (
        "Row number four, going left. ivory, to left one. Plain ivory, three out of twelve rows."
    )
    assert called(PLAIN, Place(4), "whole") == "Row number four, going left. ivory, to left one."
    assert "plain" not in called(PLAIN, Place(15))
    assert plain_stretch(PLAIN, 1) is plain_stretch(PLAIN, 15) is plain_stretch(PLAIN, 16) is None


def test_plain_rows_keep_their_ends_and_reminders():
    pattern = replace(PLAIN, reminders=(Reminder(4, "move the weights up"),))
    assert called(pattern, Place(4)) == (
        "Plain ivory, three out of twelve rows. Remember: move the weights up."
    )
    new = pattern_of([[0, 0, 0], [1, 1, 1], [1, 1, 1]])
    assert called(new, Place(2)) == (
        "Row number two, going left. Two plain rows, new ivory, through row three."
    )
    assert (
        called(new, Place(3))
        == "Plain ivory, two out of two rows. After the pass, keep ivory, at right two, which "
        "binds off."
    )


SIX = pattern_of([[0, 1, 2, 0, 1, 2], [0, 1, 2, 0, 1, 2]])
SIX_OF_3 = pattern_of([[0, 1, 2, 0, 1, 2]] * 3)


def test_a_long_row_comes_in_portions():
    """Nearly equal ones; each but the last says that the row goes on, the last that it is over."""
    told, place = [], Place(2)
    while place.row == 2:
        told.append(called(SIX, place))
        place = after(SIX, CallSettings(), place)
    assert told == [
        "Row number two, going left. rose, only right three. ivory, only right two. navy, only "
        "right one. "
        "The row goes on.",
        "rose, only left one. ivory, only left two. navy, only left three. "
        "After the pass, cut five ends, all but one. Keep navy, at left three, which binds off.",
    ]
    assert called(SIX_OF_3, Place(2, 3)).endswith("navy, only left three. Pass the carriage.")
    assert called(SIX, Place(2, 3), "afresh").startswith(
        "Row number two, going left. From yarn four of six, at left one. rose, only left one."
    )
    assert called(SIX, Place(2), runs_at_once=0).endswith("at left three, which binds off.")
    assert "carriage" not in called(BLOCKS, Place(2)), "a short row comes whole"


@given(st.integers(1, 300), st.integers(0, 60))
def test_portions_are_few_and_nearly_equal(count, most):
    begins = split(count, most)
    sizes = [end - begin for begin, end in zip(begins, (*begins[1:], count), strict=True)]
    assert sum(sizes) == count
    assert len(sizes) == (math.ceil(count / most) if most else 1)
    assert max(sizes) - min(sizes) <= 1
    assert [portion(begins, count, at) for at in range(count)] == [
        (begin, begin + size)
        for begin, size in zip(begins, sizes, strict=True)
        for _ in range(size)
    ]


def test_the_ends_to_hang_come_in_portions_too():
    five = CallSettings(runs_at_once=5)
    first, second = (utterance.said(setting_up_call(SIX, five, begin)) for begin in (0, 3))
    assert first.endswith("rose, bobbin one, at left one. There are more to hang.")
    on_screen = utterance.shown(setting_up_call(SIX, five, 0))
    assert on_screen.endswith("rose 1 at L1. There are more to hang.")
    assert second.startswith("navy, bobbin two, at right one.")
    assert second.endswith("under the one just laid. Go on when they hang.")


def test_the_pause_between_runs():
    call_ = row_call(BLOCKS, BLOCKS.script.row(2), CallSettings(pause_s=2.5))
    assert [clause.pause_s for clause in call_[1:]] == [2.5, 2.5]


def test_the_pauses_of_portions_and_plain_rows():
    def pauses(pattern, place, how="on"):
        return [clause.pause_s for clause in call(pattern, CallSettings(pause_s=2.5), place, how)]

    assert pauses(SIX, Place(2)) == [0.15, 2.5, 2.5, 2.5, 0.15]
    assert pauses(SIX, Place(2, 3), "afresh") == [0.15, 0.15, *[2.5] * 5]
    assert pauses(SIX_OF_3, Place(2, 3)) == [2.5, 2.5, 2.5, 0.15], "pass the carriage"
    assert (pauses(PLAIN, Place(4)), pauses(PLAIN, Place(4), "afresh")) == ([2.5], [0.15, 2.5, 2.5])
    by_five = CallSettings(pause_s=2.5, runs_at_once=5)
    hung = [[clause.pause_s for clause in setting_up_call(SIX, by_five, at)] for at in (0, 3)]
    assert hung == [[0.15, *[2.5] * 4, 0.15], [*[2.5] * 3, 0.15, 0.15]]


def test_digits_in_portions_and_plain_rows():
    digits = CallSettings(numbers="digits")
    assert utterance.said(call(SIX, digits, Place(2, 3), "afresh")).startswith(
        "Row number two, going left. From yarn four of six, at left one."
    )
    many = pattern_of([[0, 0, 1], *[[1, 1, 1]] * 32])
    assert (
        utterance.said(call(many, digits, Place(21)))
        == "Plain ivory, two zero out of three two rows."
    )
    afresh = utterance.said(call(many, digits, Place(21), "afresh"))
    assert afresh.endswith("Plain ivory, two zero out of three two rows.")
    counted = utterance.said(call(many, CallSettings(numbers="checked"), Place(14)))
    assert counted == "Plain ivory, thirteen out of thirty-two rows.", "counts need no digits"


def test_checks():
    every = {"check_every_rows": 2}
    assert called(BLOCKS, Place(3), **every).startswith(
        "Check: carriage on the left, two ends. Row number three, going right."
    )
    for row, told in [(1, False), (2, False), (4, False)]:
        assert ("Check" in called(BLOCKS, Place(row), **every)) is told
    assert "Check" not in called(BLOCKS, Place(3), "afresh", **every)
    assert "Check" not in called(BLOCKS, Place(3))


any_settings = st.builds(
    CallSettings,
    wording=st.sampled_from(["short", "full", "changes"]),
    numbers=st.sampled_from(["words", "digits", "checked"]),
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
        assert (before.row, before.way, before.yarns) == true_row(pattern, row.number)


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
    chosen = replace(chosen, runs_at_once=runs_at_once)
    place, before = Place(1), None
    while place.row <= pattern.script.rows:
        row, clauses = place.row, []
        while place.row == row:
            clauses += [clause.said for clause in call(pattern, chosen, place)]
            place = after(pattern, chosen, place)
        before = understood(clauses, work, before)
        assert (before.row, before.way, before.yarns) == true_row(pattern, row)


def laid(grid, names, direction, numbering, max_carry) -> tuple[Pattern, Work]:
    bed = Bed(40, numbering=numbering)
    rules = SupplyRules(max_carry)
    pattern = pattern_of(grid, names, bed=bed, first_direction=direction, supply_rules=rules)
    first = 20 - grid.shape[1] // 2
    half = 20 if numbering == "centre" else None
    return pattern, Work(names, first, first + grid.shape[1] - 1, half)


def true_row(pattern: Pattern, row: int) -> tuple[int, str, tuple[str, ...]]:
    ways = {"right": ["right", "left"], "left": ["left", "right"]}[pattern.first_direction]
    names = tuple(pattern.yarns[cell].name for cell in pattern.chart.cells[row - 1])
    return row, ways[(row - 1) % 2], names


@settings(deadline=None)
@given(grids)
def test_changes_never_name_more_needles_than_there_are_runs(grid):
    pattern = pattern_of(grid)
    for row in pattern.script:
        told = said(pattern, row.number, wording="changes").partition("After the pass")[0]
        if "takes" in told:
            named = len(re.findall(r"(?<!at )(?:left|right) \w", told.partition(". ")[2]))
            assert named <= len(row.runs)


@pytest.mark.parametrize("style", ["words", "digits", "checked"])
def test_what_is_shown_has_figures_in_every_style(style):
    assert shown(BLOCKS, 1, numbers=style) == shown(BLOCKS, 1)


def test_ends_by_their_names():
    def told(*ends):
        clause = names_clause(ENDS, list(ends), "come off.", CallSettings(numbers="checked"))
        assert clause.pause_s == 0.3
        return clause.said, clause.shown

    navy, ivory, rose = End(5, 0, 13, False), End(2, 1, 1, True), End(7, 2, 2, False)
    assert told(ivory) == ("ivory, come off.", "ivory come off.")
    assert told(navy, ivory) == (
        "navy, bobbin thirteen, one three; and ivory, come off.",
        "navy 13; ivory come off.",
    )
    assert told(ivory, rose, navy)[0] == (
        "ivory; rose, bobbin two; and navy, bobbin thirteen, one three, come off."
    )


def test_a_sentence_about_a_bobbin():
    """ENDS hangs navy on two bobbins, ivory on one."""
    settings = CallSettings(numbers="checked")
    two, one = (bobbin_clause(ENDS, yarn, 13, "has {n} left.", settings, n=3) for yarn in (0, 1))
    assert two.said == "navy, bobbin thirteen, one three, has three left."
    assert two.shown == "navy 13 has 3 left."
    assert (one.said, one.shown) == ("ivory has three left.", "ivory has 3 left.")
    assert one.pause_s == two.pause_s == 0.3


def test_a_place_check_and_the_needles_in_work():
    """Rows 1 and 2 of thirteen and fifteen stitches; a count needs no digits, a needle does."""
    cells = np.zeros((2, 15), dtype=np.uint8)
    cells[0, 13:], cells[1, 0] = NOT_IN_WORK, 1
    shaped = pattern_of(cells)
    check = place_check(shaped, 2, "right", 13, CallSettings(numbers="checked"))
    assert check.said == "Check: carriage on the right, thirteen needles in work, thirteen ends."
    assert check.shown == "Check: carriage on the right, 13 needles in work, 13 ends."
    assert check.pause_s == 0.3
    assert check_place(BLOCKS, 1, CallSettings()).said == "Check: carriage on the left, two ends."
    assert "thirteen needles" in place_check(shaped, 1, "left", 1, CallSettings()).said
    first = in_work_clause(shaped, 1, "checked")
    assert first.said == "Thirteen needles in work, from left seven, as far as right six."
    assert (first.shown, first.pause_s) == ("13 needles in work, L7 to R6.", 0.15)

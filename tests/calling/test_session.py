"""The session as a pure function: where it stands after each order, and that it answers by ear."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from row_decoder import Work, understood
from test_utterance import sets_nothing_off

from caller.calling import orders
from caller.calling.commands import PHRASES, WAYS, Command, from_key, from_line, from_phrase
from caller.calling.events import Pressed, Typed, Unknown
from caller.calling.place import Place
from caller.calling.session import begin, step
from caller.calling.signals import Signal
from caller.calling.spelling import Asked, Spelled
from caller.calling.state import Answer, State
from caller.calling.words import row_call, sentences, utterance
from caller.calling.words.utterance import kept_apart, shown
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern, Reminder
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"), Yarn("rust", "#a0522d"))
GRID = np.array([[0, 0, 1, 1], [0, 1, 1, 1], [2, 2, 1, 0]], dtype=np.uint8)
PATTERN = Pattern("Three rows", Chart(GRID), YARNS, reminders=(Reminder(2, "move the weights up"),))
USUAL = CallSettings()
ONE_RUN = CallSettings(runs_at_once=1)

FASTEST = "Three hundred and fifty words a minute; there is no faster rate."

any_order = st.sampled_from(list(Command)) | st.builds(
    Spelled, st.sampled_from(["l", "r", "1", "2", "enter", "backspace"])
)


def at(row: int, run: int = 0, rate_wpm: int = 160) -> State:
    return State(Place(row, run), rate_wpm)


def after(*given_orders, pattern=PATTERN, settings=USUAL, state=None) -> Answer:
    """The last answer to these orders, one after the other."""
    answer = None
    state = state or replace(begin(pattern, settings, None, 160).state, setting_up=None)
    for order in given_orders:
        answer = step(pattern, settings, state, order)
        state = answer.state
    assert answer is not None
    return answer


SET_UP = (
    "Before row 1, the carriage stands on the left. Hang 2 ends, tails to the left: "
    "navy at L2; ivory at R1. "
    "Where two yarns meet, take up the next one from under the one just laid. Go on when they hang."
)


def test_it_opens_with_the_pattern_and_the_ends_to_hang():
    opened = begin(PATTERN, USUAL, None, 160)
    assert opened.state.place == Place(1)
    assert utterance.shown(opened.say) == (
        "Three rows. 4 stitches, L2 to R2; 3 rows. "
        f"For help, say help me please, or press the question mark. {SET_UP}"
    )
    for order in (Command.REPEAT, Command.SUPPLIES, Command.WHERE):
        asked = step(PATTERN, USUAL, opened.state, order)
        assert asked.state.setting_up == 0, "they may still be hung"
    row = step(PATTERN, USUAL, opened.state, Command.NEXT)
    assert (row.state.place, row.state.setting_up) == (Place(1), None)
    assert utterance.shown(row.say) == "Row 1, going right: navy to L1; ivory to R2."
    back = step(PATTERN, USUAL, row.state, Command.BACK)
    assert utterance.shown(back.say) == SET_UP
    again = step(PATTERN, USUAL, back.state, Command.BACK)
    assert utterance.shown(again.say).startswith("This is the first row; nothing comes before it.")


def test_one_end_is_hung_and_laid_at_once():
    plain = replace(PATTERN, chart=Chart(GRID[[0, 0]] * 0), reminders=())
    opened = begin(plain, USUAL, None, 160)
    assert utterance.shown(opened.say).endswith(
        "Hang navy at L2, tail to the left. Row 1, going right: 2 plain rows, navy, through row 2."
    )
    assert opened.state.setting_up is None
    assert step(plain, USUAL, opened.state, Command.NEXT).state.place == Place(2)


def test_many_ends_are_hung_in_portions():
    states = [begin(PATTERN, ONE_RUN, None, 160).state]
    for order in (Command.NEXT, Command.NEXT, Command.BACK, Command.BACK):
        states.append(step(PATTERN, ONE_RUN, states[-1], order).state)
    assert [state.setting_up for state in states] == [0, 1, None, 1, 0]
    assert {state.place for state in states} == {Place(1)}
    assert begin(PATTERN, ONE_RUN, Place(1), 160).state.setting_up == 0, "after a power cut"
    assert begin(PATTERN, ONE_RUN, Place(1, 1), 160).state.setting_up is None


def test_it_carries_on_and_says_so():
    opened = begin(PATTERN, USUAL, Place(2), 160)
    assert opened.state.place == Place(2)
    assert utterance.shown(opened.say).startswith("Carrying on at row 2 of 3. Row 2, going left:")


@pytest.mark.parametrize(("days", "told"), [(6.9, False), (7.0, True), (90.0, True)])
def test_after_long_it_tells_how_yarns_cross(days, told):
    opened = begin(PATTERN, USUAL, Place(2), 160, days_away=days)
    assert (row_call.CROSSING in utterance.shown(opened.say)) is told
    assert opened.say[-1] == begin(PATTERN, USUAL, Place(2), 160).say[-1]


def test_it_does_not_tell_where_no_yarns_meet():
    plain = Pattern("Plain", Chart(np.array([[0, 1], [1, 1], [1, 1]], dtype=np.uint8)), YARNS)
    opened = begin(plain, USUAL, Place(2), 160, days_away=30)
    assert row_call.CROSSING not in utterance.shown(opened.say)
    assert row_call.where_yarns_meet(plain)


def test_it_carries_on_at_the_piece():
    opened = begin(PATTERN, ONE_RUN, Place(3, 2), 160)
    assert opened.state.place == Place(3, 2)
    assert utterance.shown(opened.say) == (
        "Carrying on at row 3 of 3. Row 3, going right: "
        "From yarn 3 of 3, at R2. navy waiting at L2, only R2. After the pass, cut 2 ends, all but "
        "one. Keep navy at R2, which binds off."
    )


@pytest.mark.parametrize(
    ("kept", "runs_at_once", "place"),
    [
        (Place(3, 2), 0, Place(3)),  # by whole rows now
        (Place(3, 1), 2, Place(3)),
        (Place(3, 9), 1, Place(3, 2)),  # of a chart with longer rows
        (Place(9, 2), 1, Place(4)),
    ],
)
def test_a_kept_place_fits_another_pace(kept, runs_at_once, place):
    settings = CallSettings(runs_at_once=runs_at_once)
    assert begin(PATTERN, settings, kept, 160).state.place == place


def test_back_from_row_one_is_said():
    answer = after(Command.BACK, Command.BACK)
    assert answer.state.place == Place(1)
    assert shown(answer.say).startswith("This is the first row")


def test_the_end_says_how_many_rows():
    answer = after(Command.NEXT, state=at(3))
    assert answer.state.place == Place(4)
    assert utterance.said(answer.say) == (
        "The picture is finished. All three rows are knitted. To hear what is left to do, go on."
    )
    again = after(Command.REPEAT, state=answer.state)
    assert (again.state.place, again.say) == (answer.state.place, answer.say)
    finishing = after(Command.NEXT, state=answer.state)
    assert finishing.state.place == Place(4, 1)
    assert finishing.say == after(Command.FINISH, state=answer.state).say
    assert utterance.said(finishing.say).startswith("Bind off ")
    assert after(Command.BACK, state=answer.state).state.place == Place(3)


@settings(deadline=None)
@given(st.lists(any_order, max_size=30), st.integers(0, 3))
def test_the_place_never_leaves_the_work(given_orders, runs_at_once):
    settings = CallSettings(runs_at_once=runs_at_once)
    state = begin(PATTERN, settings, None, 160).state
    for order in given_orders:
        before, asked = state.place, state.question
        answer = step(PATTERN, settings, state, order)
        state = answer.state
        if order is Command.YES and asked is not None:
            assert state.place == Place(asked.row)
            continue
        assert 1 <= state.place.row <= PATTERN.script.rows + 1
        assert abs(state.place.row - before.row) <= 1
        assert utterance.said(answer.say), "every order is answered by ear"
        assert sets_nothing_off(answer.say)
        assert 80 <= answer.rate_wpm <= 350
        assert answer.leave == (order is Command.LEAVE)
        if order not in (Command.NEXT, Command.BACK):
            assert state.place == before


@settings(deadline=None)
@given(st.integers(1, 3), st.integers(0, 2), st.integers(0, 3))
def test_back_undoes_next(row, run, runs_at_once):
    settings = CallSettings(runs_at_once=runs_at_once)
    begun = begin(PATTERN, settings, Place(row, run), 160).state
    there = step(PATTERN, settings, begun, Command.NEXT).state
    back = step(PATTERN, settings, there, Command.BACK).state
    assert (back.place, back.setting_up) == (begun.place, begun.setting_up)


def test_run_by_run():
    answers = []
    state = at(2)
    for _ in range(3):
        answer = step(PATTERN, ONE_RUN, state, Command.NEXT)
        state = answer.state
        answers.append(shown(answer.say))
    assert answers == [
        "navy only L2. Pass the carriage. Remember: move the weights up.",
        "Row 3, going right: new rust to L1. The row goes on.",
        "ivory only R1. The row goes on.",
    ]


def test_the_pace_of_what_follows_is_learned():
    """Four seconds a yarn until three rows are known; a row's pass counts as one yarn more."""
    settings = CallSettings(runs_at_once=2, follow=True)
    six = replace(PATTERN, chart=Chart(np.array([[0, 1, 2, 0, 1]] * 6)), reminders=())
    state = begin(six, settings, Place(2), 160).state
    waits, now_s = [], 0.0
    for _ in range(12):
        now_s += 20
        answer = step(six, settings, state, Command.NEXT, now_s)
        waits.append(answer.goes_on_s)
        state = answer.state
    # Rows of three portions of two, two and one yarn; 60 s a row are 10 s a yarn.
    assert waits == [8, None, 8, 8, None, 8, 8, None, 20, 20, None, 20]
    assert step(six, settings, state, Command.REPEAT, now_s).goes_on_s is None
    assert begin(six, settings, Place(2), 160).goes_on_s is None


def test_back_to_another_row_says_which():
    answer = after(Command.BACK, state=at(3), settings=ONE_RUN)
    assert answer.state.place == Place(2, 1)
    assert utterance.shown(answer.say).startswith(
        "Row 2, going left: From yarn 2 of 2, at L2. navy"
    )


def test_repeated_once_the_same_words_twice_the_whole_row_slower():
    opened = begin(PATTERN, ONE_RUN, Place(3, 1), 160)
    on = step(PATTERN, ONE_RUN, opened.state, Command.NEXT)
    once = step(PATTERN, ONE_RUN, on.state, Command.REPEAT)
    assert (once.say, once.rate_wpm, once.state.place) == (on.say, 160, Place(3, 2))
    twice = step(PATTERN, ONE_RUN, once.state, Command.REPEAT)
    assert utterance.shown(twice.say) == (
        "Row 3, going right: new rust to L1; ivory only R1; navy waiting at L2, only R2. "
        "After the pass, cut 2 ends, all but one. Keep navy at R2, which binds off."
    )
    assert twice.rate_wpm == 120
    assert twice.state.rate_wpm == 160
    assert twice.state.place == Place(3, 2)
    thrice = step(PATTERN, ONE_RUN, twice.state, Command.REPEAT)
    assert thrice.say == twice.say
    # Anything in between, and a repeat is the first one again.
    asked = step(PATTERN, ONE_RUN, once.state, Command.WHERE)
    assert step(PATTERN, ONE_RUN, asked.state, Command.REPEAT).say == on.say


def test_what_was_called_afresh_is_repeated_so():
    settings = CallSettings(wording="changes")
    opened = begin(PATTERN, settings, Place(2), 160)
    again = step(PATTERN, settings, opened.state, Command.REPEAT)
    assert opened.say[-len(again.say) :] == again.say
    assert "ivory to L1; navy" in utterance.shown(again.say)


def test_the_changes_wording_twice_repeated_is_the_whole_row():
    settings = CallSettings(wording="changes")
    answer = after(Command.NEXT, Command.REPEAT, settings=settings)
    assert "ivory takes L1" in shown(answer.say)
    answer = after(Command.NEXT, Command.REPEAT, Command.REPEAT, settings=settings)
    assert "ivory to L1; navy" in utterance.shown(answer.say)


@pytest.mark.parametrize(
    ("order", "rate_wpm", "new", "said"),
    [
        (Command.FASTER, 160, 180, "One hundred and eighty words a minute."),
        (Command.SLOWER, 160, 140, "One hundred and forty words a minute."),
        (Command.FASTER, 340, 350, FASTEST),
        (Command.FASTER, 350, 350, FASTEST),
        (Command.SLOWER, 85, 80, "Eighty words a minute; there is no slower rate."),
    ],
)
def test_the_rate(order, rate_wpm, new, said):
    answer = after(order, state=at(1, rate_wpm=rate_wpm))
    assert answer.state.rate_wpm == answer.rate_wpm == new
    assert utterance.said(answer.say) == said
    assert answer.state.place == Place(1)


def test_the_slowest_row_is_not_slowed_below_the_range():
    answer = after(Command.REPEAT, Command.REPEAT, state=at(1, rate_wpm=90))
    assert answer.rate_wpm == 80


# A needle, spelled key by key.


def keys(*pressed: str, pattern=PATTERN, state=None) -> list[Answer]:
    answers = []
    state = state or at(2)
    for key in pressed:
        order = orders.understood(pattern.bed, state, Pressed(key))
        assert order is not None, key
        answers.append(step(pattern, USUAL, state, order))
        state = answers[-1].state
    return answers


def test_a_needle_is_spelled_and_each_key_said_back():
    told = [utterance.said(answer.say) for answer in keys("n", "l", "1", "0", "backspace", "enter")]
    assert told == [
        "Which needle? Press L or R, then its number, then Enter; Enter alone for none.",
        "Left.",
        "one.",
        "zero.",
        "Taken back.",
        "In row two, left one is ivory.",
    ]


def test_after_the_needle_the_keys_are_commands_again():
    answers = keys("n", "2", "R", "enter", "r", "enter")
    assert utterance.said(answers[3].say) == "In row two, right two is ivory."
    assert utterance.shown(answers[4].say).startswith("Row 2, going left")
    assert answers[5].state.place == Place(3)


def test_a_space_among_the_keys_of_a_needle_moves_no_row():
    answers = keys("n", "l", "space", "1", "space", "enter")
    assert {answer.state.place for answer in answers} == {Place(2)}
    assert utterance.said(answers[2].say) == "Leave spaces out, and press Enter at the end."
    assert utterance.said(answers[-1].say) == "In row two, left one is ivory."


def test_a_pedal_ends_the_spelling():
    answers = keys("n", "l", "pagedown")
    assert answers[-1].state.spelling is None
    assert answers[-1].state.place == Place(3)
    assert keys("n", "1", "left")[-1].state.place == Place(1)


def test_beginning_a_needle_again():
    answers = keys("n", "l", "2", "n", "r", "1", "enter")
    assert utterance.said(answers[-1].say) == "In row two, right one is ivory."


@pytest.mark.parametrize(
    ("pressed", "said"),
    [
        (("enter",), "No number was given."),
        (("l", "2", "escape"), "No number was given."),
        (("l", "enter"), "'l' is not a needle"),
        (("l", "r", "1", "enter"), "'lr1' is not a needle"),
        (("l", "0", "enter"), "'l0' is not a needle"),
        (("7", "enter"), "'7' is not a needle"),
        (("r", "1", "0", "1", "enter"), "no needle r101"),
        (
            ("r", "3", "enter"),
            "There is no stitch on right three; the work lies from left two, as far",
        ),
        (("backspace",), "Nothing to take back."),
    ],
)
def test_needles_that_are_not_there(pressed, said):
    assert said in utterance.said(keys("n", *pressed)[-1].say)


def test_a_needle_of_a_straight_bed():
    pattern = replace(PATTERN, bed=Bed(20, numbering="straight"))
    answers = keys("n", "9", "enter", pattern=pattern)
    assert (
        utterance.said(answers[0].say)
        == "Which needle? Press its number, then Enter; Enter alone for none."
    )
    assert utterance.said(answers[-1].say) == "In row two, needle nine is navy."
    asking = keys("n", pattern=pattern)[-1].state
    assert orders.understood(pattern.bed, asking, Pressed("r")) is Command.REPEAT, "no right here"


def test_a_needle_asked_for_by_lines():
    asking = after(Command.NEEDLE, state=at(2)).state
    assert orders.understood(PATTERN.bed, asking, Typed(" L2\n")) == Asked(Command.NEEDLE, "L2")
    assert orders.understood(PATTERN.bed, asking, Typed("back")) is Command.BACK
    assert orders.understood(PATTERN.bed, asking, Typed("\n")) == Spelled("enter")
    assert orders.understood(PATTERN.bed, at(2), Typed("L2")) is None


def test_a_needle_after_the_end():
    for answer in (keys("n", state=at(4))[0], after(Asked(Command.NEEDLE, "l1"), state=at(4))):
        assert shown(answer.say) == "The picture is finished. All 3 rows are knitted."
        assert answer.state.spelling is None


# Signals.


def test_the_carriage_is_heard_at_each_row():
    settings = CallSettings(signals="all", runs_at_once=1)
    hung = replace(begin(PATTERN, settings, None, 160).state, setting_up=1)
    opened = step(PATTERN, settings, hung, Command.NEXT)
    assert opened.before == (Signal.CARRIAGE_RIGHT,)
    inside = step(PATTERN, settings, opened.state, Command.NEXT)
    assert (inside.before, inside.after) == ((), (Signal.ROW_FINISHED,))
    second = step(PATTERN, settings, inside.state, Command.NEXT)
    assert (second.before, second.after) == ((Signal.CARRIAGE_LEFT,), ())


@pytest.mark.parametrize("signals", ["off", "commands"])
def test_those_signals_are_optional(signals):
    settings = CallSettings(signals=signals, runs_at_once=1)
    answer = after(Command.NEXT, settings=settings)
    assert (answer.before, answer.after) == ((), ())


# The words.


@pytest.mark.parametrize("settings", [USUAL, CallSettings(wording="full", crossings=True)])
def test_no_command_phrase_is_ever_said(settings):
    """Whatever the yarns, the title and the reminders are called."""
    names = ("next", "row", "go", "back gold", "where am I", "Repeat")
    yarns = tuple(Yarn(name, f"#{index:06x}") for index, name in enumerate(names))
    grid = np.array([[0, 1, 2, 3], [4, 0, 1, 5], [5, 5, 0, 1]], dtype=np.uint8)
    reminders = (Reminder(2, "go back and repeat that"), Reminder(3, "next"))
    pattern = Pattern("Previous row", Chart(grid), yarns, reminders=reminders)
    for kept in (None, *map(Place, range(1, 5))):
        opened = begin(pattern, settings, kept, 160)
        assert sets_nothing_off(opened.say)
        for order in [*Command, Asked(Command.NEEDLE, "l1")]:
            answer = step(pattern, settings, opened.state, order)
            assert sets_nothing_off(answer.say)
    for say in (sentences.not_understood(), sentences.help_text(), sentences.more_help()):
        assert sets_nothing_off(say)


def test_the_session_of_changes_can_be_followed():
    """From row to row with Next alone, read by the decoder that knows only the words."""
    settings = CallSettings(wording="changes", numbers="checked")
    answer = step(PATTERN, settings, begin(PATTERN, settings, None, 160).state, Command.NEXT)
    work = Work([yarn.name for yarn in YARNS], 98, 101, 100)
    heard = None
    for row, way in [(1, "right"), (2, "left"), (3, "right")]:
        clauses = [clause.said for clause in answer.say]
        heard = understood(clauses, work, heard)
        names = tuple(YARNS[cell].name for cell in GRID[row - 1])
        assert (heard.row, heard.way, heard.yarns) == (row, way, names)
        answer = step(PATTERN, settings, answer.state, Command.NEXT)


# The table of commands.


def test_the_table_is_consistent():
    phrases = [phrase for way in WAYS for phrase in way.phrases]
    keys_ = [key for way in WAYS for key in way.keys]
    assert len(phrases) == len(set(phrases))
    assert len(keys_) == len(set(keys_))
    assert [way.command for way in WAYS] == list(Command)
    assert sum(way.main for way in WAYS) == 5
    for one in phrases:
        assert one == " ".join(one.casefold().split())
        assert len(one.split()) > 1, "single words are heard badly"
        assert not any(other != one and other.startswith(one) for other in phrases)


def test_typed_names_are_not_also_keys_of_another_command():
    for way in WAYS:
        assert from_key(way.command.value) in (None, way.command)


@pytest.mark.parametrize(
    ("key", "command"),
    # The keys that the design asks for, pedals included.
    [(key, Command.NEXT) for key in ("space", "enter", "pagedown", "right")]
    + [(key, Command.REPEAT) for key in ("r", "R", "up")]
    + [(key, Command.BACK) for key in ("b", "left", "pageup", "backspace")]
    + [(key, Command.FASTER) for key in ("+", "=")]
    + [("-", Command.SLOWER), ("n", Command.NEEDLE), ("s", Command.SUPPLIES)]
    + [("q", Command.LEAVE), ("?", Command.HELP), ("x", None), ("f13", None)],
)
def test_keys(key, command):
    assert from_key(key) is command
    assert orders.understood(PATTERN.bed, at(1), Pressed(key)) is command


@pytest.mark.parametrize(
    ("line", "order"),
    [
        ("next", Command.NEXT),
        ("  Next ROW ", Command.NEXT),
        ("", Command.NEXT),
        ("r", Command.REPEAT),
        ("go back", Command.BACK),
        ("where", Command.WHERE),
        ("?", Command.HELP),
        ("q", Command.LEAVE),
        ("slower", Command.SLOWER),
        ("needle", Command.NEEDLE),
        ("Needle L20", Asked(Command.NEEDLE, "L20")),
        ("row 42", Asked(Command.ROW, "42")),
        ("unravel 10", Asked(Command.UNRAVEL, "10")),
        ("g 7", Asked(Command.ROW, "7")),
        ("row", Command.ROW),
        ("yes please", Command.YES),
        ("next 3", None),
        ("n  r3 ", Asked(Command.NEEDLE, "R3")),
        ("needle left 20", Asked(Command.NEEDLE, "L20")),
        ("unravel twenty-one", Asked(Command.UNRAVEL, "21")),
        ("row forty two", Asked(Command.ROW, "42")),
        ("Go to row 1,000.", None),
        ("go to row twenty ten", None),
        ("back 10", None),
        ("needle left", Asked(Command.NEEDLE, "left")),
        ("remark Forty Two", Asked(Command.REMARK, "Forty Two")),
        ("nextrow", None),
        ("next row please", None),
        ("7", None),
        ("l20", None),
    ],
)
def test_typed_lines(line, order):
    assert orders.understood(PATTERN.bed, at(1), Typed(line + "\n")) == order
    if not isinstance(order, Asked):
        assert from_line(line) is order


def test_what_other_devices_send():
    assert orders.understood(PATTERN.bed, at(1), Command.NEXT) is Command.NEXT
    assert orders.understood(PATTERN.bed, at(1), Unknown("f13")) is None


def test_only_whole_phrases_are_spoken_commands():
    assert from_phrase("next row") is Command.NEXT
    assert from_phrase("next") is None
    assert from_phrase("") is None
    assert set(map(from_phrase, PHRASES)) <= set(Command)


def test_the_help_tells_of_every_command_in_two_parts():
    first = shown(after(Command.HELP).say)
    second = shown(after(Command.HELP, Command.HELP).say)
    assert shown(after(Command.HELP, Command.HELP, Command.HELP).say) == first
    assert shown(after(Command.HELP, Command.WHERE, Command.HELP).say) == first
    for way in WAYS:
        assert (way.does in first) is way.main
        assert (way.does in second) is not way.main
        for phrase in way.phrases:
            assert f'"{phrase}"' in first + second
    # At 160 words a minute, the rate at which people read aloud: under half a minute.
    assert len(first.split()) < 80


def test_the_help_tells_what_can_be_said():
    def told(call_settings):
        return utterance.said(after(Command.HELP, settings=call_settings).say)

    assert 'or say "next row"' in told(USUAL)
    korean = told(CallSettings(said=(("다음 줄", "next"), ("뒤로", "back"))))
    assert 'press the space bar or enter, or say "다음 줄"' in korean
    assert "next row" not in korean
    own = told(CallSettings(said=(), taught=("next",)))
    assert "press the space bar or enter, or say what you taught for it" in own
    assert own.count("or say") == 1
    both = told(CallSettings(taught=("next",)))
    assert 'or say "next row" or what you taught for it' in both
    assert both.count("taught") == 1
    assert "or say" not in told(CallSettings(said=()))


def test_other_words_are_kept_apart_in_the_calls():
    parted = kept_apart(sentences.not_understood(), ("was not",))
    assert [clause.said for clause in parted] == [
        "That was",
        "not understood. For help, press the question mark.",
    ]


@pytest.mark.parametrize(
    ("order", "said"),
    [
        (Command.FASTER, "One eight zero words a minute."),
        (Command.LEAVE, "Stopping at row one two. Your place is kept."),
    ],
)
def test_digits_where_they_are_wished(order, said):
    pattern = Pattern("Twenty rows", Chart(np.tile(GRID, (7, 1))[:20]), YARNS)
    state = replace(at(12), rate_wpm=160)
    answer = after(order, pattern=pattern, settings=CallSettings(numbers="digits"), state=state)
    assert utterance.said(answer.say) == said


def test_numbers_that_are_heard_are_told_with_the_other_commands():
    told = {}
    for heard in (True, False):
        settings = CallSettings(numbers_heard=heard)
        told[heard] = shown(after(Command.HELP, Command.HELP, settings=settings).say)
    assert "left twenty" in told[True]
    assert "left twenty" not in told[False]

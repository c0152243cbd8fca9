"""The session as a pure function: where it stands, and what each order leads to."""

from dataclasses import dataclass, replace
from statistics import median

from caller.calling import answers, pace
from caller.calling.acts import setting_up
from caller.calling.commands import Command, from_key, from_line, words_of
from caller.calling.events import Following, Pressed, Spoken, Typed, Unknown
from caller.calling.place import Place, after, before, settled
from caller.calling.portions import portion, portions, run_count, split
from caller.calling.signals import Signal
from caller.calling.words import sentences
from caller.calling.words.row_call import How, call, check_place, setting_up_call
from caller.calling.words.utterance import Utterance, sentence
from caller.pattern.bed import Bed
from caller.pattern.pattern import Pattern
from caller.settings import FASTEST_WPM, SLOWEST_WPM, CallSettings

RATE_STEP_WPM = 20
SLOWED = 0.75
"""The part of the rate at which a row is said that had to be asked for twice."""
MOST_HURRIED = 3
"""Of so many spoken moves in a hurry the last is held back: a radio moves nobody on for long."""
HURRY_S = 6.0
"""Faster than this a row is hardly knitted; half the knitter's own pace once that is known."""
_TIMED_ROWS = 9  # the pace is the median of so many: a tea break does not count


@dataclass(frozen=True)
class Spelled:
    """A key pressed while a needle is spelled: l, r, a digit, "enter", "backspace" or "space"."""

    key: str


@dataclass(frozen=True)
class Asked:
    """A whole question for a needle, as typed: "l20"."""

    needle: str


Order = Command | Spelled | Asked


@dataclass(frozen=True)
class State:
    """Where a session stands.

    `rate_wpm` is the rate of the voice. `last` is the order before and `times` how often it came
    in a row. `spelling` holds the keys pressed for a needle, None when none is asked for. `how` is
    how the place was called, so that it is repeated in the same words.
    `setting_up` is the first end of those being told before row 1, None once they hang; it is not
    kept, for at row 1 a session begins with them.
    `hurried` counts the spoken moves in a hurry.
    `entered_s` is the time at which this row was first called, `row_times_s` how long the last rows
    took, and `yarn_times_s` how long a yarn of theirs took, in seconds.
    """

    place: Place
    rate_wpm: int
    last: Order | None = None
    times: int = 0
    spelling: str | None = None
    how: How = "on"
    setting_up: int | None = None
    hurried: int = 0
    entered_s: float = 0.0
    row_times_s: tuple[float, ...] = ()
    yarn_times_s: tuple[float, ...] = ()


@dataclass(frozen=True)
class Answer:
    """What an order leads to: the new state, what is said and at which rate, the signals around
    it, and whether the session ends. After `goes_on_s` seconds from its beginning the next portion
    of the row is called unless something else is ordered; None waits for an order.

    The loop keeps the place on the disk before it says a word.
    """

    state: State
    say: Utterance
    rate_wpm: int
    before: tuple[Signal, ...] = ()
    after: tuple[Signal, ...] = ()
    leave: bool = False
    goes_on_s: float | None = None


def begin(
    pattern: Pattern,
    settings: CallSettings,
    kept: Place | None,
    rate_wpm: int,
    now_s: float = 0.0,
    chosen: int | None = None,
) -> Answer:
    """Open a session at the `chosen` row, else at the kept place, or at row 1 when none is kept."""
    rows, style = pattern.script.rows, settings.numbers
    place = Place(1) if kept is None else settled(pattern, settings, kept)
    if chosen is not None:
        place = Place(chosen)
    state = State(place, rate_wpm, entered_s=now_s)
    if chosen is not None:
        opening = sentences.starting_at(chosen, None if kept is None else kept.row, rows, style)
    elif kept is None:
        opening = sentences.opening(pattern, style)
    elif place.row > rows:
        return Answer(state, sentences.finished(rows, style), rate_wpm)
    else:
        opening = sentences.carrying_on(place.row, rows, style)
    if place == Place(1):
        if len(setting_up(pattern)) > 1:
            state = replace(state, setting_up=0)
        else:
            opening += setting_up_call(pattern, settings)
    called = _called(pattern, settings, state, "afresh")
    return replace(called, say=opening + called.say)


def understood(
    bed: Bed, state: State, event: Command | Spoken | Following | Pressed | Typed | Unknown
) -> Order | None:
    """The order that an event gives, None when it is none."""
    if isinstance(event, Spoken):
        return event.command
    if isinstance(event, Following):
        return Command.NEXT
    if isinstance(event, Pressed):
        key = event.key.casefold()
        if state.spelling is not None and key in _spelling_keys(bed):
            return Spelled(key)
        return from_key(key)
    if isinstance(event, Typed):
        word, _, needle = event.line.strip().partition(" ")
        if needle.strip() and from_line(word) is Command.NEEDLE:
            return Asked(needle.strip())
        order = from_line(event.line)
        return Asked(event.line.strip()) if order is None and state.spelling == "" else order
    return event if isinstance(event, Command) else None


def _spelling_keys(bed: Bed) -> tuple[str, ...]:
    sides = ("l", "r") if bed.numbering == "centre" else ()
    return (*sides, *"0123456789", "enter", "backspace", "space")


def step(
    pattern: Pattern,
    settings: CallSettings,
    state: State,
    order: Order,
    now_s: float = 0.0,
    spoken: bool = False,
) -> Answer:
    """The answer to an order at `now_s` seconds of any clock. Total: every order has one.

    `spoken` orders can be misheard, so those that move in a hurry end in a place check.
    """
    times = state.times + 1 if order == state.last else 1
    spelling = state.spelling if isinstance(order, Spelled) else None
    hurried = state.hurried if spoken else 0
    now = replace(state, last=order, times=times, spelling=spelling, hurried=hurried)
    match order:
        case Spelled():
            return _spell(pattern, settings, now, order.key)
        case Asked():
            return _asked(pattern, settings, now, order.needle)
        case Command.NEXT | Command.REPEAT | Command.BACK:
            answer = _move(pattern, settings, now, order, now_s)
            return _unhurried(pattern, settings, now, answer, now_s) if spoken else answer
        case Command.SLOWER | Command.FASTER:
            return _change_rate(settings, now, order is Command.FASTER)
        case _:
            return _ask(pattern, settings, now, order)


def _move(
    pattern: Pattern, settings: CallSettings, state: State, order: Command, now_s: float
) -> Answer:
    place = state.place
    if state.setting_up is not None:
        return _set_up(pattern, settings, state, order, now_s)
    if order is Command.REPEAT:
        if state.times == 1:
            return _called(pattern, settings, state, state.how)
        slowed = max(SLOWEST_WPM, round(SLOWED * state.rate_wpm))
        answer = _called(pattern, settings, state, "whole")
        return replace(answer, state=state, rate_wpm=slowed)
    if order is Command.BACK:
        there = before(pattern, settings, place)
        if there is None and len(hangs := setting_up(pattern)) > 1:
            last = split(len(hangs), settings.runs_at_once)[-1]
            return _called(pattern, settings, replace(state, setting_up=last), "afresh")
        if there is None:
            answer = _called(pattern, settings, state, "afresh")
            return replace(answer, say=sentences.first_row() + answer.say)
        how: How = "on" if there.row == place.row else "afresh"
        return _called(pattern, settings, replace(state, place=there, entered_s=now_s), how)
    there = after(pattern, settings, place)
    if there.row > place.row:
        state = _timed(pattern, state, now_s)
    answer = _called(pattern, settings, replace(state, place=there), "on")
    if settings.follow and there.row == after(pattern, settings, there).row:
        count = run_count(pattern, there.row)
        first, last = portion(portions(pattern, settings, there.row), count, there.run)
        goes_on_s = (last - first) * pace.yarn_s(state.yarn_times_s)
        answer = replace(answer, goes_on_s=goes_on_s)
    return answer


def _timed(pattern: Pattern, state: State, now_s: float) -> State:
    """The state when the row has been knitted by now, and how long it took."""
    took_s = now_s - state.entered_s
    yarn_s = took_s / (run_count(pattern, state.place.row) + pace.PASS_YARNS)
    return replace(
        state,
        entered_s=now_s,
        row_times_s=(*state.row_times_s, took_s)[-_TIMED_ROWS:],
        yarn_times_s=(*state.yarn_times_s, yarn_s)[-_TIMED_ROWS:],
    )


def _set_up(
    pattern: Pattern, settings: CallSettings, state: State, order: Command, now_s: float
) -> Answer:
    """A move among the ends to hang, or on to row 1 when they all hang."""
    first = state.setting_up or 0
    begins = split(len(setting_up(pattern)), settings.runs_at_once)
    if order is Command.REPEAT and state.times > 1:
        slowed = max(SLOWEST_WPM, round(SLOWED * state.rate_wpm))
        return Answer(state, setting_up_call(pattern, settings), slowed)
    if order is Command.NEXT:
        later = [begin for begin in begins if begin > first]
        state = replace(state, setting_up=later[0] if later else None)
        return _called(pattern, settings, replace(state, entered_s=now_s), "on")
    if order is Command.BACK:
        earlier = [begin for begin in begins if begin < first]
        state = replace(state, setting_up=earlier[-1] if earlier else 0)
        answer = _called(pattern, settings, state, "afresh")
        return answer if earlier else replace(answer, say=sentences.first_row() + answer.say)
    return _called(pattern, settings, state, state.how)


def _unhurried(
    pattern: Pattern, settings: CallSettings, state: State, answer: Answer, now_s: float
) -> Answer:
    """The answer to a spoken move, or a place check instead of the third one in a hurry."""
    row, rows = state.place.row, pattern.script.rows
    if answer.state.place.row == row or row > rows:
        return answer
    paces = state.row_times_s
    hurry_s = median(paces) / 2 if len(paces) >= answers.FEWEST_TIMES else HURRY_S
    if now_s - state.entered_s >= hurry_s:
        return replace(answer, state=replace(answer.state, hurried=1))
    if state.hurried + 1 < MOST_HURRIED:
        # Such a move tells nothing of the knitter's pace.
        moved = replace(
            answer.state,
            hurried=state.hurried + 1,
            row_times_s=paces,
            yarn_times_s=state.yarn_times_s,
        )
        return replace(answer, state=moved)
    check = check_place(pattern, row, settings)
    say = sentences.hurried(check, row, rows, settings.numbers)
    return Answer(replace(state, hurried=0), say, state.rate_wpm)


def _called(pattern: Pattern, settings: CallSettings, state: State, how: How) -> Answer:
    """The call at the state's place, or that the picture is finished."""
    place, rows = state.place, pattern.script.rows
    state = replace(state, how=how)
    if place.row > rows:
        return Answer(state, sentences.finished(rows, settings.numbers), state.rate_wpm)
    if state.setting_up is not None:
        say = setting_up_call(pattern, settings, state.setting_up)
        return Answer(state, say, state.rate_wpm)
    first: tuple[Signal, ...] = ()
    last: tuple[Signal, ...] = ()
    if settings.signals == "all":
        if place.run == 0:
            to_right = pattern.script.direction(place.row) == "right"
            first = (Signal.CARRIAGE_RIGHT if to_right else Signal.CARRIAGE_LEFT,)
        begins = portions(pattern, settings, place.row)
        if len(begins) > 1 and place.run == begins[-1]:
            last = (Signal.ROW_FINISHED,)
    return Answer(state, call(pattern, settings, place, how), state.rate_wpm, first, last)


def _change_rate(settings: CallSettings, state: State, faster: bool) -> Answer:
    wanted = state.rate_wpm + (RATE_STEP_WPM if faster else -RATE_STEP_WPM)
    wpm = min(max(wanted, SLOWEST_WPM), FASTEST_WPM)
    return Answer(
        replace(state, rate_wpm=wpm), sentences.rate(wpm, faster, settings.numbers), rate_wpm=wpm
    )


def _spell(pattern: Pattern, settings: CallSettings, state: State, key: str) -> Answer:
    """One more key of a needle: said back, and with Enter answered."""
    keys = state.spelling or ""
    if key == "space":
        say = sentence("Without spaces, then Enter.")
        return Answer(replace(state, spelling=keys), say, state.rate_wpm)
    if key == "enter" and not keys:
        say = sentence("No needle was asked for.")
        return Answer(replace(state, spelling=None), say, state.rate_wpm)
    if key == "enter":
        return _asked(pattern, settings, replace(state, spelling=None), _label(keys))
    if key == "backspace":
        say = sentence("Taken back." if keys else "Nothing to take back.")
        return Answer(replace(state, spelling=keys[:-1]), say, state.rate_wpm)
    return Answer(replace(state, spelling=keys + key), answers.spelled(key), state.rate_wpm)


def _label(keys: str) -> str:
    """The side and the digits may come in either order: "20l" is "l20"."""
    sides = "".join(key for key in keys if key in "lr")
    return sides + "".join(key for key in keys if key not in "lr")


def _asked(pattern: Pattern, settings: CallSettings, state: State, needle: str) -> Answer:
    if state.place.row > pattern.script.rows:
        say = sentences.finished(pattern.script.rows, settings.numbers)
    else:
        say = answers.needle(pattern, settings, state.place, needle)
    return Answer(state, say, state.rate_wpm)


def _ask(pattern: Pattern, settings: CallSettings, state: State, order: Command) -> Answer:
    """Everything that is told without moving."""
    place, rows, style = state.place, pattern.script.rows, settings.numbers
    leave = False
    match order:
        case Command.HELP:
            help_text = sentences.help_text if state.times % 2 else sentences.more_help
            say = help_text(words_of(settings), settings.taught)
        case Command.LEAVE:
            say, leave = sentences.leaving(place.row, rows, style), True
        case _ if place.row > rows:
            say = sentences.finished(rows, style)
        case Command.WHERE:
            say = answers.where(pattern, settings, place)
        case Command.REMAINING:
            say = answers.remaining(pattern, settings, place, state.row_times_s)
        case Command.SUPPLIES:
            say = answers.supplies(pattern, settings, place)
        case Command.CHANGES:
            say = answers.changes(pattern, settings, place)
        case _:
            state = replace(state, spelling="")
            say = sentences.which_needle(pattern.bed)
    return Answer(state, say, state.rate_wpm, leave=leave)

"""From row to row: the next, the one before, the same again; and the call of where that leads."""

from dataclasses import replace
from statistics import median

from caller.calling import bobbins, pace
from caller.calling.acts import setting_up
from caller.calling.commands import Command
from caller.calling.place import Place, after, before, finishing_step
from caller.calling.portions import is_shaped, item_count, portion, portions, split
from caller.calling.signals import Signal
from caller.calling.state import Answer, State
from caller.calling.words import sentences
from caller.calling.words.finishing import finishing_steps
from caller.calling.words.row_call import How, call, check_place, setting_up_call
from caller.pattern.pattern import Pattern
from caller.settings import SLOWEST_WPM, CallSettings

SLOWED = 0.75
"""The part of the rate at which a row is said that had to be asked for twice."""
MOST_HURRIED = 3
"""The last of so many spoken moves in a hurry is held back: a radio moves nobody on for long."""
HURRY_S = 6.0
"""Faster than this a row is hardly knitted; half the knitter's own pace once that is known."""
_TIMED_ROWS = 9  # the pace is the median of so many: a tea break does not count


def move(
    pattern: Pattern, settings: CallSettings, state: State, order: Command, now_s: float
) -> Answer:
    """The answer to NEXT, BACK or REPEAT at `now_s` seconds of the session's clock."""
    place = state.place
    if state.setting_up is not None:
        return _set_up(pattern, settings, state, order, now_s)
    if (told := finishing_step(pattern, place)) is not None:
        return _finish(pattern, settings, state, order, told)
    if order is Command.NEXT and place.row > pattern.script.rows:
        return finish(pattern, settings, state, 0)
    if order is Command.REPEAT:
        if state.times == 1:
            return called(pattern, settings, state, state.how)
        answer = called(pattern, settings, state, "whole")
        return replace(answer, state=state, rate_wpm=_slowed(state))
    if order is Command.BACK:
        there = before(pattern, settings, place)
        if there is None and len(hangs := setting_up(pattern)) > 1:
            last = split(len(hangs), settings.runs_at_once)[-1]
            return called(pattern, settings, replace(state, setting_up=last), "afresh")
        if there is None:
            answer = called(pattern, settings, state, "afresh")
            return replace(answer, say=sentences.first_row() + answer.say)
        how: How = "on" if there.row == place.row else "afresh"
        return called(pattern, settings, replace(state, place=there, entered_s=now_s), how)
    there = after(pattern, settings, place)
    if there.row > place.row:
        state = _timed(pattern, state, now_s)
    answer = called(pattern, settings, replace(state, place=there), "on")
    if not settings.follow or there.row > pattern.script.rows:
        return answer
    begins, count = portions(pattern, settings, there.row), item_count(pattern, there.row)
    first, end = portion(begins, count, there.run)
    shaped = first == 0 and is_shaped(pattern, there.row)
    if end == count or shaped:  # only the knitter knows when the carriage, or an edge, is done
        return answer
    return replace(answer, goes_on_s=(end - first) * pace.yarn_s(state.yarn_times_s))


def _slowed(state: State) -> int:
    return max(SLOWEST_WPM, round(SLOWED * state.rate_wpm))


def finish(pattern: Pattern, settings: CallSettings, state: State, step: int) -> Answer:
    """A step of the finishing, counted from 0; the last one where there are fewer."""
    steps = finishing_steps(pattern, settings, state.refills)
    step = min(step, len(steps) - 1)
    state = replace(state, place=Place(pattern.script.rows + 1, step + 1))
    return Answer(state, steps[step], state.rate_wpm)


def _finish(
    pattern: Pattern, settings: CallSettings, state: State, order: Command, here: int
) -> Answer:
    """A move among the steps of the finishing; before the first one lies the last row's end."""
    if order is Command.BACK and here == 0:
        return called(pattern, settings, replace(state, place=Place(state.place.row)), "on")
    step = here + {Command.NEXT: 1, Command.BACK: -1}.get(order, 0)
    if step == len(finishing_steps(pattern, settings, state.refills)):
        return Answer(state, sentences.finishing_ends(), state.rate_wpm)
    return finish(pattern, settings, state, step)


def _timed(pattern: Pattern, state: State, now_s: float) -> State:
    """The state when the row has been knitted by now, and how long it took."""
    took_s = now_s - state.entered_s
    yarn_s = took_s / (item_count(pattern, state.place.row) + pace.PASS_YARNS)
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
        return Answer(state, setting_up_call(pattern, settings), _slowed(state))
    if order is Command.NEXT:
        later = [begin for begin in begins if begin > first]
        state = replace(state, setting_up=later[0] if later else None)
        return called(pattern, settings, replace(state, entered_s=now_s), "on")
    if order is Command.BACK:
        earlier = [begin for begin in begins if begin < first]
        state = replace(state, setting_up=earlier[-1] if earlier else 0)
        answer = called(pattern, settings, state, "afresh")
        return answer if earlier else replace(answer, say=sentences.first_row() + answer.say)
    return called(pattern, settings, state, state.how)


def unhurried(
    pattern: Pattern, settings: CallSettings, state: State, answer: Answer, now_s: float
) -> Answer:
    """The answer to a spoken move, or a place check instead of the third one in a hurry."""
    row, rows = state.place.row, pattern.script.rows
    if answer.state.place.row == row or row > rows:
        return answer
    paces = state.row_times_s
    hurry_s = median(paces) / 2 if len(paces) >= pace.FEWEST_TIMES else HURRY_S
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


def called(pattern: Pattern, settings: CallSettings, state: State, how: How) -> Answer:
    """The call at the state's place: of a row, of a step of the finishing, or that the picture is
    finished."""
    place, rows = state.place, pattern.script.rows
    state = replace(state, how=how)
    if place.row > rows:
        if (step := finishing_step(pattern, place)) is not None:
            return finish(pattern, settings, state, step)
        say = sentences.finished(rows, settings.numbers) + sentences.to_finish()
        return Answer(state, say, state.rate_wpm)
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
    say = call(pattern, settings, place, how)
    if place.run == portions(pattern, settings, place.row)[-1]:
        say += tuple(bobbins.short_ahead(pattern, settings, place.row, state.refills))
    if place.run == 0:
        say = (*bobbins.short_now(pattern, settings, place.row, state.refills), *say)
    if place.run == 0 and place.row in state.marked:
        say = sentences.marked_row(state.remarks.get(place.row, "")) + say
    return Answer(state, say, state.rate_wpm, first, last)

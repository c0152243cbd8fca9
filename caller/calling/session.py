"""The session as a pure function: where it stands, and what each order leads to."""

from collections.abc import Mapping
from dataclasses import replace

from caller.calling import answers, bobbins, confirming, mistakes, moves, rests, spelling
from caller.calling.acts import setting_up
from caller.calling.commands import (
    BY_NEEDLE,
    BY_TEXT,
    Command,
    words_of,
)
from caller.calling.confirming import Question
from caller.calling.place import Place, finishing_step, settled
from caller.calling.spelling import Asked, Spelled, Spelling
from caller.calling.state import Answer, Order, State
from caller.calling.words import sentences
from caller.calling.words.row_call import setting_up_call, where_yarns_meet
from caller.calling.words.utterance import sentence
from caller.pattern.pattern import Pattern
from caller.pattern.winding import Refill
from caller.plain_text import LONGEST_REMINDER, shortened
from caller.settings import FASTEST_WPM, SLOWEST_WPM, CallSettings

RATE_STEP_WPM = 20
LONG_AWAY_DAYS = 7.0
"""After so long a habit of the hands may be forgotten (assumed)."""


def begin(
    pattern: Pattern,
    settings: CallSettings,
    kept: Place | None,
    rate_wpm: int,
    now_s: float = 0.0,
    chosen: int | None = None,
    marked: frozenset[int] = frozenset(),
    remarks: Mapping[int, str] | None = None,
    refills: tuple[Refill, ...] = (),
    row_times_s: tuple[float, ...] = (),
    days_away: float = 0.0,
) -> Answer:
    """Open a session at the `chosen` row, else at the kept place, or at row 1 when none is kept.

    After `LONG_AWAY_DAYS` the knitter is told anew what the setting up tells once.
    """
    rows, style = pattern.script.rows, settings.numbers
    place = Place(1) if kept is None else settled(pattern, settings, kept)
    if chosen is not None:
        place = Place(chosen)
    state = State(
        place,
        rate_wpm,
        marked=marked,
        remarks=remarks or {},
        refills=refills,
        began_s=now_s,
        looked_s=now_s,
        entered_s=now_s,
        row_times_s=row_times_s,
    )
    if chosen is not None:
        opening = sentences.starting_at(chosen, None if kept is None else kept.row, rows, style)
    elif kept is None:
        opening = sentences.opening(pattern, style)
        opening += sentences.for_help(words_of(settings))
    elif place.row > rows:
        opening = sentences.finished(rows, style)
        step = finishing_step(pattern, place)
        if step is None:
            return Answer(state, opening + sentences.to_finish(), rate_wpm)
        call = moves.finish(pattern, settings, state, step)
        return replace(call, say=opening + call.say)
    else:
        opening = sentences.carrying_on(place.row, rows, style)
    if place == Place(1):
        if len(setting_up(pattern)) > 1:
            state = replace(state, setting_up=0)
        else:
            opening += setting_up_call(pattern, settings)
    elif days_away >= LONG_AWAY_DAYS:
        opening += where_yarns_meet(pattern, place.row)
    call = moves.called(pattern, settings, state, "afresh")
    return replace(call, say=opening + call.say)


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
    spelled = state.spelling if isinstance(order, Spelled) else None
    hurried = state.hurried if spoken else 0
    asked = state.question
    now = replace(state, last=order, times=times, spelling=spelled, question=None, hurried=hurried)
    if order is not Command.HAPPENED and not isinstance(order, Spelled | Asked):
        now = replace(now, explained=None)
    if asked is not None and asked.is_open(now_s):
        return _replied(pattern, settings, now, asked, order, now_s, spoken)
    return _obeyed(pattern, settings, now, order, now_s, spoken)


def _replied(
    pattern: Pattern,
    settings: CallSettings,
    state: State,
    asked: Question,
    order: Order,
    now_s: float,
    spoken: bool,
) -> Answer:
    """The answer to the order after a question: yes does it, all else leaves it.

    To be asked again, or for another row, is to be asked; a move is only a no. A number that was
    read back and is said once more was another one: the one that is else most likely. Where two
    were read back, going back takes the second, and the number said once more is read back alone.
    """
    if isinstance(order, Asked) and asked.other:
        order = replace(order, close=False)
    elif isinstance(order, Asked) and order.rival and asked.answers(order.command, order.number):
        order = replace(order, number=order.rival, close=False)
    if order is Command.BACK and asked.other:
        other = Asked(asked.command, asked.other)
        return _asked(pattern, settings, state, other, now_s, spoken)
    if order is Command.YES:
        return _done(pattern, settings, state, asked, now_s)
    if order is Command.REPEAT:
        return _question(settings, state, replace(asked, asked_s=now_s), spoken)
    if order is Command.LEAVE or (isinstance(order, Asked) and order.command not in BY_NEEDLE):
        asks = spoken and asked.command is not Command.LEAVE
        return _obeyed(pattern, settings, state, order, now_s, asks)
    say = confirming.cancelled(state.place, settings)
    if order in (Command.NEXT, Command.BACK):
        return Answer(state, say, state.rate_wpm)
    answer = _obeyed(pattern, settings, state, order, now_s, False)
    return replace(answer, say=say + answer.say)


def _done(
    pattern: Pattern, settings: CallSettings, state: State, asked: Question, now_s: float
) -> Answer:
    """What was asked is done: the session ends, or the row is called that was gone to."""
    if asked.command is Command.LEAVE:
        return _ask(pattern, settings, state, Command.LEAVE)
    there = replace(state, place=Place(asked.row), setting_up=None)
    there = replace(there, entered_s=now_s, hurried=0)
    call = moves.called(pattern, settings, there, "afresh")
    return replace(call, say=confirming.arrival(pattern, settings, asked) + call.say)


def _question(settings: CallSettings, state: State, asked: Question, spoken: bool) -> Answer:
    """The question read back, to be answered as it was ordered: by voice, or by keys."""
    say = confirming.read_back(asked, settings, by_voice=spoken and state.listening)
    return Answer(replace(state, question=asked), say, state.rate_wpm)


def _obeyed(
    pattern: Pattern,
    settings: CallSettings,
    now: State,
    order: Order,
    now_s: float,
    spoken: bool,
) -> Answer:
    match order:
        case Spelled():
            return _spell(pattern, settings, now, order.key, now_s)
        case Asked():
            return _asked(pattern, settings, now, order, now_s, spoken)
        case Command.LEAVE if spoken:
            return _question(settings, now, Question(order, now.place.row, 0, now_s), spoken)
        case Command.NEXT | Command.REPEAT | Command.BACK:
            answer = moves.move(pattern, settings, now, order, now_s)
            if spoken:
                answer = moves.unhurried(pattern, settings, now, answer, now_s)
            if answer.state.place.row == now.place.row:
                return answer
            return rests.reminded(settings, now, answer, now_s)
        case Command.SLOWER | Command.FASTER:
            return _change_rate(settings, now, order is Command.FASTER)
        case _:
            return _ask(pattern, settings, now, order)


def _change_rate(settings: CallSettings, state: State, faster: bool) -> Answer:
    wanted = state.rate_wpm + (RATE_STEP_WPM if faster else -RATE_STEP_WPM)
    wpm = min(max(wanted, SLOWEST_WPM), FASTEST_WPM)
    return Answer(
        replace(state, rate_wpm=wpm), sentences.rate(wpm, faster, settings.numbers), rate_wpm=wpm
    )


def _spell(
    pattern: Pattern, settings: CallSettings, state: State, key: str, now_s: float
) -> Answer:
    """One more key of a number: said back, and with Enter answered."""
    spelled, said = spelling.pressed(state.spelling or Spelling(Command.NEEDLE), key)
    state = replace(state, spelling=spelled)
    if isinstance(said, Asked):
        return _asked(pattern, settings, state, said, now_s, spoken=False)
    return Answer(state, said, state.rate_wpm)


def _asked(
    pattern: Pattern,
    settings: CallSettings,
    state: State,
    order: Asked,
    now_s: float,
    spoken: bool,
) -> Answer:
    """A command with its number: answered at once, or read back when it would move."""
    if order.command in BY_TEXT:
        return _remarked(pattern, settings, state, order.number)
    if order.command not in BY_NEEDLE:
        asked = confirming.question(
            pattern, settings, state.place, order.command, order.number, now_s
        )
        if isinstance(asked, Question):
            if order.close:
                asked = confirming.or_else(pattern, settings, state.place, asked, order.rival)
            return _question(settings, state, asked, spoken)
        return Answer(state, asked, state.rate_wpm)
    place, label = state.place, order.number
    if order.command is Command.HAPPENED:
        again = state.explained == order
        say = mistakes.happened(pattern, settings, place, label, again)
        state = replace(state, explained=None if again else order)
    elif place.row > pattern.script.rows:
        say = sentences.finished(pattern.script.rows, settings.numbers)
    elif order.command is Command.BOBBIN and not order.close:
        refill, say = bobbins.filled_at(pattern, settings, place, label)
        state = _refilled(state, refill)
    else:
        say = answers.needle(pattern, settings, place, label)
        if order.close:
            say += answers.needle(pattern, settings, place, order.rival)
        if order.command is Command.BOBBIN:  # two needles, and nothing is done for either
            say += sentence("Which of these two? Say it again.")
    return Answer(state, say, state.rate_wpm)


def _remarked(pattern: Pattern, settings: CallSettings, state: State, text: str) -> Answer:
    """A row marked with a remark, which is read back when it is called."""
    row, rows = state.place.row, pattern.script.rows
    remark = shortened(text, LONGEST_REMINDER)
    if row > rows or not remark:
        return Answer(state, sentences.finished(rows, settings.numbers), state.rate_wpm)
    remarks = {**state.remarks, row: remark}
    state = replace(state, marked=state.marked | {row}, remarks=remarks)
    return Answer(state, sentences.remarked(row, remark, settings.numbers), state.rate_wpm)


def _refilled(state: State, refill: Refill | None) -> State:
    if refill is None:
        return state
    return replace(state, refills=bobbins.with_refill(state.refills, refill))


def _ask(pattern: Pattern, settings: CallSettings, state: State, order: Command) -> Answer:
    """Everything that is told without moving."""
    place, rows, style = state.place, pattern.script.rows, settings.numbers
    leave = False
    match order:
        case Command.HELP:
            words, taught = words_of(settings), settings.taught
            bed = pattern.bed if settings.numbers_heard else None
            if state.times % 2:
                say = sentences.help_text(words, taught)
            else:
                say = sentences.more_help(words, taught, bed)
        case Command.LEAVE:
            say, leave = sentences.leaving(place.row, rows, style), True
        case Command.YES:
            say = sentence("Nothing was asked.")
        case Command.PAUSE | Command.LISTEN:
            state = replace(state, listening=order is Command.LISTEN)
            say = sentences.listening(state.listening, words_of(settings), settings.taught)
        case Command.FINISH if place.row > rows:
            return moves.finish(pattern, settings, state, 0)
        case Command.FINISH:
            say = sentence("That is told after the last row.")
        case Command.ROW | Command.UNRAVEL | Command.HAPPENED:
            state = replace(state, spelling=Spelling(order))
            say = spelling.question(pattern.bed, order)
        case _ if place.row > rows:
            say = sentences.finished(rows, style)
        case Command.WHERE:
            say = answers.where(pattern, settings, place)
            if not state.listening:
                say += sentences.listening(False, words_of(settings), settings.taught)
        case Command.MARK:
            gone = state.remarks.get(place.row, "")
            remarks = {row: text for row, text in state.remarks.items() if row != place.row}
            state = replace(state, marked=state.marked ^ {place.row}, remarks=remarks)
            say = sentences.marked(place.row, place.row in state.marked, style, gone)
        case Command.REMAINING:
            say = answers.remaining(pattern, settings, place, state.row_times_s)
        case Command.SUPPLIES:
            say = answers.supplies(pattern, settings, place)
        case Command.CHANGES:
            say = answers.changes(pattern, settings, place)
        case Command.YARN:
            say = bobbins.yarn(pattern, settings, place, state.refills)
        case Command.BOBBIN if filled := bobbins.filled(pattern, settings, place, state.refills):
            state, say = _refilled(state, filled[0]), filled[1]
        case _:
            state = replace(state, spelling=Spelling(order))
            say = spelling.question(pattern.bed, order)
    return Answer(state, say, state.rate_wpm, leave=leave)

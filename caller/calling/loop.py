"""The session at work: one queue of events, one thread that owns the place.

1. Keyboard, typed lines and ears put events into the queue; nothing else reaches the place.
2. For each event the speech is cut and a signal tells whether it was understood.
3. `session.step` answers; the new place is on the disk before anything is shown or said.
4. The screen shows the answer and the loudspeaker says it, on a thread of its own.
"""

from dataclasses import replace

from caller.calling import orders, session
from caller.calling.commands import Command
from caller.calling.desk import Desk
from caller.calling.events import (
    Again,
    Following,
    Moved,
    News,
    NotQuiteHeard,
    Trouble,
    next_event,
)
from caller.calling.place import Place
from caller.calling.signals import Signal
from caller.calling.sitting import Sitting
from caller.calling.speech import last_words
from caller.calling.state import Answer, State
from caller.calling.words import sentences
from caller.calling.words.utterance import Utterance, sentence
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings


def run(
    pattern: Pattern,
    desk: Desk,
    kept: Place | None,
    settings: CallSettings | None = None,
    chosen: int | None = None,
    told: Utterance = (),
) -> Place:
    """Call the pattern from the chosen row or the kept place until the knitter leaves; its end.

    What is `told` comes before the first call. The voice begins at the rate that it has. Raises
    PlaceError when the place cannot be kept at the very start; later the knitter is told and the
    session goes on at the place that is kept.
    """
    sitting = Sitting(pattern, settings or CallSettings(), desk)
    rate_wpm, now_s = desk.voice.rate_wpm, desk.clock()
    marked = desk.journal.marked()
    refills = desk.journal.refills()
    opened = session.begin(
        pattern,
        sitting.settings,
        kept,
        rate_wpm,
        now_s,
        chosen,
        marked,
        desk.journal.remarks(),
        refills,
        desk.journal.row_times_s(),
        desk.journal.days_away(),
    )
    if not desk.journal.looks_on:
        desk.journal.write(opened.state.place, "start")
    sitting.tell(replace(opened, say=(*told, *opened.say)))
    answer = opened
    goes_on_at_s: float | None = None
    while not answer.leave:
        state = answer.state
        event = sitting.next_event(goes_on_at_s)
        if isinstance(event, Trouble):
            sitting.trouble(event, state)
            continue
        if isinstance(event, News):
            sitting.tell(Answer(state, sentence(event.sentence), state.rate_wpm))
            continue
        now_s = desk.clock()
        if isinstance(event, Moved):
            answer = sitting.look_on(state, event.place, now_s)
            continue
        if isinstance(event, Again):
            if event.place == state.place:
                answer = sitting.obey(state, event.event, now_s, again=True)
            elif orders.is_note(orders.understood(pattern.bed, state, event.event)):
                say = sentences.not_noted(event.place.row, sitting.settings.numbers)
                sitting.tell(Answer(state, say, state.rate_wpm))
            continue
        if orders.overheard(state, event, now_s):
            continue
        if isinstance(event, NotQuiteHeard):
            sitting.signal(Signal.NOT_UNDERSTOOD, cut=False)
            continue
        if orders.understood(pattern.bed, state, event) is None:
            sitting.signal(Signal.NOT_UNDERSTOOD)
            sitting.tell(Answer(state, sentences.not_understood(), state.rate_wpm))
            goes_on_at_s = None
            continue
        if not isinstance(event, Following):
            sitting.signal(Signal.HEARD)
        answer = sitting.obey(state, event, now_s)
        wait_s = answer.goes_on_s
        goes_on_at_s = None if wait_s is None else desk.clock() + wait_s
    return answer.state.place


def ask(pattern: Pattern, desk: Desk, asked: Utterance, settings: CallSettings) -> Command:
    """Ask before the first row; the answer is YES, BACK for a no, or LEAVE."""
    sitting = Sitting(pattern, settings, desk, begun=False)
    state = State(Place(1), desk.voice.rate_wpm)
    question = Answer(state, asked, state.rate_wpm)
    sitting.tell(question)
    while True:
        event = next_event(desk.events)
        if isinstance(event, Trouble):
            sitting.trouble(event, state)
            continue
        if isinstance(event, News):
            sitting.tell(Answer(state, sentence(event.sentence), state.rate_wpm))
            continue
        if isinstance(event, NotQuiteHeard):
            sitting.signal(Signal.NOT_UNDERSTOOD, cut=False)
            continue
        if isinstance(event, Moved | Again):
            continue
        order = orders.understood(pattern.bed, state, event)
        if order in (Command.YES, Command.BACK, Command.LEAVE):
            sitting.signal(Signal.HEARD)
            assert isinstance(order, Command)
            return order
        sitting.signal(Signal.HEARD if order is Command.REPEAT else Signal.NOT_UNDERSTOOD)
        sitting.tell(question)


def say_goodbye(pattern: Pattern, desk: Desk, place: Place, settings: CallSettings) -> None:
    """Tell that the session ends before it began, with the place as it was."""
    rate_wpm = desk.voice.rate_wpm
    say = sentences.leaving(place.row, pattern.script.rows, settings.numbers)
    Sitting(pattern, settings, desk).tell(Answer(State(place, rate_wpm), say, rate_wpm))
    last_words(desk.loudspeaker, desk.show)

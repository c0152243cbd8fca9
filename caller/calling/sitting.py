"""One session at its desk: what is ordered is kept, then shown, said and made ready ahead."""

import contextlib
import queue
import threading
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from caller.calling import moves, orders, session
from caller.calling.commands import Command, words_of
from caller.calling.desk import Desk
from caller.calling.events import (
    Again,
    Event,
    Following,
    Ordering,
    Pressed,
    Spoken,
    Trouble,
    Typed,
    next_event,
)
from caller.calling.kept import Source
from caller.calling.listening.grammar import beginnings
from caller.calling.place import Place, settled
from caller.calling.ports import SoundBlock
from caller.calling.signals import Signal
from caller.calling.speech import last_words, signalled, signals
from caller.calling.spelling import Asked
from caller.calling.state import Answer, Order, State, Told
from caller.calling.words.utterance import kept_apart, sentence, shown
from caller.errors import CallerError
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings

LIKELY = (Command.NEXT, Command.REPEAT, Command.BACK, Command.WHERE)
"""What is asked for most, and made ready by a voice that takes its time."""
RETRY_S = 5.0
"""Seconds until what could not be kept is tried again."""
_SOON_S = 0.1  # how often to look whether all has been said


@dataclass(frozen=True)
class Sitting:
    """One session: what is called, how, and at which desk."""

    pattern: Pattern
    settings: CallSettings
    desk: Desk
    begun: bool = True

    def next_event(self, goes_on_at_s: float | None) -> Event:
        """Wait for an event; Following when none has come by then and all has been said."""
        desk = self.desk
        while goes_on_at_s is not None:
            with contextlib.suppress(queue.Empty):
                return next_event(desk.events, max(goes_on_at_s - desk.clock(), _SOON_S))
            if desk.clock() >= goes_on_at_s and desk.loudspeaker.quiet_for() > 0:
                return Following()
        return next_event(desk.events)

    def obey(self, state: State, event: Ordering, now_s: float, again: bool = False) -> Answer:
        """The answer to an event that orders something, told.

        Where it cannot be kept the state stays. That is told, unless it is tried `again`, and it is
        tried again by itself for as long as the place stays.
        """
        desk, spoken = self.desk, isinstance(event, Spoken)
        order = orders.understood(self.pattern.bed, state, event)
        if order is None:  # what is tried again may mean nothing any more
            return Answer(state, (), state.rate_wpm)
        answer = session.step(self.pattern, self.settings, state, order, now_s, spoken)
        command = _command(state, order).value
        try:
            self._keep(state, answer.state, command, _source(event))
        except CallerError as error:
            told = sentence(str(error))
            if not desk.journal.looks_on:
                told += sentence("I keep trying.")
                later = threading.Timer(RETRY_S, desk.events.put, (Again(state.place, event),))
                later.daemon = True
                later.start()
            if again:
                return Answer(state, (), state.rate_wpm)
            answer = Answer(state, told, state.rate_wpm)
        self.tell(answer)
        if answer.leave:
            with contextlib.suppress(CallerError):  # the place is kept; this is for the times
                desk.journal.write(answer.state.place, command, _source(event))
            last_words(desk.loudspeaker, desk.show)
        return answer

    def _keep(self, before: State, now: State, command: str, source: Source) -> None:
        """Write what has changed; CallerError when it cannot be."""
        journal = self.desk.journal
        if now.place != before.place:
            journal.write(now.place, command, source)
        for row in now.marked ^ before.marked:
            journal.mark(row, row in now.marked)
        for row, remark in now.remarks.items() - before.remarks.items():
            journal.remark(row, remark)
        if now.refills != before.refills:
            journal.refill(now.refills)

    def look_on(self, state: State, place: Place, now_s: float) -> Answer:
        """The call of the place that another session has moved to, told."""
        journal = self.desk.journal
        there = replace(
            state,
            place=settled(self.pattern, self.settings, place),
            marked=journal.marked(),
            remarks=journal.remarks(),
            refills=journal.refills(),
            setting_up=None,
            question=None,
            spelling=None,
            entered_s=now_s,
        )
        answer = moves.called(self.pattern, self.settings, there, "on")
        self.signal(Signal.HEARD)
        self.tell(answer)
        return answer

    def signal(self, signal: Signal, cut: bool = True) -> None:
        """Cut the speech, or leave it; the signal sounds where signals are wanted."""
        loudspeaker = self.desk.loudspeaker
        tones = signals(self._wanted((signal,)), self.desk.voice.rate)
        (loudspeaker.play if cut else loudspeaker.add)(tones)

    def tell(self, answer: Answer) -> None:
        self.desk.show(shown(answer.say))
        self.desk.loudspeaker.add(self._speech(answer))
        self._watched(answer)

    def _watched(self, answer: Answer) -> None:
        self.desk.watch(Told(self.pattern, self.settings, answer, self.begun))

    def trouble(self, event: Trouble, state: State) -> None:
        """Show, sound and say what went wrong, after what is being said: no row is lost by it."""
        self.signal(Signal.TROUBLE, cut=False)
        told = Answer(state, sentence(event.sentence), state.rate_wpm)
        if event.aloud:
            self.tell(told)
        else:
            self.desk.show(event.sentence)
            self._watched(told)

    def _speech(self, answer: Answer) -> Iterator[SoundBlock]:
        """The sound of an answer, drawn on another thread; then what is likely next is prepared."""
        voice = self.desk.voice
        yield from signalled(
            voice,
            answer.say,
            self.desk.events.put,
            self._wanted(answer.before),
            self._wanted(answer.after),
            self._listened_for(),
            answer.rate_wpm,
        )
        voice.prepare(self._likely_next(answer.state), answer.state.rate_wpm)

    def _likely_next(self, state: State) -> Iterator[str]:
        """The texts of the answers that the knitter may ask for now, the likeliest first."""
        phrases = self._listened_for()
        for order in LIKELY:
            answer = session.step(self.pattern, self.settings, state, order)
            yield from (clause.said for clause in kept_apart(answer.say, phrases))

    def _listened_for(self) -> Collection[str]:
        """What the caller must not say itself in one breath."""
        words = (*words_of(self.settings), *self.settings.taught)
        return words + beginnings() if self.settings.numbers_heard else words

    def _wanted(self, signals: tuple[Signal, ...]) -> tuple[Signal, ...]:
        return () if self.settings.signals == "off" else signals


def _command(state: State, order: Order) -> Command:
    """The command that an order carries out: after a yes the one that was asked about."""
    if order is Command.YES and state.question is not None:
        return state.question.command
    if isinstance(order, Command):
        return order
    return order.command if isinstance(order, Asked) else Command.NEEDLE


def _source(event: Event) -> Source:
    match event:
        case Spoken():
            return "word"
        case Pressed():
            return "page" if event.on_page else "key"
        case Typed():
            return "line"
        case Following():
            return "follow"
    return "pedal"  # a pedal's press is a command already

"""The session at work: one queue of events, one thread that owns the place.

1. Keyboard, typed lines and ears put events into the queue; nothing else reaches the place.
2. For each command the speech is cut and the acknowledgement sounds.
3. `session.step` answers; the new place is on the disk before anything is shown or said.
4. The screen shows the answer and the loudspeaker says it, on a thread of its own.
"""

import queue
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from caller.calling import signals, wording
from caller.calling.commands import Command
from caller.calling.listening import Listener
from caller.calling.ports import Journal, Loudspeaker, Microphone, SoundBlock, Voice, silence
from caller.calling.session import Answer, Place, begin, step
from caller.calling.wording import Utterance
from caller.errors import CallerError
from caller.pattern.pattern import Pattern

GOODBYE_S = 10.0
"""The longest the last words may take before the session ends all the same."""


@dataclass(frozen=True)
class Unknown:
    """Something was typed or pressed that is no command."""

    what: str


@dataclass(frozen=True)
class Trouble:
    """A device failed; the sentence says what and what to do."""

    sentence: str


Event = Command | Unknown | Trouble
Events = queue.SimpleQueue[Event]


@dataclass(frozen=True)
class Desk:
    """All that a session works with. `show` puts a line on the screen."""

    voice: Voice
    loudspeaker: Loudspeaker
    journal: Journal
    show: Callable[[str], None]
    events: Events


def spoken(voice: Voice, utterance: Utterance) -> Iterator[SoundBlock]:
    """The sound of an utterance, clause by clause."""
    for clause in utterance:
        yield from voice.render(clause.said)
        if clause.pause_s:
            yield silence(clause.pause_s, voice.rate)


def _speech(desk: Desk, utterance: Utterance) -> Iterator[SoundBlock]:
    """The same within a session, where a failing voice becomes an event."""
    try:
        yield from spoken(desk.voice, utterance)
    except CallerError as error:
        desk.events.put(Trouble(str(error)))


def run(pattern: Pattern, desk: Desk, kept: int | None) -> Place:
    """Call the pattern from the kept row until the knitter leaves; the place it ended at.

    Raises PlaceError when the place cannot be kept at the very start; later the knitter is told
    and the session goes on at the place that is kept.
    """
    opened = begin(pattern, kept)
    desk.journal.write(opened.place.row)
    _tell(desk, opened)
    place, leave = opened.place, False
    while not leave:
        event = desk.events.get()
        if isinstance(event, Command):
            desk.loudspeaker.play([signals.heard(desk.voice.rate)])
            place, leave = _obey(pattern, desk, place, event)
        elif isinstance(event, Unknown):
            desk.loudspeaker.play([signals.not_understood(desk.voice.rate)])
            _tell(desk, Answer(place, wording.not_understood()))
        else:
            desk.show(event.sentence)
            desk.loudspeaker.play([signals.trouble(desk.voice.rate)])
    return place


def _obey(pattern: Pattern, desk: Desk, place: Place, command: Command) -> tuple[Place, bool]:
    answer = step(pattern, place, command)
    if answer.place != place:
        try:
            desk.journal.write(answer.place.row)
        except CallerError as error:
            _tell(desk, Answer(place, wording.sentence(str(error))))
            return place, False
    _tell(desk, answer)
    if answer.leave:
        _last_words(desk)
    return answer.place, answer.leave


def _tell(desk: Desk, answer: Answer) -> None:
    desk.show(wording.shown(answer.say))
    desk.loudspeaker.add(_speech(desk, answer.say))


def _last_words(desk: Desk) -> None:
    try:
        desk.loudspeaker.wait(GOODBYE_S)
    except CallerError as error:
        desk.show(str(error))


def listen(
    microphone: Microphone, listener: Listener, loudspeaker: Loudspeaker, events: Events
) -> None:
    """Turn what the microphone hears into commands until it is closed; runs on its own thread.

    Half-duplex: what comes in while the loudspeaker speaks, and a little after, is dropped.
    """
    try:
        for samples in microphone.blocks():
            if loudspeaker.quiet_for() < listener.settings.deaf_after_speech_s:
                listener.deafen(len(samples))
                continue
            for phrase in listener.feed(samples):
                events.put(phrase.command)
    except CallerError as error:
        events.put(Trouble(str(error)))

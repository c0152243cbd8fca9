"""A lesson at work: one inbox for sound and keys, one thread that owns the lesson.

1. The microphone's thread puts in what it hears, and whether the caller spoke just then.
2. What was heard while the caller spoke is dropped, so its own words never become a take.
3. The rest is cut into single takes; for each, for each key, and for a long silence,
   `teaching` answers.
4. What is to be kept is on the disk before the answer is shown and said.
"""

import queue
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.calling.commands import BY_NAME, Command
from caller.calling.enrolment import lesson as teaching
from caller.calling.enrolment.lesson import EnrolmentLesson, EnrolmentReply, LearnerAnswer, Taught
from caller.calling.enrolment.takes import TAKING, Sound, TakeLikeness, check, from_segment
from caller.calling.events import News, Pressed, Trouble, Typed
from caller.calling.listening.endpointing import BLOCK_SAMPLES, RATE, Endpointer, Segment
from caller.calling.listening.level import is_silent
from caller.calling.listening.listener import ListenerSettings
from caller.calling.loop import GOODBYE_S, spoken
from caller.calling.ports import (
    Loudspeaker,
    Microphone,
    Recogniser,
    SoundBlock,
    SpeechDetector,
    Voice,
)
from caller.calling.signals import Signal, sound
from caller.calling.words.utterance import Utterance, sentence, shown
from caller.errors import CallerError

PATIENCE_S = 8.0
"""So long an answer is waited for; longer while somebody talks."""
LONGEST_PATIENCE_S = 20.0

DEAF_S = ListenerSettings().deaf_after_speech_s


@dataclass(frozen=True, eq=False)
class Overheard:
    """Sound from the microphone; `deaf` when the caller spoke then, or just before.

    `at_s` is when it came, by `time.monotonic`.
    """

    samples: NDArray[np.int16]
    deaf: bool
    at_s: float


Inbox = queue.SimpleQueue[Any]
"""What reaches a lesson: `Overheard`, `Pressed`, `Typed`, `Command.LEAVE`, `Trouble`, `News`, or an
error that ends it."""


@dataclass(frozen=True)
class EnrolmentDesk:
    """All that a lesson works with.

    `keep` keeps the takes of a command; `open_ear` gives a recogniser that answers with the names
    of the commands that are taught. `show` puts a line on the screen.
    """

    voice: Voice
    loudspeaker: Loudspeaker
    microphone: Microphone
    detector: SpeechDetector
    likeness: TakeLikeness
    open_ear: Callable[[Taught], Recogniser]
    keep: Callable[[Command, Sequence[Sound]], None]
    show: Callable[[str], None]
    inbox: Inbox


def run(opened: EnrolmentReply, room: EnrolmentDesk) -> EnrolmentLesson:
    """Lead the lesson from its opening to its end.

    Raises SoundError when the microphone fails, ListeningError when the ear does or a take cannot
    be kept; what was kept by then stays.
    """
    ears = threading.Thread(target=_overhear, args=(room,), name="ears", daemon=True)
    ears.start()
    sitting = _Sitting(room)
    try:
        reply = sitting.tell(opened)
        while not reply.over:
            answer = sitting.answer(reply.lesson, room.inbox.get())
            if answer is not None:
                reply = sitting.tell(answer)
        _last_words(room)
        return reply.lesson
    finally:
        sitting.close()
        room.microphone.close()
        ears.join(5)


def _overhear(room: EnrolmentDesk) -> None:
    """Put what the microphone hears into the inbox, until it is closed; on its own thread."""
    try:
        for samples in room.microphone.blocks():
            deaf = room.loudspeaker.quiet_for() < DEAF_S
            room.inbox.put(Overheard(samples, deaf, time.monotonic()))
    except CallerError as error:
        room.inbox.put(error)


class _Sitting:
    """One lesson: what was heard since the last question, and the ear of the trial."""

    def __init__(self, room: EnrolmentDesk) -> None:
        self._room = room
        self._cutter = Endpointer(TAKING)
        self._waiting = np.zeros(0, dtype=np.int16)
        self._unanswered = 0
        self._dead = True  # nothing but zeros has come since the question
        self._asked_s = 0.0
        self._ear: Recogniser | None = None

    def tell(self, reply: EnrolmentReply) -> EnrolmentReply:
        """Keep, show, sound and say what there is to; nothing heard before then counts."""
        room = self._room
        if reply.keep is not None:
            room.keep(*reply.keep)
            self.close()
        self._asked_s = time.monotonic()
        room.show(shown(reply.say))
        self._say(reply.say, reply.signal, None if reply.over else Signal.YOUR_TURN)
        if reply.lesson.trying and not reply.over and self._ear is None:
            self._ear = room.open_ear(reply.lesson.taught)
        return reply

    def answer(self, lesson: EnrolmentLesson, event: object) -> EnrolmentReply | None:
        """The reply to what came in; None when nothing is to be said to it."""
        match event:
            case Overheard():
                return self._heard(lesson, event)
            case Pressed(key):
                return teaching.pressed(lesson, teaching.answer_of(key, line=False))
            case Typed(line):
                return teaching.pressed(lesson, teaching.answer_of(line, line=True))
            case Command.LEAVE:
                return teaching.pressed(lesson, LearnerAnswer.LEAVE)
            case News(said):
                self._room.show(said)
                self._say(sentence(said), None, Signal.YOUR_TURN)
            case Trouble(error, aloud):
                self._room.show(str(error))
                if aloud:
                    self._say(sentence(str(error)), Signal.TROUBLE, Signal.YOUR_TURN)
            case CallerError():
                raise event
        return None

    def close(self) -> None:
        """Let go of the ear; it is opened anew for what is taught then."""
        if self._ear is not None:
            self._ear.close()
            self._ear = None

    def _heard(self, lesson: EnrolmentLesson, event: Overheard) -> EnrolmentReply | None:
        if event.deaf or event.at_s < self._asked_s:
            self._cutter.skip(len(self._waiting) + len(event.samples))
            self._waiting = self._waiting[:0]
            self._unanswered, self._dead = 0, True
            self._room.detector.reset()
            return None
        self._dead = self._dead and is_silent(event.samples)
        sound = np.concatenate([self._waiting, event.samples])
        whole = len(sound) - len(sound) % BLOCK_SAMPLES
        self._waiting = sound[whole:]
        for block in sound[:whole].reshape(-1, BLOCK_SAMPLES):
            probability = self._room.detector.probability(block)
            segment = self._cutter.feed(block, probability)
            if segment is not None:
                self._unanswered = 0
                return self._taken(lesson, segment)
            self._unanswered += BLOCK_SAMPLES
            patience = LONGEST_PATIENCE_S if probability >= TAKING.off_probability else PATIENCE_S
            if self._unanswered >= patience * RATE:
                self._unanswered = 0
                return teaching.silent(lesson, self._dead)
        return None

    def _taken(self, lesson: EnrolmentLesson, segment: Segment) -> EnrolmentReply:
        take = from_segment(segment)
        if self._ear is None:
            return teaching.heard(lesson, take, self._room.likeness)
        heard = None if check(take) else self._ear.recognise(segment.samples).phrase
        return teaching.tried(lesson, None if heard is None else BY_NAME.get(heard))

    def _say(self, say: Utterance, before: Signal | None, after: Signal | None) -> None:
        """Cut the speech, if any, and say this, with a signal before and after it."""
        self._room.loudspeaker.play(self._sounds(say, before, after))

    def _sounds(
        self, say: Utterance, before: Signal | None, after: Signal | None
    ) -> Iterator[SoundBlock]:
        """Drawn on another thread; a voice that fails is told of on the screen."""
        room = self._room
        if before is not None:
            yield sound(before, room.voice.rate)
        try:
            yield from spoken(room.voice, say)
        except CallerError as error:
            room.inbox.put(Trouble(error, aloud=False))
        if after is not None:
            yield sound(after, room.voice.rate)


def _last_words(room: EnrolmentDesk) -> None:
    try:
        room.loudspeaker.wait(GOODBYE_S)
    except CallerError as error:
        room.show(str(error))

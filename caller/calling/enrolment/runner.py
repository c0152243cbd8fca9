"""A lesson at work: one inbox for sound and keys, one thread that owns the lesson.

1. The microphone's thread puts in what it hears, and whether the caller spoke just then.
2. What was heard while the caller spoke is dropped, so its own words never become a take.
3. The rest is parted into single takes; for each, for each key, and for a long silence, `lesson`
   answers.
4. What is to be kept is on the disk before the answer is shown and said.
5. Where something was taught, the last answer tells how well it would be heard.
"""

import queue
import threading
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.calling.commands import BY_NAME, Command
from caller.calling.enrolment import sentences
from caller.calling.enrolment.lesson import (
    EnrolmentLesson,
    EnrolmentReply,
    LearnerAnswer,
    Taught,
    answer_of,
    heard,
    pressed,
    silent,
    tried,
)
from caller.calling.enrolment.takes import TAKING, HeardAs, Outlook, Sound, check, from_segment
from caller.calling.events import News, Pressed, Trouble, Typed
from caller.calling.listening.blocks import BLOCK_SAMPLES, RATE, Blocks
from caller.calling.listening.endpointing import Endpointer, Segment
from caller.calling.listening.level import is_silent
from caller.calling.listening.listener import ListenerSettings
from caller.calling.ports import (
    Loudspeaker,
    Microphone,
    Recogniser,
    SoundBlock,
    SpeechDetector,
    TakeLikeness,
    Voice,
)
from caller.calling.signals import Signal
from caller.calling.speech import last_words, signalled, signals
from caller.calling.words.utterance import Utterance, sentence, shown
from caller.errors import CallerError

PATIENCE_S = 8.0
"""An answer is waited for so long; longer while somebody talks."""
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

    `keep` keeps the takes of a command; `open_recogniser` gives one that answers with the names
    of the commands that are taught, and `outlook` tries the takes against one another. `heard_as`
    hears a take as somebody does who knows the phrases alone.
    `as_played` gives a take at the loudspeaker's rate. `show` puts a line on the screen.
    """

    voice: Voice
    loudspeaker: Loudspeaker
    microphone: Microphone
    detector: SpeechDetector
    likeness: TakeLikeness
    heard_as: HeardAs
    open_recogniser: Callable[[Taught], Recogniser]
    outlook: Callable[[Taught], Outlook]
    keep: Callable[[Command, Sequence[Sound]], None]
    as_played: Callable[[Sound], SoundBlock]
    show: Callable[[str], None]
    inbox: Inbox


def run(opened: EnrolmentReply, desk: EnrolmentDesk) -> EnrolmentLesson:
    """Lead the lesson from its opening to its end.

    Raises SoundError when the microphone fails, ListeningError when the recogniser does or a take
    cannot be kept; what was kept by then stays.
    """
    listening = threading.Thread(target=_overhear, args=(desk,), name="microphone", daemon=True)
    listening.start()
    sitting = _Sitting(desk)
    try:
        reply = sitting.tell(opened)
        while not reply.over:
            answer = sitting.answer(reply.lesson, desk.inbox.get())
            if answer is not None:
                reply = sitting.tell(answer)
        last_words(desk.loudspeaker, desk.show)
        return reply.lesson
    finally:
        sitting.close()
        desk.microphone.close()
        listening.join(5)


def _overhear(desk: EnrolmentDesk) -> None:
    """Put what the microphone hears into the inbox, until it is closed; on its own thread."""
    try:
        for samples in desk.microphone.blocks():
            deaf = desk.loudspeaker.quiet_for() < DEAF_S
            desk.inbox.put(Overheard(samples, deaf, time.monotonic()))
    except CallerError as error:
        desk.inbox.put(error)


class _Sitting:
    """One lesson: what was heard since the last question, and the recogniser of the trial."""

    def __init__(self, desk: EnrolmentDesk) -> None:
        self._desk = desk
        self._endpointer = Endpointer(TAKING)
        self._stream = Blocks()
        self._unanswered = 0
        self._dead = True  # nothing but zeros has come since the question
        self._asked_s = 0.0
        self._recogniser: Recogniser | None = None
        self._learnt = False

    def tell(self, reply: EnrolmentReply) -> EnrolmentReply:
        """Keep, show, sound and say what there is to; nothing heard before then counts."""
        desk = self._desk
        if reply.keep is not None:
            desk.keep(*reply.keep)
            self._learnt = True
            self.close()
        if reply.over and self._learnt and reply.lesson.whole:
            found = desk.outlook(reply.lesson.taught)
            reply = replace(reply, say=(*reply.say, *sentences.outlook(found)))
        self._asked_s = time.monotonic()
        desk.show(shown(reply.say))
        after = None if reply.over else Signal.YOUR_TURN
        self._say(reply.say, reply.signal, after, reply.play)
        if reply.lesson.trying and not reply.over and self._recogniser is None:
            self._recogniser = desk.open_recogniser(reply.lesson.taught)
        return reply

    def answer(self, lesson: EnrolmentLesson, event: object) -> EnrolmentReply | None:
        """The reply to what came in; None when nothing is to be said to it."""
        match event:
            case Overheard():
                return self._heard(lesson, event)
            case Pressed(key):
                return pressed(lesson, answer_of(key, line=False))
            case Typed(line):
                return pressed(lesson, answer_of(line, line=True))
            case Command.LEAVE:
                return pressed(lesson, LearnerAnswer.LEAVE)
            case News(said):
                self._desk.show(said)
                self._say(sentence(said), None, Signal.YOUR_TURN)
            case Trouble(error, aloud):
                self._desk.show(str(error))
                if aloud:
                    self._say(sentence(str(error)), Signal.TROUBLE, Signal.YOUR_TURN)
            case CallerError():
                raise event
        return None

    def close(self) -> None:
        """Let go of the recogniser; it is opened anew for what is taught then."""
        if self._recogniser is not None:
            self._recogniser.close()
            self._recogniser = None

    def _heard(self, lesson: EnrolmentLesson, event: Overheard) -> EnrolmentReply | None:
        if event.deaf or event.at_s < self._asked_s:
            self._endpointer.skip(self._stream.drop() + len(event.samples))
            self._unanswered, self._dead = 0, True
            self._desk.detector.reset()
            return None
        self._dead = self._dead and is_silent(event.samples)
        for block in self._stream.feed(event.samples):
            probability = self._desk.detector.probability(block)
            segment = self._endpointer.feed(block, probability)
            if segment is not None:
                self._unanswered = 0
                return self._taken(lesson, segment)
            self._unanswered += BLOCK_SAMPLES
            patience = LONGEST_PATIENCE_S if probability >= TAKING.off_probability else PATIENCE_S
            if self._unanswered >= patience * RATE:
                self._unanswered = 0
                return silent(lesson, self._dead)
        return None

    def _taken(self, lesson: EnrolmentLesson, segment: Segment) -> EnrolmentReply:
        take = from_segment(segment)
        if self._recogniser is None:
            return heard(lesson, take, self._desk.likeness, self._desk.heard_as)
        phrase = None if check(take) else self._recogniser.recognise(segment.samples).phrase
        return tried(lesson, None if phrase is None else BY_NAME.get(phrase))

    def _say(
        self, say: Utterance, before: Signal | None, after: Signal | None, take: Sound | None = None
    ) -> None:
        """Cut the speech, if any, and say this, with a signal before and after it.

        A take is played behind the words.
        """
        desk = self._desk
        behind = () if after is None else (after,)
        heard = () if before is None else (before,)
        blocks: Iterable[SoundBlock]
        if take is None:
            blocks = signalled(desk.voice, say, desk.inbox.put, heard, behind)
        else:
            blocks = chain(
                signalled(desk.voice, say, desk.inbox.put, heard),
                (desk.as_played(take),),
                signals(behind, desk.voice.rate),
            )
        desk.loudspeaker.play(blocks)

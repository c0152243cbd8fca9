"""From sound to commands: blocks -> speech or not -> segments -> a phrase -> its command."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from caller.calling.commands import WORDS, Command, Words
from caller.calling.events import Events, NotQuiteHeard, Spoken, Trouble
from caller.calling.listening.blocks import RATE, Blocks
from caller.calling.listening.endpointing import Endpointer, EndpointSettings, Segment
from caller.calling.listening.grammar import Sentences, no_sentences
from caller.calling.listening.loading import failed
from caller.calling.ports import (
    EchoRemover,
    Loudspeaker,
    Microphone,
    Recogniser,
    SpeechDetector,
    Verdict,
)
from caller.errors import CallerError

Noticing = Callable[[NDArray[np.int16], bool], bool]
"""Takes what is heard, and whether the loudspeaker speaks; whether a command was said into it."""


@dataclass(frozen=True)
class ListenerSettings:
    """How words are found, and how long after its own speech the caller stays deaf (seconds).

    A word that begins while it is deaf is heard whole if that is later than `own_tail_s` after its
    own speech and it goes on until the caller is deaf no more. A command is said by itself: where
    others talked less than `alone_s` before, it counts as nearly heard; but not where that talk was
    one too, or nearly.
    """

    segment: EndpointSettings = field(default_factory=EndpointSettings)
    deaf_after_speech_s: float = 0.3
    own_tail_s: float = 0.1
    alone_s: float = 0.0


@dataclass(frozen=True)
class HeardPhrase:
    """A command that was said: `at_s` is when it began, in seconds from the start of the stream.

    `engine` names the recogniser that heard it. `number` is what was said with the command, as it
    is typed, and `rival` what it was else most likely; `close` when that is about as likely.
    """

    at_s: float
    phrase: str
    command: Command
    engine: str
    number: str = ""
    rival: str = ""
    close: bool = False


@dataclass(frozen=True)
class NearlyHeard:
    """Something that sounded like a command, but not enough to be taken for one."""

    at_s: float


class Listener:
    """Hears the commands in a stream of sound: int16, mono, 16,000 samples a second."""

    def __init__(
        self,
        detector: SpeechDetector,
        recogniser: Recogniser,
        settings: ListenerSettings | None = None,
        words: Words = WORDS,
        sentences: Sentences = no_sentences,
    ) -> None:
        """`words` are what the recogniser answers with, against the commands they mean.

        `sentences` are those with a number, where the recogniser hears such.
        """
        self.settings = settings or ListenerSettings()
        self._words = words
        self._sentences = sentences
        self._detector = detector
        self._recogniser = recogniser
        self._endpointer = Endpointer(self.settings.segment)
        self._stream = Blocks()
        self._early: Verdict | None = None
        self._meant_until_s = 0.0

    def feed(self, samples: NDArray[np.int16]) -> list[HeardPhrase | NearlyHeard]:
        """Take the next samples, any number of them; give the commands they complete.

        Raises ListeningError when the recogniser fails.
        """
        heard: list[HeardPhrase | NearlyHeard] = []
        for block in self._stream.feed(samples):
            segment = self._endpointer.feed(block, self._detector.probability(block))
            if (early := self._endpointer.early) is not None:
                self._early = self._recogniser.recognise(early.samples)
            settled = self._endpointer.settled
            if settled is not None and self._early is not None:
                self._early = self._looked_again(self._early, settled)
                if self._early.sure:
                    self._endpointer.end()
                    segment = settled
            if segment is None:
                continue
            # Only quiet has come since the early look, so its verdict still holds.
            verdict = self._early or self._recogniser.recognise(segment.samples)
            self._early = None
            if verdict.phrase is not None and self._amid_talk(segment):
                verdict = Verdict(None, near_miss=True)
            if verdict.phrase is not None or verdict.near_miss:
                self._meant_until_s = segment.end_s
            found = self._meaning(segment.word_s, verdict)
            if found is not None:
                heard.append(found)
            elif verdict.near_miss:
                heard.append(NearlyHeard(segment.word_s))
        return heard

    def _looked_again(self, early: Verdict, settled: Segment) -> Verdict:
        """What may have been a command is judged with a little more of its quiet, unless sure."""
        if early.sure or (early.phrase is None and not early.near_miss):
            return early
        return self._recogniser.recognise(settled.samples)

    def _amid_talk(self, segment: Segment) -> bool:
        """Whether others talked just before."""
        quiet_s = segment.quiet_s
        return quiet_s < self.settings.alone_s and segment.word_s - quiet_s > self._meant_until_s

    def _meaning(self, at_s: float, verdict: Verdict) -> HeardPhrase | None:
        phrase, engine = verdict.phrase, self._recogniser.name
        if phrase is None:
            return None
        if (command := self._words.get(phrase)) is not None:
            return HeardPhrase(at_s, phrase, command, engine)
        sentence = self._sentences().get(phrase)
        if sentence is None:
            return None
        rival = self._sentences().get(verdict.rival or "")
        other = rival.number if rival is not None else ""
        close = verdict.close and bool(other)
        return HeardPhrase(at_s, phrase, sentence.command, engine, sentence.number, other, close)

    @property
    def in_word(self) -> bool:
        """Whether something that may be a command has begun."""
        return self._endpointer.in_word

    def overhear(self, samples: NDArray[np.int16]) -> None:
        """Let these samples begin and end no word, but keep the last for one that goes on."""
        for block in self._stream.feed(samples):
            self._detector.probability(block)
            self._endpointer.overhear(block)
        self._early = None

    def deafen(self, samples: int) -> None:
        """Let this many samples pass unheard, with whatever was begun; the clock goes on."""
        self._endpointer.skip(self._stream.drop() + samples)
        self._detector.reset()
        self._early = None

    def close(self) -> None:
        """Let go of the recogniser; harmless when done twice."""
        self._recogniser.close()


def hear_recording(
    samples: NDArray[np.int16] | Iterable[NDArray[np.int16]], listener: Listener
) -> list[HeardPhrase]:
    """The commands in a whole recording: int16, mono, 16,000 samples a second, in one or in blocks.

    Silence follows it, so that a word at its very end is ended too.
    """
    ending_s = listener.settings.segment.hangover_s + 0.5
    ending = np.zeros(round(ending_s * RATE), dtype=np.int16)
    blocks = (samples,) if isinstance(samples, np.ndarray) else samples
    heard = [found for block in chain(blocks, (ending,)) for found in listener.feed(block)]
    return [phrase for phrase in heard if isinstance(phrase, HeardPhrase)]


def listen(
    microphone: Microphone,
    listener: Listener,
    loudspeaker: Loudspeaker,
    events: Events,
    echo: EchoRemover | None = None,
    noticed: Noticing | None = None,
) -> None:
    """Turn what the microphone hears into commands until it is closed; runs on its own thread.

    Without `echo` half-duplex: what comes in while the loudspeaker speaks, and a little after, is
    dropped, but for the beginning of a word that goes on. With it the caller's own voice is taken
    out of all that comes in, and the call gets softer from where a word seems to begin, so that its
    end is heard better. Half-duplex, `noticed` tells of a command that was said into the call.
    """
    try:
        for samples in microphone.blocks():
            if echo is not None:
                found = listener.feed(echo.clean(samples))
                if listener.in_word:
                    echo.soften()
            elif (quiet_s := loudspeaker.quiet_for()) < listener.settings.deaf_after_speech_s:
                if quiet_s < listener.settings.own_tail_s:
                    listener.deafen(len(samples))
                else:
                    listener.overhear(samples)
                if noticed is not None and noticed(samples, True):
                    events.put(NotQuiteHeard())
                continue
            else:
                found = listener.feed(samples)
                if noticed is not None:
                    noticed(samples, False)
            for heard in found:
                if isinstance(heard, HeardPhrase):
                    events.put(Spoken(heard.command, heard.number, heard.rival, heard.close))
                else:
                    events.put(NotQuiteHeard())
    except CallerError as error:
        events.put(Trouble(error))
    except Exception as error:  # a library's own; the session goes on without being spoken to
        events.put(Trouble(failed(error)))
    finally:
        microphone.close()  # nobody empties its queue any more

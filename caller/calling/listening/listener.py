"""From sound to commands: blocks -> speech or not -> cuts -> a phrase -> its command."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from caller.calling.commands import WORDS, Command, Words
from caller.calling.listening.endpointing import BLOCK_SAMPLES, RATE, Endpointer, EndpointSettings
from caller.calling.ports import Recogniser, SpeechDetector


@dataclass(frozen=True)
class ListenerSettings:
    """How words are found, and how long after its own speech the caller stays deaf (seconds)."""

    segment: EndpointSettings = field(default_factory=EndpointSettings)
    deaf_after_speech_s: float = 0.3


@dataclass(frozen=True)
class HeardPhrase:
    """A command that was said: `at_s` is when it began, in seconds from the start of the stream.

    `engine` names the recogniser that heard it.
    """

    at_s: float
    phrase: str
    command: Command
    engine: str


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
    ) -> None:
        """`words` are what the recogniser answers with, against the commands they mean."""
        self.settings = settings or ListenerSettings()
        self._words = words
        self._detector = detector
        self._recogniser = recogniser
        self._cutter = Endpointer(self.settings.segment)
        self._waiting = np.zeros(0, dtype=np.int16)

    def feed(self, samples: NDArray[np.int16]) -> list[HeardPhrase | NearlyHeard]:
        """Take the next samples, any number of them; give the commands they complete.

        Raises ListeningError when the recogniser fails.
        """
        sound = np.concatenate([self._waiting, samples])
        whole = len(sound) - len(sound) % BLOCK_SAMPLES
        self._waiting = sound[whole:]
        heard: list[HeardPhrase | NearlyHeard] = []
        for block in sound[:whole].reshape(-1, BLOCK_SAMPLES):
            segment = self._cutter.feed(block, self._detector.probability(block))
            if segment is None:
                continue
            verdict = self._recogniser.recognise(segment.samples)
            command = None if verdict.phrase is None else self._words.get(verdict.phrase)
            if verdict.phrase is not None and command is not None:
                heard.append(
                    HeardPhrase(segment.word_s, verdict.phrase, command, self._recogniser.name)
                )
            elif verdict.close:
                heard.append(NearlyHeard(segment.word_s))
        return heard

    @property
    def in_word(self) -> bool:
        """Whether something that may be a command has begun."""
        return self._cutter.in_word

    def deafen(self, samples: int) -> None:
        """Let this many samples pass unheard, with whatever was begun; the clock goes on."""
        self._cutter.skip(len(self._waiting) + samples)
        self._waiting = self._waiting[:0]
        self._detector.reset()

    def close(self) -> None:
        """Let go of the recogniser; harmless when done twice."""
        self._recogniser.close()


def hear_recording(samples: NDArray[np.int16], listener: Listener) -> list[HeardPhrase]:
    """The commands in a whole recording: int16, mono, 16,000 samples a second.

    Silence follows it, so that a word at its very end is ended too.
    """
    ending_s = listener.settings.segment.hangover_s + 0.5
    ending = np.zeros(round(ending_s * RATE), dtype=np.int16)
    heard = listener.feed(samples) + listener.feed(ending)
    return [phrase for phrase in heard if isinstance(phrase, HeardPhrase)]

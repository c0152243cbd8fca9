"""The recognisers of the program, opened for one speaker at a time."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Protocol

import hearing
import sounds
import speakers
from speakers import Speaker

from caller.calling.commands import BY_NAME, PHRASES, TAUGHT_FIRST, WORDS, phrase_for
from caller.calling.listening.endpointing import EndpointSettings
from caller.calling.listening.listener import Listener
from caller.calling.ports import Recogniser, SpeechDetector, Verdict
from caller.settings import ListeningSettings
from caller.wiring.hearing import any_sentence
from caller.wiring.recognisers import RecogniserChoice, choose_recogniser, open_listener

TAUGHT_TAKES = (0, 1, 2)
AGAIN = (5, 6)
HEARD_TAKES = (3, 4)
"""A speaker teaches with some takes and is heard in others."""


class Engine(Protocol):
    """`words` are said to it, and it answers with the same words."""

    name: str
    words: tuple[str, ...]
    personal: bool

    def recogniser_of(self, speaker: Speaker, /) -> Recogniser: ...


@dataclass
class Sphinx:
    name: str = "pocketsphinx"
    words: tuple[str, ...] = PHRASES
    personal: bool = False

    def recogniser_of(self, _speaker: Speaker) -> Recogniser:
        return _sphinx(self.words)


@cache
def _sphinx(words: Sequence[str]) -> Recogniser:
    from caller.devices.recognisers.pocketsphinx import PocketSphinxRecogniser

    return PocketSphinxRecogniser(words)


@dataclass
class English:
    """As in a session: with the sentences that carry a number beside the phrases."""

    name: str = "english"
    words: tuple[str, ...] = PHRASES
    personal: bool = False

    def recogniser_of(self, _speaker: Speaker) -> Recogniser:
        return _english()[1]


@cache
def _english() -> tuple[RecogniserChoice, Recogniser]:
    choice = choose_recogniser(ListeningSettings(engine="english"), any_sentence)
    return choice, choice.open()


def endpointing_of(engine: Engine) -> EndpointSettings | None:
    """How the program cuts words out for this engine, at the end of the whole pause."""
    if not isinstance(engine, English | Beside):
        return None
    return replace(_english()[0].listening.segment, early_s=None)


def timed(engine: Engine, speaker: Speaker) -> hearing.TimedRecogniser:
    return hearing.TimedRecogniser(
        engine.recogniser_of(speaker), endpointing=endpointing_of(engine)
    )


def english_listener() -> Listener:
    """A new one, with the one recogniser."""
    return open_listener(*_english())


Opening = Callable[[SpeechDetector], Listener]
"""Opens a listener that hears by this detector."""


def opening(engine: Engine, speaker: Speaker) -> Opening:
    """A session's listener for this speaker, with the engine's one recogniser."""
    recogniser = engine.recogniser_of(speaker)
    if not isinstance(engine, English | Beside):
        words = WORDS if engine.words == PHRASES else BY_NAME
        return lambda detector: Listener(detector, recogniser, words=words)
    choice = _english()[0]
    return lambda detector: Listener(
        detector, recogniser, choice.listening, choice.words, choice.sentences
    )


@dataclass
class Vosk:
    model: Path
    name: str = "vosk"
    words: tuple[str, ...] = PHRASES
    personal: bool = False

    def recogniser_of(self, _speaker: Speaker) -> Recogniser:
        return _vosk(self.model, self.words)


@cache
def _vosk(model: Path, words: Sequence[str]) -> Recogniser:
    from caller.devices.recognisers.vosk import VoskRecogniser

    return VoskRecogniser(model, words)


@dataclass
class Own:
    """Taught by each speaker with three takes of every word, cut as the program cuts them."""

    strictness: int = 50
    words: tuple[str, ...] = tuple(BY_NAME)
    name: str = "own"
    personal: bool = True

    def recogniser_of(self, speaker: Speaker) -> Recogniser:
        from caller.devices.recognisers.own_voice.recogniser import OwnVoiceRecogniser

        return OwnVoiceRecogniser(taught(speaker, self.words), self.strictness)


@dataclass
class Beside:
    """The English model, and beside it each speaker's takes of the main commands' phrases."""

    strictness: int = 50
    words: tuple[str, ...] = PHRASES
    taught: tuple[str, ...] = tuple(str(phrase_for(one, WORDS)) for one in TAUGHT_FIRST)
    name: str = "beside"
    personal: bool = True

    def recogniser_of(self, speaker: Speaker) -> Recogniser:
        from caller.devices.recognisers.beside_takes import BesideTakes, as_taught
        from caller.devices.recognisers.own_voice.recogniser import OwnVoiceRecogniser

        takes = OwnVoiceRecogniser(taught(speaker, self.taught), self.strictness)
        answers = {as_taught(phrase): phrase for phrase in self.taught}
        words = {**WORDS, **{answer: WORDS[phrase] for answer, phrase in answers.items()}}
        return _Phrased(BesideTakes(_english()[1], takes, words), answers)


@dataclass
class _Phrased:
    """Answers with the phrase where it is heard by its takes alone, too."""

    recogniser: Recogniser
    answers: Mapping[str, str]

    @property
    def name(self) -> str:
        return self.recogniser.name

    def recognise(self, segment: sounds.Sound) -> Verdict:
        verdict = self.recogniser.recognise(segment)
        phrase = verdict.phrase
        return replace(verdict, phrase=self.answers.get(phrase, phrase)) if phrase else verdict

    def close(self) -> None:
        self.recogniser.close()


def taught(speaker: Speaker, words: tuple[str, ...]) -> dict[str, list[sounds.Sound]]:
    """Three takes of each word; one that the detector does not notice is said again."""
    takes: dict[str, list[sounds.Sound]] = {word: [] for word in words}
    for take in (*TAUGHT_TAKES, *AGAIN):
        again = [word for word in words if len(takes[word]) < len(TAUGHT_TAKES)]
        if not again:
            break
        for word, said in zip(words, speakers.said(speaker, words, take), strict=True):
            if word in again:
                takes[word] += [
                    segment.samples for segment in hearing.segments(sounds.apart([said]))[:1]
                ]
    return {word: found for word, found in takes.items() if len(found) == len(TAUGHT_TAKES)}

"""Trying the words for the commands: spoken by the program's own voices to its own recogniser.

Each phrase should be heard as itself. The other phrases, the words of a call and everyday
sentences should not be taken for it. The voices are synthetic: what is heard here may be missed in
a room, but what is set off here is set off there too.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caller.calling.commands import Words
from caller.calling.listening import likeness
from caller.calling.listening.blocks import RATE
from caller.calling.listening.everyday import EVERYDAY
from caller.calling.listening.likeness import bare
from caller.calling.ports import Recogniser, Voice
from caller.devices.recognisers.pronunciations import pronounce_by
from caller.pattern.pattern import Pattern

LANGUAGES = ("en-us", "en", "en-gb-scotland")
RATE_WPM = 140
_AROUND_S = (0.25, 0.1)
OFTEN = 3
"""So many everyday sentences taken for a phrase are too many."""

Progress = Callable[[int, int], None]
"""Is told how many sounds have been judged, and of how many."""


@dataclass(frozen=True)
class PhraseCheck:
    """How a phrase fares: by so many of the voices it is `heard`, and these sounds set it off.

    `by_taught` are the commands in whose takes its own command is heard.
    """

    phrase: str
    command: str
    heard: int
    voices: int
    by_phrases: tuple[str, ...] = ()
    by_calls: tuple[str, ...] = ()
    by_talk: tuple[str, ...] = ()
    by_taught: tuple[str, ...] = ()

    @property
    def trouble(self) -> str | None:
        """What is wrong with it and what to do, in a sentence; None when it may be used."""
        if self.by_phrases:
            return f"{self.by_phrases[0]!r} is taken for it; choose words that sound less alike."
        if self.by_taught:
            taught = self.by_taught[0]
            return (
                f"What you taught for {taught} is understood as {self.command} too, so neither is "
                f"obeyed; teach other words with row-caller teach --commands {taught}."
            )
        if self.by_calls:
            return f"The call's own {self.by_calls[0]!r} is taken for it; choose other words."
        if len(self.by_talk) >= OFTEN:
            some = ", ".join(repr(text) for text in self.by_talk[:OFTEN])
            return f"Talk sets it off, such as {some}; two or three longer words are safer."
        if 2 * self.heard < self.voices:
            return "It is seldom heard; choose other words, or teach it with row-caller teach."
        return None


def refuse_alike(words: Words, pattern: Pattern | None = None) -> None:
    """SettingError for own words that sound like one another, like what the caller says, of this
    pattern too, or like talk."""
    said = likeness.said(pattern)
    likeness.check(words, said, pronounce_by([*words, *said.texts, *map(bare, EVERYDAY)]))


def check_phrases(words: Words, recogniser: Recogniser, progress: Progress) -> list[PhraseCheck]:
    """Try every phrase; takes about a tenth of a second a sound. Raises VoiceError."""
    said = [(voice, "phrase", text) for voice in LANGUAGES for text in words]
    said += [(LANGUAGES[at % 2], "call", text) for at, text in enumerate(likeness.said().aloud)]
    said += [(LANGUAGES[at % 2], "talk", text) for at, text in enumerate(EVERYDAY)]
    heard: dict[tuple[str, str], list[str]] = {}
    for number, (text, kind, sound) in enumerate(_spoken(said)):
        progress(number, len(said))
        phrase = recogniser.recognise(sound).phrase
        if phrase is not None:
            heard.setdefault((phrase, kind), []).append(text)
    progress(len(said), len(said))
    return [_check(phrase, command.value, heard) for phrase, command in words.items()]


def _check(phrase: str, command: str, heard: dict[tuple[str, str], list[str]]) -> PhraseCheck:
    as_phrase = heard.get((phrase, "phrase"), [])
    plain = [text for text in heard.get((phrase, "talk"), []) if bare(text) != bare(phrase)]
    return PhraseCheck(
        phrase,
        command,
        as_phrase.count(phrase),
        len(LANGUAGES),
        tuple(dict.fromkeys(text for text in as_phrase if text != phrase)),
        tuple(heard.get((phrase, "call"), [])),
        tuple(plain),
    )


def _spoken(
    said: Iterable[tuple[str, str, str]],
) -> Iterator[tuple[str, str, NDArray[np.int16]]]:
    """Each text with its kind and its sound, cut as the microphone's would be."""
    from caller.devices.sound.resample import resampled
    from caller.devices.voices.espeak import EspeakVoice

    voices: dict[str, Voice] = {}
    random = np.random.default_rng(1)
    for language, kind, text in said:
        if language not in voices:
            voices[language] = EspeakVoice(RATE_WPM, language=language)
        voice = voices[language]
        blocks = [block.samples for block in voice.render(text)]
        sound = resampled(np.concatenate(blocks), voice.rate, RATE)
        loud = np.flatnonzero(np.abs(sound.astype(int)) > 100)
        word = sound[loud[0] : loud[-1] + 1] if len(loud) else sound
        before, after = (round(seconds * RATE) for seconds in _AROUND_S)
        room = random.normal(0, 10, before + len(word) + after)
        room[before : before + len(word)] += word / 2  # half as loud: no word at full scale
        yield text, kind, np.rint(room).astype(np.int16)

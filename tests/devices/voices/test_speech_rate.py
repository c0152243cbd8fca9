"""How fast the calls come, against what is known of speech and listening.

Sources, both second-hand: people talk at 120 to 180 words a minute, and audiobooks are read at 150
to 160 (Bragg, Reinecke and Ladner 2021; Kuperman et al. 2021); comprehension holds at 270 words a
minute and falls at 315 (the same). The passage is The North Wind and the Sun, which the Handbook of
the International Phonetic Association (1999) uses for every language; quoted from memory.
"""

from pathlib import Path

import piper_file
import pytest

from caller.calling.ports import Voice
from caller.calling.speech import spoken
from caller.calling.words import utterance
from caller.calling.words.row_call import row_call
from caller.calling.words.utterance import Utterance
from caller.devices.voices.espeak import EspeakVoice
from caller.devices.voices.piper import PiperVoice
from caller.pattern.storage.pattern_file import load
from caller.settings import FASTEST_WPM, SLOWEST_WPM, VoiceSettings

TALK_WPM = (120, 180)
FOLLOWED_WPM = 270
DEMO = Path(__file__).parents[3] / "demo_patterns" / "sailing-boat.toml"
PASSAGE = (
    "The North Wind and the Sun were disputing which was the stronger, when a traveller came along "
    "wrapped in a warm cloak. They agreed that the one who first succeeded in making the traveller "
    "take his cloak off should be considered stronger than the other."
)


SENTENCE = PASSAGE.partition(" They ")[0]
CLAUSE = f"{SENTENCE.partition(',')[0]}."


def words(text: str) -> int:
    return len(text.replace("-", " ").split())


@pytest.fixture(scope="module")
def natural() -> PiperVoice:
    return PiperVoice(piper_file.found_or_skipped())


def seconds(voice: Voice, text: str) -> float:
    return sum(block.seconds for block in voice.render(text))


def passage_wpm(rate_wpm: int) -> float:
    return words(PASSAGE) / seconds(EspeakVoice(rate_wpm), PASSAGE) * 60


@pytest.fixture(scope="module")
def call() -> Utterance:
    pattern = load(DEMO)
    return row_call(pattern, pattern.script.row(pattern.script.rows // 3))


@pytest.fixture(scope="module")
def naturally_s(natural, call) -> float:
    """How long the call takes at the usual rate."""
    natural.set_rate(VoiceSettings.rate_wpm)
    return sum(block.seconds for block in spoken(natural, call))


@pytest.mark.slow
def test_calls_at_the_usual_rate_are_as_fast_as_people_talk(naturally_s, call):
    slowest, fastest = TALK_WPM
    assert slowest <= words(utterance.said(call)) / naturally_s * 60 <= fastest


def test_the_rates_reach_from_slower_than_talk_to_faster_than_can_be_followed():
    assert passage_wpm(SLOWEST_WPM) < TALK_WPM[0]
    assert passage_wpm(FASTEST_WPM) > FOLLOWED_WPM


@pytest.mark.parametrize("rate_wpm", [SLOWEST_WPM, 120, 160, 200, 270, FASTEST_WPM])
def test_the_rate_is_about_the_words_a_minute(rate_wpm):
    """espeak-ng calls its rate approximate; running text comes up to a quarter faster."""
    assert rate_wpm <= passage_wpm(rate_wpm) <= 1.3 * rate_wpm


@pytest.mark.slow
@pytest.mark.parametrize(
    ("rate_wpm", "text"), [(SLOWEST_WPM, CLAUSE), (160, SENTENCE), (FASTEST_WPM, SENTENCE)]
)
def test_a_rate_means_the_same_with_either_voice(natural, rate_wpm, text):
    """Measured apart: 1.09, 0.99 and 0.98 of espeak's time for the passage."""
    natural.set_rate(rate_wpm)
    assert seconds(natural, text) == pytest.approx(seconds(EspeakVoice(rate_wpm), text), rel=0.14)


@pytest.mark.slow
def test_a_row_takes_as_long_with_either_voice(naturally_s, call):
    """espeak takes up to a sixth longer over short clauses (measured)."""
    assert len(call) > 2
    by_espeak = spoken(EspeakVoice(VoiceSettings.rate_wpm), call)
    assert naturally_s == pytest.approx(sum(block.seconds for block in by_espeak), rel=0.18)

"""What every voice promises."""

import sys
import threading
from collections.abc import Iterator
from functools import cache
from itertools import islice

import numpy as np
import piper_file
import pytest
from silent_voice import SilentVoice

from caller.calling.ports import Voice
from caller.devices.voices.espeak import EspeakVoice
from caller.devices.voices.piper import PiperVoice
from caller.devices.voices.prerendered import Prerendered
from caller.devices.voices.system import SystemVoice
from caller.errors import SettingError, VoiceError

SHORT = "Navy, to left twenty."
TEXT = "Row twelve, to the right. Navy, to left twenty. Ivory, to right five."


def ahead(rate_wpm: int = 160) -> Prerendered:
    return Prerendered(SystemVoice(rate_wpm))


def piper(rate_wpm: int = 160) -> PiperVoice:
    return PiperVoice(piper_file.found_or_skipped(), rate_wpm)


VOICES = {
    "espeak": EspeakVoice,
    "system": SystemVoice,
    "silent": SilentVoice,
    "ahead": ahead,
    "piper": piper,
}
NAMES = [pytest.param(name, marks=pytest.mark.slow if name == "piper" else ()) for name in VOICES]


@cache
def shared_piper() -> PiperVoice:
    """Loading its model takes longer than most tests of it."""
    return piper()


@pytest.fixture(params=NAMES)
def voice(request) -> Iterator[Voice]:
    if request.param == "piper":
        yield shared_piper()
        shared_piper().set_rate(160)
        return
    try:
        made = VOICES[request.param]()
    except VoiceError as error:
        if sys.platform == "linux":  # where every voice comes from wheels
            raise
        pytest.skip(str(error))
    yield made
    made.close()


def samples_of(blocks) -> np.ndarray:
    return np.concatenate([block.samples for block in blocks])


def test_it_speaks(voice):
    blocks = list(voice.render(TEXT))
    assert all(block.rate == voice.rate and block.samples.dtype == np.int16 for block in blocks)
    seconds = sum(block.seconds for block in blocks)
    # 13 words at 160 a minute is 4.9 s; full stops take their time too.
    assert 2.5 < seconds < 12
    if not isinstance(voice, SilentVoice):
        assert np.abs(samples_of(blocks)).max() > 3000


def test_the_first_block_is_not_the_whole(voice):
    """A caller can start to play, and to cancel, before the end of the text is sound."""
    blocks = voice.render(TEXT)
    first = next(blocks).seconds
    assert 0 < first < 0.6 * (first + sum(block.seconds for block in blocks))


def test_nothing_to_say(voice):
    for text in ("", " ", "...", "\n\t", "-", "?!", "\0", "\ud800"):
        assert list(voice.render(text)) == [], repr(text)


def test_a_cancelled_text_does_not_come_back(voice):
    first = voice.render(TEXT * 5)
    next(first)
    first.close()
    short = samples_of(voice.render("Navy."))
    assert 0.1 < len(short) / voice.rate < 2.5
    again = samples_of(voice.render("Navy."))
    assert len(again) == pytest.approx(len(short), rel=0.1)


def test_odd_texts_are_harmless(voice):
    """Each is followed by another, which the voice must still be able to say."""
    most = 1 if isinstance(voice, PiperVoice) else None  # all of the longest takes it minutes
    voice.set_rate(350)
    for text in (
        "a\0b",
        "<speak>red</speak>",
        "<b>red</b> & <audio src='x'/>",
        "[[n'eIvi]] red",
        "häfen, ναι, はい",
        "red 😀",
        "red\ud800\u202e\ufffe",
        "a" * 10_000,
        "ivory " * 500,
        "'\"\\$(x)`red",
        "Navy.",
    ):
        assert sum(block.seconds for block in islice(voice.render(text), most)) > 0.1, text[:30]


def test_other_threads(voice):
    lengths: list[int] = []

    def work() -> None:
        for _ in range(3):
            lengths.append(len(samples_of(voice.render("Ivory."))))

    threads = [threading.Thread(target=work) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(lengths) == 9
    assert max(lengths) < 1.2 * min(lengths)


@pytest.mark.parametrize("kind", NAMES)
def test_closed_twice(kind):
    made = VOICES[kind]()
    made.close()
    made.close()


@pytest.mark.parametrize("kind", NAMES)
def test_slower_is_longer(kind):
    def seconds(rate_wpm: int) -> float:
        made = VOICES[kind](rate_wpm=rate_wpm)
        try:
            return sum(block.seconds for block in made.render(SHORT))
        finally:
            made.close()

    assert seconds(90) > 2 * seconds(300)


def test_the_rate_is_changed_on_the_way(voice):
    def seconds() -> float:
        return sum(block.seconds for block in voice.render(SHORT))

    assert voice.rate_wpm == 160
    usual = seconds()
    voice.set_rate(350)
    assert voice.rate_wpm == 350
    assert seconds() < 0.7 * usual
    voice.set_rate(80)
    assert seconds() > 1.4 * usual
    voice.set_rate(160)
    assert seconds() == pytest.approx(usual, rel=0.05)


def test_a_rate_out_of_range_changes_nothing(voice):
    for rate in (79, 351, 0, -1):
        with pytest.raises(SettingError, match="80 to 350"):
            voice.set_rate(rate)
        assert voice.rate_wpm == 160
    assert sum(block.seconds for block in voice.render("Navy.")) > 0.1


@pytest.mark.parametrize("kind", NAMES)
def test_rates_out_of_range(kind):
    for rate in (79, 351, 0, -1):
        with pytest.raises(SettingError, match="80 to 350"):
            VOICES[kind](rate_wpm=rate)

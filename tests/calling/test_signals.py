"""The tones: all different, equally loud, and none of them clicks."""

import itertools

import numpy as np
import pytest

from caller.calling.signals import Signal, sound
from caller.devices.voices.espeak import EspeakVoice

RATES = (16_000, 22_050, 44_100)


def loudness(samples, rate) -> float:
    """By pyloudnorm, as BS.1770 has it; repeated to the 0.4 s that it needs."""
    pyloudnorm = pytest.importorskip("pyloudnorm")
    whole = np.concatenate([samples / 32768] * 20)
    return pyloudnorm.Meter(rate).integrated_loudness(whole)


def pitches(block) -> list[float]:
    """The strongest pitch of the first and of the second half."""
    halves = np.array_split(block.samples.astype(float), 2)
    return [float(np.argmax(np.abs(np.fft.rfft(half, block.rate)))) for half in halves]


@pytest.mark.parametrize("rate", RATES)
def test_they_are_equally_loud(rate):
    levels = [loudness(sound(signal, rate).samples, rate) for signal in Signal]
    assert max(levels) - min(levels) < 0.5


def test_they_are_as_loud_as_the_voice():
    voice = EspeakVoice()
    speech = np.concatenate([block.samples for block in voice.render("Navy, to left twenty.")])
    level = loudness(sound(Signal.HEARD, voice.rate).samples, voice.rate)
    assert abs(level - loudness(speech, voice.rate)) < 3


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("signal", Signal)
def test_they_begin_and_end_softly(signal, rate):
    samples = sound(signal, rate).samples.astype(int)
    assert max(abs(samples[0]), abs(samples[-1])) < 1200
    # Between two samples a tone of this pitch moves by at most 2 pi pitch / rate of its height.
    steepest = 2 * np.pi * 1320 / rate * np.abs(samples).max()
    assert np.abs(np.diff(samples)).max() < 1.2 * steepest
    assert np.abs(samples).max() > 3000


def test_they_are_short_and_all_different():
    made = [sound(signal, 22_050) for signal in Signal]
    assert all(block.seconds < 0.4 for block in made)
    for one, other in itertools.combinations(made, 2):
        assert not np.array_equal(one.samples, other.samples)


def test_what_goes_right_rises_and_what_goes_left_falls():
    low, high = pitches(sound(Signal.CARRIAGE_RIGHT, 22_050))
    assert high > 1.2 * low
    high, low = pitches(sound(Signal.CARRIAGE_LEFT, 22_050))
    assert high > 1.2 * low

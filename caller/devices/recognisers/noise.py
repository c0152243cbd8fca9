"""Words laid into noise, so that takes from a quiet room are known in a loud one. Pure."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import RATE

LOOP_S = 4.0
"""Seconds of noise that are made, to be repeated."""
_CLICKS = 60  # a second, about as many needles as a carriage passes
_CLICK_S = 0.004


def in_noise(
    segment: NDArray[np.int16], word: slice, noise: NDArray[np.float64], snr_db: float
) -> NDArray[np.int16]:
    """The segment over noise of power 1, repeated, which lies `snr_db` below the word in it."""
    power = np.mean(segment[word].astype(np.float64) ** 2)
    mixed = segment + np.resize(noise, len(segment)) * np.sqrt(power / 10 ** (snr_db / 10))
    return np.asarray(np.clip(np.rint(mixed), -32768, 32767), dtype=np.int16)


@cache
def pink_noise() -> NDArray[np.float64]:
    """A room's own noise: pink, its power falling with 1/f. Four seconds, always the same."""
    count = round(LOOP_S * RATE)
    spectrum = np.fft.rfft(np.random.default_rng(1).normal(size=count))
    return power_one(np.fft.irfft(spectrum / np.sqrt(np.maximum(np.arange(len(spectrum)), 1))))


@cache
def click_noise() -> NDArray[np.float64]:
    """Clicks without a pitch, one upon the other, over a hiss. Four seconds, always the same."""
    random, count = np.random.default_rng(2), round(LOOP_S * RATE)
    clicks = random.uniform(0, 1, count) ** 2 * (random.uniform(size=count) < _CLICKS / RATE)
    fall = np.exp(-np.arange(round(5 * _CLICK_S * RATE)) / (_CLICK_S * RATE))
    loudness = np.convolve(clicks, fall)[:count] + 0.05
    return power_one(loudness * random.normal(size=count))


def power_one(sound: NDArray[np.float64]) -> NDArray[np.float64]:
    """The sound, any number of samples but not silence, as loud as makes its mean square 1."""
    return np.asarray(sound / np.sqrt(np.mean(sound**2)))

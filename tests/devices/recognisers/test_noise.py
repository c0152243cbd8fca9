"""The noise that takes are laid into: as loud as it says, and of the shape it says."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.listening.blocks import RATE
from caller.devices.recognisers.noise import click_noise, in_noise, pink_noise

NOISES = (pink_noise, click_noise)


def power(sound):
    return float(np.mean(np.asarray(sound, dtype=np.float64) ** 2))


@pytest.mark.parametrize("noise", NOISES)
def test_noise_has_power_one_and_is_always_the_same(noise):
    assert power(noise()) == pytest.approx(1)
    noise.cache_clear()
    before = noise()
    noise.cache_clear()
    assert np.array_equal(before, noise())


def test_hum_falls_by_three_decibels_an_octave():
    spectrum = np.abs(np.fft.rfft(pink_noise())) ** 2
    hz = np.fft.rfftfreq(len(pink_noise()), 1 / RATE)
    octaves = [np.mean(spectrum[(hz >= low) & (hz < 2 * low)]) for low in (125, 250, 500, 1000)]
    assert np.diff(10 * np.log10(octaves)) == pytest.approx(-3.0, abs=0.8)


def test_rasp_comes_in_bursts():
    """A steady noise is as loud in every 10 ms; this is not."""
    loud = [power(part) for part in click_noise().reshape(-1, RATE // 100)]
    assert np.max(loud) > 10 * np.median(loud)


@given(st.sampled_from(NOISES), st.floats(0, 30), st.integers(2_000, 40_000))
def test_the_noise_lies_so_far_below_the_word(noise, snr_db, count):
    word = slice(count // 4, count // 2)
    segment = np.zeros(count, dtype=np.int16)
    segment[word] = 3_000 * np.sign(np.sin(np.arange(word.stop - word.start)))
    added = in_noise(segment, word, noise(), snr_db).astype(np.float64) - segment
    wanted = power(segment[word]) / 10 ** (snr_db / 10) * power(np.resize(noise(), count))
    assert power(added) == pytest.approx(wanted, rel=0.05)


def test_what_is_too_loud_for_a_sample_is_cut_off_and_not_turned_over():
    segment = np.full(8_000, 32_000, dtype=np.int16)
    noisy = in_noise(segment, slice(0, 8_000), pink_noise(), 0.0)
    assert noisy.dtype == np.int16
    assert noisy.max() == 32_767

"""Sound at another rate, against SciPy's polyphase filter."""

import itertools

import numpy as np
import pytest
import scipy
from hypothesis import given
from hypothesis import strategies as st

from caller.devices.sound.resample import StreamResampler, resampled


def sweep(rate: int, seconds: float = 1.0) -> np.ndarray:
    """A tone that rises from 100 Hz to 3,000 Hz, within the band of every rate used here."""
    time_s = np.arange(round(rate * seconds)) / rate
    phase = 2 * np.pi * (100 * time_s + 2900 * time_s**2 / (2 * seconds))
    return (12_000 * np.sin(phase)).astype(np.int16)


@pytest.mark.parametrize(
    ("from_rate", "to_rate"),
    [(22_050, 48_000), (22_050, 16_000), (48_000, 16_000), (44_100, 16_000), (8_000, 22_050)],
)
def test_the_same_as_a_polyphase_filter(from_rate, to_rate):
    given_sound = sweep(from_rate)
    found = resampled(given_sound, from_rate, to_rate)
    divisor = np.gcd(from_rate, to_rate)
    given_sound = given_sound.astype(float)
    expected = scipy.signal.resample_poly(given_sound, to_rate // divisor, from_rate // divisor)
    assert found.dtype == np.int16
    assert len(found) == pytest.approx(to_rate, abs=1)
    middle = slice(to_rate // 20, -to_rate // 20)  # the two treat the ends differently
    assert np.abs(found[middle] - expected[: len(found)][middle]).max() < 120  # of 12,000


def test_the_same_rate_and_nothing():
    sound = sweep(16_000)
    assert resampled(sound, 16_000, 16_000) is sound
    assert len(resampled(sound[:0], 16_000, 48_000)) == 0


@given(st.lists(st.integers(0, 3000), min_size=1, max_size=12))
def test_block_by_block_is_the_same_as_whole(sizes):
    sound = np.resize(sweep(48_000), sum(sizes))
    stream = StreamResampler(48_000, 16_000)
    bounds = np.cumsum([0, *sizes])
    found = np.concatenate([stream.feed(sound[a:b]) for a, b in itertools.pairwise(bounds)])
    whole = resampled(sound, 48_000, 16_000)
    assert 0 <= len(whole) - len(found) < 1600, "less than a tenth of a second is held back"
    settled = len(found)
    assert np.abs(found.astype(int) - whole[:settled].astype(int)).max(initial=0) <= 40

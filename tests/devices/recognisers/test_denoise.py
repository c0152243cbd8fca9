"""Steady noise is taken out of a segment, and what is said stays."""

import numpy as np
import pytest
import sounds
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.devices.recognisers.denoise import denoised

QUIET_S = 0.3


def word_in(noise, snr_db, seed=1):
    """A tone that swells and falls, with quiet around, as a segment has it; and where it lies."""
    word = sounds.tone(440, 0.6, 8_000)
    return sounds.in_noise(word, noise, snr_db, QUIET_S), slice(
        round(QUIET_S * sounds.RATE), round(QUIET_S * sounds.RATE) + len(word)
    )


def power(sound):
    return float(np.mean(sound.astype(float) ** 2))


@pytest.mark.parametrize("noise", [sounds.pink, sounds.carriage_rasp])
@pytest.mark.parametrize("snr_db", [5, 10])
def test_the_noise_gets_softer_and_the_word_does_not(noise, snr_db):
    heard, word = word_in(noise(2.0), snr_db)
    cleaned = denoised(heard)
    before, after = heard[: word.start], cleaned[: word.start]
    assert 10 * np.log10(power(before) / power(after)) > 7
    clean = sounds.tone(440, 0.6, 8_000).astype(float)
    kept = np.dot(cleaned[word].astype(float), clean) / np.dot(clean, clean)
    assert kept == pytest.approx(1.0, abs=0.1)
    error = power(cleaned[word] - clean), power(heard[word] - clean)
    assert error[0] < error[1] / 2


def test_a_word_without_noise_stays_as_it_is():
    quiet = np.zeros(round(QUIET_S * sounds.RATE), dtype=np.int16)
    word = sounds.say("next row")
    segment = np.concatenate([quiet, word, quiet])
    assert np.max(np.abs(denoised(segment).astype(int) - segment)) <= 2


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 20_000), st.integers(0, 32_767), st.integers(0, 10**6))
def test_any_sound_gives_one_as_long(count, level, seed):
    random = np.random.default_rng(seed)
    segment = random.integers(-level, level + 1, count).astype(np.int16)
    cleaned = denoised(segment)
    assert cleaned.dtype == np.int16
    assert len(cleaned) == count
    assert power(cleaned) <= power(segment) * 1.05 + 1 if count else True

"""The level meter against signals whose level is known."""

import math

import numpy as np
import pytest
import sounds
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.listening.level import (
    CLIPPED_S,
    LOWEST_DB,
    Fault,
    SilenceWatch,
    bar,
    fault_of,
    is_silent,
    measured,
)

RATE = 16_000
DB = st.floats(-50, -1)


def sine(hertz=997.0, seconds=1.0, peak=32767.0) -> np.ndarray:
    time_s = np.arange(round(seconds * RATE)) / RATE
    return np.rint(peak * np.sin(2 * np.pi * hertz * time_s)).astype(np.int16)


def noise(decibels: float, seconds=1.0, number=1) -> np.ndarray:
    sigma = 32768 * 10 ** (decibels / 20)
    random = np.random.default_rng(number)
    sound = np.rint(random.normal(0, sigma, round(seconds * RATE)))
    return np.clip(sound, -32768, 32767).astype(np.int16)


def test_a_full_scale_sine():
    """RMS over peak of a sine is 1/sqrt 2, which is -3.0103 dB (computed)."""
    level = measured(sine())
    assert level.rms_db == pytest.approx(20 * math.log10(1 / math.sqrt(2)), abs=0.01)
    assert level.peak_db == pytest.approx(0, abs=0.01)


def test_it_agrees_with_a_loudness_meter():
    """ITU-R BS.1770: a full-scale sine of 997 Hz in one channel has -3.01 LUFS (second-hand, by
    pyloudnorm), and at this pitch its weighting changes nothing."""
    import pyloudnorm  # loads scipy.signal, for long

    meter = pyloudnorm.Meter(RATE)
    for peak in (32767, 8000, 1000, 100):
        sound = sine(seconds=4, peak=peak)
        loudness = meter.integrated_loudness(sound / 32768)
        assert measured(sound).rms_db == pytest.approx(loudness, abs=0.1)


def test_a_full_scale_square_wave_is_nought():
    square = np.where(np.arange(RATE) % 32 < 16, 32767, -32768).astype(np.int16)
    level = measured(square)
    assert level.rms_db == pytest.approx(0, abs=0.001)
    assert level.clipped_s == 1.0, "all of it is at the top or the bottom"


def test_silence_and_nothing():
    for samples in (np.zeros(RATE, dtype=np.int16), np.zeros(0, dtype=np.int16)):
        level = measured(samples)
        assert (level.rms_db, level.peak_db, level.floor_db) == (LOWEST_DB,) * 3
        assert level.silent
        assert level.clipped_s == 0


def test_the_softest_sound_is_above_silence():
    one = np.zeros(800, dtype=np.int16)
    one[400] = 1
    assert LOWEST_DB < measured(one).rms_db == pytest.approx(-119.34, abs=0.01)
    assert measured(one).silent, "yet one bit of it is what changing the rate leaves in silence"
    one[400] = -2
    assert not measured(one).silent


def test_silence_at_another_rate_is_silence():
    from caller.devices.sound.resample import StreamResampler

    for rate in (44_100, 48_000):
        stream = StreamResampler(rate, RATE)
        samples = [stream.feed(np.zeros(rate // 10, dtype=np.int16)) for _ in range(10)]
        assert is_silent(np.concatenate(samples))


@given(DB, st.integers(0, 2**32 - 1))
def test_noise_has_its_power(decibels, number):
    """The RMS of noise is its standard deviation."""
    level = measured(noise(decibels - 12, number=number))
    assert level.rms_db == pytest.approx(decibels - 12, abs=0.25)
    assert level.floor_db <= level.rms_db <= level.loudest_db <= level.peak_db


@given(st.lists(st.integers(-32768, 32767), max_size=3000))
def test_any_samples(values):
    samples = np.array(values, dtype=np.int16)
    level = measured(samples)
    assert level.seconds == len(values) / RATE
    assert LOWEST_DB <= level.floor_db <= level.loudest_db <= 0
    assert level.rms_db <= level.peak_db <= 0
    assert 0 <= level.clipped_s <= level.seconds
    assert level.silent == all(abs(value) <= 1 for value in values)


def test_the_floor_is_the_room_and_the_loudest_the_word():
    """A word of two tenths of a second in five seconds of room."""
    room = noise(-65, 5)
    word = sine(300, 0.3, 5000)
    sound = np.concatenate([room[: 2 * RATE], word, room[2 * RATE :]])
    level = measured(sound)
    assert level.floor_db == pytest.approx(-65, abs=1)
    assert level.loudest_db == pytest.approx(20 * math.log10(5000 / 32768 / math.sqrt(2)), abs=0.2)


@given(st.floats(50, 3000), st.floats(100, 32000))
def test_a_sine_that_fits_is_not_clipped(hertz, peak):
    assert measured(sine(hertz, peak=peak)).clipped_s <= CLIPPED_S


@given(st.floats(80, 500), st.floats(1.5, 8), st.sampled_from([32767, 20000, 9000]))
def test_a_sine_that_was_cut_off_is(hertz, times, limit):
    """Also where it was cut off before it was turned down again."""
    whole = limit * times * np.sin(2 * np.pi * hertz * np.arange(RATE) / RATE)
    clipped = measured(np.clip(whole, -limit, limit).astype(np.int16)).clipped_s
    truly = np.count_nonzero(np.abs(whole) >= limit) / RATE
    assert CLIPPED_S < clipped <= truly + 0.001


def test_speech_that_was_cut_off_is_and_other_speech_is_not():
    word = sounds.say("next row").astype(float)
    word /= np.abs(word).max()
    assert measured((word * 32000).astype(np.int16)).clipped_s == 0
    loud = np.clip(word * 4 * 32768, -32768, 32767).astype(np.int16)
    assert measured(loud).clipped_s > CLIPPED_S


QUIET = measured(noise(-70))
SILENT = measured(np.zeros(RATE, dtype=np.int16))


@pytest.mark.parametrize(
    ("room", "voice", "fault"),
    [
        (SILENT, None, Fault.SILENT),
        (SILENT, SILENT, Fault.SILENT),
        (SILENT, measured(sine(peak=8000)), None),  # a driver that lets nothing but speech pass
        (QUIET, None, None),
        (QUIET, measured(noise(-65)), Fault.TOO_QUIET),
        (QUIET, measured(noise(-50)), None),
        (QUIET, measured(np.clip(sine() * 4.0, -32768, 32767).astype(np.int16)), Fault.CLIPPED),
        (measured(noise(-30)), measured(noise(-25)), Fault.NOISY),
        (measured(noise(-45)), measured(noise(-25)), None),
    ],
)
def test_what_is_wrong(room, voice, fault):
    assert fault_of(room, voice) is fault


def test_every_fault_says_what_and_what_to_do():
    for fault in Fault:
        assert fault.finding.endswith(".")
        assert fault.remedy.endswith(".")


@given(st.floats(-120, 0), st.floats(-120, 0))
def test_the_bar_grows_with_the_level(first, second):
    low, high = sorted((first, second))
    assert bar(low).count("#") <= bar(high).count("#")
    assert len(bar(low)) == len(bar(high))


def test_the_bar():
    assert bar(0) == f"[{'#' * 30}]    0 dB"
    assert bar(-30) == f"[{'#' * 15}{'-' * 15}]  -30 dB"
    assert bar(LOWEST_DB) == f"[{'-' * 30}] -120 dB"


@given(st.lists(st.tuples(st.integers(1, 4000), st.sampled_from([0, 1, 2, 900])), max_size=40))
def test_silence_is_told_once_and_only_after_so_long(blocks):
    watch = SilenceWatch(after_s=0.5)
    silent, told = 0, 0
    for length, value in blocks:
        silent = silent + length if value <= 1 else 0
        if watch.feed(np.full(length, value, dtype=np.int16)):
            told += 1
            assert silent >= 0.5 * RATE
        assert silent < 0.5 * RATE or told == 1
    assert told <= 1

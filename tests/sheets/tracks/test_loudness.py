"""The loudness of tracks, checked against the test signals of EBU Tech 3341."""

import math
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.calling.ports import SoundBlock
from caller.devices.voices.espeak import EspeakVoice
from caller.sheets.tracks.loudness import levelled, loudness_lufs, true_peaks

# EBU Tech 3341, "EBU Mode" metering, minimum requirements, signals 1 to 5: a stereo sine of 1 kHz,
# in phase, as (level in dBFS peak, seconds). Expected -23.0 LUFS (signal 2: -33.0), within 0.1 LU.
# Second-hand: read in the published tests of an open-source meter, not in the document itself.
EBU_SIGNALS = {
    1: [(-23.0, 20.0)],
    2: [(-33.0, 20.0)],
    3: [(-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0)],
    4: [(-72.0, 10.0), (-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0), (-72.0, 10.0)],
    5: [(-26.0, 20.0), (-20.0, 20.1), (-26.0, 20.0)],
}

# The same document, signals 15 to 19 for true peak: a sine of rate / divider at this phase and
# amplitude, and the true peak expected, within +0.2 and -0.4 dB. Second-hand in the same way.
EBU_TRUE_PEAKS = {
    15: (4, 0.0, 0.50, -6.0),
    16: (4, 45.0, 0.50, -6.0),
    17: (6, 60.0, 0.50, -6.0),
    18: (8, 67.5, 0.50, -6.0),
    19: (4, 45.0, 1.41, 3.0),
}


def sine(level_dbfs: float, seconds: float, rate: int, pitch_hz: float = 1000) -> np.ndarray:
    times = np.arange(round(seconds * rate)) / rate
    return 10 ** (level_dbfs / 20) * np.sin(2 * np.pi * pitch_hz * times)


def true_peak_dbtp(samples: np.ndarray) -> float:
    """The highest true peak in decibels below full scale; -inf for silence."""
    highest = true_peaks(samples).max(initial=0)
    return 20 * math.log10(highest) if highest > 0 else -math.inf


def block(samples: np.ndarray, rate: int = 22_050) -> SoundBlock:
    return SoundBlock((np.clip(samples, -1, 1) * 32767).astype(np.int16), rate)


def measured(levelled_block: SoundBlock) -> tuple[float, float]:
    samples = levelled_block.samples / 32768
    return loudness_lufs(samples, levelled_block.rate), true_peak_dbtp(samples)


@pytest.mark.parametrize("rate", [48_000, 22_050])  # the standard's, and the voice's
@pytest.mark.parametrize("number", EBU_SIGNALS)
def test_the_signals_of_the_standard(number, rate):
    one = np.concatenate([sine(level, seconds, rate) for level, seconds in EBU_SIGNALS[number]])
    stereo = np.stack([one, one], axis=1)
    assert loudness_lufs(stereo, rate) == pytest.approx(-33 if number == 2 else -23, abs=0.1)


@pytest.mark.parametrize("number", EBU_TRUE_PEAKS)
def test_the_true_peaks_of_the_standard(number):
    divider, phase, amplitude, expected = EBU_TRUE_PEAKS[number]
    turns = np.arange(48_000) / divider + phase / 360
    tapered = np.minimum(1, np.minimum(np.arange(48_000), np.arange(48_000)[::-1]) / 4800)
    found = true_peak_dbtp(amplitude * np.sin(2 * np.pi * turns) * tapered)
    assert expected - 0.4 <= found <= expected + 0.2


def test_one_channel_is_three_lu_below_two():
    one = sine(-20, 3, 48_000)  # BS.1770 adds up the power of the channels: 10 log 2 = 3.01
    both = loudness_lufs(np.stack([one, one], axis=1), 48_000)
    assert both - loudness_lufs(one, 48_000) == pytest.approx(3.01, abs=0.01)


def test_a_short_sound_has_the_loudness_of_its_own():
    assert loudness_lufs(sine(-20, 0.1, 48_000), 48_000) == pytest.approx(
        loudness_lufs(sine(-20, 5, 48_000), 48_000), abs=0.3
    )


@pytest.mark.parametrize("samples", [[], [0], [0] * 50_000, [1, -1] * 20_000])
def test_silence_stays_silence(samples):
    quiet = SoundBlock(np.array(samples, dtype=np.int16), 22_050)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert levelled(quiet) is quiet
    assert true_peak_dbtp(quiet.samples / 32768) == (
        -math.inf if not any(samples) else pytest.approx(-90, abs=3)
    )


@pytest.mark.parametrize("rate_wpm", [90, 160, 300])
@pytest.mark.parametrize(("target", "peak"), [(-16, -1), (-16, -2), (-23, -1), (-15, -1)])
def test_speech_is_as_loud_as_asked_for(rate_wpm, target, peak):
    voice = EspeakVoice(rate_wpm=rate_wpm)
    text = "Row twelve, to the right. Navy, to left twenty. Ivory, to right five."
    sound = np.concatenate([b.samples for b in voice.render(text)])
    made = levelled(SoundBlock(sound, voice.rate), target, peak)
    loudness, highest = measured(made)
    assert loudness == pytest.approx(target, abs=0.12)
    assert highest <= peak + 0.02
    assert len(made.samples) == len(sound)
    assert made.rate == voice.rate


def test_limiting_leaves_the_rest_alone():
    rate = 22_050
    sound = sine(-30, 4, rate, 200)
    sound[2 * rate : 2 * rate + 40] += sine(-6, 40 / rate, rate, 2000)  # a click of 2 ms
    made = levelled(block(sound), -24, -6).samples / block(sound).samples.clip(min=1)
    loud = np.abs(block(sound).samples) > 500
    far = np.arange(len(sound))[loud & (np.abs(np.arange(len(sound)) - 2 * rate) > 0.02 * rate)]
    gains = made[far][block(sound).samples[far] > 0]
    assert gains.max() / gains.min() < 1.01  # one gain everywhere but at the click


def test_a_lone_click_is_not_blown_up():
    rate = 22_050
    sound = sine(-50, 3, rate)
    sound[rate] = 0.9
    loudness, highest = measured(levelled(block(sound)))
    assert loudness < -20  # limiting it by 12 dB does not make -16
    assert highest <= -0.98


@settings(max_examples=30, deadline=None)
@given(
    st.integers(0, 2**32 - 1),
    st.floats(0.01, 1.2),
    st.floats(0.001, 1.0),
    st.floats(0, 30),
    st.sampled_from([8_000, 22_050, 48_000]),
)
def test_no_peak_above_the_ceiling(number, seconds, level, spikiness, rate):
    random = np.random.default_rng(number)
    noise = random.normal(size=max(2, round(seconds * rate)))
    spiky = np.sign(noise) * np.abs(noise) ** (1 + spikiness / 10)
    given_block = block(level * spiky / np.abs(spiky).max(), rate)
    loudness, highest = measured(levelled(given_block))
    assert highest <= -0.9
    assert loudness <= -15.9 or loudness == pytest.approx(-16, abs=0.15)
    assert loudness >= min(-16.15, measured(given_block)[0] - 0.5)

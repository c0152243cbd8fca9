"""Cepstra against an independent computation from the published formulas.

The mel scale 1127 ln(1 + f / 700) is O'Shaughnessy's (Speech Communication, 1987), the cosine
transform and lifter those of the HTK Book, section 5.6 (all from memory); numpy computes them.
"""

import numpy as np
import pytest
import sounds

from caller.calling.listening.blocks import RATE
from caller.devices.recognisers.own_voice.mfcc import (
    BANDS,
    CEPSTRA,
    HIGH_HZ,
    LOW_HZ,
    STEP_SAMPLES,
    cepstra,
)

FRAME_SAMPLES = RATE // 40  # 25 ms

FFT = 512
LIFTER = 22
PREEMPHASIS = 0.97


def mel(hz):
    return 1127 * np.log(1 + np.asarray(hz) / 700)


def frames_of(sound):
    count = 1 + (len(sound) - FRAME_SAMPLES) // STEP_SAMPLES
    segment = np.stack([sound[i * STEP_SAMPLES :][:FRAME_SAMPLES] for i in range(count)]).astype(
        float
    )
    segment -= segment.mean(axis=1, keepdims=True)
    before = np.concatenate([segment[:, :1], segment[:, :-1]], axis=1)
    window = 0.54 - 0.46 * np.cos(2 * np.pi * np.arange(FRAME_SAMPLES) / (FRAME_SAMPLES - 1))
    return (segment - PREEMPHASIS * before) * window


def computed(sound):
    power = np.abs(np.fft.rfft(frames_of(sound), FFT)) ** 2
    edges = np.linspace(mel(LOW_HZ), mel(HIGH_HZ), BANDS + 2)
    at = mel(np.arange(FFT // 2 + 1) * RATE / FFT)
    triangles = [
        np.clip(np.minimum((at - low) / (peak - low), (high - at) / (high - peak)), 0, None)
        for low, peak, high in zip(edges, edges[1:], edges[2:], strict=False)
    ]
    logs = np.log(power @ np.array(triangles).T)
    number, band = np.ogrid[:CEPSTRA, :BANDS]
    cosines = np.sqrt(2 / BANDS) * np.cos(np.pi * number * (band + 0.5) / BANDS)
    cosines[0] = np.sqrt(1 / BANDS)
    lift = 1 + LIFTER / 2 * np.sin(np.pi * np.arange(CEPSTRA) / LIFTER)
    return logs @ cosines.T * lift


@pytest.mark.parametrize(
    "sound",
    [
        pytest.param((sounds.pink(0.7) * 3000).astype(np.int16), id="pink noise"),
        pytest.param(sounds.tone(440, 0.5) + sounds.quiet(0.5), id="tone"),
        pytest.param(sounds.say("next row", "en-gb-scotland") + np.int16(3), id="speech"),
    ],
)
def test_cepstra_are_as_published(sound):
    sound = (sound + sounds.quiet(len(sound) / RATE)).astype(np.int16)
    want = computed(sound)
    found = cepstra(sound)
    assert found.shape == want.shape
    assert np.abs(found - want).max() < 0.02 * np.abs(want).max()


def test_louder_is_only_the_first_number():
    """The others tell the shape of the spectrum, whatever the loudness."""
    noise = (sounds.pink(0.7) * 3000).astype(np.int16)
    change = cepstra(noise * 2) - cepstra(noise)
    assert np.allclose(change[:, 0], np.sqrt(BANDS) * np.log(4), atol=1e-3)
    assert np.allclose(change[:, 1:], 0, atol=1e-3)


@pytest.mark.parametrize("samples", [0, 1, FRAME_SAMPLES - 1])
def test_less_than_a_frame_is_none(samples):
    assert cepstra(np.ones(samples, dtype=np.int16)).shape == (0, CEPSTRA)


def test_the_same_sound_is_the_same():
    assert np.array_equal(cepstra(sounds.say("back")), cepstra(sounds.say("back")))

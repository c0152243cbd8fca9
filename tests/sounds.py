"""Sounds for the tests of listening: synthetic speakers, noise, a carriage; the same every time."""

import json
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
Sound = NDArray[np.int16]

# English voices of espeak-ng with some of its speaker variants, men, women, and accents.
SPEAKERS = (
    "en-us",
    "en-us+f2",
    "en-us+m3",
    "en-us+f5",
    "en",
    "en+f3",
    "en+m7",
    "en-gb-x-rp",
    "en-gb-x-rp+f4",
    "en-gb-scotland",
    "en-gb-x-gbclan+m2",
    "en-gb-x-gbcwmd+f1",
    "en-029",
    "en-us-nyc",
    "en-us+m5",
)


@cache
def spoken(
    texts: tuple[str, ...], voice: str = "en-us", wpm: int = 140, pitch: int = 50
) -> tuple[Sound, ...]:
    """Each text spoken by an espeak-ng voice ("en-us", "en+f3"), int16 at 16 kHz.

    `pitch` is 0 to 99 about the voice's own 50.
    """
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder, "spoken.raw")
        asked = {"texts": texts, "voice": voice, "wpm": wpm, "pitch": pitch, "out": str(out)}
        lengths = json.loads(_answer(json.dumps(asked)))
        made, sounds = out.read_bytes(), []
    for length in lengths:
        sounds.append(_at_16k(np.frombuffer(made[:length], dtype=np.int16)))
        made = made[length:]
    return tuple(sounds)


_SPEAKERS: dict[int, "subprocess.Popen[str]"] = {}
_ONE_AT_A_TIME = threading.Lock()


def _answer(request: str) -> str:
    """What espeak_child.py answers; a process has one of its own, which ends with it."""
    with _ONE_AT_A_TIME:
        speaker = _SPEAKERS.get(os.getpid())
        if speaker is None or speaker.poll() is not None:
            child = Path(__file__).with_name("espeak_child.py")
            speaker = _SPEAKERS[os.getpid()] = subprocess.Popen(
                [sys.executable, child], stdin=-1, stdout=-1, text=True
            )
        assert speaker.stdin is not None
        assert speaker.stdout is not None
        speaker.stdin.write(f"{request}\n")
        speaker.stdin.flush()
        answer = speaker.stdout.readline()
        if not answer or not hasattr(os, "fork"):
            speaker.wait()
        assert answer, f"espeak-ng did not speak: {request}"
        return answer


def _at_16k(sound: Sound) -> Sound:
    """espeak-ng's 22,050 samples a second to 16,000."""
    from scipy import signal

    changed = signal.resample_poly(sound.astype(float), 320, 441)
    return np.clip(changed, -32768, 32767).astype(np.int16)


def say(text: str, voice: str = "en-us", wpm: int = 140) -> Sound:
    return spoken((text,), voice, wpm)[0]


def quiet(seconds: float) -> Sound:
    """A quiet room: faint hiss, 70 dB below full scale."""
    return (np.random.default_rng(1).normal(0, 10, round(seconds * RATE))).astype(np.int16)


def apart(words: Sequence[Sound], gap_s: float = 0.8) -> Sound:
    """The words one after another with a quiet room before, between and behind."""
    gap = quiet(gap_s)
    return np.concatenate([gap, *(part for word in words for part in (word, gap))])


def pink(seconds: float, number: int = 1) -> NDArray[np.float64]:
    """Pink noise (power falls with 1/f), of power 1."""
    count = round(seconds * RATE)
    spectrum = np.fft.rfft(np.random.default_rng(number).normal(size=count))
    spectrum /= np.sqrt(np.maximum(np.arange(len(spectrum)), 1))
    return _power_one(np.fft.irfft(spectrum, count))


def carriage_rasp(seconds: float, number: int = 1) -> NDArray[np.float64]:
    """A carriage passing over needles, invented: 70 clicks a second between 800 Hz and 6 kHz, each
    ringing for a few milliseconds, over a low rumble. Of power 1.
    """
    from scipy import signal

    count, random = round(seconds * RATE), np.random.default_rng(number)
    clicks = np.zeros(count)
    steps = np.cumsum(random.normal(RATE / 70, RATE / 700, round(seconds * 90) + 2)).astype(int)
    steps = steps[(steps >= 0) & (steps < count)]
    clicks[steps] = random.uniform(0.5, 1, len(steps))
    ring_s = np.arange(round(0.012 * RATE)) / RATE
    burst = random.normal(size=len(ring_s)) * np.exp(-ring_s / 0.003)
    band = signal.butter(2, [800, 6000], "bandpass", fs=RATE, output="sos")
    low = signal.butter(2, 200, "lowpass", fs=RATE, output="sos")
    click_noise = signal.sosfilt(
        band, np.convolve(clicks, burst)[:count] + random.normal(0, 0.02, count)
    )
    rumble = signal.sosfilt(low, random.normal(size=count))
    return _power_one(_power_one(click_noise) + 0.3 * _power_one(rumble))


def with_noise(word: Sound, noise: NDArray[np.float64], snr_db: float) -> Sound:
    """The word over noise of the same length: the word's mean power is `snr_db` above it."""
    power = np.mean(word.astype(float) ** 2)
    mixed = word + noise[: len(word)] * np.sqrt(power / 10 ** (snr_db / 10))
    return np.clip(mixed, -32768, 32767).astype(np.int16)


def in_noise(word: Sound, noise: NDArray[np.float64], snr_db: float, gap_s: float = 0.8) -> Sound:
    """The word with silence around it, all of it in noise `snr_db` below the word itself."""
    gap = np.zeros(round(gap_s * RATE))
    level = np.sqrt(np.mean(word.astype(float) ** 2) / 10 ** (snr_db / 10))
    sound = np.concatenate([gap, word, gap])
    mixed = sound + np.resize(noise, len(sound)) * level
    return np.clip(mixed, -32768, 32767).astype(np.int16)


def tone(pitch_hz: float, seconds: float, peak: int = 12_000) -> Sound:
    return (np.sin(2 * np.pi * pitch_hz * np.arange(round(seconds * RATE)) / RATE) * peak).astype(
        np.int16
    )


def _power_one(sound: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(sound / np.sqrt(np.mean(sound**2)))

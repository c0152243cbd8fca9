"""Short sounds without words, made here so that none needs a file."""

import numpy as np

from caller.calling.ports import SoundBlock

PEAK = 0.25
"""Of full scale: heard beside speech without startling."""


def _tones(rate: int, *tones: tuple[float, float]) -> SoundBlock:
    """One tone after the other, each (Hz, seconds), with 5 ms slopes so that nothing clicks."""
    parts = []
    for pitch_hz, seconds in tones:
        time_s = np.arange(round(seconds * rate)) / rate
        slope = np.clip(np.minimum(time_s, seconds - time_s) / 0.005, 0, 1)
        parts.append(np.sin(2 * np.pi * pitch_hz * time_s) * slope)
    return SoundBlock((np.concatenate(parts) * PEAK * 32767).astype(np.int16), rate)


def heard(rate: int) -> SoundBlock:
    """A command was accepted: one short high note."""
    return _tones(rate, (1320, 0.06))


def not_understood(rate: int) -> SoundBlock:
    """Something was pressed or typed that is no command: one low note."""
    return _tones(rate, (330, 0.12))


def trouble(rate: int) -> SoundBlock:
    """Something needs the knitter: two falling notes."""
    return _tones(rate, (660, 0.12), (440, 0.2))

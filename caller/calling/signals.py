"""Short sounds without words, made here so that none needs a file, and all equally loud."""

from enum import Enum

import numpy as np

from caller.calling.ports import SoundBlock

LOUDNESS_LUFS = -20.0
"""About that of the voice that comes with the program."""
_SLOPE_S = 0.005  # so that nothing clicks


class Signal(Enum):
    """What can be told by a tone: the notes of each, as (Hz, seconds).

    What rises goes to the right, as on a keyboard instrument; what falls, to the left.
    """

    HEARD = ((1320, 0.06),)
    NOT_UNDERSTOOD = ((330, 0.12),)
    TROUBLE = ((660, 0.12), (440, 0.2))
    YOUR_TURN = ((990, 0.1),)
    ROW_FINISHED = ((880, 0.06), (880, 0.06))
    CARRIAGE_RIGHT = ((550, 0.07), (825, 0.07))
    CARRIAGE_LEFT = ((825, 0.07), (550, 0.07))


def sound(signal: Signal, rate: int) -> SoundBlock:
    """The signal as sound, its notes one after the other."""
    parts = []
    for pitch_hz, seconds in signal.value:
        time_s = np.arange(round(seconds * rate)) / rate
        slope = np.clip(np.minimum(time_s, seconds - time_s) / _SLOPE_S, 0, 1)
        note = np.sin(2 * np.pi * pitch_hz * time_s) * slope
        parts.append(note * _amplitude(pitch_hz) / np.sqrt(2 * np.mean(note**2)))
    return SoundBlock((np.concatenate(parts) * 32767).astype(np.int16), rate)


def _amplitude(pitch_hz: float) -> float:
    """The amplitude of a sine, full scale being 1, at which its loudness is LOUDNESS_LUFS.

    ITU-R BS.1770: loudness = -0.691 + 10 log10 of the power after K-weighting, whose two filters
    stand there for 48,000 samples a second (coefficients from memory; a test compares them with
    pyloudnorm).
    """
    shelf = (
        (1.53512485958697, -2.69169618940638, 1.19839281085285),
        (-1.69065929318241, 0.73248077421585),
    )
    high_pass = ((1.0, -2.0, 1.0), (-1.99004745483398, 0.99007225036621))
    z = np.exp(-2j * np.pi * pitch_hz / 48_000)
    gain = 1.0
    for (b0, b1, b2), (a1, a2) in (shelf, high_pass):
        gain *= abs((b0 + b1 * z + b2 * z**2) / (1 + a1 * z + a2 * z**2))
    power = 10 ** ((LOUDNESS_LUFS + 0.691) / 10)
    return float(np.sqrt(2 * power) / gain)

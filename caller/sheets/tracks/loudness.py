"""Loudness: every track as loud as the next one, and none of them clipped.

Measured as ITU-R BS.1770 and EBU R 128 describe: integrated loudness in LUFS, gated, and true peak
in dBTP, between the samples too. The sound is mono, so that on two loudspeakers it is 3 LU louder.
"""

import math

import numpy as np
from numpy.typing import NDArray

from caller.calling.ports import SoundBlock

TARGET_LUFS = -16.0
PEAK_DBTP = -1.0
"""The highest true peak that EBU R 128 allows (second-hand)."""
MOST_LIMITING_DB = 12.0
"""How far a peak is pressed down at most; a sound with higher peaks stays quieter instead."""

_SHORTEST_S = 0.4  # one gating block of BS.1770
_REACH_S = 0.005  # a limiter that is heard as none lets go within milliseconds
_NEAR_LU = 0.1
_ROUNDS = 8
_FULL_SCALE = 32768

Floats = NDArray[np.float64]


def loudness_lufs(samples: Floats, rate: int) -> float:
    """The integrated loudness of samples (n,) or (n, channels), 1.0 being full scale.

    -inf when nothing is louder than -70 LUFS. BS.1770 measures nothing shorter than 0.4 s; a
    shorter sound is measured as if it were repeated that long, so that its loudness is its own and
    not that of the silence around it.
    """
    import pyloudnorm

    if len(samples) == 0:
        return -math.inf
    repeats = math.ceil(_SHORTEST_S * rate / len(samples))
    if repeats > 1:
        samples = np.concatenate([samples] * repeats)
    return float(pyloudnorm.Meter(rate).integrated_loudness(samples))


def levelled(
    block: SoundBlock, target_lufs: float = TARGET_LUFS, peak_dbtp: float = PEAK_DBTP
) -> SoundBlock:
    """The block at this loudness, with no true peak above `peak_dbtp`.

    Speech whose peaks stand in the way is limited: for a few milliseconds around such a peak the
    gain goes down and up again. Where that would take more than 12 dB the block stays quieter than
    asked for. Silence stays as it is.
    """
    samples = block.samples / _FULL_SCALE
    loudness = loudness_lufs(samples, block.rate)
    if loudness == -math.inf:
        return block
    peaks, ceiling = true_peaks(samples), _factor(peak_dbtp)
    most_db = peak_dbtp - _decibels(float(peaks.max())) + MOST_LIMITING_DB
    gain_db = min(target_lufs - loudness, most_db)
    for _ in range(_ROUNDS):
        factor = _factor(gain_db)
        result = samples * factor * _limiting(peaks * factor, ceiling, block.rate)
        missing = target_lufs - loudness_lufs(result, block.rate)
        if abs(missing) <= _NEAR_LU or (gain_db == most_db and missing > 0):
            break
        # Of what is added to speech, limiting takes about half away again (measured).
        gain_db = min(gain_db + 2 * missing, most_db)
    whole = np.clip(np.round(result * _FULL_SCALE), -_FULL_SCALE, _FULL_SCALE - 1)
    return SoundBlock(whole.astype(np.int16), block.rate)


def true_peaks(samples: Floats) -> Floats:
    """The highest true peak at or just after each sample, (n,)."""
    from scipy.signal import resample_poly

    if len(samples) == 0:
        return np.zeros(0)
    over = np.abs(resample_poly(samples, 4, 1))
    highest: Floats = np.maximum(
        np.maximum(over[::4], over[1::4]), np.maximum(over[2::4], over[3::4])
    )
    return highest


def _limiting(peaks: Floats, ceiling: float, rate: int) -> Floats:
    """The gain, at most 1, that keeps every peak at the ceiling: smooth, and never too late.

    The least gain needed within reach is held and then averaged over the same reach, so that the
    average is nowhere more than what is needed there.
    """
    from scipy.ndimage import minimum_filter1d, uniform_filter1d

    reach = 2 * math.ceil(_REACH_S * rate) + 1
    held = minimum_filter1d(ceiling / np.maximum(peaks, ceiling), reach, mode="nearest")
    gain: Floats = uniform_filter1d(held, reach, mode="nearest")
    return gain


def _factor(decibels: float) -> float:
    return float(10 ** (decibels / 20))


def _decibels(factor: float) -> float:
    return 20 * math.log10(factor)

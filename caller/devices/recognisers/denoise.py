"""Takes steady noise, such as a carriage or a fan, out of a segment: pure.

A Wiener filter in the short-time spectrum (Lim and Oppenheim 1979, Proceedings of the IEEE
67:1586): each band of each moment is kept by the share of it that is above the noise. The noise is
what the segment holds before its talk and behind it.
"""

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import RATE

_FRAME, _HOP = 512, 128
_WINDOW = np.sqrt(np.hanning(_FRAME + 1)[:-1])
"""Twice applied, before and after, it adds up to two over hops of a quarter."""
_OVER_ALL = _FRAME / _HOP / 2

BEFORE_S, BEHIND_S = 0.2, 0.1
"""As much quiet as every segment has, also one that is looked at early."""
SMOOTH = 5
"""Frames over which power is averaged before it is compared with the noise: 40 ms."""
LEAST = 0.1
"""As much of the amplitude is always kept: silence between words would be a noise of its own."""


def denoised(segment: NDArray[np.int16]) -> NDArray[np.int16]:
    """The segment (16,000 samples a second) with its steady noise up to 20 dB softer.

    Unchanged where it is too short to hold any quiet.
    """
    before, behind = (round(seconds * RATE / _HOP) for seconds in (BEFORE_S, BEHIND_S))
    if len(segment) < (before + behind) * _HOP + _FRAME:
        return segment
    padded = np.pad(segment.astype(np.float64), (_FRAME, 2 * _FRAME))
    count = (len(padded) - _FRAME) // _HOP + 1
    frames = np.lib.stride_tricks.sliding_window_view(padded, _FRAME)[::_HOP][:count]
    spectrum = np.fft.rfft(frames * _WINDOW)
    power = np.abs(spectrum) ** 2
    # The frames that lie wholly within the segment begin after the padding.
    first, last = _FRAME // _HOP, len(segment) // _HOP
    noise = np.concatenate([power[first : first + before], power[last - behind + 1 : last + 1]])
    floor = np.maximum(noise.mean(axis=0), 1.0)
    above = np.maximum(_averaged(power) / floor - 1.0, 0.0)
    quieter = np.fft.irfft(spectrum * np.maximum(above / (above + 1.0), LEAST), _FRAME) * _WINDOW
    mixed = np.zeros(len(padded))
    for number, frame in enumerate(quieter):
        mixed[number * _HOP :][:_FRAME] += frame
    sound = mixed[_FRAME : _FRAME + len(segment)] / _OVER_ALL
    return np.asarray(np.clip(np.rint(sound), -32768, 32767), dtype=np.int16)


def _averaged(power: NDArray[np.float64]) -> NDArray[np.float64]:
    """Over SMOOTH frames about each."""
    edge = SMOOTH // 2
    sums = np.cumsum(np.pad(power, ((edge + 1, edge), (0, 0)), mode="edge"), axis=0)
    return np.asarray((sums[SMOOTH:] - sums[:-SMOOTH]) / SMOOTH)

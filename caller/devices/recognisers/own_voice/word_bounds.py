"""Where the word lies in a take: what is clearly louder than the quiet around it. Pure."""

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import RATE

_FRAME = RATE // 100
_QUIETEST = 5  # per cent of the take that are quiet at the least: little silence is enough
_ABOVE_DB = 7.0
_BELOW_TOP_DB = (6.0, 25.0)  # no part of a word lies farther below its loudest, and no quiet nearer
_SILENCE_DB = 10.0


def find_word(take: NDArray[np.int16]) -> slice:
    """An empty slice where there is nothing but silence, or less than 30 ms."""
    count = len(take) // _FRAME
    if count < 3:
        return slice(0, 0)
    frames = take[: count * _FRAME].astype(np.float64).reshape(-1, _FRAME)
    power = np.pad(np.mean(frames**2, axis=1), 1, mode="edge")
    level = 10 * np.log10((power[:-2] + power[1:-1] + power[2:]) / 3 + 1)
    top = np.mean(np.sort(level)[-3:])
    if top < _SILENCE_DB:
        return slice(0, 0)
    least, most = _BELOW_TOP_DB
    floor = np.percentile(level, _QUIETEST)
    loud = np.flatnonzero(level > np.clip(floor + _ABOVE_DB, top - most, top - least))
    first, last = max(0, loud[0] - 2), min(count, loud[-1] + 4)
    return slice(int(first * _FRAME), int(last * _FRAME))

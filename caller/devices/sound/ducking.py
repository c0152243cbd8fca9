"""Playing softer for a while, so that someone who speaks meanwhile is heard."""

import numpy as np
from numpy.typing import NDArray

SOFT_DB = -12.0
FALL_S = 0.02
HOLD_S = 1.0
RISE_S = 0.3


class Ducking:
    """The gain of a loudspeaker: full, or `SOFT_DB` for a second after it was last asked for.

    It counts the samples that pass and reads no clock.
    """

    def __init__(self, rate: int) -> None:
        self._soft = 10 ** (SOFT_DB / 20)
        self._fall = (1 - self._soft) / (FALL_S * rate)
        self._rise = (1 - self._soft) / (RISE_S * rate)
        self._hold = round(HOLD_S * rate)
        self._held = 0
        self._gain = 1.0

    def soften(self) -> None:
        """Softer from now on, for the next second."""
        self._held = self._hold

    def end(self) -> None:
        """At full strength at once: what comes now is something new."""
        self._held, self._gain = 0, 1.0

    def apply(self, samples: NDArray[np.int16]) -> NDArray[np.int16]:
        """The next samples, shape (n, channels), as loud as they should be now."""
        if self._held == 0 and self._gain == 1.0:
            return samples
        count = len(samples)
        soft = min(self._held, count)
        self._held -= soft
        falling = np.maximum(self._soft, self._gain - self._fall * np.arange(1, soft + 1))
        lowest = falling[-1] if soft else self._gain
        rising = np.minimum(1.0, lowest + self._rise * np.arange(1, count - soft + 1))
        gains = np.concatenate([falling, rising])
        self._gain = float(gains[-1]) if count else self._gain
        changed: NDArray[np.int16] = np.rint(samples * gains[:, None]).astype(np.int16)
        return changed

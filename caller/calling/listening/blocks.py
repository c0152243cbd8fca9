"""Sound in the blocks that the speech detector takes, whatever the pieces in which it comes."""

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
"""Samples a second of everything that is listened to."""

BLOCK_SAMPLES = 512
BLOCK_S = BLOCK_SAMPLES / RATE
"""32 ms: what the speech detector takes at a time."""


class Blocks:
    """Cuts a stream into blocks of `size` samples; what is no whole block yet waits."""

    def __init__(self, size: int = BLOCK_SAMPLES) -> None:
        self._size = size
        self._waiting = np.zeros(0, dtype=np.int16)

    def feed(self, samples: NDArray[np.int16]) -> NDArray[np.int16]:
        """Take the next samples, any number of them; the blocks they complete, shape (n, size)."""
        sound = np.concatenate([self._waiting, samples])
        whole = len(sound) - len(sound) % self._size
        self._waiting = sound[whole:]
        return sound[:whole].reshape(-1, self._size)

    def drop(self) -> int:
        """Forget what waits; how many samples that were."""
        dropped = len(self._waiting)
        self._waiting = self._waiting[:0]
        return dropped

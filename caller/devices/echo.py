"""Hearing while the loudspeaker speaks: its own sound taken out, by the AEC3 of WebRTC.

The library finds by itself how late the echo comes, up to half a second. Its noise suppression
stays off.
"""

import queue
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from caller.calling.cutting import RATE
from caller.calling.side_by_side import SideBySide
from caller.devices.resample import StreamResampler
from caller.errors import ListeningError

FRAME = RATE // 100
"""10 ms, what the library takes at a time."""

Sound = NDArray[np.int16]


class EchoCanceller:
    """Takes what was played out of what was heard; int16, mono, 16,000 samples a second.

    Raises ListeningError with the one command when the library is missing.
    """

    def __init__(self) -> None:
        try:
            import pywebrtc_audio
        except ImportError:
            raise ListeningError(
                "Listening while the call is spoken needs a package that is not installed; this "
                "command brings it: pip install 'caller[barge-in]'"
            ) from None
        self._library: Any = pywebrtc_audio.EchoCanceller(sample_rate=RATE, num_channels=1)
        self._near = self._far = np.zeros(0, dtype=np.int16)

    def cancel(self, near: Sound, far: Sound) -> Sound:
        """The next samples heard without the echo of `far`, played at the same time or before.

        Both have any length, the same for both: shape (n,). Whole frames of 10 ms are given back,
        the rest with the next portion. Raises ListeningError once it is closed.
        """
        if near.ndim != 1 or near.shape != far.shape or {near.dtype, far.dtype} != {_INT16}:
            raise ValueError(
                "near and far must be int16 of one shape (n,), not "
                f"{near.dtype} {near.shape} and {far.dtype} {far.shape}"
            )
        if self._library is None:
            raise ListeningError("Listening has ended; start the session again to be heard.")
        near, far = np.concatenate([self._near, near]), np.concatenate([self._far, far])
        whole = len(near) - len(near) % FRAME
        self._near, self._far = near[whole:], far[whole:]
        if whole == 0:
            return near[:0]
        cleaned: Sound = self._library.process(near[:whole], far[:whole])
        return cleaned

    def close(self) -> None:
        """Let go of the library; harmless when done twice."""
        self._library = None


_INT16 = np.dtype(np.int16)


class Tapped(Protocol):
    """A loudspeaker that tells what it plays and can be asked to play softer."""

    @property
    def rate(self) -> int:
        """Samples a second of what it tells."""

    def tell(self, played: "queue.SimpleQueue[Sound] | None") -> None:
        """Put all that is given to the device into this queue from now on; None ends it."""

    def soften(self) -> None:
        """Play softer for the next second."""


class LoudspeakerEcho:
    """Fulfils `EchoRemover` for a loudspeaker of the sound card.

    Raises ListeningError when the library is missing. `clean` is for one thread only.
    """

    def __init__(self, loudspeaker: Tapped) -> None:
        self._canceller = EchoCanceller()
        self._loudspeaker = loudspeaker
        self._streams = SideBySide()
        self._resampler = StreamResampler(loudspeaker.rate, RATE)
        self._told: queue.SimpleQueue[Sound] = queue.SimpleQueue()
        loudspeaker.tell(self._told)

    def clean(self, heard: Sound) -> Sound:
        while not self._told.empty():
            self._streams.played(self._resampler.feed(self._told.get()))
        return self._canceller.cancel(*self._streams.heard(heard))

    def soften(self) -> None:
        self._loudspeaker.soften()

    def close(self) -> None:
        self._loudspeaker.tell(None)
        self._canceller.close()

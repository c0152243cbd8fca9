"""Hearing while the loudspeaker speaks: its own sound taken out, by the AEC3 of WebRTC.

The library finds by itself how late the echo comes, up to half a second. Its noise suppression
stays off.
"""

import queue
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import RATE
from caller.devices.sound.echo_reference import EchoReference, sounding
from caller.devices.sound.resample import StreamResampler
from caller.errors import ListeningError
from caller.installation import installs

FRAME = RATE // 100
"""10 ms, what the library takes at a time."""

UNSETTLED = RATE * 2
"""So much of the caller's speech it takes to know the echo, at first and after each disturbance."""

LINGERS = RATE * 3 // 10
"""How long after what was played its echo may still be heard; as `deaf_after_speech_s`."""

Sound = NDArray[np.int16]
Told = queue.SimpleQueue[Sound | None]


class EchoCanceller:
    """Takes what was played out of what was heard; int16, mono, 16,000 samples a second.

    Raises ListeningError with the one command when the library is missing.
    """

    def __init__(self) -> None:
        try:
            import pywebrtc_audio
        except ImportError:
            raise ListeningError(
                "Listening while the call is spoken needs a package that is not installed",
                installs("listen-while-speaking"),
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
            raise ListeningError("Listening has ended", "start the session again to be heard.")
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

    def tell(self, played: Told | None) -> None:
        """Put all that is given to the device into this queue from now on; None ends it.

        A None in the queue tells that the device stumbled, and there was a gap.
        """

    def soften(self) -> None:
        """Play softer for the next second."""


class LoudspeakerEcho:
    """Fulfils `EchoRemover` for a loudspeaker of the sound card.

    While the echo is not known yet, or not any more because a device has stumbled, nothing is heard
    as long as the loudspeaker speaks, as in half-duplex. Raises ListeningError when the library is
    missing. `clean` is for one thread only.
    """

    def __init__(self, loudspeaker: Tapped) -> None:
        self._canceller = EchoCanceller()
        self._loudspeaker = loudspeaker
        self._streams = EchoReference()
        self._resampler = StreamResampler(loudspeaker.rate, RATE)
        self._unsettled = UNSETTLED
        self._lingering = 0
        self._told: Told = queue.SimpleQueue()
        loudspeaker.tell(self._told)

    def clean(self, heard: Sound) -> Sound:
        jumps = self._streams.jumps
        while not self._told.empty():
            played = self._told.get()
            if played is None:
                self._unsettled = UNSETTLED
            else:
                self._streams.played(self._resampler.feed(played))
        near, far = self._streams.heard(heard)
        if self._streams.jumps != jumps:
            self._unsettled = UNSETTLED
        cleaned = self._canceller.cancel(near, far)
        return cleaned if self._known(far) else np.zeros_like(cleaned)

    def _known(self, far: Sound) -> bool:
        """Whether the echo is known, or there is none to be known."""
        spoken = len(far) if sounding(far) else 0
        lingering, self._lingering = self._lingering, max(0, self._lingering - len(far))
        if spoken:
            self._lingering = LINGERS
        if not self._unsettled or not (spoken or lingering):
            return True
        self._unsettled = max(0, self._unsettled - spoken)
        return False

    def soften(self) -> None:
        self._loudspeaker.soften()

    def close(self) -> None:
        self._loudspeaker.tell(None)
        self._canceller.close()

"""The microphone of the sound card."""

import contextlib
import queue
import sys
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.devices.portaudio import sound_library
from caller.devices.quiet import stderr_silenced
from caller.devices.resample import StreamResampler
from caller.errors import SoundError

EAR_RATE = 16_000


class SoundCardMicrophone:
    """Fulfils `Microphone`. The device's own rate is used when it does not offer 16,000.

    `device` as for the loudspeaker. Raises SoundError when there is no such microphone.
    """

    def __init__(self, device: str | int | None = None) -> None:
        sounddevice = sound_library()
        self._blocks: queue.SimpleQueue[NDArray[np.int16] | None] = queue.SimpleQueue()
        self._resampler: StreamResampler | None = None
        self._closing = False
        try:
            with stderr_silenced():
                try:
                    self._open(sounddevice, device, EAR_RATE)
                except sounddevice.PortAudioError:
                    own_rate = int(sounddevice.query_devices(device, "input")["default_samplerate"])
                    self._resampler = StreamResampler(own_rate, EAR_RATE)
                    self._open(sounddevice, device, own_rate)
        except (sounddevice.PortAudioError, ValueError):
            raise SoundError(
                "No microphone was found, so spoken commands are off; plug one in, check it with "
                f"{sys.executable} -m sounddevice, and start again. Keys and pedals work."
            ) from None

    def _open(self, sounddevice: Any, device: str | int | None, rate: int) -> None:
        self._stream = sounddevice.InputStream(
            device=device,
            samplerate=rate,
            channels=1,
            dtype="int16",
            latency="high",
            callback=lambda samples, _frames, _times, _status: self._blocks.put(
                samples[:, 0].copy()
            ),
            finished_callback=lambda: self._blocks.put(None),
        )
        self._stream.start()

    def blocks(self) -> Iterator[NDArray[np.int16]]:
        while not self._closing and (samples := self._blocks.get()) is not None:
            yield samples if self._resampler is None else self._resampler.feed(samples)
        if not self._closing:
            raise SoundError(
                "The microphone was taken away or its driver stopped; start the session again to "
                "speak commands. Keys and pedals work."
            )

    def close(self) -> None:
        if self._closing:
            return
        self._closing = True
        with stderr_silenced(), contextlib.suppress(Exception):  # the device may be gone already
            self._stream.abort()
            self._stream.close()
        self._blocks.put(None)

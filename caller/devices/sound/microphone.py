"""The microphone of the sound card."""

import queue
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import BLOCK_S, RATE
from caller.devices.sound.device_names import cannot_be_opened, find_microphone
from caller.devices.sound.portaudio import let_go, opened, sound_library
from caller.devices.sound.resample import StreamResampler
from caller.devices.sound.stderr import stderr_silenced
from caller.errors import SoundError

DEAD_AFTER_S = 5.0
"""A microphone that gives nothing at all for so long is taken for lost; it gives some 31 blocks a
second, silent or not."""


class SoundCardMicrophone:
    """Fulfils `Microphone`. The device's own rate is used when it does not offer 16,000.

    `device` is a name, a part of one, or a number, None for the system's usual one. Raises
    SoundError when there is no such microphone.
    """

    def __init__(self, device: str | int | None = None) -> None:
        library = sound_library()
        self._blocks: queue.SimpleQueue[NDArray[np.int16] | None] = queue.SimpleQueue()
        self._resampler: StreamResampler | None = None
        self._closing = False
        number = find_microphone(device)
        try:
            try:
                self._open(number, RATE)
            except library.PortAudioError:
                with stderr_silenced():
                    own_rate = int(library.query_devices(number, "input")["default_samplerate"])
                self._resampler = StreamResampler(own_rate, RATE)
                self._open(number, own_rate)
        except (library.PortAudioError, ValueError):
            if isinstance(device, str):
                raise cannot_be_opened("microphone", device) from None
            raise SoundError(
                "No microphone was found, so nothing that is spoken is heard",
                "plug one in and start again; row-caller check tries it. "
                "Keys and pedals move the rows all the same.",
            ) from None

    def _open(self, device: int | None, rate: int) -> None:
        blocks = self._blocks
        self._stream: Any = opened(
            "InputStream",
            device=device,
            samplerate=rate,
            blocksize=round(BLOCK_S * rate),  # left to itself it gives 150 a second, for more work
            channels=1,
            dtype="int16",
            latency="high",
            callback=lambda samples, *_: blocks.put(samples[:, 0].copy()),
            finished_callback=lambda: blocks.put(None),
        )

    def blocks(self) -> Iterator[NDArray[np.int16]]:
        while not self._closing and (samples := self._next()) is not None:
            yield samples if self._resampler is None else self._resampler.feed(samples)
        if not self._closing:
            raise SoundError(
                "The microphone was taken away or its driver stopped",
                "start the session again to speak commands. Keys and pedals work.",
            )

    def _next(self) -> NDArray[np.int16] | None:
        try:
            return self._blocks.get(timeout=DEAD_AFTER_S)
        except queue.Empty:
            return None

    def close(self) -> None:
        if self._closing:
            return
        self._closing = True
        let_go(self._stream)
        self._blocks.put(None)

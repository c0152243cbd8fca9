"""The loudspeaker of the sound card: one stream that stays open."""

import queue
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.calling.events import News, Trouble
from caller.calling.ports import SoundBlock
from caller.devices.sound.device_names import cannot_be_opened, find_loudspeaker
from caller.devices.sound.ducking import Ducking
from caller.devices.sound.portaudio import let_go, opened, sound_library
from caller.devices.sound.resample import resampled
from caller.errors import NoAnswerError, SoundError

_LOST = SoundError(
    "The loudspeaker was taken away or its driver stopped",
    "plug it in again. If there is no sound soon after, start the session again.",
)
_STALLED = SoundError(
    "The loudspeaker takes no more sound",
    "start the computer's sound again; the call goes on here until then.",
)
_BLOCK_S = 0.023
"""How much the device asks for at once. Left to itself it asks 115 times a second, which takes
twice the work, here and in the sound server, and speaks some 15 ms earlier (measured)."""
STALLED_S = 3.0
"""A device that has asked for nothing for so long, not even for silence, does not play."""
_BACK = News("The loudspeaker is back.")
_TOLD_MOST = 400
"""Blocks that are told and not yet taken; 9 seconds."""


def spread(samples: NDArray[np.int16], pan: float, channels: int) -> NDArray[np.int16]:
    """Mono samples (n,) on `channels` channels, (n, channels).

    On two, the channel on the other side of `pan` gets softer, to a quarter at the edge. Nothing
    gets louder, and mixed to mono no word is more than 4.1 dB softer than in the middle.
    """
    if channels == 1:
        return samples[:, None]
    gains = np.array([1 - 0.75 * max(0.0, pan), 1 - 0.75 * max(0.0, -pan)])
    placed: NDArray[np.int16] = np.rint(samples[:, None] * gains).astype(np.int16)
    return placed


class SoundCardLoudspeaker:
    """Fulfils `Loudspeaker` with one stream that stays open and sends silence when idle.

    It is mono, or with `stereo` has two channels on which a block's `pan` is heard. A stream a clip
    would lose the end of each clip. `device` is a name, a part of one, or a number, None for
    the system's usual one. Raises SoundError when there is no such device.

    When it goes away what is played is dropped, and it is tried again every `again_s` seconds;
    of what comes while it takes no more sound only the newest is kept. `report` is called, on
    another thread, when it is lost and when it is back; it is lost from the start where the
    computer's sound does not answer, which without `report` is raised as NoAnswerError.
    """

    def __init__(
        self,
        rate: int = 22_050,
        device: str | int | None = None,
        report: Callable[[Trouble | News], None] | None = None,
        stereo: bool = False,
        again_s: float = 2.0,
    ) -> None:
        self._rate = rate
        self._device = device
        self._channels = 2 if stereo else 1
        self._report = report
        self._again_s = again_s
        self._closed = threading.Event()
        self._changed = threading.Condition()
        self._jobs: deque[Iterator[SoundBlock]] = deque()
        self._pieces: deque[NDArray[np.int16]] = deque()
        self._drawing = False
        self._feeder: threading.Thread | None = None
        self._last_sound_s = time.monotonic() - 3600.0
        self._asked_s = time.monotonic()  # when the device last asked for sound
        self._ducking = Ducking(rate)
        self._told: queue.SimpleQueue[NDArray[np.int16] | None] | None = None
        self._error: Exception | None = None
        self._closing = self._lost = self._stalled = False
        self._stream: Any = None
        try:
            self._stream = self._opened()
        except NoAnswerError as error:
            if report is None:
                raise
            self._lost = True
            report(Trouble(error))
            self._come_back_later()
        else:
            self._asked_s = time.monotonic()
            self._start_feeder()
        if report is not None:
            threading.Thread(target=self._watch, name="loudspeaker watch", daemon=True).start()

    def _opened(self) -> Any:
        library = sound_library()
        try:
            return opened(
                "OutputStream",
                device=find_loudspeaker(self._device),
                samplerate=self._rate,
                blocksize=round(_BLOCK_S * self._rate),
                channels=self._channels,
                dtype="int16",
                latency="high",  # "low" dropped out; this is still under 70 ms
                callback=self._fill,
                finished_callback=self._finished,
            )
        except (library.PortAudioError, ValueError):
            if isinstance(self._device, str):
                raise cannot_be_opened("loudspeaker", self._device) from None
            raise SoundError(
                "No loudspeaker was found, so the call is on the screen only",
                "plug in a loudspeaker or headphones and start again; row-caller check tries them.",
            ) from None

    @property
    def rate(self) -> int:
        """Samples a second of what it plays and tells."""
        return self._rate

    def tell(self, played: "queue.SimpleQueue[NDArray[np.int16] | None] | None") -> None:
        """Put all that is given to the device from now on, silence too, into this queue.

        It is mono, shape (n,), and as soft as it is played; None in between tells that the device
        ran dry, and there was a gap. None instead of a queue ends it. Who asks for it must empty
        the queue.
        """
        with self._changed:
            self._told = played

    def soften(self) -> None:
        """Play softer for the next second, or until something new is played."""
        with self._changed:
            self._ducking.soften()

    def play(self, blocks: Iterable[SoundBlock]) -> None:
        with self._changed:
            self._ducking.end()
            self._jobs.clear()
            self._pieces.clear()
            self._error = None
            if self._drawing:  # perhaps from a slow voice, which must not hold up the new sound
                self._drawing = False
                self._start_feeder()
            self.add(blocks)

    def add(self, blocks: Iterable[SoundBlock]) -> None:
        with self._changed:
            if self._stalled:  # when it plays again, what is newest is wanted, and not all
                self._jobs.clear()
                self._pieces.clear()
            if self._feeder is not None:
                self._jobs.append(iter(blocks))
                self._changed.notify_all()

    def quiet_for(self) -> float:
        with self._changed:
            if self._busy() and not self._stalled:
                return 0.0
            return max(0.0, time.monotonic() - self._last_sound_s)

    def wait(self, timeout: float | None = None) -> bool:
        until = None if timeout is None else time.monotonic() + timeout
        with self._changed:
            while not self._lost and self._error is None:
                if self._stalled:
                    raise SoundError(*_STALLED.args)
                left = self._last_sound_s - time.monotonic()
                if not self._busy() and left <= 0:
                    return True
                if until is not None and time.monotonic() >= until:
                    return False
                if self._pieces and time.monotonic() - self._asked_s > STALLED_S:
                    raise SoundError(*_STALLED.args)
                self._changed.wait(0.01 if not self._busy() else 0.05)
            if self._error is not None:
                error, self._error = self._error, None
                raise error
        raise SoundError(*_LOST.args)

    def close(self) -> None:
        with self._changed:
            if self._closing:
                return
            self._closing = True
            self._closed.set()
            feeder = self._feeder
            self._stop_feeding()
        if feeder is not None:
            feeder.join(1)
        if self._stream is not None:
            let_go(self._stream)

    def _busy(self) -> bool:
        return bool(self._drawing or self._jobs or self._pieces)

    def _start_feeder(self) -> None:
        """Only the newest feeder may hand on sound; an older one ends when it notices."""
        self._feeder = threading.Thread(target=self._feed, name="loudspeaker", daemon=True)
        self._feeder.start()

    def _stop_feeding(self) -> None:
        self._feeder = None
        self._drawing = False
        self._jobs.clear()
        self._pieces.clear()
        self._changed.notify_all()

    def _feed(self) -> None:
        """Draw the blocks of one job after the other; on a thread of its own."""
        me = threading.current_thread()
        while True:
            with self._changed:
                while self._feeder is me and not self._jobs:
                    self._changed.wait()
                if self._feeder is not me:
                    return
                job = self._jobs.popleft()
                self._drawing = True
            error = self._draw(job, me)
            with self._changed:
                if self._feeder is me:
                    self._drawing = False
                    self._error = self._error or error
                    self._changed.notify_all()

    def _draw(self, job: Iterator[SoundBlock], me: threading.Thread) -> Exception | None:
        """Queue the sound of one job until it ends or is cut; the error that it raised, if any."""
        try:
            for block in job:
                samples = resampled(block.samples, block.rate, self._rate)
                with self._changed:
                    if self._feeder is not me:
                        break
                    if len(samples):
                        self._pieces.append(spread(samples, block.pan, self._channels))
            if (close := getattr(job, "close", None)) is not None:
                close()
        except Exception as error:  # whatever it is, it must not end the feeder
            return error
        return None

    def _fill(self, out: NDArray[np.int16], frames: int, times: Any, status: Any) -> None:
        """PortAudio asks for the next samples, on its own thread."""
        filled = 0
        with self._changed:
            self._asked_s = time.monotonic()
            while filled < frames and self._pieces:
                piece = self._pieces[0]
                part = piece[: frames - filled]
                out[filled : filled + len(part)] = part
                filled += len(part)
                if len(part) == len(piece):
                    self._pieces.popleft()
                else:
                    self._pieces[0] = piece[len(part) :]
            if filled:
                ahead = times.outputBufferDacTime - times.currentTime
                if not 0 < ahead < 2:  # some drivers do not tell
                    ahead = self._stream.latency
                self._last_sound_s = time.monotonic() + ahead + filled / self._rate
            out[filled:] = 0
            out[:filled] = self._ducking.apply(out)[:filled]
            if self._told is not None:
                behind = self._told.qsize() >= _TOLD_MOST  # nobody listens for the moment
                if behind:
                    self._told.get_nowait()
                    self._told.get_nowait()
                if behind or status.output_underflow:
                    self._told.put(None)
                mono = np.rint(out.mean(axis=1)).astype(np.int16) if filled else out[:, 0].copy()
                self._told.put(mono)

    def _finished(self) -> None:
        """The stream has ended: closed by us, or the device is gone."""
        with self._changed:
            if self._closing or self._lost:
                return
            self._lost = True
            self._stop_feeding()
        if self._report is not None:
            self._report(Trouble(_LOST))
        self._come_back_later()

    def _watch(self) -> None:
        """Tell at once when the device asks for no more sound, and when it does again."""
        while not self._closed.wait(STALLED_S / 5):
            with self._changed:
                stalled = time.monotonic() - self._asked_s > STALLED_S
                if self._lost or self._closing or stalled == self._stalled:
                    continue
                self._stalled = stalled
            if self._report is not None:
                self._report(Trouble(_STALLED) if stalled else _BACK)

    def _come_back_later(self) -> None:
        threading.Thread(target=self._come_back, name="loudspeaker again", daemon=True).start()

    def _come_back(self) -> None:
        """Try to open the device until it is there again; on a thread of its own."""
        if self._stream is not None:
            let_go(self._stream)
        while not self._closed.wait(self._again_s):
            try:
                stream = self._opened()
            except SoundError:
                continue
            with self._changed:
                back = stream.active and not self._closing
                if back:
                    self._stream, self._lost, self._stalled = stream, False, False
                    self._asked_s = time.monotonic()
                    self._start_feeder()
            if not back:
                let_go(stream)
                continue
            if self._report is not None:
                self._report(_BACK)
            return

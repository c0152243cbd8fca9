"""A microphone that comes back: opened anew after it was taken away, and watched for silence."""

import contextlib
import threading
from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from caller.calling.events import News, Trouble
from caller.calling.listening.blocks import RATE
from caller.calling.listening.level import Fault, SilenceWatch, is_silent
from caller.calling.ports import Microphone
from caller.devices.sound.portaudio import look_again
from caller.errors import NoAnswerError, SoundError

LOST = Trouble(
    SoundError(
        "The microphone was taken away or its driver stopped.",
        "Keys and pedals work; plug it in again. If it is not told of soon after, start the "
        "session again to speak commands.",
    )
)
SILENT = Trouble(SoundError(Fault.SILENT.finding, "Keys and pedals work."))
BACK = News("The microphone is back; spoken commands are heard again.")
SOUND_AGAIN = News("The microphone gives sound again.")
_ENDING_S = 0.5
"""The silence in place of what was lost, so that a word that was begun has an end."""


class ReconnectingMicrophone:
    """Fulfils `Microphone`; what happens to the device ends neither the blocks nor the session.

    `open_` opens the device by its name; SoundError, from here too, when it is not there at the
    very start. Where the computer's sound does not answer then, it is lost from the start.
    `report` is called, on the thread that draws the blocks, when the microphone is lost, when
    it is back, and once when it has given nothing but silence for `silent_s` seconds; it is
    then opened once more, for a system may have put another device in its place. While it is
    lost it is looked for every `again_s` seconds.
    """

    def __init__(
        self,
        open_: Callable[[], Microphone],
        report: Callable[[News | Trouble], None],
        again_s: float = 2.0,
        silent_s: float = 20.0,
    ) -> None:
        self._open = open_
        self._report = report
        self._again_s = again_s
        self._watch = SilenceWatch(silent_s)
        self._closed = threading.Event()
        self._changing = threading.Lock()
        self._microphone: Microphone | None = None
        self._late = False
        try:
            self._microphone = open_()
        except NoAnswerError:
            self._late = True

    def blocks(self) -> Iterator[NDArray[np.int16]]:
        silent = False
        if self._late:
            self._report(LOST)
            self._look_out()
        while (microphone := self._microphone) is not None:
            lost = False
            try:
                for samples in microphone.blocks():
                    if silent and not is_silent(samples):
                        silent = False
                        self._report(SOUND_AGAIN)
                    yield samples
                    if self._watch.feed(samples):
                        silent = True
                        self._report(SILENT)
                        break
                else:
                    return
            except SoundError:
                lost = True
                self._report(LOST)
                yield np.zeros(round(_ENDING_S * RATE), dtype=np.int16)
            microphone.close()
            if not self._opened() and not self._closed.is_set():
                if not lost:
                    self._report(LOST)
                lost = True
                self._look_out()
            elif lost and self._microphone is not None:
                self._report(BACK)

    def _look_out(self) -> None:
        """Wait until the device is there, and tell of it, or until all is closed."""
        while not self._closed.wait(self._again_s):
            if self._opened():
                self._report(BACK)
                return

    def _opened(self) -> bool:
        """Whether the device could be opened anew, if need be after a look at what is there."""
        try:
            return self._taken(self._open())
        except SoundError:
            with contextlib.suppress(SoundError):
                return look_again() and self._taken(self._open())
        return False

    def _taken(self, microphone: Microphone) -> bool:
        with self._changing:
            if not self._closed.is_set():
                self._microphone = microphone
                return True
        microphone.close()
        return False

    def close(self) -> None:
        with self._changing:
            self._closed.set()
            microphone, self._microphone = self._microphone, None
        if microphone is not None:
            microphone.close()

"""Keeps C libraries from writing on the knitter's screen."""

import contextlib
import ctypes
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager


class _Silence:
    """How many want standard error silenced at this moment, on whatever thread."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._wanted = 0
        self._kept = -1

    def begin(self) -> None:
        with self._lock:
            self._wanted += 1
            if self._wanted > 1:
                return
            with contextlib.suppress(AttributeError, OSError, ValueError):  # there may be none
                sys.stderr.flush()
            with contextlib.suppress(OSError):  # it is closed: nothing can be written there
                self._kept = os.dup(2)
                with open(os.devnull, "wb") as nothing:  # noqa: PTH123 (a device, not a path)
                    os.dup2(nothing.fileno(), 2)

    def end(self) -> None:
        with self._lock:
            self._wanted -= 1
            if self._wanted == 0 and self._kept >= 0:
                os.dup2(self._kept, 2)
                os.close(self._kept)
                self._kept = -1


_silence = _Silence()


@contextmanager
def stderr_silenced() -> Iterator[None]:
    """Drop what C code writes to standard error, for the whole process.

    May be used within itself and on several threads at once; the last one to end lets it sound.
    """
    _silence.begin()
    try:
        yield
    finally:
        _silence.end()


_AlsaHandler = ctypes.CFUNCTYPE(
    None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p
)


# What ALSA would write at any moment of a session, such as "underrun occurred", is dropped.
_say_nothing = _AlsaHandler(lambda *_: None)


def silence_alsa() -> None:
    """Keep ALSA's library, on Linux, from writing on the screen from now on."""
    if sys.platform.startswith("linux"):
        try:
            ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(_say_nothing)
        except (OSError, AttributeError):
            return  # no ALSA: then it writes nothing

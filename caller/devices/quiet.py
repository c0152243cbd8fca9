"""Keeps C libraries from writing on the knitter's screen."""

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def stderr_silenced() -> Iterator[None]:
    """Drop what C code writes to standard error. For the whole process, so keep it short."""
    sys.stderr.flush()
    kept = os.dup(2)
    with open(os.devnull, "wb") as nothing:  # noqa: PTH123 (a device, not a path)
        os.dup2(nothing.fileno(), 2)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


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

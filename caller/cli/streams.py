"""The program's own three streams, and the signals that end it, whatever it was started with."""

import contextlib
import io
import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import IO, Any

from caller import leaving

_NAMES = {0: "stdin", 1: "stdout", 2: "stderr"}
_ENDINGS = tuple(
    getattr(signal, name) for name in ("SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name)
)


def prepare() -> None:
    """Open what is closed, and let libraries write elsewhere than the program's own messages.

    A closed one of the three would give its number to the next file, and a library's complaint
    would then be written into the knitter's own.
    """
    for number, name in _NAMES.items():
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # gets the lowest free number, which is this one
        if getattr(sys, name) is None:
            mode = "r" if number == 0 else "w"
            stream = open(number, mode, encoding="utf-8", closefd=False)  # noqa: SIM115
            setattr(sys, name, stream)
    _part_errors()


def _part_errors() -> None:
    """Give what the program itself tells a descriptor of its own.

    That of the libraries, 2, can then be silenced for as long as a session lasts.
    """
    mine = sys.stderr
    if mine is not sys.__stderr__ or not isinstance(mine, io.TextIOWrapper):
        return  # somebody has taken it over
    with contextlib.suppress(OSError, ValueError):
        if mine.fileno() == 2:
            sys.stderr = open(  # noqa: PTH123, SIM115 (a descriptor, for as long as the program runs)
                os.dup(2), "w", buffering=1, encoding=mine.encoding, errors="backslashreplace"
            )


def give_up(stream: IO[Any]) -> None:
    """Let nothing more be written to a stream that takes nothing, also not at the very end."""
    with contextlib.suppress(OSError, ValueError):
        number = stream.fileno()
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, number)
        os.close(nothing)
        stream.flush()


@contextmanager
def ended_properly() -> Iterator[None]:
    """Leave by way of every `finally` when the system ends the program or its terminal goes.

    The terminal is given back, and devices are let go. The exit code is that of the signal. Ctrl-C
    is noted too: `leaving.stop`.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {number: signal.getsignal(number) for number in (*_ENDINGS, signal.SIGINT)}
    for number, what in before.items():
        if what is signal.SIG_DFL:  # else somebody wants it otherwise, as nohup does
            signal.signal(number, _end)
        elif what is signal.default_int_handler:
            signal.signal(number, leaving.stop)
    try:
        yield
    finally:
        leaving.forget()
        for number, what in before.items():
            if what is not None and signal.getsignal(number) in (_end, leaving.stop):
                signal.signal(number, what)


def _end(number: int, _frame: FrameType | None) -> None:
    for one in _ENDINGS:
        signal.signal(one, signal.SIG_IGN)  # what is at its end is not ended once more
    leaving.ended(128 + number)

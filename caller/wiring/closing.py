"""Closing what a session has opened, in time: a device whose driver hangs holds nobody up."""

import atexit
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress

LONGEST_S = 1.5
"""The longest that all devices together may take; they need some tenths of a second."""


@contextmanager
def closed_in_time(longest_s: float = LONGEST_S) -> Iterator[ExitStack]:
    """A stack whose callbacks run on a thread of their own, and are left alone after `longest_s`.

    Where one hangs, the program later ends without the libraries' own cleaning up, which would
    hang as well. Files must be whole by then: keep nothing on this stack but devices.
    """
    devices = ExitStack()
    code = 0
    try:
        yield devices
    except BaseException as error:
        code = 130 if isinstance(error, KeyboardInterrupt) else 2
        raise
    finally:
        wrong: list[BaseException] = []
        thread = threading.Thread(target=_close, args=(devices, wrong), name="closing", daemon=True)
        thread.start()
        thread.join(longest_s)
        if thread.is_alive():
            atexit.register(_end, code)  # runs before what the libraries have registered
        elif wrong:
            raise wrong[0]


def _close(devices: ExitStack, wrong: list[BaseException]) -> None:
    try:
        devices.close()
    except BaseException as error:
        wrong.append(error)


def _end(code: int) -> None:
    for stream in (sys.stdout, sys.stderr):
        with suppress(Exception):
            stream.flush()
    os._exit(code)

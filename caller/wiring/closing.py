"""Closing what a session has opened, in time: a device whose driver hangs holds nobody up."""

import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

from caller import leaving

LONGEST_S = 1.5
"""The longest that all devices together may take; they need some tenths of a second."""


@contextmanager
def closed_in_time(longest_s: float = LONGEST_S) -> Iterator[ExitStack]:
    """A stack whose callbacks run on a thread of their own, and are left alone after `longest_s`.

    Where one hangs, the program later ends without the libraries' own cleaning up, which would
    hang as well. Files must be whole by then: keep nothing on this stack but devices.
    """
    devices = ExitStack()
    try:
        yield devices
    finally:
        wrong: list[BaseException] = []
        thread = threading.Thread(target=_close, args=(devices, wrong), name="closing", daemon=True)
        thread.start()
        thread.join(longest_s)
        if thread.is_alive():
            leaving.hangs()
        elif wrong:
            raise wrong[0]


def _close(devices: ExitStack, wrong: list[BaseException]) -> None:
    try:
        devices.close()
    except BaseException as error:
        wrong.append(error)

"""The end of the program, which waits for no library that hangs."""

import contextlib
import os
import sys
import threading
from types import FrameType
from typing import NoReturn

_FLUSH_S = 0.5
_lock = threading.Lock()
_hanging = 0
_stopped = False
_ended: int | None = None


def hangs(more: int = 1) -> None:
    """Note that a call into a library does not return, or with -1 that one has after all."""
    global _hanging
    with _lock:
        _hanging += more


def any_hangs() -> bool:
    """Whether such a call has not returned yet; the library's own cleaning up would wait too."""
    return _hanging > 0


def stop(_number: int, _frame: FrameType | None) -> NoReturn:
    """Handle Ctrl-C as Python does, and note it.

    Python drops what is raised while it tidies up after an import, or in a library's callback;
    `go_on_unless_stopped` then raises it once more.
    """
    global _stopped
    _stopped = True
    raise KeyboardInterrupt


def go_on_unless_stopped() -> None:
    """Raise KeyboardInterrupt once more where one was dropped."""
    global _stopped
    if _stopped:
        _stopped = False
        raise KeyboardInterrupt


def ended(code: int) -> NoReturn:
    """Leave with this exit code because the system ends the program, and note it: what is raised in
    a library's callback is dropped, and `go_on_unless_ended` then raises it once more."""
    global _ended
    _ended = code
    raise SystemExit(code)


def go_on_unless_ended() -> None:
    """Raise SystemExit where the system ends the program."""
    if _ended is not None:
        raise SystemExit(_ended)


def forget() -> None:
    """Nothing ends any more: what was to end has ended."""
    global _stopped, _ended
    _stopped, _ended = False, None


def end(code: int) -> NoReturn:
    """End the program here, without any cleaning up. Every file must be whole by then."""
    thread = threading.Thread(target=_flush, daemon=True)  # a pipe that nobody empties hangs
    thread.start()
    thread.join(_FLUSH_S)
    os._exit(code)


def _flush() -> None:
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(Exception):
            stream.flush()

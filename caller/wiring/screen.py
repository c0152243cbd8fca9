"""The screen of a session, which neither fails nor holds up the call."""

import queue
import threading
import time
from collections.abc import Callable
from functools import partial

from caller.calling.events import Trouble
from caller.errors import CallerError, ScreenError
from caller.wiring.voices import Put, Tell

STUCK_S = 5.0
"""A line that has not been taken in so long: whoever reads the output reads no more of it."""

GONE = Trouble(ScreenError("The screen shows nothing any more.", "The call goes on by ear."))


class SteadyScreen:
    """Shows lines on a thread of its own; a screen that takes none is told of once.

    `report` is given GONE then, on whatever thread, and what is still to be shown is dropped, or
    waits for the screen.
    """

    def __init__(self, show: Tell, report: Put) -> None:
        self._show = show
        self._report = report
        self._lines: queue.SimpleQueue[Callable[[], None] | None] = queue.SimpleQueue()
        self._began_s: float | None = None  # when the line that is being shown was begun
        self._told = False
        self._thread = threading.Thread(target=self._run, name="screen", daemon=True)
        self._thread.start()

    def show(self, line: str) -> None:
        began_s = self._began_s
        if began_s is not None and time.monotonic() - began_s > STUCK_S:
            self._tell()
        self._lines.put(partial(self._show, line))

    def draw(self, drawing: Callable[[], None]) -> None:
        """Let this be drawn when all before it is shown; it fails as a line does."""
        self._lines.put(drawing)

    def close(self) -> None:
        """Returns when all is shown; a screen that is stuck keeps it waiting."""
        self._lines.put(None)
        self._thread.join()

    def _run(self) -> None:
        gone = False
        while (line := self._lines.get()) is not None:
            if gone:
                continue
            self._began_s = time.monotonic()
            try:
                line()
            except (CallerError, OSError, ValueError):
                gone = True
                self._tell()
            self._began_s = None

    def _tell(self) -> None:
        if not self._told:
            self._told = True
            self._report(GONE)

"""A recogniser that is still being opened, so that a session need not wait for it."""

import threading
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from caller.calling.events import News, Trouble
from caller.calling.ports import NOTHING, Recogniser, Verdict
from caller.errors import CallerError, ListeningError

SLOW_S = 4.0
"""After so long the knitter is told that loading goes on, and then also when it is done."""
LONGEST_CLOSE_S = 30.0
"""A library at work cannot be stopped, and ending the program under it would end it with noise."""

STILL_LOADING = News("Still loading what listens. The keys work already.")
READY = News("I can hear you now.")


class LoadingRecogniser:
    """A recogniser that is opened on a thread of its own, and hears nothing until it is open."""

    def __init__(
        self,
        name: str,
        open_: Callable[[], Recogniser],
        report: Callable[[News | Trouble], None],
        slow_s: float = SLOW_S,
    ) -> None:
        """Begin to open; returns at once.

        `report` is given STILL_LOADING after `slow_s` seconds, READY where it came to that, and the
        trouble when opening fails. It is called on other threads, must return at once, and is never
        called after `close` has begun.
        """
        self._name = name
        self._open = open_
        self._report = report
        self._lock = threading.Lock()
        self._recogniser: Recogniser | None = None
        self._ended = self._loaded = self._slow = False
        self._patience = threading.Timer(slow_s, self._say_slow)
        self._patience.daemon = True
        self._thread = threading.Thread(target=self._load, name="loading recogniser", daemon=True)
        self._patience.start()
        self._thread.start()

    @property
    def name(self) -> str:
        return self._name

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        """As the recogniser itself; NOTHING while it is being opened or when that has failed."""
        with self._lock:
            ended, recogniser = self._ended, self._recogniser
        if ended:
            raise ListeningError("Listening has ended", "start the session again to be heard.")
        return NOTHING if recogniser is None else recogniser.recognise(segment)

    def wait(self, timeout_s: float) -> bool:
        """Wait until opening has ended, well or not; False when `timeout_s` was not enough."""
        self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def close(self) -> None:
        """Let go of the recogniser, opened or not; waits for an opening that is under way."""
        with self._lock:
            self._ended = True
        self._patience.cancel()
        self._thread.join(LONGEST_CLOSE_S)
        with self._lock:
            if self._recogniser is not None:
                self._recogniser.close()

    def _load(self) -> None:
        opened: Recogniser | None = None
        wrong: CallerError | None = None
        try:
            opened = self._open()
        except CallerError as error:
            wrong = error
        except Exception as error:  # a library's own; the session must hear of it all the same
            wrong = ListeningError(f"What listens cannot be opened: {error}.", "The keys work.")
        self._patience.cancel()
        with self._lock:
            self._recogniser, self._loaded = opened, True
            if self._ended and opened is not None:  # `close` has given up waiting
                opened.close()
            elif self._ended:
                return
            elif wrong is not None:
                self._report(Trouble(wrong))
            elif self._slow:
                self._report(READY)

    def _say_slow(self) -> None:
        with self._lock:
            if not self._loaded and not self._ended:
                self._slow = True
                self._report(STILL_LOADING)

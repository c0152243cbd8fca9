"""A recogniser that is opened beside the session, watched, and opened anew when it fails."""

import queue
import threading
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from caller.calling.events import News, Trouble
from caller.calling.ports import NOTHING, Recogniser, Verdict
from caller.errors import CallerError, ListeningError, RecogniserLostError

SLOW_S = 4.0
"""After so long the knitter is told that loading goes on, and then also when it is done."""
LONGEST_CLOSE_S = 30.0
"""A library at work cannot be stopped, and ending the program under it would end it with noise."""

HANGS_S = 10.0
"""An answer to some seconds of sound takes a fraction of this."""
NEVER_LOADED_S = 60.0
"""What has not been opened by then is told of as a trouble."""

STILL_LOADING = News("Still loading what listens. The keys work already.")
NOT_LOADED = Trouble(
    ListeningError(
        "What listens has not been loaded in a minute.",
        "Keys and pedals work. Start the session again to speak commands.",
    )
)
_TRIES = 2
READY = News("I can hear you now.")
AGAIN = News("What listens has stopped; it is started again. Say that again in a moment.")
MOST_FAILURES = 3
"""In `FAILURES_WITHIN_S`; what fails more often is left alone, and keys go on."""
FAILURES_WITHIN_S = 600.0


class LoadingRecogniser:
    """A recogniser that is opened on a thread of its own, and hears nothing until it is open.

    It is watched, too: no answer is awaited for ever, and one that fails is closed and opened anew,
    on a thread again, until it has failed too often.
    """

    def __init__(
        self,
        name: str,
        open_: Callable[[], Recogniser],
        report: Callable[[News | Trouble], None],
        slow_s: float = SLOW_S,
        never_s: float = NEVER_LOADED_S,
        hangs_s: float = HANGS_S,
        stop: Callable[[], None] = lambda: None,
    ) -> None:
        """Begin to open; returns at once.

        `report` is given STILL_LOADING after `slow_s` seconds, NOT_LOADED after `never_s`, READY
        where it came to either, and the trouble when opening fails. It is called on other threads,
        must return at once, and is never called after `close` has begun. It is given AGAIN, once,
        when a recogniser has failed, and READY when the next one is there.

        An answer that takes longer than `hangs_s` seconds is not waited for. `stop` ends an opening
        that is under way when this is closed; without it the opening is waited for.
        """
        self._name = name
        self._open = open_
        self._report = report
        self._hangs_s = hangs_s
        self._stop = stop
        self._slow_s, self._never_s = slow_s, never_s
        self._failed_s: list[float] = []
        self._lock = threading.Lock()
        self._recogniser: Recogniser | None = None
        self._ended = self._loaded = self._slow = False
        self._begin()

    def _begin(self) -> None:
        self._patience = threading.Timer(self._slow_s, self._say_slow)
        self._watch = threading.Timer(self._never_s, self._say_never)
        self._patience.daemon = self._watch.daemon = True
        self._thread = threading.Thread(target=self._load, name="loading recogniser", daemon=True)
        self._patience.start()
        self._watch.start()
        self._thread.start()

    @property
    def name(self) -> str:
        return self._name

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        """As the recogniser itself; NOTHING while it is being opened or when that has failed.

        Raises ListeningError when it has failed too often, in whatever way.
        """
        with self._lock:
            ended, recogniser = self._ended, self._recogniser
        if ended:
            raise ListeningError("Listening has ended", "start the session again to be heard.")
        if recogniser is None:
            return NOTHING
        answers: queue.SimpleQueue[Verdict | Exception] = queue.SimpleQueue()
        arguments = (recogniser, segment, answers)
        threading.Thread(target=_ask, args=arguments, name="recogniser", daemon=True).start()
        try:
            answer = answers.get(timeout=self._hangs_s)
        except queue.Empty:
            answer = RecogniserLostError(
                "What listens does not answer any more.",
                "Keys and pedals work. Start the session again to speak commands.",
            )
        if isinstance(answer, Verdict):
            return answer
        wrong = answer if isinstance(answer, CallerError) else failed(answer)
        self._open_anew(recogniser, wrong)
        return NOTHING

    def _open_anew(self, recogniser: Recogniser, wrong: CallerError) -> None:
        """Let go of one that has failed and open the next; raises what was wrong the last time."""
        # A library that hangs may hang at its end, too.
        threading.Thread(target=recogniser.close, name="recogniser's end", daemon=True).start()
        now_s = time.monotonic()
        self._failed_s = [at for at in self._failed_s if now_s - at < FAILURES_WITHIN_S]
        self._failed_s.append(now_s)
        with self._lock:
            self._recogniser, self._loaded = None, False
            if self._ended:
                return
            if len(self._failed_s) >= MOST_FAILURES:
                raise wrong
            self._slow = True  # so that the next one is told of
            if len(self._failed_s) == 1:
                self._report(AGAIN)
            self._begin()

    def wait(self, timeout_s: float) -> bool:
        """Wait until opening has ended, well or not; False when `timeout_s` was not enough."""
        self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def close(self) -> None:
        """Let go of the recogniser, opened or not; waits for an opening that is under way."""
        with self._lock:
            self._ended = True
            begun = self._thread.is_alive()
        self._patience.cancel()
        self._watch.cancel()
        if begun:
            self._stop()
        self._thread.join(LONGEST_CLOSE_S)
        with self._lock:
            if self._recogniser is not None:
                self._recogniser.close()

    def _load(self) -> None:
        opened: Recogniser | None = None
        wrong: CallerError | None = None
        for _ in range(_TRIES):
            try:
                opened, wrong = self._open(), None
            except RecogniserLostError as error:
                wrong = error
                if not self._ended:
                    continue
            except CallerError as error:
                wrong = error
            except Exception as error:  # a library's own; the session must hear of it all the same
                wrong = ListeningError(f"What listens cannot be opened: {error}.", "The keys work.")
            break
        self._patience.cancel()
        self._watch.cancel()
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
        self._say(STILL_LOADING)

    def _say_never(self) -> None:
        self._say(NOT_LOADED)

    def _say(self, event: News | Trouble) -> None:
        with self._lock:
            if not self._loaded and not self._ended:
                self._slow = True
                self._report(event)


def failed(error: Exception) -> RecogniserLostError:
    """What a library raised that it does not say it raises, as an error for the knitter."""
    return RecogniserLostError(
        f"Listening has failed: {type(error).__name__}.",
        "Keys and pedals work. Start the session again to speak commands.",
    )


def _ask(
    recogniser: Recogniser,
    segment: NDArray[np.int16],
    answers: "queue.SimpleQueue[Verdict | Exception]",
) -> None:
    try:
        answers.put(recogniser.recognise(segment))
    except Exception as error:  # whatever it is, the session must hear of it
        answers.put(error)

"""A recogniser in a process of its own: what its library does ends no session."""

import contextlib
import pickle
import queue
import threading
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.calling.ports import Recogniser, Verdict
from caller.devices import child
from caller.errors import CallerError, ListeningError, RecogniserLostError

OPENS_S = 60.0
"""The longest that loading may take; the largest model takes some seconds."""
ANSWERS_S = 10.0
"""An answer to some seconds of sound takes a fraction of this."""


class RecogniserProcess:
    """Fulfils `Recogniser` with the one that `open_` opens, in a process beside this one.

    `open_` is sent there, so it must be made of functions and values that can be pickled. Waits
    until it is open. Raises what `open_` raises when that is a CallerError. Raises
    RecogniserLostError, from `recognise` too, when the process has ended, does not answer in time,
    or its library raised what it does not say it raises.
    """

    def __init__(
        self,
        open_: Callable[[], Recogniser],
        opens_s: float = OPENS_S,
        answers_s: float = ANSWERS_S,
        begun: Callable[["RecogniserProcess"], None] = lambda _process: None,
    ) -> None:
        """`begun` is given this as soon as it can be closed, while it is still being opened."""
        self._answers_s = answers_s
        self._asking = threading.Lock()
        self._closed = False
        self._process = child.start("caller.devices.recognisers.worker")
        self._answers: queue.SimpleQueue[Any] = queue.SimpleQueue()
        threading.Thread(target=self._read, name="recogniser answers", daemon=True).start()
        begun(self)
        try:
            self._name = str(self._ask(open_, opens_s))
        except BaseException:
            self.close()
            raise

    @property
    def name(self) -> str:
        return self._name

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        if self._closed:
            raise ListeningError("Listening has ended", "start the session again to be heard.")
        answer = self._ask(segment, self._answers_s)
        assert isinstance(answer, Verdict)
        return answer

    def close(self) -> None:
        """End the process, whatever it does; harmless when done twice."""
        self._closed = True
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):  # a segment that never reached it
                    pipe.close()

    def _read(self) -> None:
        with contextlib.suppress(Exception):  # it has ended, or was cut off within an answer
            while True:
                self._answers.put(pickle.load(self._process.stdout))  # type: ignore[arg-type]
        self._answers.put(None)

    def _ask(self, request: Any, within_s: float) -> Any:
        """The answer; where there is none the process is ended."""
        with self._asking:
            try:
                assert self._process.stdin is not None
                self._process.stdin.write(pickle.dumps(request))
                self._process.stdin.flush()
                answer = self._answers.get(timeout=within_s)
            except (OSError, ValueError):
                answer = None
            except queue.Empty:
                self.close()
                raise RecogniserLostError(
                    "What listens does not answer any more.",
                    "Keys and pedals work. Start the session again to speak commands.",
                ) from None
        if answer is None:
            self.close()
            raise RecogniserLostError(
                "What listens has ended.",
                "Keys and pedals work. Start the session again to speak commands.",
            )
        if isinstance(answer, CallerError):
            raise answer
        return answer

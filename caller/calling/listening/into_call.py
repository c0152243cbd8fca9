"""What is said into the call, where the caller does not listen meanwhile: noticed, not obeyed."""

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.listener import HeardPhrase, Listener
from caller.calling.ports import EchoRemover


class IntoCall:
    """Notices a command that was said while the loudspeaker spoke.

    Fewer than half are noticed, so nothing is done on one; the knitter is told by a note that the
    word was lost.
    """

    def __init__(self, echo: EchoRemover, listener: Listener) -> None:
        """`listener` is one of its own, beside the one that obeys."""
        self._echo = echo
        self._listener = listener

    def feed(self, samples: NDArray[np.int16], speaking: bool) -> bool:
        """Take the next samples, of the call or between calls; whether a command was noticed."""
        heard = self._echo.clean(samples)
        if speaking:
            return any(isinstance(one, HeardPhrase) for one in self._listener.feed(heard))
        self._listener.deafen(len(heard))
        return False

"""Two streams of sound, aligned in time: what the loudspeaker got and what the microphone heard.

No clock is read: both devices count out their samples at the same pace, but for a little drift, so
the counts are the clock. Each sample heard is matched with one played a steady time before it,
which is what an echo canceller needs.
"""

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import RATE

CUSHION = RATE * 30 // 1000
"""Played samples that wait at the start, so that a late device leaves no gap. The way of the sound
through both devices takes longer, so the echo never comes before what made it."""

MOST_WAITING = RATE * 80 // 1000
"""When never fewer have waited for `WATCHED`, the devices have drifted apart."""

WATCHED = RATE * 5
LOST_WAITING = RATE // 2
"""When so many wait, the microphone was away for a while."""

PATIENCE = RATE // 5
"""So many heard samples wait for what was played; then the loudspeaker has stopped."""

SILENT = 8
"""Nothing louder than this is silence: changing the rate leaves a little noise in it."""

Sound = NDArray[np.int16]


def sounding(samples: Sound) -> bool:
    """Whether these int16 samples are more than silence."""
    return bool(len(samples)) and max(int(samples.max()), -int(samples.min())) > SILENT


class EchoReference:
    """Matches two streams, int16, mono, 16,000 samples a second, in portions of any size.

    `jumps` counts how often what was played had to be moved against what was heard.
    """

    def __init__(self) -> None:
        self._played = np.zeros(0, dtype=np.int16)
        self._heard = np.zeros(0, dtype=np.int16)
        self._begun = False
        self.jumps = 0
        self._fewest = LOST_WAITING
        self._since = 0

    def played(self, samples: Sound) -> None:
        """Take what was given to the loudspeaker, silence too."""
        self._played = np.concatenate([self._played, samples])

    def heard(self, samples: Sound) -> tuple[Sound, Sound]:
        """Take what the microphone heard; give what is matched: heard and played, equally long.

        What has nothing played beside it yet waits, a fifth of a second at most.
        """
        self._heard = np.concatenate([self._heard, samples])
        if not self._begun:
            self._begun = True
            begin = max(0, len(self._played) - len(self._heard) - CUSHION)
            self._played = self._played[begin:]
        count = min(len(self._heard), len(self._played))
        if len(self._heard) - count > PATIENCE:
            count = len(self._heard)
            self.jumps += 1
            missing = np.zeros(count - len(self._played), dtype=np.int16)
            self._played = np.concatenate([self._played, missing])
        pair = self._heard[:count], self._played[:count]
        self._heard, self._played = self._heard[count:], self._played[count:]
        self._keep_together(count)
        return pair

    def _keep_together(self, passed: int) -> None:
        """Drop what waits needlessly, and while that is sound rather than silence only if it must.

        A jump costs the canceller a second to find the echo again; in silence nobody hears it.
        """
        waiting = len(self._played)
        self._fewest = min(self._fewest, waiting)
        self._since += passed
        if waiting > LOST_WAITING:
            self._drop(waiting - CUSHION)
        elif self._since >= WATCHED:
            needless = self._fewest - CUSHION
            if self._fewest > MOST_WAITING:
                if sounding(self._played[:needless]):
                    return
                self._drop(needless)
        else:
            return
        self._fewest, self._since = LOST_WAITING, 0

    def _drop(self, count: int) -> None:
        self.jumps += 1
        self._played = self._played[count:]

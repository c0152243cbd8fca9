"""How unlike a sound is to each of many takes, where either may run faster here and slower there.

Dynamic time warping (Sakoe and Chiba 1978, IEEE TASSP 26:43) with local steps that count each frame
of the take once, and with ends of the sound that are free: the quiet and the echo around a word
belong to no take.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

STAY = 0.02
"""What a step costs beyond its frame when the sound stays where it is, or leaves out a frame."""
LEAP = 4 * STAY
"""The same when it leaves out two frames."""


@dataclass(frozen=True, eq=False)
class Templates:
    """Takes as rows of frames of length 1, stacked: `frames` (takes, longest, width), zeros behind
    the shorter ones; `lengths` (takes,), each at least 1.
    """

    frames: NDArray[np.float32]
    lengths: NDArray[np.int64]

    @staticmethod
    def of(takes: Sequence[NDArray[np.float32]]) -> "Templates":
        """Of one take or more, none of them empty."""
        lengths = np.array([len(take) for take in takes])
        frames = np.zeros((len(takes), int(lengths.max()), takes[0].shape[1]), dtype=np.float32)
        for row, take in zip(frames, takes, strict=True):
            row[: len(take)] = take
        return Templates(frames, lengths)


def distances(
    templates: Templates, sound: NDArray[np.float32], lead: int, tail: int
) -> NDArray[np.float64]:
    """The cost of the cheapest way through each take, over the frames of the take: shape (takes,).

    A frame costs 1 less the cosine between take and sound. The way begins within the first `lead`
    frames of the sound and ends within the last `tail`. Infinite where no way leads through, as
    where the sound has no frame or is more than three times as long as the take.
    """
    takes, longest, width = templates.frames.shape
    found = np.full(takes, np.inf)
    if not len(sound):
        return found
    alike = templates.frames.reshape(-1, width) @ sound.T
    costs = 1 - alike.astype(np.float64).reshape(takes, longest, len(sound))
    total = np.full((takes, len(sound)), np.inf)
    total[:, :lead] = costs[:, 0, :lead]
    for frame in range(longest):
        if frame:
            before, total = total, total + STAY
            total[:, 1:] = np.minimum(total[:, 1:], before[:, :-1])
            total[:, 2:] = np.minimum(total[:, 2:], before[:, :-2] + STAY)
            total[:, 3:] = np.minimum(total[:, 3:], before[:, :-3] + LEAP)
            total += costs[:, frame]
        ended = templates.lengths == frame + 1
        if ended.any():
            best = total[ended, max(0, len(sound) - tail) :].min(axis=1)
            found[ended] = best / (frame + 1)
    return found

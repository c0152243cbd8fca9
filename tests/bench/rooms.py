"""A word in a room: what a microphone hears of someone speaking a little way off.

The responses come from pyroomacoustics: the image-source method (Allen and Berkley 1979, JASA
65:943) in a box-shaped room whose walls take as much sound as Sabine's formula asks for.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray
from sounds import RATE, Sound

ROOM_M = (5.2, 4.1, 2.6)
MOUTH_M = (1.5, 1.4, 1.25)
TOWARDS = (0.77, 0.62, -0.15)
"""A living room; the microphone stands this way from the mouth, lower than it."""

DECAYS_S = (0.3, 0.5, 0.8)
DISTANCES_M = (1.0, 2.0)


@cache
def response(decay_s: float, distance_m: float = 1.0) -> NDArray[np.float64]:
    """The room's answer to a click, whose sound falls by 60 dB in about `decay_s`."""
    import pyroomacoustics as acoustics

    taken, reflections = acoustics.inverse_sabine(decay_s, ROOM_M)
    room = acoustics.ShoeBox(
        ROOM_M, fs=RATE, materials=acoustics.Material(taken), max_order=min(reflections, 60)
    )
    room.add_source(MOUTH_M)
    way = np.array(TOWARDS) / np.linalg.norm(TOWARDS)
    room.add_microphone(np.array(MOUTH_M) + distance_m * way)
    room.compute_rir()
    return np.asarray(room.rir[0][0], dtype=np.float64)


def decay(heard: NDArray[np.float64]) -> float:
    """The reverberation time of a response, in seconds: ISO 3382-1's T30."""
    from pyroomacoustics.experimental import measure_rt60

    return float(measure_rt60(heard, fs=RATE, decay_db=30))


def in_room(word: Sound, decay_s: float, distance_m: float = 1.0) -> Sound:
    """The word as the room gives it back, with its own mean power, and its tail behind it."""
    from scipy import signal

    answer = response(decay_s, distance_m)
    heard = signal.fftconvolve(word.astype(float), answer)
    begins = int(np.argmax(np.abs(answer)))
    heard = heard[begins:]
    heard *= np.sqrt(np.mean(word.astype(float) ** 2) / np.mean(heard[: len(word)] ** 2))
    return np.clip(np.rint(heard), -32768, 32767).astype(np.int16)

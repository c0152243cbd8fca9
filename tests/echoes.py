"""The loudspeaker's sound as the microphone hears it: made, with its formula stated.

A room's response is the direct sound and, from 2 ms later, noise that decays by 60 dB in the
reverberation time, h(t) = n(t) 10^(-3 t / T60), n normal noise (Polack's model; the 60 dB are ISO
3382's definition; both from memory). Direct sound and tail carry the same energy.
"""

import numpy as np
from numpy.typing import NDArray
from sounds import RATE, Sound


def room(reverberation_s: float, late_s: float, number: int = 1) -> NDArray[np.float64]:
    """The response of power 1 of a room whose direct sound comes `late_s` after it was played."""
    time_s = np.arange(round(reverberation_s * RATE)) / RATE
    noise = np.random.default_rng(number).normal(size=len(time_s))
    tail = np.where(time_s > 0.002, noise * 10 ** (-3 * time_s / reverberation_s), 0.0)
    tail /= np.sqrt(np.sum(tail**2))
    tail[0] = 1.0
    return np.concatenate([np.zeros(round(late_s * RATE)), tail / np.sqrt(2)])


def echo_of(played: Sound, response: NDArray[np.float64], level_db: float) -> NDArray[np.float64]:
    """What comes back, as long as what was played, its power `level_db` above that of it."""
    from scipy import signal

    back = signal.fftconvolve(played.astype(float), response)[: len(played)]
    wanted = np.mean(played.astype(float) ** 2) * 10 ** (level_db / 10)
    return np.asarray(back * np.sqrt(wanted / np.mean(back**2)))


def as_sound(samples: NDArray[np.float64]) -> Sound:
    return np.clip(np.rint(samples), -32768, 32767).astype(np.int16)


def loss_db(before: Sound, after: Sound) -> float:
    """How much less power there is after than before: the echo return loss enhancement."""
    power = [np.mean(sound.astype(float) ** 2) + 1e-3 for sound in (before, after)]
    return float(10 * np.log10(power[0] / power[1]))

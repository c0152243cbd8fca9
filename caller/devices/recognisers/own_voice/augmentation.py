"""A take as it would sound in other places: in noises and in rooms. Pure.

The knitter teaches once, mostly in a quiet room near the microphone. Each take is also learnt as it
is heard beside a noisy machine and from farther off. Noises and rooms are made here.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import RATE
from caller.devices.recognisers.noise import LOOP_S, click_noise, in_noise, pink_noise, power_one

NOISE_DB = 10.0
"""How far below the word the noise is."""
ROOMS = ((0.35, 0.0), (0.6, -3.0))
"""Reverberation time T60 in seconds, and the direct sound over the reflected in decibels.

At 1 m in a living room it is about that."""
BOTH_ROOM, BOTH_DB = (0.5, -1.0), 12.0
"""A room and a noise at once."""
_TAIL_S = 0.15


def augmented(take: NDArray[np.int16], word: slice) -> list[NDArray[np.int16]]:
    """The take itself first, then each way it is heard elsewhere; `word` is where the word lies."""
    noisy = [in_noise(take, word, noise, NOISE_DB) for noise in (pink_noise(), click_noise())]
    roomy = [in_room(take, *room) for room in ROOMS]
    both = in_noise(in_room(take, *BOTH_ROOM), word, click_noise(), BOTH_DB)
    return [take, *noisy, *roomy, both]


@cache
def machine_noise() -> NDArray[np.float64]:
    """A machine that rumbles and beats nine times a second, of power 1. Always the same."""
    count = round(LOOP_S * RATE)
    spectrum = np.fft.rfft(np.random.default_rng(5).normal(size=count))
    spectrum /= 1 + (np.fft.rfftfreq(count, 1 / RATE) / 400) ** 2
    sound = np.fft.irfft(spectrum, count)
    sound *= 1 + 0.7 * np.sin(2 * np.pi * 9 * np.arange(count) / RATE)
    return power_one(sound)


def in_room(take: NDArray[np.int16], decay_s: float, direct_db: float) -> NDArray[np.int16]:
    """The take with the room's answer behind it, as loud as it was, 0.15 s longer."""
    response = room_response(decay_s, direct_db)
    size = 1 << (len(take) + len(response)).bit_length()  # a length with a large prime takes long
    spectrum = np.fft.rfft(take.astype(np.float64), size) * np.fft.rfft(response, size)
    heard = np.fft.irfft(spectrum, size)[: len(take) + round(_TAIL_S * RATE)]
    wanted, given = np.sum(take.astype(np.float64) ** 2), np.sum(heard**2)
    heard *= np.sqrt(wanted / max(given, 1.0))
    return np.asarray(np.clip(np.rint(heard), -32768, 32767), dtype=np.int16)


@cache
def room_response(decay_s: float, direct_db: float) -> NDArray[np.float64]:
    """A room's answer to a click: the click, then noise that falls by 60 dB in `decay_s`.

    The model is Polack's (1988; as in Jot et al. 1997, AES 103), from memory: past the first
    reflections a room answers with noise that falls exponentially. `direct_db` is how far the
    click lies above the noise, in energy. Always the same.
    """
    random, count = np.random.default_rng(3), round(decay_s * RATE)
    reflected = random.normal(size=count) * 10 ** (-3 * np.arange(count) / count)
    reflected[: round(0.003 * RATE)] = 0  # the way of the first reflection is a metre longer
    reflected *= np.sqrt(10 ** (-direct_db / 10) / np.sum(reflected**2))
    reflected[0] = 1.0
    return reflected

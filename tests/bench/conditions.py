"""What a word has to be heard through: noise, rooms, levels, and the caller's own voice.

"10 dB" after a noise is the signal-to-noise ratio: the mean power of the word alone, from its first
to its last sample, over the mean power of the noise, both over the whole band at 16,000 samples a
second. None of these noises is used by a lesson or by any augmentation of the program, but for the
carriage, whose clicks are of the kind that a lesson lays its takes into.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial

import keeping
import negatives
import numpy as np
import rooms
import sounds
from numpy.typing import NDArray
from sounds import RATE, Sound

NOISE_S = 60.0
TALKERS = 6
CALL = tuple(
    f"Row {row}, to the {side}. {first}, to {side} {count}. {second}, to {side} {count + 9}."
    for row, side, first, second, count in (
        ("twelve", "right", "red", "dark blue", 11),
        ("thirteen", "left", "white", "light grey", 6),
        ("one hundred and four", "right", "green", "yellow", 30),
        ("eighty-one", "left", "brown", "cream", 42),
    )
)
"""What the caller itself says meanwhile."""


@dataclass(frozen=True)
class Condition:
    """`make` lays a word into a stream; the same word always into the same one.

    The word begins GAP_S after the stream.
    """

    name: str
    make: Callable[[Sound, str], Sound]


GAP_S = 0.8


def conditions() -> list[Condition]:
    noisy = [
        Condition(f"{name} {snr} dB", partial(_in_noise, noise=noise, snr_db=snr))
        for name, noise in NOISES.items()
        for snr in (10, 5)
    ]
    roomy = [
        Condition(f"room {t60} s {distance:g} m", partial(_in_room, t60=t60, distance_m=distance))
        for t60 in rooms.DECAYS_S
        for distance in rooms.DISTANCES_M
    ]
    softer = [Condition(f"{drop} dB softer", partial(_softer, drop_db=drop)) for drop in (10, 20)]
    own = [
        Condition(f"own call {level} dB", partial(_in_noise, noise=own_call, snr_db=-level))
        for level in (-10, 0)
    ]
    return [Condition("clean", _clean), *noisy, *roomy, *softer, *own]


def _clean(word: Sound, _name: str) -> Sound:
    return sounds.apart([word], GAP_S)


def _in_noise(
    word: Sound, name: str, noise: Callable[[], NDArray[np.float64]], snr_db: float
) -> Sound:
    whole = noise()
    begin = int(keeping.digest(name, snr_db), 16) % len(whole)
    return sounds.in_noise(word, np.roll(whole, -begin)[: len(word) + 2 * RATE], snr_db, GAP_S)


def _in_room(word: Sound, _name: str, t60: float, distance_m: float) -> Sound:
    return sounds.apart([rooms.in_room(word, t60, distance_m)], GAP_S)


def _softer(word: Sound, _name: str, drop_db: float) -> Sound:
    return sounds.apart([np.rint(word / 10 ** (drop_db / 20)).astype(np.int16)], GAP_S)


@cache
def _rasp() -> NDArray[np.float64]:
    return sounds.carriage_rasp(NOISE_S, 5)


@cache
def _babble() -> NDArray[np.float64]:
    """Six stretches of talk at once."""
    talk = [sound for sound in negatives.files(negatives.BABBLE, "*.g722") if len(sound) > RATE]
    voices = []
    for number in range(TALKERS):
        joined = np.concatenate(talk[number::TALKERS]).astype(float)
        joined = np.resize(joined, round(NOISE_S * RATE))
        voices.append(joined / np.sqrt(np.mean(joined**2)))
    return _power_one(np.sum(voices, axis=0))


@cache
def _clatter() -> NDArray[np.float64]:
    """No carriage, but real metal: a keyboard with steel springs, 30 strokes a second."""
    random, count = np.random.default_rng(5), round(NOISE_S * RATE)
    strokes = negatives.files(negatives.STROKES, "*.wav")
    mixed = np.zeros(count + max(map(len, strokes)))
    for begin in random.integers(0, count, round(30 * NOISE_S)):
        stroke = strokes[random.integers(len(strokes))]
        mixed[begin : begin + len(stroke)] += stroke
    return _power_one(mixed[:count])


@cache
def _ratchet() -> NDArray[np.float64]:
    """A metal ratchet, invented: 14 strokes a second, each ringing in five modes of its own."""
    random, count = np.random.default_rng(7), round(NOISE_S * RATE)
    modes_hz, fall_s = np.array([1_180.0, 2_350.0, 3_120.0, 4_700.0, 6_100.0]), 0.02
    time_s = np.arange(round(6 * fall_s * RATE)) / RATE
    mixed = np.zeros(count + len(time_s))
    for begin in np.cumsum(random.normal(RATE / 14, RATE / 140, round(13 * NOISE_S))).astype(int):
        pitch = modes_hz * random.normal(1, 0.02, len(modes_hz))
        ring = np.sin(2 * np.pi * pitch[:, None] * time_s) * random.uniform(0.3, 1, (5, 1))
        if begin < count:
            mixed[begin : begin + len(time_s)] += ring.sum(axis=0) * np.exp(-time_s / fall_s)
    return _power_one(mixed[:count] + random.normal(0, 0.02, count))


@cache
def _machines() -> NDArray[np.float64]:
    """Recorded: a forge, light and heavy industry, a mill, one after another."""
    found = negatives.files(negatives.MACHINES, "sounds/*.wav", negatives.MACHINES_NAMED)
    joined = np.concatenate([_power_one(sound.astype(float)) for sound in found])
    return _power_one(np.resize(joined, round(NOISE_S * RATE)))


@cache
def _music() -> NDArray[np.float64]:
    """From the middle of each piece."""
    pieces = negatives.files(negatives.MUSIC, "*.g722")
    share = round(NOISE_S * RATE / len(pieces))
    parts = []
    for piece in pieces:
        middle = max(0, (len(piece) - share) // 2)
        parts.append(_power_one(piece[middle : middle + share].astype(float)))
    return np.concatenate(parts)


@cache
def own_call() -> NDArray[np.float64]:
    """The caller's running speech, as its loudspeaker gives it to the room."""
    said = np.concatenate(sounds.spoken(CALL, "en-us", 160))
    loud = said[np.abs(said.astype(int)) > 50]
    scale = np.sqrt(np.mean(loud.astype(float) ** 2))
    return said / scale


def _power_one(sound: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(sound / np.sqrt(np.mean(sound**2)))


NOISES: dict[str, Callable[[], NDArray[np.float64]]] = {
    "babble": _babble,
    "carriage": _rasp,
    "ratchet": _ratchet,
    "machines": _machines,
    "clatter": _clatter,
    "music": _music,
}

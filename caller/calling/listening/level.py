"""How loud the microphone hears: level, noise, clipping and silence, and what to do about them.

Decibels here are dB FS with a full-scale square wave at 0, so that a full-scale sine has an RMS
level of -3.01 (20 log10 of the RMS over 32,768). AES17 puts the sine itself at 0, which is 3.01
more (from memory); peaks are the same in both.
"""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import RATE

FULL_SCALE = 32_768
LOWEST_DB = -120.0
"""What digital silence is told as; the softest sound that 50 ms can hold has -119.3."""
DITHER = 1
"""Samples of up to this are silence: changing the rate leaves that much in nothing at all."""

FRAME_S = 0.05
TOO_QUIET_DB = -60.0
CLEAR_DB = 10.0
"""How far a voice should be above the room; recognisers were tried so far (docs/figures.md)."""
CLIPPED_S = 0.005
"""Less than this is a knock on the microphone."""
_FLAT = 4
"""So many samples in a row at the very top are no sine: they were cut off there. Only where the top
is a quarter of full scale or more; small numbers are often the same."""


@dataclass(frozen=True)
class Level:
    """A stretch of sound, in decibels: the whole, its highest sample, the room (the level that the
    softest tenth of it keeps below), and its loudest words (the loudest fiftieth is above).

    `clipped_s` is how much of it was cut off at the top.
    """

    seconds: float
    rms_db: float
    peak_db: float
    floor_db: float
    loudest_db: float
    clipped_s: float
    silent: bool


def measured(samples: NDArray[np.int16], rate: int = RATE) -> Level:
    """The level of mono int16 samples, any number of them."""
    sound = samples.astype(np.float64)
    size = max(1, round(FRAME_S * rate))
    frames = [sound[at : at + size] for at in range(0, max(len(sound) - size, 0) + 1, size)]
    powers = [float(np.mean(frame**2)) for frame in frames if len(frame)] or [0.0]
    soft, loud = np.percentile(powers, [10, 98], method="closest_observation")
    peak = float(np.abs(sound).max(initial=0))
    return Level(
        seconds=len(samples) / rate,
        rms_db=_decibels(float(np.mean(sound**2)) if len(sound) else 0.0),
        peak_db=_decibels(peak**2),
        floor_db=_decibels(float(soft)),
        loudest_db=_decibels(float(loud)),
        clipped_s=_clipped(samples) / rate,
        silent=is_silent(samples),
    )


def is_silent(samples: NDArray[np.int16]) -> bool:
    """Whether there is no sound in these samples: nothing, or what changing the rate leaves."""
    return len(samples) == 0 or bool(samples.min() >= -DITHER and samples.max() <= DITHER)


def _decibels(power: float) -> float:
    return max(LOWEST_DB, 10 * float(np.log10(power / FULL_SCALE**2))) if power else LOWEST_DB


def _clipped(samples: NDArray[np.int16]) -> int:
    """How many samples are at full scale, or flat at the sound's own top or bottom."""
    if len(samples) == 0:
        return 0
    count = 0
    for value in {int(samples.max()), int(samples.min())}:
        at = samples == value
        if abs(value) >= FULL_SCALE - 1:
            count += int(at.sum())
        elif abs(value) >= FULL_SCALE // 4:
            edges = np.flatnonzero(np.diff(np.concatenate([[False], at, [False]])))
            runs = edges[1::2] - edges[::2]
            count += int(runs[runs >= _FLAT].sum())
    return count


class Fault(Enum):
    """What can be wrong with a level, as what was found and what to do about it."""

    SILENT = (
        "The microphone gives silence; it may be muted or the wrong one.",
        "Unmute it, allow programs to use it in the system's settings, or choose another with "
        "--microphone.",
    )
    TOO_QUIET = (
        "The microphone hears next to nothing.",
        "Turn the microphone up in the system's settings, or bring it nearer.",
    )
    CLIPPED = (
        "The microphone is turned up too far; loud sounds are cut off.",
        "Turn it down in the system's settings, or move it away a little.",
    )
    NOISY = (
        "The room is nearly as loud as the voice.",
        "Bring the microphone nearer to your mouth, or turn off what makes the noise.",
    )

    @property
    def finding(self) -> str:
        return str(self.value[0])

    @property
    def remedy(self) -> str:
        return str(self.value[1])


def fault_of(room: Level, voice: Level | None = None) -> Fault | None:
    """What is wrong with the level of a room in which nobody speaks, and of a voice in it."""
    heard = voice or room
    if room.silent and heard.silent:
        return Fault.SILENT
    if heard.clipped_s > CLIPPED_S:
        return Fault.CLIPPED
    if voice is None:
        return None  # a quiet room is no fault
    if voice.loudest_db < TOO_QUIET_DB:
        return Fault.TOO_QUIET
    if voice.loudest_db - room.floor_db < CLEAR_DB:
        return Fault.NOISY
    return None


def bar(decibels: float, width: int = 30) -> str:
    """A level as a bar from -60 to 0 dB for the screen, with its figure."""
    filled = round(width * min(1.0, max(0.0, 1 + decibels / 60)))
    return f"[{'#' * filled}{'-' * (width - filled)}] {decibels:4.0f} dB"


class SilenceWatch:
    """Tells when a microphone has given nothing but silence for too long."""

    def __init__(self, after_s: float = 20.0, rate: int = RATE) -> None:
        self._limit = round(after_s * rate)
        self._silent = 0
        self._told = False

    def feed(self, samples: NDArray[np.int16]) -> bool:
        """Take the next samples; true once, when the silence has lasted so long."""
        self._silent = self._silent + len(samples) if is_silent(samples) else 0
        if self._told or self._silent < self._limit:
            return False
        self._told = True
        return True

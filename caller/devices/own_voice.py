"""Commands known by the knitter's own takes of them: any words, any language, any accent.

Each cut is laid beside every take by two ears, a network's embedding of speech and the spectrum's
cepstra; calling.matching decides. The figures behind the values here are printed by
tests/bench/listening.py.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caller.calling.cutting import RATE
from caller.calling.matching import CEILING, Distance, bound_of, decide, nearest
from caller.calling.ports import NOTHING, Verdict
from caller.devices.embedding import SpeechEmbedding
from caller.devices.fbank import cepstra
from caller.devices.warping import warped
from caller.errors import ListeningError

FEWEST_TAKES = 3
SHORTEST_S = 0.15
"""No word is shorter."""
LONGEST = 1.8
"""Nothing that lasts so many times as long as a take, or a take so many times as long, is it."""

_ROOM_SAMPLES = round(0.39 * RATE)
"""The network looks half of 0.78 s to each side of what it answers for."""


@dataclass(frozen=True, eq=False)
class _Heard:
    """What the ears make of one cut: frames of each, and how long the word lasts."""

    speech: NDArray[np.float64]
    spectrum: NDArray[np.float64]
    seconds: float


class _Ears:
    """Takes in a cut, and tells how far two of them are apart."""

    def __init__(self) -> None:
        self._embedding = SpeechEmbedding()

    def hear(self, cut: NDArray[np.int16]) -> _Heard | None:
        """None where there is nothing to be heard."""
        word = _word(cut)
        if len(word) < SHORTEST_S * RATE:
            return None
        room = np.zeros(_ROOM_SAMPLES, dtype=np.int16)
        speech = self._embedding.frames(np.concatenate([room, word, room]), step=4)
        spectrum = cepstra(word)[:, 1:].astype(np.float64)
        spectrum -= spectrum.mean(axis=0)
        spectrum /= np.maximum(np.linalg.norm(spectrum, axis=1, keepdims=True), 1e-9)
        return _Heard(speech.astype(np.float64), spectrum, len(word) / RATE)

    def apart(self, one: _Heard, other: _Heard) -> Distance:
        if not 1 / LONGEST <= one.seconds / other.seconds <= LONGEST:
            return Distance(float("inf"), float("inf"))
        return Distance(warped(one.speech, other.speech), warped(one.spectrum, other.spectrum))


class OwnVoiceRecogniser:
    """Fulfils `Recogniser` by takes of each command, from a WordCutter's cuts."""

    def __init__(
        self, takes: Mapping[str, Sequence[NDArray[np.int16]]], strictness: int = 50
    ) -> None:
        """`takes`: of each command, by its name, three cuts or more. Loading takes about 60 MB.

        Raises ListeningError for no command, too few takes, takes without a sound, and what is
        missing.
        """
        if not takes:
            raise ListeningError("No command has been taught yet; caller teach does that.")
        self._strictness = strictness
        self._ears: _Ears | None = _Ears()
        self._taught = {name: _heard_all(self._ears, name, cuts) for name, cuts in takes.items()}
        self._bounds = {
            name: bound_of(
                nearest([self._ears.apart(take, other) for other in heard if other is not take])
                for take in heard
            )
            for name, heard in self._taught.items()
        }

    @property
    def name(self) -> str:
        return "own"

    def recognise(self, cut: NDArray[np.int16]) -> Verdict:
        """The name of the command that was said in this cut (16,000 samples a second, mono)."""
        ears = self._ears
        if ears is None:
            raise ListeningError("Listening has ended; start the session again to be heard.")
        heard = ears.hear(cut)
        if heard is None:
            return NOTHING
        distances = {
            name: nearest([ears.apart(heard, take) for take in known])
            for name, known in self._taught.items()
        }
        return decide(distances, self._bounds, self._strictness)

    def close(self) -> None:
        self._ears = None


class OwnVoiceLikeness:
    """Fulfils `takes.Likeness`: how far two takes are apart, in parts of the farthest that one
    command may lie.

    Raises ListeningError for what is missing.
    """

    def __init__(self) -> None:
        self._ears = _Ears()
        self._known: dict[int, tuple[NDArray[np.int16], _Heard | None]] = {}

    def distance(self, one: NDArray[np.int16], other: NDArray[np.int16]) -> float:
        heard, beside = self._heard(one), self._heard(other)
        if heard is None or beside is None:
            return float("inf")
        return self._ears.apart(heard, beside).over(CEILING)

    def _heard(self, take: NDArray[np.int16]) -> _Heard | None:
        """Each take is listened to once; it is held, so that its id stays its own."""
        if id(take) not in self._known:
            self._known[id(take)] = (take, self._ears.hear(take))
        return self._known[id(take)][1]


def _heard_all(ears: _Ears, name: str, cuts: Sequence[NDArray[np.int16]]) -> list[_Heard]:
    heard = [one for cut in cuts if (one := ears.hear(cut)) is not None]
    if len(heard) < FEWEST_TAKES:
        raise ListeningError(
            f"The command {name} has {len(heard)} takes that can be heard, and needs "
            f"{FEWEST_TAKES}; teach it again with caller teach."
        )
    return heard


def _word(cut: NDArray[np.int16]) -> NDArray[np.int16]:
    """The cut without the quiet around the word."""
    step = RATE // 100
    frames = cut[: len(cut) // step * step].astype(np.float64).reshape(-1, step)
    if not len(frames):
        return cut[:0]
    level = 10 * np.log10(np.mean(frames**2, axis=1) + 1)
    loud = np.flatnonzero(level > max(level.max() - 25, 10))
    if not len(loud):
        return cut[:0]
    return cut[loud[0] * step : (loud[-1] + 1) * step]

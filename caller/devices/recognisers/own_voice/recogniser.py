"""Commands known by the knitter's own takes of them: any words, any language, any accent.

Each segment is compared with every take by two feature extractors, a network's embedding of speech
and the spectrum's cepstra; `decision` decides. Each take is also laid into noise when it is learnt,
so that it is known in a loud room. The figures behind the values here are printed by
tests/bench/listening.py.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf

import numpy as np
from numpy.typing import NDArray

from caller.calling.enrolment.takes import ENOUGH
from caller.calling.listening.blocks import RATE
from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.noise import click_noise, in_noise, pink_noise
from caller.devices.recognisers.own_voice.decision import (
    CEILING,
    NOWHERE,
    Distance,
    bound_of,
    decide,
    nearest,
)
from caller.devices.recognisers.own_voice.dtw import warped, worst
from caller.devices.recognisers.own_voice.embedding import SpeechEmbedding
from caller.devices.recognisers.own_voice.mfcc import cepstra
from caller.errors import ListeningError

SHORTEST_S = 0.1
"""No word is shorter."""
LONGEST = 2.0
"""Nothing that lasts so many times as long as a take, or a take so many times as long, is it."""

HOPELESS = 3.0
"""At so many times the farthest bound a take need not be looked at closely, which takes time."""

NOISE_DB = 10.0
"""How far below the word the noise is that takes are laid into."""

SPEECH_STEP = 4
"""A frame of the embedding each 40 ms."""
SOUND_FRAMES = 12
"""A single speech sound, such as a vowel, lasts about 120 ms."""
CHANGE = 3.0
"""What the change of the cepstra counts beside the cepstra themselves."""

_ROOM_SAMPLES = round(0.36 * RATE)
"""The network looks so far to each side of what it answers for."""
_FRAME = RATE // 100
_EDGE_S, _MARGIN_S = 0.15, 0.12


@dataclass(frozen=True, eq=False)
class _Heard:
    """What the extractors make of a segment: frames of length 1, and how long the word lasts."""

    speech: NDArray[np.float64]
    spectrum: NDArray[np.float64]
    seconds: float


class _Extractors:
    """Takes in a segment, and tells how far two of them are apart."""

    def __init__(self) -> None:
        self._embedding = SpeechEmbedding()

    def hear(self, segment: NDArray[np.int16]) -> _Heard | None:
        """None where there is nothing to be heard."""
        word = segment[find_word(segment)]
        if len(word) < SHORTEST_S * RATE:
            return None
        room = np.zeros(_ROOM_SAMPLES, dtype=np.int16)
        speech = self._embedding.frames(np.concatenate([room, word, room]), SPEECH_STEP)
        return _Heard(speech.astype(np.float64), _shape(word), len(word) / RATE)

    def learn(self, take: NDArray[np.int16]) -> list[_Heard]:
        """The take as it is and in noise; empty where there is nothing to be heard."""
        word = find_word(take)
        if word.stop - word.start < SHORTEST_S * RATE:
            return []
        segments = [
            take,
            *(in_noise(take, word, noise, NOISE_DB) for noise in (pink_noise(), click_noise())),
        ]
        return [heard for segment in segments if (heard := self.hear(segment)) is not None]

    def apart(self, heard: _Heard, take: Sequence[_Heard]) -> Distance:
        """How far the sound is from the take, in whichever noise that is nearer."""
        near = [one for one in take if 1 / LONGEST <= heard.seconds / one.seconds <= LONGEST]
        if not near:
            return NOWHERE
        speech = min(warped(heard.speech, one.speech) for one in near)
        spectra = [warped(heard.spectrum, one.spectrum) for one in near]
        spectrum = min(spectra)
        if max(speech / CEILING.speech, spectrum / CEILING.spectrum) > HOPELESS:
            return Distance(speech, spectrum, inf)
        nearest_spectrum = near[spectra.index(spectrum)].spectrum
        return Distance(speech, spectrum, worst(heard.spectrum, nearest_spectrum, SOUND_FRAMES))


class OwnVoiceRecogniser:
    """Fulfils `Recogniser` by takes of each command, from the segments of an `Endpointer`."""

    def __init__(
        self, takes: Mapping[str, Sequence[NDArray[np.int16]]], strictness: int = 50
    ) -> None:
        """`takes`: of each command, by its name, three segments or more.

        Raises ListeningError for no command, too few takes, takes without a sound, and what is
        missing.
        """
        if not takes:
            raise ListeningError("No command has been taught yet", "row-caller teach does that.")
        self._strictness = strictness
        self._listening: _Extractors | None = _Extractors()
        self._taught = {
            name: _learnt(self._listening, name, segments) for name, segments in takes.items()
        }
        self._bounds = {
            name: bound_of(
                [
                    nearest(
                        [self._listening.apart(take[0], one) for one in known if one is not take]
                    )
                    for take in known
                ]
            )
            for name, known in self._taught.items()
        }

    @property
    def name(self) -> str:
        return "own"

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        """The name of the command that was said in this segment (16,000 samples a second, mono)."""
        extractors = self._listening
        if extractors is None:
            raise ListeningError("Listening has ended", "start the session again to be heard.")
        heard = extractors.hear(segment)
        if heard is None:
            return NOTHING
        distances = {
            name: nearest([extractors.apart(heard, take) for take in known])
            for name, known in self._taught.items()
        }
        return decide(distances, self._bounds, self._strictness)

    def close(self) -> None:
        self._listening = None


class OwnVoiceLikeness:
    """How alike two takes sound to the recogniser that will know commands by them."""

    def __init__(self) -> None:
        """Raises ListeningError for what is missing."""
        self._listening = _Extractors()
        self._heard = lru_cache(maxsize=256)(self._hear)

    def distance(self, one: NDArray[np.int16], other: NDArray[np.int16]) -> float:
        """0 for the same sound, 1 and less where one may be heard as the other; infinite where
        there is nothing to be heard.
        """
        first, second = (self._heard(segment.tobytes()) for segment in (one, other))
        if first is None or second is None:
            return float("inf")
        return self._listening.apart(first, [second]).over(CEILING)

    def _hear(self, segment: bytes) -> _Heard | None:
        return self._listening.hear(np.frombuffer(segment, dtype=np.int16))


def _learnt(
    extractors: _Extractors, name: str, segments: Sequence[NDArray[np.int16]]
) -> list[list[_Heard]]:
    takes = [take for segment in segments if (take := extractors.learn(segment))]
    if len(takes) < ENOUGH:
        raise ListeningError(
            f"The command {name} has {len(takes)} takes that can be heard, and needs {ENOUGH}",
            f"teach it again with row-caller teach --commands {name}.",
        )
    return takes


def find_word(segment: NDArray[np.int16]) -> slice:
    """Where the word lies in a segment: what is clearly louder than the quiet on its two sides.

    An empty slice where there is nothing but silence.
    """
    edge = round(_EDGE_S * RATE)  # of the pre-roll and the hangover, which hold no word
    begin, end = (edge, len(segment) - edge) if len(segment) > 3 * edge else (0, len(segment))
    count = (end - begin) // _FRAME
    if count < 3:
        return slice(0, 0)
    frames = segment[begin : begin + count * _FRAME].astype(np.float64).reshape(-1, _FRAME)
    power = np.pad(np.mean(frames**2, axis=1), 1, mode="edge")
    level = 10 * np.log10((power[:-2] + power[1:-1] + power[2:]) / 3 + 1)
    margin = round(_MARGIN_S * RATE)
    around = np.concatenate([segment[:margin], segment[-margin:]]).astype(np.float64)
    floor = 10 * np.log10(np.mean(around**2) + 1)
    top = np.mean(np.sort(level)[-3:])
    if top < 10:
        return slice(0, 0)
    loud = np.flatnonzero(level > np.clip(floor + 6, top - 25, top - 6))
    first, last = max(0, loud[0] - 2), min(count, loud[-1] + 4)
    return slice(int(begin + first * _FRAME), int(begin + last * _FRAME))


def _shape(word: NDArray[np.int16]) -> NDArray[np.float64]:
    """The cepstra without the loudness and without their mean, and how they change."""
    still = cepstra(word)[:, 1:].astype(np.float64)
    still -= still.mean(axis=0)
    wide = np.pad(still, ((2, 2), (0, 0)), mode="edge")
    change = (2 * (wide[4:] - wide[:-4]) + wide[3:-1] - wide[1:-3]) / 10
    both = np.hstack([still, CHANGE * change])
    return np.asarray(both / np.maximum(np.linalg.norm(both, axis=1, keepdims=True), 1e-9))

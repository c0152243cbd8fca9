"""Commands known by the knitter's own takes of them: any words, any language, any accent.

Each segment's states are laid beside every take's by DTW; `decision` decides. A take is learnt as
it is and as it would sound in noises and rooms (`augmentation`). The figures behind the values here
are in docs/figures.md.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from math import inf, isfinite

import numpy as np
from numpy.typing import NDArray

from caller.calling.enrolment.takes import ENOUGH
from caller.calling.listening.blocks import RATE
from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.english.encoder import STEP_SAMPLES, Encoder
from caller.devices.recognisers.own_voice.augmentation import augmented
from caller.devices.recognisers.own_voice.decision import BACKWARDS, bound, decide, excess
from caller.devices.recognisers.own_voice.dtw import Templates, distances
from caller.devices.recognisers.own_voice.states import SpeechStates
from caller.devices.recognisers.own_voice.word_bounds import find_word
from caller.errors import ListeningError
from caller.settings import ListeningSettings

SHORTEST_S = 0.1
"""No word is shorter."""

LEAD_S, TAIL_S = 0.34, 0.48
"""So much quiet, noise or echo may lie before and behind the word in a segment: the pre-roll and
the hangover, and how late the detector may be."""


_LATE = (3, 3)
"""Frames that two words alone may begin and end after one another."""


class TakeStates:
    """What the encoder makes of takes and of segments."""

    def __init__(self, encoder: Encoder | None = None) -> None:
        self._states = SpeechStates(encoder)

    def segment(self, segment: NDArray[np.int16]) -> NDArray[np.float32]:
        """The frames of a whole segment."""
        return self._states.frames(segment)

    def take(self, take: NDArray[np.int16]) -> NDArray[np.float32] | None:
        """The frames of the word alone; None where there is nothing to be heard."""
        return self._within(take, find_word(take)) if has_word(take) else None

    def learn(self, take: NDArray[np.int16]) -> list[NDArray[np.float32]]:
        """The word as it is said and as it would sound elsewhere; empty where there is none."""
        if not has_word(take):
            return []
        word = find_word(take)
        return [self._within(sound, word) for sound in augmented(take, word)]

    def _within(self, sound: NDArray[np.int16], word: slice) -> NDArray[np.float32]:
        frames = self._states.frames(sound)
        first = max(0, word.start // STEP_SAMPLES - 1)
        return frames[first : -(-word.stop // STEP_SAMPLES) + 1]


class KnownTakes:
    """The takes of several commands, and how far a segment is from each."""

    def __init__(self, takes: Mapping[str, Sequence[Sequence[NDArray[np.float32]]]]) -> None:
        """`takes`: of each command its takes, each as it is and then as it sounds elsewhere."""
        flat = [
            (name, number, frames)
            for name, known in takes.items()
            for number, take in enumerate(known)
            for frames in take
        ]
        self._counts = {name: len(known) for name, known in takes.items()}
        self._places = [(name, number) for name, number, _ in flat]
        self._templates = Templates.of([frames for _, _, frames in flat])
        self._backwards = Templates.of(
            [take[0][::-1] for known in takes.values() for take in known]
        )

    def excesses(
        self, segment: NDArray[np.float32], without: tuple[str, int] | None = None
    ) -> dict[str, float]:
        """Of each command, by its takes but for the one `without`, a name and a number.

        A take is as far as it is in whichever place it sounds most like the segment.
        """
        near: dict[tuple[str, int], float] = {}
        for place, far in zip(self._places, _apart(self._templates, segment), strict=True):
            near[place] = min(near.get(place, inf), float(far))
        backwards = dict(zip(near, map(float, _apart(self._backwards, segment)), strict=True))
        chosen = {
            name: [(name, number) for number in range(count) if (name, number) != without]
            for name, count in self._counts.items()
        }
        return {
            name: excess([near[one] for one in takes], [backwards[one] for one in takes])
            for name, takes in chosen.items()
        }


def _apart(templates: Templates, segment: NDArray[np.float32]) -> NDArray[np.float64]:
    lead, tail = (round(part_s * RATE / STEP_SAMPLES) for part_s in (LEAD_S, TAIL_S))
    return distances(templates, segment, lead, tail)


class OwnVoiceRecogniser:
    """Fulfils `Recogniser` by takes of each command, from the segments of an `Endpointer`."""

    def __init__(
        self,
        takes: Mapping[str, Sequence[NDArray[np.int16]]],
        strictness: int = ListeningSettings.strictness,
        encoder: Encoder | None = None,
    ) -> None:
        """`takes`: of each command, by its name, three takes or more. Without an `encoder` it
        loads one of its own.

        Raises ListeningError for no command, too few takes, takes without a sound, and what is
        missing.
        """
        if not takes:
            raise ListeningError("No command has been taught yet", "row-caller teach does that.")
        self._bound = bound(strictness)
        self._states: TakeStates | None = TakeStates(encoder)
        self._known = KnownTakes({name: learnt(self._states, name, takes[name]) for name in takes})

    @property
    def name(self) -> str:
        return "own"

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        """The name of the command that was said in this segment (16,000 samples a second, mono)."""
        if self._states is None:
            raise ListeningError("Listening has ended", "start the session again to be heard.")
        frames = self._states.segment(segment)
        if not len(frames):
            return NOTHING
        return decide(self._known.excesses(frames), self._bound)

    def close(self) -> None:
        self._states = None


class OwnVoiceLikeness:
    """How alike two takes sound to the recogniser that will know commands by them."""

    def __init__(self, encoder: Encoder | None = None) -> None:
        """Without an `encoder` it loads one of its own; ListeningError for what is missing."""
        self._states = TakeStates(encoder)
        self._heard = lru_cache(maxsize=256)(self._hear)

    def distance(self, one: NDArray[np.int16], other: NDArray[np.int16]) -> float:
        """0 for the same sound, 1 and less where one may be heard as the other; infinite where
        there is nothing to be heard.
        """
        first, second = (self._heard(take.tobytes()) for take in (one, other))
        if first is None or second is None:
            return inf
        return min(_apart_in_bounds(first, second), _apart_in_bounds(second, first))

    def _hear(self, take: bytes) -> NDArray[np.float32] | None:
        return self._states.take(np.frombuffer(take, dtype=np.int16))


def _apart_in_bounds(take: NDArray[np.float32], word: NDArray[np.float32]) -> float:
    """How far a word without quiet around it is from a take, in parts of how far it may be."""
    near, backwards = distances(Templates.of([take, take[::-1]]), word, *_LATE)
    allowed = BACKWARDS * backwards + bound(ListeningSettings.strictness)
    return float(near / allowed) if allowed > 0 and isfinite(near) else inf


def has_word(take: NDArray[np.int16]) -> bool:
    """Whether there is anything in a take to be known again."""
    word = find_word(take)
    return bool(word.stop - word.start >= SHORTEST_S * RATE)


def learnt(
    states: TakeStates, name: str, takes: Sequence[NDArray[np.int16]]
) -> list[list[NDArray[np.float32]]]:
    """The takes of a command as they sound in several places; ListeningError for too few."""
    found = [take for sound in takes if (take := states.learn(sound))]
    if len(found) < ENOUGH:
        raise ListeningError(
            f"The command {name} has {len(found)} takes that can be heard, and needs {ENOUGH}",
            f"teach it again with row-caller teach --commands {name}.",
        )
    return found

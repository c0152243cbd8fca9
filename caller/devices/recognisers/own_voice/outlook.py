"""How well what is taught would be heard: each take tried against the others.

Leave-one-out: a take is heard as it is, laid into a noise and laid into a room, by a recogniser
that knows its command by the other takes alone. Noise and room are others than those in which the
takes are learnt.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from caller.calling.enrolment.takes import Outlook
from caller.devices.recognisers.noise import in_noise
from caller.devices.recognisers.own_voice.augmentation import (
    NOISE_DB,
    in_room,
    machine_noise,
)
from caller.devices.recognisers.own_voice.decision import bound, decide
from caller.devices.recognisers.own_voice.recogniser import KnownTakes, TakeStates, has_word, learnt
from caller.devices.recognisers.own_voice.word_bounds import find_word
from caller.settings import ListeningSettings

ROOM = (0.45, -2.0)
"""T60 in seconds, direct over reflected sound in decibels: about 1 m away."""


def outlook(
    takes: Mapping[str, Sequence[NDArray[np.int16]]],
    strictness: int = ListeningSettings.strictness,
) -> Outlook:
    """`takes` and errors as for OwnVoiceRecogniser; about 0.3 s of one processor a take."""
    states, limit = TakeStates(), bound(strictness)
    known = KnownTakes({name: learnt(states, name, takes[name]) for name in takes})

    def heard(name: str, number: int, sound: NDArray[np.int16]) -> bool:
        excesses = known.excesses(states.segment(sound), without=(name, number))
        return decide(excesses, limit).phrase == name

    asked = [
        (name, number, take)
        for name in takes
        for number, take in enumerate(filter(has_word, takes[name]))
    ]
    return Outlook(
        takes=len(asked),
        quiet=sum(heard(name, number, take) for name, number, take in asked),
        noise=sum(heard(name, number, _noisy(take)) for name, number, take in asked),
        room=sum(heard(name, number, in_room(take, *ROOM)) for name, number, take in asked),
    )


def _noisy(take: NDArray[np.int16]) -> NDArray[np.int16]:
    return in_noise(take, find_word(take), machine_noise(), NOISE_DB)

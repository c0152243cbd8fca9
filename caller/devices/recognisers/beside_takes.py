"""A recogniser of phrases and the knitter's own takes, both listening.

Either may hear a command alone: who taught one word is still heard by phrases for all others, and
the taught word may be one that no phrase is. What is surely a phrase is obeyed at once; else, where
they hear different commands, neither is. The figures are in docs/figures.md.
"""

import numpy as np
from numpy.typing import NDArray

from caller.calling.commands import Words
from caller.calling.ports import Recogniser, Verdict
from caller.devices.recognisers.own_voice.recogniser import OwnVoiceRecogniser


def as_taught(name: str) -> str:
    """What is answered where a command of this name is heard by its takes alone.

    No phrase has a comma, so it is never a phrase of another command.
    """
    return f"{name}, as taught"


class BesideTakes:
    """Fulfils `Recogniser` by one for phrases and one for takes."""

    def __init__(self, phrases: Recogniser, takes: OwnVoiceRecogniser, words: Words) -> None:
        """`words` are the commands that the phrases mean, and the answers `as_taught`."""
        self._phrases = phrases
        self._takes = takes
        self._words = words

    @property
    def name(self) -> str:
        return f"{self._phrases.name} and {self._takes.name}"

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        """What was said in this segment (16,000 samples a second, mono)."""
        said = self._phrases.recognise(segment)
        if said.sure:
            return said
        taught = self._takes.recognise(segment)
        if taught.phrase is None:
            return said if said.phrase or said.near_miss else taught
        answer = as_taught(taught.phrase)
        if said.phrase is None:
            return Verdict(answer)
        if self._words.get(said.phrase) is self._words[answer]:
            return said
        return Verdict(None, near_miss=True)

    def close(self) -> None:
        self._phrases.close()
        self._takes.close()

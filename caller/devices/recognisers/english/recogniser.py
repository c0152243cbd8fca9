"""English phrases, whoever says them: each is scored in closed form against free writing.

The model is not asked what was said but how likely each phrase is, and that is compared with what
it would write of its own accord and with the phrase that comes second. Writing alone fails in
noise: "repeat that" beside a carriage is written as another sentence, while its own score is still
the best by far.
"""

from collections.abc import Sequence
from functools import partial

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.grammar import Grammar
from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.english import numbered
from caller.devices.recognisers.english.free_writing import write_freely
from caller.devices.recognisers.english.model import SHORTEST_SAMPLES, EnglishModel
from caller.devices.recognisers.english.sentence_tree import SentenceTree
from caller.devices.recognisers.english.spellings import is_english, sentence_spellings, spellings
from caller.errors import ListeningError

LEAST_SCORE = -9.0
LEAST_AGAINST_FREE = -6.0
LEAST_AHEAD = 6.0
"""Natural logarithms: of a phrase's likelihood, of it against that of the free writing, and against
that of the phrase that comes second."""
NEAR = -14.0
"""A phrase that is the best by far but this unlikely may have been meant."""


class EnglishRecogniser:
    """Hears which of the phrases was said in a segment."""

    def __init__(
        self,
        phrases: Sequence[str],
        model: EnglishModel | None = None,
        sentences: Grammar | None = None,
    ) -> None:
        """Load the model. ListeningError when it fails, or for words not in English letters.

        `sentences` are heard beside the phrases, each answered with its words.
        """
        if not any(phrase.split() for phrase in phrases):
            raise ListeningError("There is no phrase to listen for.")
        words = {word for phrase in phrases for word in phrase.split()}
        if strange := sorted(word for word in words if not is_english(word)):
            raise ListeningError(
                "Spoken commands are off: the English recogniser cannot hear these words: "
                f"{', '.join(strange)}.",
                "Choose English words in the settings file, teach your own with row-caller teach, "
                "or use a Vosk model of your language.",
            )
        self._model: EnglishModel | None = model or EnglishModel()
        self._sentences = sentences or {}
        texts = {phrase: spellings(phrase) for phrase in phrases}
        texts |= {words: sentence_spellings(one.written) for words, one in self._sentences.items()}
        self._tree = SentenceTree(self._model.tokeniser, texts)

    @property
    def name(self) -> str:
        return "english"

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        """What was said in this segment (16,000 samples a second, mono)."""
        if self._model is None:
            raise ListeningError("Listening has ended", "start the session again to be heard.")
        if len(segment) < SHORTEST_SAMPLES:
            return NOTHING
        encoded = self._model.encode(segment)
        least = min(NEAR, numbered.LEAST - numbered.LEAST_AHEAD) if self._sentences else NEAR
        found = self._tree.search(self._model, encoded, least=least)
        if not found:
            return NOTHING
        best = found[0]
        if best.sentence in self._sentences:
            free_of = partial(write_freely, self._model, encoded, best.score)
            return numbered.verdict(self._sentences, found, lambda: free_of().score)
        if best.score <= NEAR:
            return NOTHING
        second = found[1].score if len(found) > 1 else NEAR
        if best.score - second <= LEAST_AHEAD and len(found) > 1:
            return NOTHING
        free = write_freely(self._model, encoded, best.score).score
        if best.score - free > LEAST_AGAINST_FREE and best.score > LEAST_SCORE:
            return Verdict(best.sentence)
        return Verdict(None, near_miss=best.score - free > 2 * LEAST_AGAINST_FREE)

    def close(self) -> None:
        self._model = None

"""English phrases, whoever says them: each is scored in closed form against free writing.

The model is not asked what was said but how likely each phrase is, and that is compared with what
it would write of its own accord and with the phrase that comes second. Writing alone fails in
noise: "repeat that" beside a carriage is written as another sentence, while its own score is still
the best by far.
"""

from collections.abc import Callable, Collection, Sequence
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.grammar import Grammar
from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.denoise import denoised
from caller.devices.recognisers.english import numbered
from caller.devices.recognisers.english.bounds import (
    UNLIKELY,
    above_noise_db,
    bound,
    compared,
    looser_by,
    noisiness,
    priors,
)
from caller.devices.recognisers.english.encoder import SHORTEST_SAMPLES, Encoder
from caller.devices.recognisers.english.free_writing import write_freely
from caller.devices.recognisers.english.model import EnglishModel
from caller.devices.recognisers.english.sentence_tree import Scored, SentenceTree
from caller.devices.recognisers.english.spellings import is_english, sentence_spellings, spellings
from caller.errors import ListeningError

NOISY_DB = 40.0
"""Where the loud frames of a segment stand less above its quiet ones, noise is taken out first."""
SURE = 0.45
"""What meets a bound this much stricter needs no more quiet behind it."""
NEAR = 0.5
"""What meets a bound so much looser may have been meant."""


class EnglishRecogniser:
    """Hears which of the phrases was said in a segment."""

    def __init__(
        self,
        phrases: Sequence[str],
        model: EnglishModel | None = None,
        sentences: Grammar | None = None,
        asking: Collection[str] = (),
    ) -> None:
        """Load the model.

        `sentences` are heard beside the phrases, each answered with its words. `asking` are the
        phrases that move nothing.

        ListeningError when it cannot be loaded, and for words not in English letters.
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
        self._priors = priors(self._model, phrases)
        self._asking = frozenset(asking)
        self._begins_another = {
            phrase for phrase in phrases if any(one.startswith(f"{phrase} ") for one in texts)
        }

    @property
    def name(self) -> str:
        return "english"

    @property
    def encoder(self) -> Encoder:
        """The model's, for who hears by the same states."""
        return self._open_model().encoder

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        """What was said in this segment (16,000 samples a second, mono)."""
        model = self._open_model()
        if len(segment) < SHORTEST_SAMPLES:
            return NOTHING
        above_db = above_noise_db(segment)
        if above_db < NOISY_DB:
            segment = denoised(segment)
        encoded = model.encode(segment)
        searched = self._tree.search(model, encoded, least=numbered.LEAST)
        if not (found := searched.scored):
            return NOTHING
        noisy = noisiness(above_db)
        free = cache(partial(write_freely, model, encoded, searched.free, found[0].score))
        phrase = self._phrase(found, noisy, lambda: free().score)
        if phrase.phrase is not None:
            return phrase
        sentence = numbered.verdict(self._sentences, found, noisy, lambda: free().score)
        return phrase if sentence is NOTHING else sentence

    def _phrase(
        self, found: Sequence[Scored], noisy: float, written_freely: Callable[[], float]
    ) -> Verdict:
        """The verdict where a phrase is the likeliest of all that is listened for."""
        if found[0].sentence in self._sentences:
            return NOTHING
        nothing = Scored("", numbered.LEAST)
        best, second = sorted((*found, nothing), key=self._compared, reverse=True)[:2]
        if best.sentence not in self._priors:
            return NOTHING
        phrase, looser = best.sentence, looser_by(noisy)
        ahead = self._compared(best) - self._compared(second)

        def likely(free: float, stricter: float = 0.0) -> bool:
            moves = phrase not in self._asking
            limit = bound(phrase, self._priors[phrase], moves, looser, stricter)
            return limit.is_met(best.score, free, ahead)

        if not likely(best.score, -NEAR):
            return NOTHING
        free = written_freely()
        if not likely(free):
            return Verdict(None, near_miss=likely(free, -NEAR))
        sure = likely(free, SURE) and phrase not in self._begins_another
        return Verdict(phrase, sure=sure)

    def _compared(self, one: Scored) -> float:
        return compared(one.score, self._priors.get(one.sentence, UNLIKELY))

    def _open_model(self) -> EnglishModel:
        if self._model is None:
            raise ListeningError("Listening has ended", "start the session again to be heard.")
        return self._model

    def close(self) -> None:
        self._model = None

"""Command phrases heard by Vosk, with a model that the knitter has put in place.

The library ends the process, or downloads, when it is asked wrongly; everything is therefore
checked before it reaches the library, and a model is only ever given as a folder.
"""

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.vosk_models import broken, check_folder
from caller.devices.sound.stderr import stderr_silenced
from caller.errors import ListeningError

UNKNOWN_TOKENS = ("[unk]", "<UNK>", "<unk>")
SHORTEST_SAMPLES = 1_600
READINGS = 6
"""A phrase is heard only where none of so many readings of the sound differs from it: what is no
phrase can mostly be read as the unknown word too. Computed with the Korean model and four synthetic
voices: of 40 other sentences 8 were taken for a phrase without this and 2 with it, and of 12
phrases 10 and 8 were heard; the rule was chosen on these same sounds."""


class VoskRecogniser:
    """Hears which of the phrases was said, by a grammar of them and the unknown word."""

    def __init__(self, model_folder: Path, phrases: Sequence[str]) -> None:
        """Load the model; ListeningError when the folder is no usable model, or lacks a word."""
        words = sorted({word for phrase in phrases for word in phrase.split()})
        if not words:
            raise ListeningError("There is no phrase to listen for.")
        check_folder(model_folder)
        self._phrases = frozenset(phrases)
        vosk = _library()
        with stderr_silenced():
            try:
                model = vosk.Model(str(model_folder.absolute()))
            except Exception:  # all that the library says: "Failed to create a model"
                raise broken(model_folder, "cannot be loaded") from None
        missing = [word for word in words if model.vosk_model_find_word(word) < 0]
        if missing:
            raise ListeningError(
                f"The Vosk model in {model_folder} does not know these words: "
                f"{', '.join(missing)}.",
                "Use a model of their language, or other words.",
            )
        unknown = [token for token in UNKNOWN_TOKENS if model.vosk_model_find_word(token) >= 0]
        if not unknown:
            raise broken(model_folder, "has no word for what is unknown")
        grammar = _grammar(phrases, unknown[0])

        def fresh() -> Any:
            with stderr_silenced():
                recogniser = vosk.KaldiRecognizer(model, 16_000, grammar)
            recogniser.SetMaxAlternatives(READINGS)
            return recogniser

        try:
            fresh()
        except Exception:  # "Failed to create a recognizer": a part of the model is missing
            raise broken(model_folder, "cannot be loaded") from None
        # A new one for each segment, in about a millisecond: it grows used to what it has heard.
        self._fresh: Callable[[], Any] | None = fresh

    @property
    def name(self) -> str:
        return "vosk"

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        """What was said in this segment (16,000 samples a second, mono); never a near miss."""
        if self._fresh is None:
            raise ListeningError("Listening has ended", "start the session again to be heard.")
        if len(segment) < SHORTEST_SAMPLES:
            return NOTHING
        try:
            recogniser = self._fresh()
            recogniser.AcceptWaveform(segment.astype("<i2", copy=False).tobytes())
            readings = json.loads(recogniser.FinalResult())["alternatives"]
        except Exception as error:  # the library raises plain Exception
            raise ListeningError(f"The recogniser failed: {error}.", "Use the keys.") from None
        said = {reading["text"] for reading in readings}
        return Verdict(said.pop()) if len(said) == 1 and said <= self._phrases else NOTHING

    def close(self) -> None:
        self._fresh = None


def _library() -> Any:
    try:
        import vosk
    except (ImportError, OSError, TypeError) as error:  # TypeError: no build for this system
        raise ListeningError(
            f"Vosk cannot be used on this computer: {error}.",
            "Leave the model out; PocketSphinx listens then.",
        ) from None
    vosk.SetLogLevel(-1)
    return vosk


def _grammar(phrases: Sequence[str], unknown: str) -> str:
    """The grammar as JSON; one that is empty or no list of strings would end the process."""
    grammar = json.dumps([*phrases, unknown], ensure_ascii=False)
    checked = json.loads(grammar)
    if not checked or not all(isinstance(phrase, str) and phrase.strip() for phrase in checked):
        raise ListeningError("A phrase to listen for is empty.", "Write it, or leave it away.")
    return grammar

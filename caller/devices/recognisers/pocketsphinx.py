"""Command phrases heard by PocketSphinx, with the English model that its wheel brings.

Whatever is said competes with a loop of single speech sounds (the phone loop): a phrase is heard
only when it explains the sound better than any row of sounds does. The figures behind the values
here are printed by tests/bench/listening.py.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.noise import in_noise, pink_noise
from caller.devices.sound.stderr import stderr_silenced
from caller.errors import ListeningError

# The model's speech sounds, in the notation of its dictionary.
PHONES = (
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW "
    "V W Y Z ZH"
)

# The dictionary is American; these are British, with the r dropped and the broad a.
BRITISH = {"slower": ("S L OW AH", "S L AH UH AH"), "faster": ("F AA S T AH", "F AE S T AH")}

WORD_PENALTY = 3e-2
"""What each further word or loose sound costs: higher hears less, and less that was not said."""

FLOORS_DB = (20.0, 12.0)
"""Pink noise is laid under each segment, this far below it, once faintly (in digital silence the
recogniser loses its footing) and once plainly, and both times the same phrase must be heard: what
was not said seldom survives both."""

ONCE = frozenset(("next row",))
"""Heard once is enough: it is said for every row, the second hearing would miss a third of it, and
other talk seldom sets it off."""

SHORTEST_SAMPLES = 1_600


class PocketSphinxRecogniser:
    """Hears which of the phrases was said in a segment; loading it takes about 45 MB."""

    def __init__(self, phrases: Sequence[str]) -> None:
        """Load the model. Raises ListeningError when it fails or does not know a word."""
        self._phrases = frozenset(phrases)
        self._decoder: Any = _decoder(phrases)

    @property
    def name(self) -> str:
        return "pocketsphinx"

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        """What was said in this segment (16,000 samples a second, mono)."""
        if self._decoder is None:
            raise ListeningError("Listening has ended", "start the session again to be heard.")
        if len(segment) < SHORTEST_SAMPLES:
            return NOTHING
        faint, plain = FLOORS_DB
        said = self._said(self._over_floor(segment, faint))
        if said not in self._phrases:
            return NOTHING
        if said in ONCE or self._said(self._over_floor(segment, plain)) == said:
            return Verdict(said)
        return Verdict(None, near_miss=True)  # perhaps meant, so worth a soft sign

    def _said(self, sound: NDArray[np.int16]) -> str:
        try:
            self._decoder.start_utt()
            # full_utt: the loudness and timbre of the whole segment are evened out at once.
            self._decoder.process_raw(sound.tobytes(), full_utt=True)
            self._decoder.end_utt()
        except RuntimeError as error:
            raise ListeningError(f"The recogniser failed: {error}.", "Use the keys.") from None
        best = self._decoder.hyp()
        return "" if best is None else str(best.hypstr)

    def close(self) -> None:
        self._decoder = None

    def _over_floor(self, segment: NDArray[np.int16], floor_db: float) -> NDArray[np.int16]:
        return in_noise(segment, slice(None), pink_noise(), floor_db)


def _decoder(phrases: Sequence[str]) -> Any:
    try:
        import pocketsphinx
    except ImportError:  # there is no wheel for Python 3.14
        raise ListeningError(
            "PocketSphinx is not installed here",
            "the keys work; or row-caller models tells what else can listen.",
        ) from None
    words = sorted({word for phrase in phrases for word in phrase.split()})
    if not words:
        raise ListeningError("There is no phrase to listen for.")
    model = f"{pocketsphinx.get_model_path()}/en-us"
    with stderr_silenced():
        try:
            decoder = pocketsphinx.Decoder(
                hmm=f"{model}/en-us",
                dict=f"{model}/cmudict-en-us.dict",
                lm=None,
                cmn="batch",
                wip=WORD_PENALTY,
                bestpath=False,  # with a phone loop it takes many times the length of the sound
                loglevel="FATAL",
            )
            unknown = [word for word in words if decoder.lookup_word(word) is None]
            if unknown:
                raise ListeningError(
                    "Spoken commands are off: the recogniser that comes with the program does not "
                    f"know these words: {', '.join(unknown)}.",
                    "Choose others in the settings file, or teach your own with row-caller teach.",
                )
            for word in words:
                for number, sound in enumerate(BRITISH.get(word, ()), start=2):
                    decoder.add_word(f"{word}({number})", sound, update=False)
            for phone in (phones := PHONES.split()):
                decoder.add_word(f"loose_{phone}", phone, update=phone == phones[-1])
            decoder.add_jsgf_string("commands", _grammar(phrases))
            decoder.activate_search("commands")
        except RuntimeError as error:
            raise ListeningError(
                f"PocketSphinx does not start: {error}.", "Install it again, or use --no-listen."
            ) from None
    return decoder


def _grammar(phrases: Sequence[str]) -> str:
    """One phrase, or a row of loose sounds, in the Java Speech Grammar Format."""
    loose = " | ".join(f"loose_{phone}" for phone in PHONES.split())
    return (
        "#JSGF V1.0;\ngrammar commands;\n"
        f"public <said> = {' | '.join(phrases)} | <other>;\n<other> = ( {loose} )+;\n"
    )

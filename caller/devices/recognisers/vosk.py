"""Command phrases heard by Vosk, with a model that the knitter has put in place.

The library ends the process, or downloads, when it is asked wrongly; everything is therefore
checked before it reaches the library, and a model is only ever given as a folder.
"""

import json
import os
import struct
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.calling.ports import NOTHING, Verdict
from caller.devices.sound.stderr import stderr_silenced
from caller.errors import ListeningError

ENVIRONMENT = "CALLER_VOSK_MODEL"
ACOUSTICS = Path("am", "final.mdl")
"""Every model folder holds this file."""

UNKNOWN_TOKENS = ("[unk]", "<UNK>", "<unk>")
SHORTEST_SAMPLES = 1_600
READINGS = 6
"""A phrase is heard only where none of so many readings of the sound differs from it: what is no
phrase can mostly be read as the unknown word too. Computed with the Korean model and four synthetic
voices: of 40 other sentences 8 were taken for a phrase without this and 2 with it, and of 12
phrases 10 and 8 were heard; the rule was chosen on these same sounds."""


@dataclass(frozen=True)
class ModelPlace:
    """A place where models are looked for: `why` it is one, and the model folders in it.

    `named` places are the folder of one model, which may be missing; others hold any number.
    """

    why: str
    folder: Path
    models: tuple[Path, ...]
    named: bool


def model_home() -> Path:
    """The folder for models in the user's own data folder."""
    import platformdirs

    return platformdirs.user_data_path("caller") / "models"


def model_places(given: Path | None) -> tuple[ModelPlace, ...]:
    """Every place where a model is looked for, the first one first."""
    places = []
    if given is not None:
        places.append(ModelPlace("named by --model", given, (given,), True))
    if named := os.environ.get(ENVIRONMENT):
        folder = Path(named)
        places.append(ModelPlace(f"named by {ENVIRONMENT}", folder, (folder,), True))
    for why, home in (
        ("the folder models where caller was started", Path("models")),
        ("your data folder", model_home()),
    ):
        # Unpacking may put the model's folder into another of the same name.
        found = sorted([*home.glob(f"*/{ACOUSTICS}"), *home.glob(f"*/*/{ACOUSTICS}")])
        places.append(ModelPlace(why, home, tuple(file.parent.parent for file in found), False))
    return tuple(places)


def find_model(given: Path | None) -> Path | None:
    """The model folder to use: the one given, else the one named by CALLER_VOSK_MODEL, else the
    first by name in ./models or in the user's data folder; None when there is none.

    Models that are seen to be broken are passed over for one that is whole. A folder that was named
    is not looked into here; VoskRecogniser says what is wrong with it.
    """
    places = model_places(given)
    if places[0].named:
        return places[0].folder
    found = [model for place in places for model in place.models]
    return next((model for model in found if wrong_with(model) is None), next(iter(found), None))


def is_named(given: Path | None) -> bool:
    """Whether the model to use was named, on the command line or in the environment."""
    return model_places(given)[0].named


def wrong_with(folder: Path) -> ListeningError | None:
    """What is seen to be wrong with a model folder, without loading it."""
    try:
        _check_folder(folder)
    except ListeningError as error:
        return error
    return None


class VoskRecogniser:
    """Hears which of the phrases was said in a cut, by a grammar of them and the unknown word."""

    def __init__(self, model_folder: Path, phrases: Sequence[str]) -> None:
        """Load the model; ListeningError when the folder is no usable model, or lacks a word."""
        words = sorted({word for phrase in phrases for word in phrase.split()})
        if not words:
            raise ListeningError("There is no phrase to listen for.")
        _check_folder(model_folder)
        self._phrases = frozenset(phrases)
        vosk = _library()
        with stderr_silenced():
            try:
                model = vosk.Model(str(model_folder.absolute()))
            except Exception:  # all that the library says: "Failed to create a model"
                raise _broken(model_folder, "cannot be loaded") from None
        missing = [word for word in words if model.vosk_model_find_word(word) < 0]
        if missing:
            raise ListeningError(
                f"The Vosk model in {model_folder} does not know these words: "
                f"{', '.join(missing)}.",
                "Use a model of their language, or other words.",
            )
        unknown = [token for token in UNKNOWN_TOKENS if model.vosk_model_find_word(token) >= 0]
        if not unknown:
            raise _broken(model_folder, "has no word for what is unknown")
        grammar = _grammar(phrases, unknown[0])

        def fresh() -> Any:
            with stderr_silenced():
                recogniser = vosk.KaldiRecognizer(model, 16_000, grammar)
            recogniser.SetMaxAlternatives(READINGS)
            return recogniser

        try:
            fresh()
        except Exception:  # "Failed to create a recognizer": a part of the model is missing
            raise _broken(model_folder, "cannot be loaded") from None
        # A new one for each cut, in about a millisecond: it grows used to what it has heard.
        self._fresh: Callable[[], Any] | None = fresh

    @property
    def name(self) -> str:
        return "vosk"

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        """What was said in this cut (16,000 samples a second, mono); never "close"."""
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


def _check_folder(folder: Path) -> None:
    try:
        if not folder.is_dir():
            raise _broken(folder, "is a file" if folder.is_file() else "is not there")
        if not (folder / ACOUSTICS).is_file():
            raise _broken(folder, f"holds no {ACOUSTICS.as_posix()}")
        graph = folder / "graph" / "HCLr.fst"
        if not graph.is_file() and (folder / "graph" / "HCLG.fst").is_file():
            raise ListeningError(
                f"The Vosk model in {folder} has a fixed graph, so it cannot be told which "
                "commands to expect.",
                "Use a small or an lgraph model; row-caller models names two.",
            )
        if not graph.is_file():
            raise _broken(folder, "holds no graph/HCLr.fst")
        if _cut_short(graph) or not (folder / "graph" / "Gr.fst").is_file():
            raise _broken(folder, "was not unpacked whole")
    except OSError as error:
        raise _broken(folder, f"cannot be read ({error.strerror})") from None


def _cut_short(graph: Path) -> bool:
    """Whether a graph is no graph or shorter than its header says; the library would end the
    process.

    OpenFst's header (FstHeader::Read in its source): a magic number, then type and kind of arc,
    each with its length before it, int32 version and flags, uint64 properties, int64 first state,
    number of states and of arcs. A state takes 20 bytes and an arc 16 (as in the model tried).
    """
    with graph.open("rb") as file:
        head = file.read(400)
    if len(head) < 400 or not head.startswith(b"\xd6\xfd\xb2\x7e"):
        return True
    _, found, rest = head.partition(b"const\x08\0\0\0standard")
    if not found or len(rest) < 40:
        return False  # laid out in a way not met yet: let the library try
    *_, states, arcs = struct.unpack_from("<iiQqqq", rest)
    return graph.stat().st_size < int(states) * 20 + int(arcs) * 16


def _broken(folder: Path, what: str) -> ListeningError:
    return ListeningError(
        f"The Vosk model folder {folder} {what}.",
        "row-caller models tells where models are looked for and how to get one; without one, "
        "PocketSphinx listens.",
    )


def _grammar(phrases: Sequence[str], unknown: str) -> str:
    """The grammar as JSON; one that is empty or no list of strings would end the process."""
    grammar = json.dumps([*phrases, unknown], ensure_ascii=False)
    checked = json.loads(grammar)
    if not checked or not all(isinstance(phrase, str) and phrase.strip() for phrase in checked):
        raise ListeningError("A phrase to listen for is empty.", "Write it, or leave it away.")
    return grammar

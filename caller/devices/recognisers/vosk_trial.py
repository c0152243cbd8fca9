"""Tries a Vosk model in a process of its own, for the library can end the process it runs in.

The worker reads {"folder": ..., "phrases": [...]} and answers with what came of it, in JSON.
"""

import json
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from caller.devices import child
from caller.devices.child import answers_apart
from caller.devices.recognisers.vosk_models import wrong_with
from caller.errors import ListeningError

LONGEST_S = 300.0


@dataclass(frozen=True)
class Trial:
    """How long a model took to load and to recognise a second of sound, and the memory it took.

    In seconds and megabytes; `memory_mb` is None on Windows, where it is not measured.
    """

    load_s: float
    recognise_s: float
    memory_mb: int | None


def try_model(folder: Path, phrases: Sequence[str]) -> Trial:
    """Load the model with these phrases and let it hear silence.

    Raises ListeningError when something is wrong with it, also when it ends the process.
    """
    if wrong := wrong_with(folder):
        raise wrong
    request = json.dumps({"folder": str(folder.absolute()), "phrases": list(phrases)})
    with child.start("caller.devices.recognisers.vosk_trial") as process:
        try:
            content, _ = process.communicate(request.encode(), LONGEST_S)
        except subprocess.TimeoutExpired:
            raise ListeningError(
                f"The Vosk model in {folder} was still loading after {LONGEST_S / 60:.0f} minutes; "
                "it is too large for this computer.",
                "Use the small model.",
            ) from None
        finally:
            process.kill()
    try:
        answer = json.loads(content)
    except ValueError:
        raise ListeningError(
            f"The Vosk model in {folder} is damaged: loading it ended the program that tried it "
            f"(code {process.returncode}).",
            "Delete the folder and fetch the model anew.",
        ) from None
    if "finding" in answer:
        raise ListeningError(**answer)
    return Trial(**answer)


def _tried(folder: Path, phrases: Sequence[str]) -> Trial:
    import numpy as np

    from caller.devices.recognisers.vosk import VoskRecogniser

    begun = time.perf_counter()
    recogniser = VoskRecogniser(folder, phrases)
    loaded = time.perf_counter()
    recogniser.recognise(np.zeros(16_000, dtype=np.int16))
    heard = time.perf_counter()
    return Trial(round(loaded - begun, 2), round(heard - loaded, 3), _most_memory_mb())


def _most_memory_mb() -> int | None:
    if sys.platform == "win32":
        return None
    import resource

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return round(most / (1e6 if sys.platform == "darwin" else 1e3))  # bytes there, else kilobytes


def main() -> None:
    """The worker's own."""
    answers = answers_apart()
    request = json.loads(sys.stdin.buffer.read())
    try:
        answer = asdict(_tried(Path(request["folder"]), request["phrases"]))
    except ListeningError as error:
        answer = {"finding": error.finding, "remedy": error.remedy}
    answers.write(json.dumps(answer).encode())
    answers.flush()

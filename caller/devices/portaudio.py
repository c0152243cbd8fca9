"""PortAudio through sounddevice: loaded late, and quiet on the screen."""

import sys
from typing import Any

from caller.devices.quiet import silence_alsa, stderr_silenced
from caller.errors import SoundError


def sound_library() -> Any:
    """The library, loaded late; SoundError with the one command when PortAudio is missing."""
    try:
        silence_alsa()
        with stderr_silenced():
            import sounddevice
    except OSError:
        command = (
            "sudo apt install libportaudio2"
            if sys.platform.startswith("linux")
            else "pip install --force-reinstall sounddevice"
        )
        raise SoundError(
            "There is no sound and no listening because the PortAudio library is missing; "
            f"this command brings it: {command}"
        ) from None
    return sounddevice

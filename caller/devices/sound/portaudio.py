"""PortAudio through sounddevice: loaded late, quiet on the screen, and one list of its streams."""

import contextlib
import sys
import threading
import weakref
from typing import Any, Literal

from caller.devices.sound.stderr import silence_alsa, stderr_silenced
from caller.errors import SoundLibraryError
from caller.installation import package_again

_lock = threading.Lock()
_streams: weakref.WeakSet[Any] = weakref.WeakSet()


def sound_library() -> Any:
    """The library, loaded late; SoundLibraryError when PortAudio is missing or does not start."""
    try:
        silence_alsa()
        with stderr_silenced():
            import sounddevice
    except OSError:
        command = (
            "sudo apt install libportaudio2"
            if sys.platform.startswith("linux")
            else package_again("sounddevice")
        )
        raise SoundLibraryError(
            "There is no sound and no listening because the PortAudio library is missing",
            f"this command brings it: {command}",
        ) from None
    except Exception as error:  # the library's own, which cannot be named before it is there
        raise SoundLibraryError(
            f"There is no sound and no listening because PortAudio does not start: {error}.",
            "Start the computer's sound, or the computer, again.",
        ) from None
    return sounddevice


def version() -> str:
    """The library's own name and version; SoundLibraryError when it is missing."""
    return str(sound_library().get_portaudio_version()[1]).split(",")[0]


def opened(kind: Literal["InputStream", "OutputStream"], **settings: Any) -> Any:
    """A stream that has been started. Raises what the library raises."""
    library = sound_library()
    with _lock, stderr_silenced():
        stream = getattr(library, kind)(**settings)
        _streams.add(stream)
        try:
            stream.start()
        except BaseException:
            with contextlib.suppress(library.PortAudioError):
                stream.close()
            raise
    return stream


def look_again() -> bool:
    """Let PortAudio see what was plugged in since it was loaded.

    It can only when it is loaded anew, which would take every open stream away; False, and nothing
    done, while one is open, and False when it does not start again just now.
    """
    library = sound_library()
    with _lock, stderr_silenced():
        if not all(stream.closed for stream in _streams):
            return False
        with contextlib.suppress(library.PortAudioError):
            library._terminate()
        try:
            library._initialize()
        except library.PortAudioError:
            return False
    return True

"""PortAudio through sounddevice: loaded late, quiet on the screen, and one list of its streams."""

import contextlib
import sys
import threading
import weakref
from collections.abc import Callable, Mapping
from concurrent.futures import Future
from functools import partial
from typing import Any, Literal, TypeVar

from caller import leaving
from caller.devices.sound.stderr import silence_alsa, stderr_silenced
from caller.errors import NoAnswerError, SoundLibraryError
from caller.installation import package_again

ANSWERS_S = 6.0
"""The computer's sound answers in tenths of a second. One that is stopped never does."""
_IMPATIENT_S = 0.3
"""What is waited for while an earlier call still hangs."""
CLOSES_S = 1.0
_lock = threading.Lock()
_streams: weakref.WeakSet[Any] = weakref.WeakSet()
_loading_lock = threading.Lock()
_loading: Future[Any] | None = None
_Result = TypeVar("_Result")

_NO_ANSWER = NoAnswerError(
    "The computer's sound does not answer, so nothing is said or heard",
    "start it, or the computer, again.",
)


def sound_library() -> Any:
    """The library, loaded late; SoundLibraryError when PortAudio is missing or does not start.

    NoAnswerError when it has not started in time.
    """
    global _loading
    with _loading_lock:
        if _loading is None or _loading.done():
            _loading = _started(_load)
        loading = _loading
    try:
        return _in_time(loading)
    except NoAnswerError:
        raise
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


def _load() -> Any:
    silence_alsa()
    with stderr_silenced():
        import sounddevice
    return sounddevice


def version() -> str:
    """The library's own name and version; SoundLibraryError when it is missing."""
    return str(sound_library().get_portaudio_version()[1]).split(",")[0]


def opened(kind: Literal["InputStream", "OutputStream"], **settings: Any) -> Any:
    """A stream that has been started. Raises what the library raises, and NoAnswerError."""
    return _one_by_one(partial(_open, sound_library(), kind, settings), _close_late)


def _open(library: Any, kind: str, settings: Mapping[str, Any]) -> Any:
    stream = getattr(library, kind)(**settings)
    _streams.add(stream)
    try:
        stream.start()
    except BaseException:
        with contextlib.suppress(library.PortAudioError):
            stream.close()
        raise
    return stream


def let_go(stream: Any) -> None:
    """Stop a stream and close it; one that hangs is left alone. Its device may be gone already."""

    def close() -> None:
        with stderr_silenced(), contextlib.suppress(Exception):
            stream.abort()
            stream.close()

    with contextlib.suppress(NoAnswerError):
        _in_time(_started(close), CLOSES_S)


def _close_late(opening: Future[Any]) -> None:
    """Close a stream for which nobody waits any more."""
    with contextlib.suppress(Exception), stderr_silenced():
        opening.result().close()


def look_again() -> bool:
    """Let PortAudio see what was plugged in since it was loaded.

    It can only when it is loaded anew, which would take every open stream away; False, and nothing
    done, while one is open, and False when it does not start again just now.
    """
    return _one_by_one(partial(_look, sound_library()), lambda _: None)


def _look(library: Any) -> bool:
    if not all(stream.closed for stream in _streams):
        return False
    with contextlib.suppress(library.PortAudioError):
        library._terminate()
    try:
        library._initialize()
    except library.PortAudioError:
        return False
    return True


def _one_by_one(work: Callable[[], _Result], late: Callable[[Future[_Result]], None]) -> _Result:
    """The result of work that no other may go on beside; NoAnswerError when it takes too long.

    `late` is given what comes after that.
    """
    if not _lock.acquire(timeout=_patience_s()):
        raise NoAnswerError(*_NO_ANSWER.args)

    def alone() -> _Result:
        try:
            with stderr_silenced():
                return work()
        finally:
            _lock.release()

    working = _started(alone)
    try:
        return _in_time(working)
    except NoAnswerError:
        working.add_done_callback(late)
        raise


def _started(work: Callable[[], _Result]) -> Future[_Result]:
    """Work on a thread that nobody waits for when the program ends."""
    future: Future[_Result] = Future()

    def run() -> None:
        try:
            future.set_result(work())
        except BaseException as error:
            future.set_exception(error)

    threading.Thread(target=run, name="sound library", daemon=True).start()
    return future


def _in_time(working: Future[_Result], longest_s: float = ANSWERS_S) -> _Result:
    try:
        return working.result(min(longest_s, _patience_s()))
    except TimeoutError:
        if working.done():
            raise  # the library's own
        leaving.hangs()
        working.add_done_callback(lambda _: leaving.hangs(-1))
        raise NoAnswerError(*_NO_ANSWER.args) from None


def _patience_s() -> float:
    return _IMPATIENT_S if leaving.any_hangs() else ANSWERS_S

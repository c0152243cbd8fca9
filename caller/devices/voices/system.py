"""The computer's own voices, rendered by pyttsx3 in a worker process and never played by it."""

import contextlib
import json
import queue
import tempfile
import threading
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, TypeVar

from caller.calling.ports import SoundBlock
from caller.devices import child
from caller.devices.sound.resample import resampled
from caller.devices.sound.sound_files import read_sound
from caller.devices.voices.sentences import pieces
from caller.errors import SoundError, VoiceError
from caller.settings import VoiceSettings

TIME_LIMIT_S = 20.0
"""For one sentence. Drivers have been seen to hang; a sentence takes well under a second."""
_SHORTEST_WORD_S = 0.03
"""At 160 words a minute; single letters take 0.08. Less a word means that a driver lost some."""
_RATE = 22_050
_TRIES = 3
"""A worker that ended takes one, and a fresh one may write an empty file (seen once, on a crowded
machine)."""
_Result = TypeVar("_Result")


class _WorkerFailedError(Exception):
    """This try gave nothing; a fresh worker may."""


class _Worker:
    """One worker process: a request in, an answer out, within a time limit."""

    def __init__(self) -> None:
        self._process = child.start(
            "caller.devices.voices.system_worker", text=True, encoding="utf-8"
        )
        self._answers: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        threading.Thread(target=self._read, name="system voice", daemon=True).start()

    def _read(self) -> None:
        assert self._process.stdout is not None
        with contextlib.suppress(ValueError):  # closed meanwhile
            for line in self._process.stdout:
                self._answers.put(line)
        self._answers.put(None)

    def ask(self, request: dict[str, Any]) -> dict[str, Any]:
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(json.dumps(request) + "\n")
            self._process.stdin.flush()
            line = self._answers.get(timeout=TIME_LIMIT_S)
            answer: dict[str, Any] = {} if line is None else json.loads(line)
        except queue.Empty:
            raise _WorkerFailedError(f"no answer within {TIME_LIMIT_S:g} seconds") from None
        except (OSError, ValueError) as error:
            raise _WorkerFailedError(str(error)) from None
        if not answer:
            raise _WorkerFailedError("its process ended")
        if "error" in answer:
            raise _WorkerFailedError(answer["error"])
        return answer

    def kill(self) -> None:
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):  # words that never reached it
                    pipe.close()


class SystemVoice:
    """Fulfils `Voice` with one of the computer's own voices, by its name, or the default one.

    `rate_wpm` in words a minute, `volume` 1 to 100 percent. Raises VoiceError when there is no
    such voice or no driver, SettingError for a number out of range.
    """

    def __init__(self, rate_wpm: int = 160, volume: int = 100, name: str | None = None) -> None:
        VoiceSettings("system", volume=volume)
        self.set_rate(rate_wpm)
        self._settings = {"volume": volume, "voice": None}
        self._lock = threading.Lock()
        self._worker: _Worker | None = None
        self._closed = False
        voices = self._tried(lambda worker: worker.ask({}))["voices"]
        self.names = tuple(voice_name for _, voice_name in voices)
        if name is not None:
            identifiers = {voice_name: identifier for identifier, voice_name in voices}
            if name not in identifiers:
                self.close()
                raise VoiceError(
                    f"This computer has no voice {name!r}; it has {len(voices)}, among them "
                    f"{', '.join(self.names[:10])}.",
                    "To see them all: row-caller say --list-voices",
                )
            self._settings["voice"] = identifiers[name]

    @property
    def rate(self) -> int:
        return _RATE

    def set_rate(self, wpm: int) -> None:
        """Speak at another rate from the next sentence on; SettingError outside 80 to 350."""
        self.rate_wpm = VoiceSettings(rate_wpm=wpm).rate_wpm

    def prepare(self, texts: Iterable[str], wpm: int) -> None:
        """Nothing: `Prerendered` does it."""

    def render(self, text: str) -> Iterator[SoundBlock]:
        for piece in pieces(text):
            try:
                with tempfile.TemporaryDirectory(prefix="caller-voice-") as folder:
                    sound = self._rendered(piece, Path(folder))
            except OSError as error:
                raise VoiceError(
                    "The computer's own voice cannot write its sound to the folder for temporary "
                    f"files ({error.strerror})",
                    "make room there, or use --voice espeak.",
                ) from None
            yield SoundBlock(resampled(sound.samples, sound.rate, _RATE), _RATE)

    def _rendered(self, text: str, folder: Path) -> SoundBlock:
        fresh = (folder / f"{attempt}.wav" for attempt in range(_TRIES))  # one may come late
        wpm = self.rate_wpm  # may be changed meanwhile

        def work(worker: _Worker) -> SoundBlock:
            path = next(fresh)
            worker.ask({"text": text, "path": str(path), "rate_wpm": wpm, **self._settings})
            return _whole(read_sound(path), text, wpm)

        return self._tried(work)

    def _tried(self, work: Callable[[_Worker], _Result]) -> _Result:
        """Do the work, and when it fails again with a fresh worker, `_TRIES` times in all."""
        why = ""
        with self._lock:
            for _ in range(_TRIES):
                if self._closed:
                    raise VoiceError("The computer's own voice has been closed.")
                worker = self._worker = self._worker or _Worker()
                try:
                    return work(worker)
                except (SoundError, _WorkerFailedError) as error:
                    why = str(error).rstrip(".")
                    worker.kill()
                    self._worker = None
        raise VoiceError(
            f"The computer's own voice failed ({why})", "try again, or use --voice espeak."
        )

    def close(self) -> None:
        self._closed = True
        if (worker := self._worker) is not None:
            worker.kill()  # before the lock is asked for, so that a driver that hangs lets go
        with self._lock:
            if self._worker is not None:
                self._worker.kill()
                self._worker = None


def system_voices() -> tuple[str, ...]:
    """The names of the computer's own voices; VoiceError when there is no driver."""
    voice = SystemVoice()
    voice.close()
    return voice.names


def _whole(sound: SoundBlock, text: str, wpm: int) -> SoundBlock:
    """The sound, when it is long enough for the text."""
    words = sum(any(c.isalnum() and c.isascii() for c in word) for word in text.split())
    if sound.seconds < words * _SHORTEST_WORD_S * 160 / wpm or not sound.samples.any():
        raise _WorkerFailedError("it gave too little sound")
    return sound

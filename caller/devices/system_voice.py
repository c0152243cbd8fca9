"""The computer's own voices, rendered by pyttsx3 in a worker process and never played by it."""

import contextlib
import json
import queue
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from caller.calling.ports import SoundBlock
from caller.devices.resample import resampled
from caller.devices.sound_files import read_sound
from caller.errors import SoundError, VoiceError
from caller.settings import VoiceSettings

TIME_LIMIT_S = 20.0
"""For one text. Drivers have been seen to hang; a sentence takes well under a second."""
_RATE = 22_050
_TRIES = 2


class _WorkerFailedError(Exception):
    """This try gave nothing; a fresh worker may."""


class _Worker:
    """One worker process: a request in, an answer out, within a time limit."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "caller.devices.system_voice_worker"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
        )
        self._answers: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        threading.Thread(target=self._read, name="system voice", daemon=True).start()

    def _read(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            self._answers.put(line)
        self._answers.put(None)

    def ask(self, request: dict[str, Any]) -> dict[str, Any]:
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(json.dumps(request) + "\n")
            self._process.stdin.flush()
            line = self._answers.get(timeout=TIME_LIMIT_S)
        except queue.Empty:
            raise _WorkerFailedError(f"no answer within {TIME_LIMIT_S:g} seconds") from None
        except OSError as error:
            raise _WorkerFailedError(str(error)) from None
        if line is None:
            raise _WorkerFailedError("its process ended")
        answer: dict[str, Any] = json.loads(line)
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

    `rate_wpm` in words a minute, `volume` in percent. Raises VoiceError when there is no such
    voice or no driver.
    """

    def __init__(self, rate_wpm: int = 160, volume: int = 100, name: str | None = None) -> None:
        VoiceSettings(rate_wpm=rate_wpm)
        self._settings = {"rate_wpm": rate_wpm, "volume": volume, "voice": None}
        self._lock = threading.Lock()
        self._worker: _Worker | None = None
        voices = self._ask({})["voices"]
        if name is not None:
            known = {voice_name: identifier for identifier, voice_name in voices}
            if name not in known:
                self.close()
                raise VoiceError(
                    f"This computer has no voice {name!r}; it has {', '.join(sorted(known))}."
                )
            self._settings["voice"] = known[name]
        self.names = tuple(voice_name for _, voice_name in voices)

    @property
    def rate(self) -> int:
        return _RATE

    def render(self, text: str) -> Iterator[SoundBlock]:
        if not any(character.isalnum() for character in text):
            return
        with tempfile.TemporaryDirectory(prefix="caller-voice-") as folder:
            sound = self._rendered(text.replace("\0", " "), Path(folder))
        yield SoundBlock(resampled(sound.samples, sound.rate, _RATE), _RATE)

    def _rendered(self, text: str, folder: Path) -> SoundBlock:
        """The sound of a fresh file for each try, since a driver may write one late."""
        why = ""
        for attempt in range(_TRIES):
            path = folder / f"{attempt}.wav"
            try:
                self._ask({"text": text, "path": str(path), **self._settings}, tries=1)
                return read_sound(path)
            except (SoundError, _WorkerFailedError) as error:
                why = str(error)
                self.close()
        raise VoiceError(
            f"The computer's own voice failed ({why}); try again, or use --voice espeak."
        )

    def _ask(self, request: dict[str, Any], tries: int = _TRIES) -> dict[str, Any]:
        with self._lock:
            for attempt in range(tries):
                if self._worker is None:
                    self._worker = _Worker()
                try:
                    return self._worker.ask(request)
                except _WorkerFailedError as error:
                    self._worker.kill()
                    self._worker = None
                    if attempt + 1 < tries:
                        continue
                    if tries == 1:
                        raise
                    raise VoiceError(
                        f"This computer's own voices cannot be used ({error}); use --voice espeak."
                    ) from None
        raise AssertionError("tries is at least 1")

    def close(self) -> None:
        with self._lock:
            if self._worker is not None:
                self._worker.kill()
                self._worker = None

"""A voice from a file that the knitter has, spoken by piper-tts.

It sounds like a person and takes a fifth to a third as long as the speech lasts, so it is rendered
ahead.
"""

import logging
import threading
from collections.abc import Iterable, Iterator
from pathlib import Path

from caller.calling.ports import SoundBlock
from caller.devices.sound.stderr import stderr_silenced
from caller.devices.voices.sentences import pieces
from caller.errors import VoiceError
from caller.settings import FULL_VOLUME, VoiceSettings

_MEASURED = "Row twelve, to the right, navy to left twenty, ivory to right five."


class PiperVoice:
    """Fulfils `Voice` with a piper voice: `model` is its .onnx file, its .onnx.json lies beside.

    `rate_wpm` in words a minute, `volume` 1 to 100 percent. Each sentence always sounds the same
    length, for the random part of the rhythm is left away. Raises VoiceError when piper-tts is not
    installed or the file is no voice, SettingError for a number out of range.
    """

    def __init__(self, model: Path, rate_wpm: int = 160, volume: int = FULL_VOLUME) -> None:
        VoiceSettings("piper", volume=volume, file=model)
        self.set_rate(rate_wpm)
        try:
            from piper import PiperVoice as Model
            from piper import SynthesisConfig
        except ImportError:
            raise VoiceError(
                "The voice piper is not installed",
                "in the program's folder this command brings it: pip install '.[piper]'",
            ) from None
        logging.getLogger("piper").setLevel(logging.CRITICAL)  # it tells of letters it leaves out
        self._lock = threading.Lock()
        self._closed = False
        self._volume = volume / FULL_VOLUME
        self._config = SynthesisConfig
        try:
            with stderr_silenced():
                self._model = Model.load(model)
            self._scale = self._model.config.length_scale
            self._own_wpm = self._measured_wpm()
        except Exception as error:  # the libraries below raise errors of their own kinds
            raise VoiceError(
                f"The voice file {model} cannot be used ({_first_line(error)})",
                "give the .onnx file of a piper voice, with its .onnx.json beside it.",
            ) from None

    @property
    def rate(self) -> int:
        rate: int = self._model.config.sample_rate
        return rate

    def set_rate(self, wpm: int) -> None:
        """Speak at another rate from the next sentence on; SettingError outside 80 to 350."""
        self.rate_wpm = VoiceSettings(rate_wpm=wpm).rate_wpm

    def prepare(self, texts: Iterable[str], wpm: int) -> None:
        """Nothing: `Prerendered` does it."""

    def render(self, text: str) -> Iterator[SoundBlock]:
        for piece in pieces(text):
            try:
                sounds = self._spoken(piece, self._scale * self._own_wpm / self.rate_wpm)
            except VoiceError:
                raise
            except Exception as error:
                raise VoiceError(
                    f"The voice piper failed ({_first_line(error)})",
                    "try again, or use --voice espeak.",
                ) from None
            yield from sounds

    def close(self) -> None:
        self._closed = True

    def _spoken(self, text: str, scale: float) -> list[SoundBlock]:
        config = self._config(length_scale=scale, noise_w_scale=0.0, volume=self._volume)
        plain = text.replace("[[", "[ [")  # which would begin phonetic signs
        with self._lock:
            if self._closed:
                raise VoiceError("The voice piper has been closed.")
            return [
                SoundBlock(chunk.audio_int16_array, chunk.sample_rate)
                for chunk in self._model.synthesize(plain, config)
            ]

    def _measured_wpm(self) -> float:
        """The pace at which this voice speaks when it is left alone: each has its own."""
        seconds = sum(block.seconds for block in self._spoken(_MEASURED, self._scale))
        return len(_MEASURED.split()) * 60 / seconds


def _first_line(error: Exception) -> str:
    name = type(error).__name__
    line = next(iter(str(error).splitlines()), "").strip().rstrip(".")
    return f"{name}: {line[:120]}" if line else name

"""The voice that comes with the program: espeak-ng, driven directly through its C library.

The library and its data come in the `espeakng-loader` wheel. In synchronous mode it turns a
sentence of six seconds into sound in a few milliseconds, so speech is made sentence by sentence,
and dropping the iterator between two of them is all that cancelling takes.
"""

import ctypes
import os
import threading
from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np

from caller.calling.ports import SoundBlock
from caller.devices.sound.stderr import stderr_silenced
from caller.devices.voices.sentences import pieces
from caller.errors import VoiceError
from caller.installation import package_again
from caller.settings import VoiceSettings

# From espeak-ng's speak_lib.h (version 1.52).
_SYNCHRONOUS = 2  # AUDIO_OUTPUT_SYNCHRONOUS
_DO_NOT_EXIT = 0x8000  # espeakINITIALIZE_DONT_EXIT: otherwise missing data ends the process
_BLOCK_MS = 50
_RATE, _VOLUME, _PITCH = 1, 2, 3  # espeak_PARAMETER
_UTF8, _END_PAUSE = 1, 0x1000
_OK = 0
_LONGEST_PATH = 159
"""Bytes of the data folder's path: the library cuts a longer one short (N_PATH_HOME is 160)."""

_Callback = ctypes.CFUNCTYPE(
    ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p
)


def _again() -> str:
    return f"this command brings it: {package_again('espeakng-loader')}"


class _VoiceRecord(ctypes.Structure):
    """espeak_VOICE, up to the fields that are read here."""

    _fields_ = (
        ("name", ctypes.c_char_p),
        ("languages", ctypes.POINTER(ctypes.c_char)),
        ("identifier", ctypes.c_char_p),
    )


class _Library:
    """The one loaded library. It keeps its settings for the whole process: hence the lock."""

    def __init__(self) -> None:
        try:
            import espeakng_loader

            data = espeakng_loader.get_data_path()
            os.environ["ESPEAK_DATA_PATH"] = data
            library = ctypes.CDLL(espeakng_loader.get_library_path())
        except (ImportError, OSError) as error:
            raise VoiceError(f"The voice espeak-ng cannot be loaded ({error})", _again()) from None
        encoded = os.fsencode(data)
        if len(encoded) > _LONGEST_PATH:
            raise VoiceError(
                f"The voice espeak-ng cannot find its data, because the path {data} is longer "
                f"than {_LONGEST_PATH} characters",
                "install this program in a folder nearer to the top.",
            )
        with stderr_silenced():  # it writes its own complaint
            self.rate: int = library.espeak_Initialize(
                _SYNCHRONOUS, _BLOCK_MS, encoded, _DO_NOT_EXIT
            )
        if self.rate <= 0:
            raise VoiceError("The voice espeak-ng finds no data", _again())
        library.espeak_ListVoices.restype = ctypes.POINTER(ctypes.POINTER(_VoiceRecord))
        self._library = library
        self._blocks: list[np.ndarray[Any, np.dtype[np.int16]]] = []
        self._callback = _Callback(self._take)  # kept: the library calls it as long as it lives
        library.espeak_SetSynthCallback(self._callback)
        self._lock = threading.Lock()

    def _take(self, samples: Any, count: int, _events: int | None) -> int:
        if samples and count > 0:
            self._blocks.append(np.ctypeslib.as_array(samples, (count,)).copy())
        return 0

    def languages(self) -> tuple[str, ...]:
        """The language codes that choose a voice."""
        found: set[str] = set()
        with self._lock:
            for record in iter(self._library.espeak_ListVoices(None)):
                if not record:
                    break
                found |= set(_codes(record.contents.languages))
        return tuple(sorted(filter(self.has, found)))

    def has(self, language: str) -> bool:
        if not (language.isascii() and language.isprintable()):
            return False
        with self._lock, stderr_silenced():
            return bool(self._library.espeak_SetVoiceByName(language.encode()) == _OK)

    def sound(self, text: str, voice: "EspeakVoice") -> list[SoundBlock]:
        encoded = text.encode() + b"\0"
        with self._lock:
            self._blocks = []
            self._library.espeak_SetVoiceByName(voice.language.encode())
            self._library.espeak_SetParameter(_RATE, voice.rate_wpm, 0)
            self._library.espeak_SetParameter(_PITCH, voice.pitch, 0)
            self._library.espeak_SetParameter(_VOLUME, voice.volume, 0)
            answer = self._library.espeak_Synth(
                encoded, ctypes.c_size_t(len(encoded)), 0, 1, 0, _UTF8 | _END_PAUSE, None, None
            )
            blocks, self._blocks = self._blocks, []
        if answer != _OK:
            raise VoiceError(f"The voice espeak-ng failed (its error {answer})", "try again.")
        return [SoundBlock(block, self.rate) for block in blocks]


def _codes(languages: Any) -> Iterator[str]:
    """The codes of one voice: a byte of priority, a code and a zero byte each, until a zero."""
    at = 0
    while languages[at] != b"\0":
        code = ctypes.string_at(ctypes.addressof(languages.contents) + at + 1)
        yield code.decode("utf-8", "replace")
        at += len(code) + 2


_library: _Library | None = None
_loading = threading.Lock()


def _loaded() -> _Library:
    global _library
    with _loading:
        if _library is None:
            _library = _Library()
        return _library


def espeak_voices() -> tuple[str, ...]:
    """The languages that espeak-ng speaks, by code; VoiceError when it cannot be loaded."""
    return _loaded().languages()


class EspeakVoice:
    """Fulfils `Voice` with espeak-ng.

    `rate_wpm` in words a minute, `pitch` 0 to 99, `volume` 0 to 200 percent, `language` a code such
    as "en" or "de". Raises VoiceError when the library or the language is not there, SettingError
    for a number out of range.
    """

    def __init__(
        self, rate_wpm: int = 160, pitch: int = 50, volume: int = 100, language: str = "en-us"
    ) -> None:
        VoiceSettings(pitch=pitch, volume=volume)
        self.set_rate(rate_wpm)
        self.pitch, self.volume, self.language = pitch, volume, language
        self._library = _loaded()
        if not self._library.has(language):
            some = [code for code in espeak_voices() if len(code) == 2]
            raise VoiceError(
                f"espeak-ng does not speak {language!r}; among the {len(some)} languages it "
                f"speaks are {', '.join(some[::6])}.",
                "To see them all: row-caller say --list-voices",
            )

    @property
    def rate(self) -> int:
        return self._library.rate

    def set_rate(self, wpm: int) -> None:
        """Speak at another rate from the next sentence on; SettingError outside 80 to 350."""
        self.rate_wpm = VoiceSettings(rate_wpm=wpm).rate_wpm

    def prepare(self, texts: Iterable[str], wpm: int) -> None:
        """Nothing: this voice begins at once."""

    def render(self, text: str) -> Iterator[SoundBlock]:
        for piece in pieces(text):
            yield from self._library.sound(piece, self)

    def close(self) -> None:
        """Nothing to do: the library stays for the whole process."""

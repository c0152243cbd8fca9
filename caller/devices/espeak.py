"""The voice that comes with the program: espeak-ng, driven directly through its C library.

The library and its data come in the `espeakng-loader` wheel. In synchronous mode it turns a
sentence of six seconds into sound in a few milliseconds, so speech is made sentence by sentence,
and dropping the iterator between two of them is all that cancelling takes.
"""

import ctypes
import os
import re
import threading
import unicodedata
from collections.abc import Iterator
from typing import Any

import numpy as np

from caller.calling.ports import SoundBlock
from caller.errors import VoiceError
from caller.settings import VoiceSettings

# From espeak-ng's speak_lib.h (version 1.52).
_SYNCHRONOUS = 2  # AUDIO_OUTPUT_SYNCHRONOUS
_DO_NOT_EXIT = 0x8000  # espeakINITIALIZE_DONT_EXIT: otherwise missing data ends the process
_BLOCK_MS = 50
_RATE, _VOLUME, _PITCH = 1, 2, 3  # espeak_PARAMETER
_UTF8, _END_PAUSE = 1, 0x1000
_OK = 0

_SENTENCE = re.compile(r"(?<=[.!?;:])\s+")
_LONGEST_PIECE = 400
"""Characters. A longer piece would hold back the first sound."""

_Callback = ctypes.CFUNCTYPE(
    ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p
)


class _VoiceRecord(ctypes.Structure):
    """espeak_VOICE, up to the fields that are read here."""

    _fields_ = (
        ("name", ctypes.c_char_p),
        ("languages", ctypes.c_char_p),
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
            raise VoiceError(
                f"The voice espeak-ng cannot be loaded ({error}); "
                "this command brings it: pip install --force-reinstall espeakng-loader"
            ) from None
        self.rate: int = library.espeak_Initialize(
            _SYNCHRONOUS, _BLOCK_MS, data.encode(), _DO_NOT_EXIT
        )
        if self.rate <= 0:
            raise VoiceError(
                "The voice espeak-ng finds no data; this command brings it: "
                "pip install --force-reinstall espeakng-loader"
            )
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
        """The voices there are, by the language codes that choose them."""
        with self._lock:
            records = self._library.espeak_ListVoices(None)
            found = set()
            for record in iter(records):
                if not record:
                    break
                # The first byte is a priority, the code follows.
                found.add(record.contents.languages[1:].decode("utf-8", "replace"))
        return tuple(sorted(found))

    def has(self, language: str) -> bool:
        with self._lock:
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
            raise VoiceError(f"The voice espeak-ng failed (its error {answer}); try again.")
        return [SoundBlock(block, self.rate) for block in blocks]


_library: _Library | None = None
_loading = threading.Lock()


def _loaded() -> _Library:
    global _library
    with _loading:
        if _library is None:
            _library = _Library()
        return _library


def espeak_languages() -> tuple[str, ...]:
    """The languages that espeak-ng speaks, by code."""
    return _loaded().languages()


class EspeakVoice:
    """Fulfils `Voice` with espeak-ng.

    `rate_wpm` in words a minute, `pitch` 0 to 99, `volume` in percent, `language` a code such as
    "en" or "de". Raises VoiceError when the library or the language is not there, SettingError for
    a rate out of range.
    """

    def __init__(
        self, rate_wpm: int = 160, pitch: int = 50, volume: int = 100, language: str = "en-us"
    ) -> None:
        VoiceSettings(rate_wpm=rate_wpm)
        self.rate_wpm, self.pitch, self.volume, self.language = rate_wpm, pitch, volume, language
        self._library = _loaded()
        if not self._library.has(language):
            some = ", ".join(code for code in espeak_languages() if "-" not in code)
            raise VoiceError(f"espeak-ng does not speak {language!r}; it speaks {some}.")

    @property
    def rate(self) -> int:
        return self._library.rate

    def render(self, text: str) -> Iterator[SoundBlock]:
        for piece in _pieces(text):
            yield from self._library.sound(piece, self)

    def close(self) -> None:
        """Nothing to do: the library stays for the whole process."""


def _pieces(text: str) -> Iterator[str]:
    """Sentences without control characters, none too long, each with something to say."""
    plain = "".join(" " if unicodedata.category(c)[0] == "C" else c for c in text)
    for sentence in _SENTENCE.split(plain):
        for start in range(0, len(sentence), _LONGEST_PIECE):
            piece = sentence[start : start + _LONGEST_PIECE]
            if any(character.isalnum() for character in piece):
                yield piece

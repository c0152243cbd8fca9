"""espeak-ng in a process of its own, which never meets the voice that the caller itself has loaded.

Reads JSON requests, one a line, of `texts`, `voice`, `wpm`, `pitch` and the file `out`; writes the
sounds one after another into the file, int16 at 22,050 samples a second, and their lengths in bytes
as JSON in a line of standard output. Each request is answered by a fork of the process that has
loaded the voices: at once, and always as by one that was just started. Where there is no fork the
process ends after one answer. Imports little, so that it starts at once.
"""

import ctypes
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path


def opened() -> ctypes.CDLL:
    """libespeak-ng itself, synchronous."""
    import espeakng_loader

    data = espeakng_loader.get_data_path()
    os.environ["ESPEAK_DATA_PATH"] = data
    library = ctypes.CDLL(espeakng_loader.get_library_path())
    rate = library.espeak_Initialize(2, 50, data.encode(), 0x8000)
    assert rate == 22_050, f"espeak-ng did not start: {rate}"
    return library


def speak(
    library: ctypes.CDLL, texts: Sequence[str], voice: str, wpm: int, pitch: int
) -> list[bytes]:
    assert library.espeak_SetVoiceByName(voice.encode()) == 0, f"no voice {voice}"
    library.espeak_SetParameter(1, wpm, 0)
    library.espeak_SetParameter(3, pitch, 0)
    pieces: list[bytes] = []

    @ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_int, ctypes.c_void_p)
    def take(samples: int | None, count: int, _events: int | None) -> int:
        if samples and count:
            pieces.append(ctypes.string_at(samples, count * 2))
        return 0

    library.espeak_SetSynthCallback(take)
    sounds = []
    for text in texts:
        pieces.clear()
        raw = text.encode()
        library.espeak_Synth(raw, ctypes.c_size_t(len(raw) + 1), 0, 1, 0, 1, None, None)
        sounds.append(b"".join(pieces))
    return sounds


if __name__ == "__main__":
    loaded = opened()
    for line in sys.stdin:
        if child := os.fork() if hasattr(os, "fork") else 0:
            if os.waitpid(child, 0)[1]:
                sys.exit(1)
            continue
        asked = json.loads(line)
        out = Path(asked.pop("out"))
        made = speak(loaded, **asked)
        out.write_bytes(b"".join(made))
        print(json.dumps([len(sound) for sound in made]), flush=True)  # noqa: T201
        os._exit(0)

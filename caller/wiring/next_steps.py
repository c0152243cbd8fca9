"""The three things to do next, for where a knitter stands: `row-caller` without a command."""

import shlex
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

from caller.devices.storage import place_file
from caller.devices.storage.place_file import Found
from caller.errors import CallerError
from caller.installation import PROGRAM
from caller.plain_text import plain

STEPS = 3
_PICTURES = (".png", ".jpg", ".jpeg", ".webp", ".tif", ".tiff", ".bmp", ".gif")
_OURS = (".chart.png", ".purl-side.png", ".knit-side.png", ".supplies.png", ".changes.png")
_SIZE = "--width 30cm --gauge 30x42/10cm"
_MOST_FILES = 1000
"""A folder of holiday pictures is not read to its end."""


def next_steps(folder: Path) -> list[str]:
    """Three sentences, each with the command that does it, for the files of this folder.

    What has been begun comes first, then patterns that have not, then pictures that are none yet.
    A folder that cannot be read counts as an empty one.
    """
    try:
        files = sorted(path for path in islice(folder.iterdir(), _MOST_FILES) if path.is_file())
    except OSError:
        files = []
    return list(islice(_steps([path.relative_to(folder) for path in files], folder), STEPS))


def _steps(files: list[Path], folder: Path) -> Iterator[str]:
    places = {path: _place(folder / path) for path in files if _may_be_called(path)}
    begun = [(path, found) for path, found in places.items() if found]
    patterns = [path for path in files if path.suffix == ".toml" and _is_pattern(folder / path)]
    new = [path for path in patterns if not places[path]]
    for path, found in begun[:2]:
        yield _step(f"Go on with {_shown(path)} at row {found.kept.place.row}", "knit", path)
    for path in new[:1]:
        yield _step(f"Learn how many ends {_shown(path)} takes and where it lies", "plan", path)
        yield _step(f"Have the rows of {_shown(path)} called", "knit", path)
    made = {path.with_suffix("") for path in patterns}
    pictures = [path for path in files if _is_picture(path) and path.with_suffix("") not in made]
    for path in [path for path in pictures if not places[path]][:1]:
        yield _step(f"Make a chart of {_shown(path)}, 30 cm wide", "chart", path, _SIZE)
    if not (patterns or pictures):
        yield _step("Make a chart of your picture, 30 cm wide", "chart", Path("PICTURE"), _SIZE)
    yield _step("Try voice, microphone and pedal", "check")
    for path, _ in begun[:1]:
        yield _step(f"Learn how many ends {_shown(path)} takes and where it lies", "plan", path)
    yield f"See all commands: {PROGRAM} --help"


def _step(what: str, command: str, path: Path | None = None, options: str = "") -> str:
    """A sentence and its command as it is typed."""
    parts = [PROGRAM, command, "" if path is None else shlex.quote(str(path)), options]
    return f"{what}: {' '.join(part for part in parts if part)}"


def _shown(path: Path) -> str:
    return plain(path.name)


def _may_be_called(path: Path) -> bool:
    return path.suffix == ".toml" or _is_picture(path)


def _is_picture(path: Path) -> bool:
    return path.suffix.lower() in _PICTURES and not path.name.endswith(_OURS)


def _is_pattern(path: Path) -> bool:
    from caller.pattern.storage.pattern_file import load

    try:
        load(path)
    except CallerError:
        return False
    return True


def _place(path: Path) -> Found | None:
    try:
        return place_file.read(place_file.place_file(path))
    except OSError:
        return None

"""Make the pictures and sounds of the README anew: python docs/make_tour.py [FOLDER]

`tests/test_tour.py` fails where those in docs/tour are not what the program makes today.
"""

import sys
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

from caller.devices.voices.piper import PiperVoice
from caller.pattern.pattern import Pattern
from caller.pattern.storage.pattern_file import load
from caller.settings import VoiceSettings
from caller.sheets.pictures.preview import write_pictures
from caller.sheets.tracks.tracks import write_tracks

HERE = Path(__file__).parent
DEMO = HERE.parent / "demo_patterns" / "sailing-boat.toml"
PICTURES = ("purl-side", "supplies")
WIDTH_PX = 700
ROWS = (8, 60)
"""A long row with ends to take up and to cut, and a plain one."""
VOICE = VoiceSettings("piper")


def make_pictures(pattern: Pattern, folder: Path) -> None:
    """The pictures of `row-caller preview`, small enough for a page."""
    with tempfile.TemporaryDirectory() as made:
        write_pictures(pattern, pattern.supply_plan, Path(made) / "boat", replace=True)
        for name in PICTURES:
            with Image.open(Path(made) / f"boat.{name}.png") as large:
                size = (WIDTH_PX, round(large.height * WIDTH_PX / large.width))
                small = large.convert("RGB").resize(size, Image.Resampling.LANCZOS)
            small.quantize(48, dither=Image.Dither.NONE).save(folder / f"{name}.png", optimize=True)


def make_sounds(pattern: Pattern, folder: Path) -> None:
    """The tracks of the rows, with the usual voice."""
    voice = PiperVoice()
    for row in ROWS:
        write_tracks(pattern, folder, voice, VOICE, (row, row))
    next(folder.glob("*.m3u8")).unlink()


def unlike(one: Path, other: Path) -> float:
    """The share of pixels in which two pictures differ clearly; 1 where their sizes do."""
    first, second = (np.asarray(Image.open(path).convert("RGB"), int) for path in (one, other))
    if first.shape != second.shape:
        return 1.0
    return float((np.abs(first - second).max(axis=2) > 48).mean())


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "tour"
    demo = load(DEMO)
    make_pictures(demo, target)
    make_sounds(demo, target)

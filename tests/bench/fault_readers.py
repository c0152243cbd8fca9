"""What faults.py gives to each reader: good files, changed at random, and what the reader says.

Run as a program it tries one reader, in a process that may crash, hang or grow.
"""

import argparse
import io
import json
import os
import random
import resource
import signal
import time
import traceback
from collections.abc import Callable
from pathlib import Path

import numpy as np

from caller.errors import CallerError

LONGEST_S = 10.0
DEMOS = Path(__file__).parents[2] / "demo_patterns"
Reader = Callable[[Path], object]
_HOSTILE = (
    b"[" * 3000,
    b"9" * 5000,
    b"{a=" * 500,
    b"1e999",
    b"-1",
    b"\xff\xfe",
    b"\x00" * 64,
    b"nan",
    b"99999999999999999999",
    b'"' * 3,
    b"\n[[yarns]]\n",
    b"\x7f\xff\xff\xff",
    b"\xff\xff\xff\xff",
)
_SETTINGS = b"""[options]
voice = "espeak"
rate = 170
[words]
next = ["next row", "forward"]
[presses]
long_s = 0.5
[[pedals]]
source = "keys"
key = "b"
short = "next"
"""


def _pictures() -> list[tuple[str, bytes]]:
    from PIL import Image

    blocks = np.zeros((20, 12, 3), dtype=np.uint8)
    blocks[5:, 3:] = (200, 30, 40)
    made = []
    for kind in ("PNG", "JPEG", "GIF", "BMP", "TIFF", "WEBP", "PPM", "ICO", "TGA", "PCX"):
        content = io.BytesIO()
        Image.fromarray(blocks).save(content, kind)
        made.append((f"a.{kind.lower()}", content.getvalue()))
    for mode in ("1", "P", "LA", "RGBA", "I;16"):
        content = io.BytesIO()
        Image.fromarray(blocks).convert("L" if mode == "I;16" else mode).save(content, "PNG")
        made.append((f"a-{mode[0]}.png", content.getvalue()))
    return made


def _sounds() -> list[tuple[str, bytes]]:
    from caller.calling.ports import SoundBlock
    from caller.devices.sound.sound_files import encode

    tone = (8000 * np.sin(np.arange(8000) / 9)).astype(np.int16)
    return [
        (f"a.{kind}", encode(SoundBlock(tone, 16_000), kind))
        for kind in ("wav", "flac", "ogg", "mp3")
    ]


def _patterns() -> list[tuple[str, bytes]]:
    return [(path.name, path.read_bytes()) for path in sorted(DEMOS.glob("*.toml"))]


def _read_picture(path: Path) -> None:
    from caller.pattern.picture.charting import make_chart
    from caller.pattern.picture.picture import read_picture
    from caller.pattern.storage.pattern_file import load

    make_chart(read_picture(path), 12, 10, 3)
    load(path)


def _read_pattern(path: Path) -> None:
    from caller.pattern.storage.pattern_file import load

    for chart in DEMOS.glob("*.png"):
        if not (path.parent / chart.name).exists():
            (path.parent / chart.name).write_bytes(chart.read_bytes())
    load(path)


def _read_settings(path: Path) -> None:
    from caller.devices.storage import settings_file

    os.environ["CALLER_SETTINGS"] = str(path)
    settings_file.load()


def _read_sound(path: Path) -> None:
    from caller.devices.sound.sound_files import read_sound

    read_sound(path)


def _open_model(path: Path) -> None:
    """As a folder of a Vosk model, in its process, and as a piper voice."""
    from caller.settings import ListeningSettings, VoiceSettings
    from caller.wiring.recognisers import choose_recogniser
    from caller.wiring.voices import open_voice

    folder = path.with_suffix("")
    for part in ("am/final.mdl", "conf/model.conf", "graph/HCLr.fst", "graph/words.txt"):
        (folder / part).parent.mkdir(parents=True, exist_ok=True)
        (folder / part).write_bytes(path.read_bytes())
    told = []
    for attempt in (
        lambda: (
            choose_recogniser(ListeningSettings(engine="vosk", model_folder=folder))
            .open_apart()
            .close()
        ),
        lambda: open_voice(VoiceSettings(kind="piper", file=path)).close(),
    ):
        try:
            attempt()
        except CallerError as error:
            told.append(error)
    if told:
        raise told[0]


def _models() -> list[tuple[str, bytes]]:
    settings = json.dumps({"audio": {"sample_rate": 22050}, "espeak": {"voice": "en"}})
    return [("a.onnx", settings.encode()), ("b.onnx", b"\x08\x07\x12\x07pytorch:\x10" * 9)]


READERS: dict[str, tuple[Callable[[], list[tuple[str, bytes]]], Reader]] = {
    "pictures": (_pictures, _read_picture),
    "patterns": (_patterns, _read_pattern),
    "settings": (lambda: [("settings.toml", _SETTINGS)], _read_settings),
    "sounds": (_sounds, _read_sound),
    "models": (_models, _open_model),
}


def changed(content: bytes, chance: random.Random) -> bytes:
    """The same with some bytes flipped, cut, doubled, or something hostile put in."""
    made = bytearray(content)
    for _ in range(chance.choice((1, 1, 2, 3, 8))):
        at = (
            chance.randrange(len(made) + 1)
            if chance.random() < 0.7
            else chance.randrange(min(len(made), 60) + 1)
        )
        match chance.randrange(6):
            case 0:
                made[at : at + 1] = bytes([chance.randrange(256)])
            case 1:
                made[at : at + chance.choice((1, 4, 30))] = b""
            case 2:
                made[at:at] = made[at : at + chance.choice((1, 8, 200))]
            case 3:
                made[at:at] = chance.choice(_HOSTILE)
            case 4:
                hostile = chance.choice(_HOSTILE)[:8]
                made[at : at + len(hostile)] = hostile
            case 5:
                del made[at:]
    return bytes(made)


def _too_long(_number: int, _frame: object) -> None:
    raise TimeoutError(f"more than {LONGEST_S:g} s")


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("reader", choices=READERS)
    options.add_argument("folder", type=Path)
    options.add_argument("begin", type=int)
    options.add_argument("end", type=int)
    wishes = options.parse_args()
    make, read = READERS[wishes.reader]
    good = make()
    signal.signal(signal.SIGALRM, _too_long)
    for number in range(wishes.begin, wishes.end):
        chance = random.Random(number)
        name, content = good[number % len(good)]
        folder = wishes.folder / str(number)
        folder.mkdir()
        path = folder / name
        path.write_bytes(changed(content, chance))
        if wishes.reader == "models":
            Path(f"{path}.json").write_bytes(changed(content, chance))
        began_s, lost = time.monotonic(), ""
        signal.setitimer(signal.ITIMER_REAL, LONGEST_S)
        try:
            read(path)
        except CallerError as error:
            if not str(error).strip():
                lost = "an error without a word"
        except BaseException:
            lost = traceback.format_exc()
        finally:
            signal.setitimer(signal.ITIMER_REAL, 0)
        took_s = time.monotonic() - began_s
        mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        print(json.dumps([number, lost, took_s, mb]), flush=True)


if __name__ == "__main__":
    main()

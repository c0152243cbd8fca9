"""How long tracks and readable sheets take, printed; nothing here is a test.

Shares are of the time that the whole takes. With a number, that many rows are spoken, not 1,000:

    python tests/bench/tracks.py 100
"""

import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from paired import tiny

from caller.devices.voices.espeak import EspeakVoice
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.settings import VoiceSettings
from caller.sheets.scripts.reading import as_html, as_large_print
from caller.sheets.tracks import loudness, tracks
from caller.sheets.tracks.tracks import write_tracks

NAMES = ("navy", "ivory", "rust", "moss")


def invented(rows: int, stitches: int = 80, runs: int = 8) -> Pattern:
    """A chart with about so many runs in every row."""
    random = np.random.default_rng(1)
    cells = np.zeros((rows, stitches), dtype=np.uint8)
    for row in cells:
        for start in np.sort(random.choice(stitches, runs - 1, replace=False)):
            row[start:] = (row[start] + random.integers(1, len(NAMES))) % len(NAMES)
    yarns = tuple(Yarn(name, f"#{n * 40 + 20:02x}4050") for n, name in enumerate(NAMES))
    return Pattern("Invented", Chart(cells), yarns)


class Stopwatch:
    """Adds up the processor's time spent in functions that it is put around."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}

    def around(self, module: object, name: str) -> None:
        timed = getattr(module, name)

        def call(*args: object, **options: object) -> object:
            begun = time.process_time()
            try:
                return timed(*args, **options)
            finally:
                spent = time.process_time() - begun
                self.seconds[name] = self.seconds.get(name, 0) + spent

        setattr(module, name, call)


def sheets(pattern: Pattern) -> None:
    rows = pattern.script.rows
    pattern.supply_plan.row(rows)  # worked out once, whatever is written from it
    for what, make in (("page", as_html), ("large print", as_large_print)):
        begun = time.process_time()
        size = len(make(pattern).encode()) / 1e6
        print(f"{rows} rows as {what}: {size:.1f} MB in {time.process_time() - begun:.2f} s")


def main() -> None:
    numbers = [one for one in sys.argv[1:] if one.isdigit()]
    rows = int(numbers[0]) if numbers else tiny(3, 1000)
    sheets(invented(tiny(10, 2000)))
    pattern, voice = invented(rows), EspeakVoice()
    loudness.loudness_lufs(np.zeros(100), 22_050)  # loads the libraries
    watch = Stopwatch()
    for name in ("levelled", "encode", "decode", "tagged", "read_mark", "write_whole"):
        watch.around(tracks, name)
    with tempfile.TemporaryDirectory() as folder:
        for what in ("made", "kept"):
            watch.seconds.clear()
            begun, busy = time.perf_counter(), time.process_time()
            made = write_tracks(pattern, Path(folder), voice, VoiceSettings())
            whole, busy = time.perf_counter() - begun, time.process_time() - busy
            spoken = sum(track.seconds for track in made.tracks)
            size = sum(track.path.stat().st_size for track in made.tracks) / 1e6
            print(
                f"{rows} rows, {spoken / 60:.0f} minutes of speech, {size:.0f} MB of ogg {what}: "
                f"{whole:.1f} s, processor {busy:.1f} s ({1000 * busy / rows:.0f} s for 1,000 rows)"
            )
            for name, seconds in watch.seconds.items():
                print(f"    {name:<12} {seconds / busy:5.2f}")


if __name__ == "__main__":
    main()

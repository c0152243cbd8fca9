"""How long tracks and readable sheets take, against speaking the same calls and the plain text.

Processor's time. Shares are of the time that the whole takes. With a number, that many rows are
spoken, not 1,000:

    python tests/bench/tracks.py 100
"""

import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from statistics import median

import numpy as np
from paired import ratios, rounds, tiny, told

from caller.calling.words.row_call import row_call
from caller.calling.words.utterance import Utterance
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


def busy_s(work: Callable[[], object]) -> float:
    """Seconds of the processor."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def sheets(pattern: Pattern) -> None:
    """Page and large print, against putting the rows into words."""
    rows = pattern.script.rows
    pattern.supply_plan.row(rows)  # worked out once, whatever is written from it
    ways = {
        "words": lambda: row_calls(pattern),
        "page": lambda: as_html(pattern),
        "large print": lambda: as_large_print(pattern),
    }
    measured = rounds({name: partial(busy_s, way) for name, way in ways.items()}, tiny(1, 3))
    for name, ratio in ratios(measured, "words").items():
        took = median(found[name] for found in measured)
        print(f"{rows} rows as {name}: {took:.2f} s, {ratio:.2f} of the words alone")


def spoken_only(pattern: Pattern, voice: EspeakVoice) -> None:
    """Every call by the voice, and nothing done with it."""
    for words in row_calls(pattern):
        for clause in words:
            for _ in voice.render(clause.said):
                pass


def row_calls(pattern: Pattern) -> list[Utterance]:
    return [row_call(pattern, row) for row in pattern.script]


def main() -> None:
    numbers = [one for one in sys.argv[1:] if one.isdigit()]
    rows = int(numbers[0]) if numbers else tiny(1, 1000)
    told("sheets")
    sheets(invented(tiny(3, 2000)))
    pattern, voice = invented(rows), EspeakVoice()
    loudness.loudness_lufs(np.zeros(100), 22_050)  # loads the libraries
    watch = Stopwatch()
    for name in ("levelled", "encode", "decode", "tagged", "read_mark", "write_whole"):
        watch.around(tracks, name)
    with tempfile.TemporaryDirectory() as folder:
        for what in ("made", "kept"):
            told(f"{rows} rows {what}")
            watch.seconds.clear()
            speaking = busy_s(lambda: spoken_only(pattern, voice))
            begun, busy = time.perf_counter(), time.process_time()
            made = write_tracks(pattern, Path(folder), voice, VoiceSettings())
            whole, busy = time.perf_counter() - begun, time.process_time() - busy
            spoken = sum(track.seconds for track in made.tracks)
            size = sum(track.path.stat().st_size for track in made.tracks) / 1e6
            print(
                f"{rows} rows, {spoken / 60:.0f} minutes of speech, {size:.0f} MB of ogg {what}: "
                f"{whole:.1f} s, processor {busy:.1f} s, {busy / speaking:.2f} of speaking alone"
            )
            for name, seconds in watch.seconds.items():
                print(f"    {name:<12} {seconds / busy:5.2f}")


if __name__ == "__main__":
    main()

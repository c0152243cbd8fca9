"""How surely a call is heard: heard_back.py [--quick] [--choose]

Every row of the demo patterns and 200 random rows, spoken by espeak-ng and written down by an
independent recogniser that does not know the answer (tests/reader_by_ear.py). Prints, for each
wording and each way of saying numbers, how many rows and how many needle numbers were heard
exactly: in a quiet room, and in pink noise 20, 10 and 5 dB below the speech. --choose compares
languages and rates of the voice instead, with the short wording. Hours; --quick takes minutes.

One synthetic voice, one recogniser, no room and no knitter: the figures compare ways of saying a
thing, and say nothing of people. The recogniser knows American English only, which favours en-us.
"""

import argparse
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
from reader_by_ear import RATE, Ear, Sound, Told
from sounds import pink

from caller.calling import speech
from caller.calling.words.row_call import row_call
from caller.calling.words.utterance import Utterance
from caller.devices.sound.resample import resampled
from caller.devices.voices.espeak import EspeakVoice
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.storage.pattern_file import load
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

DEMOS = sorted((Path(__file__).parents[2] / "demo_patterns").glob("*.toml"))
RANDOM_ROWS = 200
NOISES_DB = (None, 20, 10, 5)
WORDINGS = ("short", "full", "changes")
STYLES = ("words", "digits", "checked")


@dataclass
class Score:
    """Heard exactly, and all there were."""

    rows: list[int] = field(default_factory=lambda: [0, 0])
    needles: list[int] = field(default_factory=lambda: [0, 0])

    def add(self, said: list[Told], heard: list[Told]) -> None:
        self.rows[0] += said == heard
        self.rows[1] += 1
        for one, other in zip(said, heard, strict=True):
            pairs = zip(one.needles, other.needles, strict=False)
            self.needles[0] += sum(needle == again for needle, again in pairs)
            self.needles[1] += len(one.needles)

    def __str__(self) -> str:
        return " ".join(
            f"{100 * good / all_:.1f} % ({good}/{all_})" for good, all_ in (self.rows, self.needles)
        )


def random_pattern() -> Pattern:
    """Blocks of four yarns whose edges wander, come and go: invented, the same every time."""
    chance, stitches = np.random.default_rng(7), 80
    edges, cells = sorted(chance.choice(np.arange(1, stitches), 4, replace=False)), []
    yarns = [0, 1, 2, 3, 0]
    for _ in range(RANDOM_ROWS):
        cells.append(np.repeat(yarns, np.diff([0, *edges, stitches])))
        edges = [int(np.clip(edge + chance.integers(-3, 4), 1, stitches - 1)) for edge in edges]
        if chance.random() < 0.2:
            edges = list(
                chance.choice(np.arange(1, stitches), chance.integers(1, 9), replace=False)
            )
        edges = sorted(set(edges))
        while len(yarns) != len(edges) + 1 or (np.diff(yarns) == 0).any():
            yarns = list(chance.integers(0, 4, len(edges) + 1))
    names = (
        ("green", "#2f7d32"),
        ("orange", "#f08030"),
        ("silver", "#c0c0c0"),
        ("purple", "#703080"),
    )
    grid = np.array(cells, dtype=np.uint8)
    return Pattern("Random", Chart(grid), tuple(Yarn(*name) for name in names))


def patterns(every: int) -> Iterator[tuple[Pattern, list[int]]]:
    for pattern in (*map(load, DEMOS), random_pattern()):
        yield pattern, list(range(1 + every // 2, pattern.script.rows + 1, every))


def spoken(voice: EspeakVoice, call: Utterance) -> Sound:
    blocks = [block.samples for block in speech.spoken(voice, call)]
    return resampled(np.concatenate(blocks), voice.rate, RATE)


def measure(
    settings: CallSettings, voice: EspeakVoice, noises: tuple[int | None, ...], every: int
) -> dict[int | None, Score]:
    scores = {noise: Score() for noise in noises}
    room = pink(20)
    for pattern, rows in patterns(every):
        names = [yarn.name for yarn in pattern.yarns]
        most, total = pattern.chart.stitches // 2, pattern.script.rows
        ear = Ear(names, most, total, settings.numbers, voice.rate_wpm)
        for row in rows:
            whole = row_call(pattern, pattern.script.row(row), settings)
            call = tuple(clause for clause in whole if not clause.said.startswith("Remember"))
            said = [ear.understood(clause.said) for clause in call]
            breaths = ear.breaths(spoken(voice, call))
            assert len(breaths) == len(said), (row, len(breaths), len(said))
            for noise_db, score in scores.items():
                heard = [ear.write_down(_noisy(breath, noise_db, room)) for breath in breaths]
                score.add(said, [ear.understood(words) for words in heard])
    return scores


def _noisy(breath: Sound, noise_db: int | None, room: np.ndarray) -> Sound:
    if noise_db is None:
        return breath
    level = np.sqrt(np.mean(breath.astype(float) ** 2) / 10 ** (noise_db / 10))
    noise = np.resize(room, len(breath)) * level
    return np.clip(breath + noise, -32768, 32767).astype(np.int16)


def table(title: str, noises: tuple[int | None, ...]) -> None:
    head = ["quiet room" if noise is None else f"{noise} dB" for noise in noises]
    print(f"| {title} | {' | '.join(f'{name}: rows, needles' for name in head)} |")
    print(f"|---{'|---' * len(noises)}|", flush=True)


def line(name: str, scores: dict[int | None, Score], began_s: float) -> None:
    print(f"| {name} | {' | '.join(map(str, scores.values()))} |", flush=True)
    print(f"{name}: {time.perf_counter() - began_s:.0f} s", file=sys.stderr)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--quick", action="store_true", help="every 20th row, two noises")
    options.add_argument("--every", type=int, default=1, help="only every so many rows")
    options.add_argument("--choose", action="store_true", help="compare languages and rates")
    options.add_argument("--wording", choices=WORDINGS, help="only this wording")
    options.add_argument("--numbers", choices=STYLES, help="only numbers said in this way")
    chosen = options.parse_args()
    every, noises = (20, (None, 10)) if chosen.quick else (chosen.every, NOISES_DB)
    if chosen.choose:
        table("voice, words a minute", noises)
        for language in ("en-us", "en"):
            for rate in (130, 160, 200):
                began_s, voice = time.perf_counter(), EspeakVoice(rate, language=language)
                line(f"{language}, {rate}", measure(CallSettings(), voice, noises, every), began_s)
        return
    table("wording, numbers", noises)
    for words in (chosen.wording,) if chosen.wording else WORDINGS:
        for style in (chosen.numbers,) if chosen.numbers else STYLES:
            began_s = time.perf_counter()
            settings = CallSettings(wording=words, numbers=style)
            line(f"{words}, {style}", measure(settings, EspeakVoice(), noises, every), began_s)


if __name__ == "__main__":
    main()

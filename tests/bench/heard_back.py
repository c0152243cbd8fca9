"""How surely a call is heard: heard_back.py [--rows 200] [--voices piper] [--ears whisper english]

Rows of the demo patterns and as many random ones, called as in a session, portion by portion,
spoken, and written down by recognisers without a grammar (open_ears.py) that know nothing of the
answer. What they wrote is read by written.py in any spelling. Prints, for each voice, wording and
way of saying numbers, how many needles and rows were heard exactly, how many rows but for the row's
own number, and on how many needles left was heard as right or the other way round; `--wrong` also
prints what was misheard. About ten seconds of one core a row with both ears.

Two recognisers, synthetic voices, no room and no knitter: the figures compare ways of saying a
thing, and say nothing of people.
"""

import argparse
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from open_ears import CLIP_S, EARS, RATE, EnglishEar, WhisperEar, open_ear, written_down
from written import Tally, facts

from caller.calling.place import Place
from caller.calling.portions import portions
from caller.calling.ports import Voice
from caller.calling.words.row_call import call
from caller.calling.words.utterance import Utterance
from caller.devices.sound.resample import resampled
from caller.devices.voices.espeak import EspeakVoice
from caller.devices.voices.piper import PiperVoice
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.storage.pattern_file import load
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings, VoiceSettings

DEMOS = sorted((Path(__file__).parents[2] / "demo_patterns").glob("*.toml"))
RANDOM_ROWS, SEED = 200, 8
VOICES = {"piper": PiperVoice, "espeak": EspeakVoice}
WORDINGS = ("short", "full", "changes")
STYLES = ("checked", "words", "digits")
EVERY_ROWS = 4
"""So often it is told how far the work is."""


def random_pattern(seed: int) -> Pattern:
    """Blocks of four yarns whose edges wander, come and go: invented, the same for a seed."""
    chance, stitches = np.random.default_rng(seed), 80
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


def chosen_rows(count: int, seed: int = SEED) -> list[tuple[Pattern, int]]:
    """So many rows: half of them of the demo patterns, half random, by chance over each, and in an
    order by chance, so that a run that is stopped has heard a fair part."""
    demos = [
        (pattern, row) for pattern in map(load, DEMOS) for row in range(1, pattern.script.rows + 1)
    ]
    invented, chance = random_pattern(seed), np.random.default_rng(seed)
    others = [(invented, row) for row in range(1, RANDOM_ROWS + 1)]
    places = [
        (of, chance.choice(len(of), min(share, len(of)), replace=False))
        for of, share in ((demos, count - count // 2), (others, count // 2))
    ]
    rows = [of[place] for of, chosen in places for place in chosen]
    return [rows[place] for place in chance.permutation(len(rows))]


def calls_of(pattern: Pattern, row: int, settings: CallSettings) -> Iterator[Utterance]:
    """The calls of a row's portions, as they come one after another."""
    for run in portions(pattern, settings, row):
        yield call(pattern, settings, Place(row, run))


def sound_of(voice: Voice, said: str, pause_s: float) -> NDArray[np.int16]:
    """A clause and the silence after it, at the ears' rate."""
    blocks = [block.samples for block in voice.render(said)]
    quiet = np.zeros(round(pause_s * voice.rate), dtype=np.int16)
    return resampled(np.concatenate([*blocks, quiet]), voice.rate, RATE)


def measure(
    rows: list[tuple[Pattern, int]],
    voice: Voice,
    ears: dict[str, WhisperEar | EnglishEar],
    settings: CallSettings,
    wrong: bool,
) -> dict[str, Tally]:
    tallies = {name: Tally() for name in ears}
    began_s = time.process_time()
    for number, (pattern, row) in enumerate(rows, 1):
        names = [yarn.name for yarn in pattern.yarns]
        told = [
            clause
            for utterance in calls_of(pattern, row, settings)
            for clause in utterance
            if clause.said and not clause.said.startswith("Remember")
        ]
        sounds = [sound_of(voice, clause.said, clause.pause_s) for clause in told]
        said = facts(" ".join(clause.said for clause in told), names)
        for name, ear in ears.items():
            text = written_down(ear, sounds, CLIP_S[name])
            mistakes = tallies[name].add(said, facts(text, names))
            if wrong and mistakes:
                print(f"{pattern.title}, row {row}, {name}: {'; '.join(mistakes)}\n    {text}")
        if number % EVERY_ROWS == 0 or number == len(rows):
            spent_s = time.process_time() - began_s
            so_far = ", ".join(f"{name} {figures(tally)}" for name, tally in tallies.items())
            print(
                f"{number} of {len(rows)}, {spent_s:.0f} s: {so_far}", file=sys.stderr, flush=True
            )
    return tallies


def figures(tally: Tally) -> str:
    needles = 100 * tally.needles_right / max(1, tally.needles)
    rows = 100 * tally.rows_right / max(1, tally.rows)
    hands = 100 * tally.rows_right_but_number / max(1, tally.rows)
    return (
        f"{needles:.1f} ({tally.needles}), {rows:.0f} ({tally.rows}), {hands:.0f}, "
        f"{tally.sides_swapped}"
    )


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--rows", type=int, default=200)
    options.add_argument("--voices", nargs="+", choices=VOICES, default=["piper"])
    options.add_argument("--ears", nargs="+", choices=EARS, default=list(EARS))
    options.add_argument("--wordings", nargs="+", choices=WORDINGS, default=["short"])
    options.add_argument("--numbers", nargs="+", choices=STYLES, default=["checked"])
    options.add_argument(
        "--rate", type=int, default=VoiceSettings().rate_wpm, help="words a minute"
    )
    options.add_argument("--seed", type=int, default=SEED, help="of the rows that are chosen")
    options.add_argument("--wrong", action="store_true", help="print what was misheard")
    chosen = options.parse_args()
    rows = chosen_rows(chosen.rows, chosen.seed)
    ears = {name: open_ear(name) for name in chosen.ears}
    heads = [f"{name}: needles %, rows %, but for their number %, sides swapped" for name in ears]
    print(
        f"| voice, wording, numbers | {' | '.join(heads)} |\n|---{'|---' * len(ears)}|", flush=True
    )
    for voice_name in chosen.voices:
        voice: Voice = VOICES[voice_name](rate_wpm=chosen.rate)
        for wording in chosen.wordings:
            for numbers in chosen.numbers:
                settings = CallSettings(wording=wording, numbers=numbers)
                tallies = measure(rows, voice, ears, settings, chosen.wrong)
                cells = " | ".join(map(figures, tallies.values()))
                print(f"| {voice_name}, {wording}, {numbers} | {cells} |", flush=True)


if __name__ == "__main__":
    main()

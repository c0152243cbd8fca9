"""How well the commands are heard: python tests/bench/listening.py [--model FOLDER] [--speech DIR]

Prints hits and wrong answers of every phrase by synthetic speakers (clean, in pink noise, beside a
carriage), what the caller's own calls set off, what other people's speech sets off, and the time
and memory it takes. A few minutes. Synthetic speakers, no room, no microphone: optimistic figures.

The people's speech is Debian's package asterisk-core-sounds-en-g722 (558 prompts by one speaker,
CC BY-SA), fetched into a temporary folder where apt-get is there and the wheel `av` is installed
(it reads G.722); --speech takes any folder of sound files instead.
"""

import argparse
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import psutil

sys.path.insert(0, str(Path(__file__).parent.parent))
import sounds

from caller.calling.commands import PHRASES
from caller.calling.cutting import BLOCK_SAMPLES, RATE, Cut, WordCutter
from caller.calling.ports import Recogniser
from caller.devices.resample import resampled
from caller.devices.silero import SileroDetector
from caller.devices.sound_files import read_sound
from caller.devices.sphinx import SphinxRecogniser
from caller.devices.vosk_ear import VoskRecogniser
from caller.errors import CallerError

PACKAGE = "asterisk-core-sounds-en-g722"
COLOURS = "red orange yellow green blue purple pink brown black white grey cream".split()  # noqa: SIM905
NUMBERS = "two six eleven fourteen twenty thirty forty-one eighty ninety-nine".split()  # noqa: SIM905


class Watch:
    """Adds up seconds."""

    def __init__(self) -> None:
        self.seconds = 0.0

    def __enter__(self) -> None:
        self._began = time.perf_counter()

    def __exit__(self, *_: object) -> None:
        self.seconds += time.perf_counter() - self._began


class Ear:
    """Detector, cutter and recogniser in a row, each with its own watch."""

    def __init__(self, recogniser: Recogniser) -> None:
        self.recogniser, self.detector = recogniser, SileroDetector()
        self.detecting, self.recognising = Watch(), Watch()
        self.sound_s, self.cuts = 0.0, 0

    def hear(self, sound: sounds.Sound) -> list[tuple[str | None, Cut]]:
        self.detector.reset()
        cutter, heard = WordCutter(), []
        sound = np.concatenate([sound, np.zeros(RATE, dtype=np.int16)])
        for at in range(0, len(sound) - BLOCK_SAMPLES + 1, BLOCK_SAMPLES):
            block = sound[at : at + BLOCK_SAMPLES]
            with self.detecting:
                probability = self.detector.probability(block)
            if cut := cutter.feed(block, probability):
                with self.recognising:
                    heard.append((self.recogniser.recognise(cut.samples).phrase, cut))
        self.sound_s += len(sound) / RATE
        self.cuts += len(heard)
        return heard


def phrases(ear: Ear) -> None:
    noises = {
        "clean": None,
        "pink 10 dB": sounds.pink(5),
        "carriage 10 dB": sounds.carriage_rasp(5),
    }
    late: list[float] = []
    print(f"hits/wrong of {len(sounds.SPEAKERS)} speakers")
    for name, noise in noises.items():
        hits, wrong = Counter[str](), Counter[str]()
        for voice in sounds.SPEAKERS:
            for phrase, word in zip(PHRASES, sounds.spoken(PHRASES, voice), strict=True):
                whole = sounds.apart([word]) if noise is None else sounds.in_noise(word, noise, 10)
                heard = ear.hear(whole)
                hits[phrase] += any(said == phrase for said, _ in heard)
                wrong[phrase] += any(said not in (None, phrase) for said, _ in heard)
                ended_s = 0.8 + np.flatnonzero(np.abs(word) > 300)[-1] / RATE
                late += [cut.end_s - ended_s for _, cut in heard]
        total = len(sounds.SPEAKERS) * len(PHRASES)
        shares = ", ".join(f"{phrase} {hits[phrase]}/{wrong[phrase]}" for phrase in PHRASES)
        print(
            f"  {name:15} {sum(hits.values()) / total:4.0%}/{sum(wrong.values()) / total:.0%}: "
            f"{shares}"
        )
    low, middle, high = np.percentile(late, [5, 50, 95])
    print(f"a cut is ready {middle:.2f} s after the word ({low:.2f} to {high:.2f})")


def own_calls() -> Iterator[sounds.Sound]:
    """Calls clause by clause with quiet between, harder than the running speech they are."""
    for index, voice in enumerate(sounds.SPEAKERS):
        texts = [f"Row {number}, to the right." for number in NUMBERS]
        texts += [
            f"{colour}, to {('left', 'right')[place % 2]} {NUMBERS[(place + index) % 9]}."
            for place, colour in enumerate(COLOURS)
        ]
        texts += ["Your place is kept.", "The picture is finished.", *COLOURS, *NUMBERS]
        texts += ["row", "to", "left", "right", "twelve", "hundred", "needle", "yarn"]
        yield sounds.apart(sounds.spoken(tuple(texts), voice, 160), 0.6)


def packaged_speech(folder: Path) -> Iterator[sounds.Sound]:
    import av

    subprocess.run(
        ["apt-get", "download", "-qq", "-o", "APT::Sandbox::User=root", PACKAGE],
        cwd=folder,
        check=True,
    )
    [package] = folder.glob("*.deb")
    subprocess.run(["dpkg-deb", "-x", package.name, "."], cwd=folder, check=True)
    for path in sorted(folder.rglob("*.g722")):
        with av.open(str(path), format="g722") as file:
            yield np.concatenate([f.to_ndarray().ravel() for f in file.decode(audio=0)])


def speech_files(folder: Path) -> Iterator[sounds.Sound]:
    for path in sorted(folder.rglob("*.*")):
        try:
            read = read_sound(path)
        except CallerError:
            continue
        yield resampled(read.samples, read.rate, RATE)


def false_accepts(ear: Ear, name: str, speech: Iterator[sounds.Sound]) -> None:
    accepted, seconds, cuts = Counter[str](), 0.0, ear.cuts
    for sound in speech:
        seconds += len(sound) / RATE
        accepted += Counter(said for said, _ in ear.hear(sound) if said)
    hours = seconds / 3600
    print(
        f"{name}: {accepted.total()} accepted of {ear.cuts - cuts} cuts "
        f"in {hours * 60:.0f} minutes, "
        f"{accepted.total() / hours:.1f} an hour {dict(accepted) or ''}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--model", type=Path, help="folder of a Vosk model, else PocketSphinx")
    parser.add_argument("--speech", type=Path, help="folder of sound files of other speech")
    asked = parser.parse_args()
    process = psutil.Process()
    before, began = process.memory_info().rss, time.perf_counter()
    recogniser: Recogniser = (
        VoskRecogniser(asked.model, PHRASES) if asked.model else SphinxRecogniser(PHRASES)
    )
    ear = Ear(recogniser)
    grown = (process.memory_info().rss - before) / 1e6
    print(f"{recogniser.name}: loaded in {time.perf_counter() - began:.2f} s, {grown:.0f} MB")
    phrases(ear)
    false_accepts(ear, "own calls", own_calls())
    if asked.speech:
        false_accepts(ear, str(asked.speech), speech_files(asked.speech))
    elif shutil.which("apt-get"):
        try:
            with tempfile.TemporaryDirectory() as folder:
                false_accepts(ear, PACKAGE, packaged_speech(Path(folder)))
        except (ImportError, subprocess.CalledProcessError) as error:
            print(f"{PACKAGE}: left out ({error})")
    print(
        f"detector {ear.detecting.seconds / ear.sound_s:.3f} of the sound's length; recogniser "
        f"{1000 * ear.recognising.seconds / max(1, ear.cuts):.0f} ms a cut"
    )


if __name__ == "__main__":
    main()

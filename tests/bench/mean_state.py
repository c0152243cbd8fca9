"""Makes the mean state that own takes are freed from.

    python tests/bench/mean_state.py caller/devices/recognisers/own_voice/mean_state.npy

From Italian and Czech talk that is there for choosing (negatives.py): every tenth segment of it.
With --tiny it hears two spoken words instead and writes nothing.
"""

import argparse
import sys
from collections.abc import Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from paired import told

sys.path.insert(0, str(Path(__file__).parent.parent))
import hearing
import negatives
import sounds

from caller.devices.recognisers.english.encoder import Encoder
from caller.devices.recognisers.own_voice.states import MEAN

SOURCES = ("prompts, Italian", "game talk, Czech")
MINUTES = 7.0
EACH = 10
"""One segment of so many is heard."""


def talk() -> list[sounds.Sound]:
    """Every tenth segment of other people's talk."""
    found = []
    for source in negatives.SOURCES:
        if source.name not in SOURCES:
            continue
        minutes = negatives.first_minutes(negatives.talk(source), MINUTES)
        segments = [one for part in negatives.stretches(minutes) for one in hearing.segments(part)]
        told(f"{source.name}: {len(segments)} segments")
        found += [segment.samples for segment in segments[::EACH]]
    return found


def mean_state(heard: Iterable[sounds.Sound]) -> tuple[NDArray[np.float32], int]:
    """The mean over all frames, of shape (WIDTH,), and how many frames there are."""
    model = Encoder()
    frames = np.concatenate([model.states(sound) for sound in heard])
    return frames.mean(axis=0), len(frames)


def main() -> None:
    options = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    where = options.add_mutually_exclusive_group(required=True)
    where.add_argument("out", type=Path, nargs="?", help="the .npy file to write")
    where.add_argument("--tiny", action="store_true", help="two words, and no file")
    chosen = options.parse_args()
    mean, frames = mean_state(
        sounds.spoken(("Buona sera.", "Dobrý den.")) if chosen.tiny else talk()
    )
    if chosen.out is not None:
        np.save(chosen.out, mean)
    shipped = np.load(MEAN)
    alike = float(mean @ shipped / np.linalg.norm(mean) / np.linalg.norm(shipped))
    print(
        f"{mean.size} numbers, the mean of {frames} frames; cosine to the shipped one {alike:.3f}"
    )


if __name__ == "__main__":
    main()

"""Makes the mean state that own takes are freed from: python tests/bench/mean_state.py

Of the cuts of Italian and Czech talk that is there for choosing (negatives.py), every tenth.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
import hearing
import negatives

from caller.devices.recognisers.own_voice import states

SOURCES = ("prompts, Italian", "game talk, Czech")
MINUTES = 7.0


def main() -> None:
    model, found = states.SpeechStates(), []
    for source in negatives.SOURCES:
        if source.name not in SOURCES:
            continue
        talk = negatives.first_minutes(negatives.talk(source), MINUTES)
        segments = [cut for part in negatives.stretches(talk) for cut in hearing.segments(part)]
        found += [model.states(cut.samples) for cut in segments[::10]]
    np.save(states.MEAN, np.concatenate(found).mean(axis=0))


if __name__ == "__main__":
    main()

"""How long after a word's end it is obeyed: decision_time.py [--engine NAME] [--part check]

The whole way of a session, on a computer of one core that does nothing else: a block of sound is
listened to when it has come and the one before is done with, for as long as the processor took.
Prints the seconds from the word's end (`hearing.word_end_s`), clean and beside a carriage, and how
many are heard.
"""

import argparse
import sys
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).parent.parent))
import conditions
import hearing
import numpy as np
import speakers
import trials
from engines import HEARD_TAKES, Beside, English, Opening, opening
from sounds import Sound

from caller.calling.commands import PHRASES, WORDS, Command
from caller.calling.listening.blocks import BLOCK_S
from caller.calling.listening.listener import HeardPhrase

ENGINES = {
    "english": English,
    "beside": Beside,
    "beside, all taught": lambda: Beside(taught=PHRASES),
}


def decided(listener_of: Opening, stream: Sound) -> list[tuple[Command, float]]:
    """The commands in a stream, each with the second at which it is decided."""
    blocks, likely = hearing.blocks(stream)
    listener, found, free_s = listener_of(hearing.KeptDetector(likely)), [], 0.0
    for number, block in enumerate(blocks):
        began = process_time()
        heard = listener.feed(block)
        free_s = max(free_s, (number + 1) * BLOCK_S) + process_time() - began
        found += [(one.command, free_s) for one in heard if isinstance(one, HeardPhrase)]
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--engine", default="english", choices=ENGINES)
    parser.add_argument("--part", default="check", choices=speakers.PARTS, help="the speakers")
    parser.add_argument("--every", type=int, default=1, help="one phrase in so many (default 1)")
    parser.add_argument("--only", action="append", default=[], help="of these conditions")
    parser.add_argument("--tiny", action="store_true", help="as little as shows that it runs")
    asked = parser.parse_args()
    engine = ENGINES[asked.engine]()
    people = speakers.speakers(asked.part)[: 1 if asked.tiny else None]
    names = asked.only or ["clean", "carriage 10 dB"]
    for condition in [one for one in conditions.conditions() if one.name in names]:
        late_s, said, wrong = [], 0, 0
        for place, speaker in enumerate(trials.progress(people, condition.name, len(people))):
            listener_of = opening(engine, speaker)
            sounds_of = speakers.said(speaker, PHRASES, HEARD_TAKES[0])
            step = len(PHRASES) if asked.tiny else asked.every
            for phrase, sound in list(zip(PHRASES, sounds_of, strict=True))[place % step :: step]:
                name = f"{speaker.name} {phrase} {HEARD_TAKES[0]}"
                found = decided(listener_of, condition.make(sound, name))
                ended_s = conditions.GAP_S + hearing.word_end_s(sound)
                said += 1
                late_s += [at_s - ended_s for command, at_s in found if command is WORDS[phrase]]
                wrong += any(command is not WORDS[phrase] for command, _ in found)
        median, most, last = np.percentile(late_s, [50, 95, 100]) if late_s else [np.nan] * 3
        print(
            f"{asked.engine}, {condition.name}: heard {len(late_s)} of {said}, {wrong} as another; "
            f"decided after {median:.2f} s (median), {most:.2f} s (95 %), {last:.2f} s at most"
        )


if __name__ == "__main__":
    main()

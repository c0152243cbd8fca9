"""Commands with a number, heard through the whole way from sound to command: spoken_numbers.py

Prints, for each condition, how many sentences are heard with their number right, how many with
two numbers of which one is right (both are asked for), how many with another number of the same
command, how many as another command, and how many not at all; and how many of the right ones had a
second number beside them. The first five of each fifteen sentences, so five of the usual nine, have
a number that is easily misheard, 13 to 19 or 30 to 90. A wrong number moves nothing: it is read
back first.

The part `choose` is for choosing bounds; `report` is run once, when all is chosen. Synthetic
speakers, no real room: optimistic.
"""

import argparse
import random
import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
import conditions
import speakers
import trials
from engines import HEARD_TAKES, English, english_listener
from intervals import Share

from caller.calling.listening.grammar import Sentence
from caller.calling.listening.listener import HeardPhrase, hear_recording
from caller.wiring.hearing import any_sentence

MISHEARD = {str(number) for number in (*range(13, 20), *range(30, 100, 10))}
CONDITIONS = ("clean", "carriage 10 dB")


def sentences_for(speaker: speakers.Speaker, count: int) -> list[tuple[Sentence, str]]:
    """Sentences and the words of each, the same ones every time; as many of each command."""
    drawn = random.Random(speaker.name)
    every = list(any_sentence().values())
    commands = list(dict.fromkeys(one.command for one in every))
    found = []
    for index in range(count):
        of_command = [one for one in every if one.command is commands[index % len(commands)]]
        if index // len(commands) % 3 == 0:
            of_command = [one for one in of_command if one.number.strip("LR") in MISHEARD]
        sentence = drawn.choice(of_command)
        found.append((sentence, drawn.choice(sentence.wordings)))
    return found


def outcome(sentence: Sentence, found: Sequence[HeardPhrase]) -> str:
    if not found:
        return "nothing"
    if any(one.command is not sentence.command for one in found):
        return "another command"
    last = found[-1]
    if last.number == sentence.number:
        return "right, another asked for too" if last.close else "right"
    return "one of two" if last.close and last.rival == sentence.number else "another number"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--part", default="choose", help="the speakers: choose or report")
    parser.add_argument("--sentences", type=int, default=9, help="of each speaker")
    parser.add_argument("--tiny", action="store_true", help="as little as shows that it runs")
    asked = parser.parse_args()
    people = speakers.speakers(asked.part)
    if asked.tiny:
        people, asked.sentences = people[:1], 1
    print(f"{len(people)} speakers, {asked.sentences} sentences each: ", end="")
    print(", ".join(one.name for one in people))
    English().recogniser_of(people[0])
    there = {one.name: one for one in conditions.conditions()}
    for name in CONDITIONS[: 1 if asked.tiny else None]:
        came: Counter[str] = Counter()
        for speaker in trials.progress(people, name, len(people)):
            chosen = sentences_for(speaker, asked.sentences)
            said = speakers.said(speaker, [words for _, words in chosen], HEARD_TAKES[0])
            for (sentence, words), sound in zip(chosen, said, strict=True):
                found = hear_recording(there[name].make(sound, words), english_listener())
                what = outcome(sentence, found)
                came[what] += 1
                if not what.startswith("right"):
                    heard = ", ".join(one.phrase for one in found) or "nothing"
                    print(f"  {speaker.name}: {words} -> {heard}", file=sys.stderr)
        both = "right, another asked for too"
        right = came["right"] + came[both]
        print(f"{name:16} right {Share(right, came.total())}, {came[both]} of them with another; ")
        print(f"{'':16} or one of two {Share(right + came['one of two'], came.total())}; ", end="")
        rest = {what: count for what, count in came.items() if not what.startswith("right")}
        print(", ".join(f"{what} {count}" for what, count in rest.items()))


if __name__ == "__main__":
    main()

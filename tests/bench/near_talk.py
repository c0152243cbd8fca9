"""Everyday sentences that sound nearly like a phrase, said alone: near_talk.py

Prints which phrases they are taken for, by the voices that choose. Talk in which nobody says such
a sentence sets hardly anything off, so bounds are chosen on these. Written for this program: a
count from it compares bounds and is no rate.
"""

import argparse
import re
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
import hearing
import sounds
import speakers
import trials
from engines import HEARD_TAKES, English, opening
from intervals import Share

from caller.calling.commands import PHRASES
from caller.calling.listening.listener import HeardPhrase

NEAR: dict[str, str] = {
    "next row": (
        "Let's go. Let's row. Next go. Next one. Let's throw. Red row. That's wrong. Next road. "
        "The next role. Mixed dough. That's low."
    ),
    "repeat that": (
        "Repeat it. I need that. We beat that. Read that. Please eat that. Leave that. Who did "
        "that? For he did that. Eat that. Keep that. We need a cat."
    ),
    "go back": (
        "Throwback. Go bad. No luck. Come back. Go back in. So bad. Don't pack. Go, Jack. Get "
        "back. Fall back. Oh, back then. Too black."
    ),
    "previous row": "Previous role. The previous one. Previous road. The row before.",
    "where am i": (
        "We're at the moment. Where are we? Where are you? Where are they? Where is she? Where "
        "I am. Wear a tie. There am I. We're in my way. Why am I? What am I? Who am I? Where am "
        "I going? Wherever I go. We're mad, I say."
    ),
    "leave for today": "Leave it for today. That's all for today. Not today. Leave it today.",
    "go slower": "Go slowly. Go, so long. A bit slower. Coleslaw. Goes lower.",
    "go faster": "Go after her. Go for it. Go past her. Go ask her. A bit faster. Forecaster.",
    "time remaining": "I'm remaining. Time we made it. I'm leaving. No time remains.",
    "what hangs": "What hands? What has? What else? What happens? What's that?",
    "what changes": "What changed? Watch changes. What chances? What trains? What danger?",
    "how much yarn": ("How much? How much is it? How much, John? And much more. How much longer?"),
    "bobbin is filled": "Bobby is still. Robin is ill. Both in the field. Dobbin is filled.",
    "how to finish": (
        "How's the fish? Had to finish. How did it finish? Out to fish. Half finished."
    ),
    "mark this row": "Mark this word. Mark is slow. Mark my words. Marcus, no. Mark the road.",
    "pause listening": "Are you listening? Paul's listening. Stop listening. Possibly singing.",
    "carry on listening": "Carry on. Carry on reading. Carrie, are you listening?",
    "yes please": (
        "Next please. Yes, police. It's peace. Yes, pleased. Just please. Let's please. Yes. "
        "Guess, please. This piece."
    ),
    "help me please": (
        "Help me, Steve. Tell me, please. Help me. How many, please? Let me, please."
    ),
}
"""By the phrase that each sentence lies near."""


def sentences(texts: str) -> list[str]:
    return [one.strip() for one in re.findall(r"[^.?]+[.?]", texts)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--part", default="choose", choices=speakers.PARTS, help="the speakers")
    parser.add_argument("--tiny", action="store_true", help="as little as shows that it runs")
    asked = parser.parse_args()
    people = speakers.speakers(asked.part)[: 1 if asked.tiny else None]
    texts = tuple(dict.fromkeys(text for some in NEAR.values() for text in sentences(some)))
    texts = texts[: 5 if asked.tiny else None]
    taken: Counter[str] = Counter()
    for speaker in trials.progress(people, "near talk", len(people)):
        listener_of = opening(English(), speaker)
        for text, sound in zip(texts, speakers.said(speaker, texts, HEARD_TAKES[0]), strict=True):
            blocks, likely = hearing.blocks(sounds.apart([sound], 0.8))
            heard = listener_of(hearing.KeptDetector(likely)).feed(blocks.ravel())
            phrases = [one.phrase for one in heard if isinstance(one, HeardPhrase)]
            for phrase in phrases:
                print(f"  {speaker.name}: {text} -> {phrase}", file=sys.stderr)
            taken.update(phrase for phrase in phrases[:1])
    print(f"{len(people)} speakers, {len(texts)} sentences: taken for a phrase ", end="")
    print(Share(taken.total(), len(people) * len(texts)))
    print(", ".join(f"{phrase} {taken[phrase]}" for phrase in PHRASES if taken[phrase]) or "none")


if __name__ == "__main__":
    main()

"""Whether own words for the commands sound like one another, like a call, or like everyday talk.

By their sounds alone, so it costs nothing, holds for every recogniser, and is done whenever the
words are used. `row-caller words` tries them with the recogniser itself.
"""

from collections.abc import Callable, Iterable, Sequence

from caller.calling.commands import Words
from caller.calling.listening.everyday import EVERYDAY
from caller.calling.words.numbers import number_words
from caller.errors import SettingError

Sounds = Sequence[str]
Pronounce = Callable[[str], Sounds]
"""A text's sounds, one after another; its letters where they are not known."""

ALIKE = 0.2
"""So much of the longer text may differ, in sounds, where two are told apart no more."""
NEAR_TALK = 0.3
OFTEN = 2
"""So many everyday sentences that are nearly a phrase are too many."""
SHORTEST = 3
"""Sounds: what is shorter is in every other word of a talk."""
_SIDES = ("left", "right", "to the left", "to the right", "row", "needle", "yarn", "join", "cut")
_NUMBERS = (*range(1, 21), *range(30, 101, 10), 42, 87, 126)
_COLOURS = ("red", "dark red", "green", "dark green", "blue", "navy", "white", "cream", "black")
CALLED = tuple(dict.fromkeys((*_SIDES, *_COLOURS, *map(number_words, _NUMBERS))))
"""What a call is made of."""


def check(words: Words, pronounce: Pronounce) -> None:
    """SettingError, with what to do, for the first phrase that cannot be told from something."""
    sounds = {phrase: pronounce(phrase) for phrase in words}
    for at, (phrase, command) in enumerate(words.items()):
        for other in list(words)[:at]:
            if words[other] is not command and distance(sounds[phrase], sounds[other]) <= ALIKE:
                raise _refused(phrase, f"sounds like {other!r}, which is another command")
        if len(sounds[phrase]) < SHORTEST:
            raise _refused(phrase, "is too short to be told from talk")
        if called := _nearest(phrase, CALLED, ALIKE, pronounce):
            raise _refused(phrase, f"sounds like {called[0]!r}, which the call itself says")
        talk = [text for text in EVERYDAY if bare(text) != bare(phrase)]
        if len(near := _nearest(phrase, talk, NEAR_TALK, pronounce)) >= OFTEN:
            some = ", ".join(map(repr, near[:OFTEN]))
            raise _refused(phrase, f"sounds like everyday talk, such as {some}")


def distance(one: Sounds, other: Sounds) -> float:
    """How many sounds must be changed, put in or left out, as a part of the longer's number: 0 to 1
    (Levenshtein 1966, Soviet Physics Doklady 10:707)."""
    row = list(range(len(other) + 1))
    for at, sound in enumerate(one, 1):
        above, row = row, [at]
        for place, another in enumerate(other, 1):
            row.append(min(row[-1] + 1, above[place] + 1, above[place - 1] + (sound != another)))
    return row[-1] / max(len(one), len(other), 1)


def bare(text: str) -> str:
    """Without capitals and marks."""
    return " ".join(text.casefold().strip(".?!").replace(",", "").split())


def _nearest(
    phrase: str, texts: Iterable[str], most: float, pronounce: Pronounce
) -> tuple[str, ...]:
    sounds = pronounce(phrase)
    return tuple(text for text in texts if distance(sounds, pronounce(bare(text))) <= most)


def _refused(phrase: str, why: str) -> SettingError:
    return SettingError(
        f"The words {phrase!r} cannot be used for a command: that {why}",
        "choose other words; two or three longer ones are safest.",
    )

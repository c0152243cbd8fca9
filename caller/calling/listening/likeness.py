"""Whether own words for the commands sound like one another, like a call, or like everyday talk.

By their sounds alone, so it costs nothing, holds for every recogniser, and is done whenever the
words are used. `row-caller words` tries them with the recogniser itself.
"""

from collections.abc import Iterable
from functools import cache
from typing import NamedTuple

from caller.calling.call_texts import call_texts, names_of
from caller.calling.commands import PHRASES, Words
from caller.calling.listening.everyday import EVERYDAY
from caller.calling.listening.stretches import Pronounce, Stretches, near
from caller.calling.words.numbers import number_words
from caller.errors import SettingError
from caller.pattern.pattern import Pattern

ALIKE = 0.2
"""So much of the longer text may differ, in sounds, where two are told apart no more."""
NEAR_TALK = 0.3
OFTEN = 2
"""So many everyday sentences that are nearly a phrase are too many."""
SHORTEST = 3
"""Sounds: what is shorter is in every other word of a talk."""
_NUMBERS = tuple(map(number_words, (*range(1, 21), *range(30, 101, 10), 42, 87, 126)))


class Said(NamedTuple):
    """What the caller says: `names` of yarns, `numbers`, what it says in `rows`, and in `others`,
    its answers and all other sentences."""

    names: tuple[str, ...]
    numbers: tuple[str, ...]
    rows: tuple[str, ...]
    others: tuple[str, ...]

    @property
    def texts(self) -> tuple[str, ...]:
        return (*self.names, *self.numbers, *self.rows, *self.others)

    @property
    def aloud(self) -> tuple[str, ...]:
        """Every name and number, and what is said in rows, each in one yarn and number."""
        words = Stretches((), self.names, tuple)
        rows = {tuple(word.sounds for word in words.words(text)): text for text in self.rows}
        return (*self.names, *self.numbers, *rows.values())


def said(pattern: Pattern | None = None) -> Said:
    """What the caller says of any pattern, and what it says of this one."""
    return Said(names_of(pattern), _NUMBERS, *call_texts(pattern))


def check(words: Words, said: Said, pronounce: Pronounce) -> None:
    """SettingError, with what to do, for the first phrase that cannot be told from something.

    A phrase of the program's own may be in what it says: its silences part it there, and what sets
    it off is measured.
    """
    sounds = {phrase: pronounce(phrase) for phrase in words}
    rows = cache(lambda: Stretches(said.rows, said.names, pronounce))
    anything = Stretches((*said.rows, *said.others), said.names, pronounce)
    for at, (phrase, command) in enumerate(words.items()):
        for other in list(words)[:at]:
            if words[other] is not command and near(sounds[phrase], sounds[other], ALIKE):
                raise _refused(phrase, f"sounds like {other!r}, which is another command")
        if phrase in PHRASES:
            continue
        if len(sounds[phrase]) < SHORTEST:
            raise _refused(phrase, "is too short to be told from talk")
        if called := _nearest(phrase, said.names, ALIKE, pronounce):
            raise _refused(phrase, f"sounds like {called[0]!r}, as the call names a yarn")
        # A word by itself is refused where it is heard all the time; else "next" and "again" were.
        texts = rows() if len(anything.words(phrase)) == 1 else anything
        called = _nearest(phrase, said.numbers, ALIKE, pronounce)
        if stretch := called[0] if called else texts.nearest(phrase, ALIKE):
            raise _refused(phrase, f"sounds like {stretch!r}, which the caller itself says")
        talk = [text for text in EVERYDAY if bare(text) != bare(phrase)]
        if len(like := _nearest(phrase, talk, NEAR_TALK, pronounce)) >= OFTEN:
            some = ", ".join(map(repr, like[:OFTEN]))
            raise _refused(phrase, f"sounds like everyday talk, such as {some}")


def bare(text: str) -> str:
    """Without capitals and marks."""
    return " ".join(text.casefold().strip(".?!").replace(",", "").split())


def _nearest(
    phrase: str, texts: Iterable[str], most: float, pronounce: Pronounce
) -> tuple[str, ...]:
    sounds = pronounce(phrase)
    return tuple(text for text in texts if near(sounds, pronounce(bare(text)), most))


def _refused(phrase: str, why: str) -> SettingError:
    return SettingError(
        f"The words {phrase!r} cannot be used for a command: that {why}",
        "choose other words; two or three longer ones are safest.",
    )

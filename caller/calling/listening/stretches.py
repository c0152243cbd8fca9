"""Where, by its sounds, a phrase is nearly a run of words within a sentence: pure computation.

A yarn's name stands for any name, and a number for any number: what is said of one is said of all.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caller.calling.words.numbers import number_words

Sounds = Sequence[str]
Pronounce = Callable[[str], Sounds]
"""A text's sounds, one after another; its letters where they are not known."""

_FAR = 10_000
"""Edits: nothing goes on across what costs so many."""
_SENTENCE_END = re.compile(r"[.:;?!]")
_NUMBER = "|".join(
    sorted({one for number in range(100) for one in number_words(number).split("-")}, key=len)[::-1]
)
_NUMBERS = rf"(?:{_NUMBER}|hundred|thousand|\d+)"


def distance(one: Sounds, other: Sounds) -> float:
    """How many sounds must be changed, put in or left out, as a part of the longer's number: 0 to 1
    (Levenshtein 1966, Soviet Physics Doklady 10:707)."""
    row = list(range(len(other) + 1))
    for at, sound in enumerate(one, 1):
        above, row = row, [at]
        for place, another in enumerate(other, 1):
            row.append(min(row[-1] + 1, above[place] + 1, above[place - 1] + (sound != another)))
    return row[-1] / max(len(one), len(other), 1)


def near(one: Sounds, other: Sounds, most: float) -> bool:
    """Whether no more than the part `most` of the sounds differs."""
    longer, shorter = max(len(one), len(other)), min(len(one), len(other))
    return longer - shorter <= most * longer and distance(one, other) <= most


@dataclass(frozen=True)
class _Word:
    """A word as it is written, and its sounds; a name is one, and a number."""

    text: str
    sounds: tuple[str, ...]


_NAME, _ANY_NUMBER = ("@",) * 3, ("#",) * 3
"""As long as a short word, so that none can be left out for a likeness."""


class Stretches:
    """Texts in which phrases are looked for; `names` are the yarns'."""

    def __init__(self, texts: Iterable[str], names: Iterable[str], pronounce: Pronounce) -> None:
        self._pronounce = pronounce
        longest_first = "|".join(map(re.escape, sorted(names, key=len, reverse=True)))
        self._word = re.compile(
            rf"\b(?:(?P<name>{longest_first})|(?P<number>{_NUMBERS}(?:(?: and |[ -]){_NUMBERS})*)"
            r"|(?P<word>[^\W_]+(?:['’][^\W_]+)*))\b",
            re.IGNORECASE,
        )
        sentences: dict[tuple[str, ...], list[_Word]] = {}
        for text in texts:
            for part in _SENTENCE_END.split(text):
                words = self.words(part)
                sentences.setdefault(tuple(s for word in words for s in word.sounds), words)
        self._number_of: dict[str, int] = {}
        codes: list[int] = []
        starts: list[int] = []
        ends: dict[int, list[_Word]] = {}
        for words in sentences.values():
            for at, word in enumerate(words):
                starts.append(len(codes))
                codes += [self._number_of.setdefault(s, len(self._number_of)) for s in word.sounds]
                ends[len(codes)] = words[: at + 1]
            codes.append(-1)
        self._codes, self._starts, self._ends = np.array(codes), np.array(starts), ends

    def words(self, text: str) -> list[_Word]:
        """The words of a text; a name and a number of any length is one."""
        kinds = {"name": _NAME, "number": _ANY_NUMBER}
        return [
            _Word(found[0], kinds.get(found.lastgroup or "") or tuple(self._pronounce(found[0])))
            for found in self._word.finditer(text)
        ]

    def nearest(self, phrase: str, most: float) -> str | None:
        """The run of words of which no more than the part `most` differs from the phrase, as it
        would be said of the phrase's own names and numbers; None where there is none."""
        words = self.words(phrase)
        plain = [_Word(one, tuple(self._pronounce(one))) for one in phrase.split()]
        return self._nearest(words, most) or self._nearest(plain, most)  # "two" is heard as "to"

    def _nearest(self, words: Sequence[_Word], most: float) -> str | None:
        sounds = tuple(sound for word in words for sound in word.sounds)
        for end in self._ends_within(sounds, most):
            before = self._ends[end]
            runs = [before[at:] for at in range(len(before))]
            apart, at = min(
                (distance(sounds, [s for word in run for s in word.sounds]), -at)
                for at, run in enumerate(runs)
            )
            if apart <= most:
                return _as_said(runs[-at], words)
        return None

    def _ends_within(self, sounds: tuple[str, ...], most: float) -> list[int]:
        """Where a run of words may end of which no more than the part `most` differs, the nearest
        first: Levenshtein's distance with a free beginning (Sellers 1980, Journal of Algorithms
        1:359)."""
        if not self._ends or not sounds:
            return []
        cost = np.where(self._codes < 0, _FAR, 1)
        along = np.concatenate(([0], np.cumsum(cost)))
        edits: NDArray[np.int64] = np.full(len(along), _FAR)
        edits[self._starts] = 0
        for sound in sounds:
            code = self._number_of.get(sound, -2)
            changed = edits[:-1] + np.where(self._codes == code, 0, cost)
            edits = edits + 1
            np.minimum(edits[1:], changed, out=edits[1:])
            edits = np.minimum.accumulate(edits - along) + along
        ends = np.fromiter(self._ends, dtype=np.intp)
        found = edits[ends]
        near_ones = np.flatnonzero(found <= most * (len(sounds) + found))  # a run may be longer
        return [int(ends[one]) for one in near_ones[np.argsort(found[near_ones], kind="stable")]]


def _as_said(run: Sequence[_Word], phrase: Sequence[_Word]) -> str:
    """A run with the names and the numbers of the phrase, as far as it has any."""
    own: dict[tuple[str, ...], list[str]] = {
        kind: [word.text for word in phrase if word.sounds == kind] for kind in (_NAME, _ANY_NUMBER)
    }
    return " ".join(
        own[word.sounds].pop(0) if own.get(word.sounds) else word.text.casefold() for word in run
    )

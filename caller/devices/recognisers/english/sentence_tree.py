"""Which of many sentences was said: a beam search through the tree of their tokens.

Sentences with the same beginning share it, and a beginning is followed only while one of its
sentences can still win. What a sentence scores is the log-likelihood of all its spellings together.
What the model would write of its own accord goes along, for a step costs little more with one row
more.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from caller.devices.recognisers.english.free_writing import Beginning, nothing_yet
from caller.devices.recognisers.english.model import Encoded, EnglishModel
from caller.devices.recognisers.english.tokeniser import END, Tokeniser

BEAM = 12
LEAST = -16.0
"""A beginning less likely than this (natural logarithm) is given up."""
WINDOW = 12.0
"""So is one this much less likely than the best sentence or beginning."""


@dataclass(frozen=True)
class Scored:
    """A sentence and its log-likelihood given the sound."""

    sentence: str
    score: float


@dataclass(frozen=True, eq=False)
class Found:
    """The sentences that were not given up, the likeliest first; and the free writing as far as it
    went along."""

    scored: Sequence[Scored]
    free: Beginning


@dataclass(slots=True)
class _Node:
    """A beginning; `ends` is the sentence whose spelling is complete here. There are thousands."""

    children: "dict[int, _Node]" = field(default_factory=dict)
    ends: str | None = None


class _Longer(NamedTuple):
    """A beginning longer by a token than the one in this row."""

    score: float
    row: int
    token: int
    node: _Node


class SentenceTree:
    """Built once for a set of sentences: each with the spellings that count as it."""

    def __init__(self, tokeniser: Tokeniser, sentences: Mapping[str, Iterable[str]]) -> None:
        self._root = _Node()
        for sentence, written in sentences.items():
            for text in written:
                node = self._root
                for token in (*tokeniser.tokens(text), END):
                    node = node.children.setdefault(token, _Node())
                node.ends = sentence

    def search(
        self,
        model: EnglishModel,
        encoded: Encoded,
        beam: int = BEAM,
        least: float = LEAST,
        window: float = WINDOW,
    ) -> Found:
        complete: dict[str, float] = {}
        free = nothing_yet(encoded)
        free_row: int | None = 0
        follows, past = encoded.first[None], encoded.past
        rows = [(0.0, self._root)]
        while True:
            longer: list[_Longer] = []
            for row, (score, node) in enumerate(rows):
                for token, child in node.children.items():
                    reached = score + float(follows[row, token])
                    if child.ends is not None:
                        known = complete.get(child.ends, -np.inf)
                        complete[child.ends] = float(np.logaddexp(known, reached))
                    else:
                        longer.append(_Longer(reached, row, token, child))
            best = max((*complete.values(), *(one.score for one in longer)), default=-np.inf)
            floor = max(least, best - window)
            longer = sorted((one for one in longer if one.score > floor), key=_likeliest_first)
            del longer[beam:]
            if not longer:
                break
            free_row = _take_along(free, free_row, longer)
            past = past.rows([one.row for one in longer])
            follows, past = model.step(encoded, [one.token for one in longer], past)
            rows = [(one.score, one.node) for one in longer]
            if free_row is not None:
                free = free.longer(follows[free_row], past.rows([free_row]))
        ranked = sorted(complete.items(), key=lambda one: -one[1])
        return Found([Scored(sentence, score) for sentence, score in ranked if score > least], free)


def _likeliest_first(one: _Longer) -> float:
    return -one.score


def _take_along(free: Beginning, row: int | None, longer: list[_Longer]) -> int | None:
    """The place among these of the free writing with its next token, which is put there where no
    sentence goes on so; None where it has come to its end. `row` is where it was before."""
    if row is None or free.likeliest == END:
        return None
    for place, one in enumerate(longer):
        if (one.row, one.token) == (row, free.likeliest):
            return place
    longer.append(_Longer(free.score, row, free.likeliest, _Node()))
    return len(longer) - 1

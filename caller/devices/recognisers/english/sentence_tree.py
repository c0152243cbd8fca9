"""Which of many sentences was said: a beam search through the tree of their tokens.

Sentences with the same beginning share it, and a beginning is followed only while one of its
sentences can still win. What a sentence scores is the log-likelihood of all its spellings together.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from caller.devices.recognisers.english.model import Encoded, EnglishModel
from caller.devices.recognisers.english.tokeniser import END, Tokeniser

BEAM = 12
LEAST = -16.0
"""A beginning less likely than this (natural logarithm) is given up."""
WINDOW = 12.0
"""So is one this much less likely than the best sentence that is complete."""


@dataclass(frozen=True)
class Scored:
    """A sentence and its log-likelihood given the sound."""

    sentence: str
    score: float


@dataclass(slots=True)
class _Node:
    """A beginning; `ends` is the sentence whose spelling is complete here. There are thousands."""

    children: "dict[int, _Node]" = field(default_factory=dict)
    ends: str | None = None


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
    ) -> list[Scored]:
        """The sentences that were not given up, the likeliest first."""
        complete: dict[str, float] = {}
        follows, past = encoded.first[None], encoded.past
        rows = [(0.0, self._root)]
        while rows:
            longer: list[tuple[float, int, int, _Node]] = []
            for row, (score, node) in enumerate(rows):
                for token, child in node.children.items():
                    reached = score + float(follows[row, token])
                    if child.ends is not None:
                        known = complete.get(child.ends, -np.inf)
                        complete[child.ends] = float(np.logaddexp(known, reached))
                    else:
                        longer.append((reached, row, token, child))
            floor = max(least, max(complete.values(), default=-np.inf) - window)
            longer = [one for one in longer if one[0] > floor]
            longer.sort(key=lambda one: -one[0])
            del longer[beam:]
            if not longer:
                break
            past = past.rows([row for _, row, _, _ in longer])
            follows, past = model.step(encoded, [token for _, _, token, _ in longer], past)
            rows = [(reached, child) for reached, _, _, child in longer]
        ranked = sorted(complete.items(), key=lambda one: -one[1])
        return [Scored(sentence, score) for sentence, score in ranked if score > least]

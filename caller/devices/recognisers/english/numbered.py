"""Which sentence with a number was said, where no phrase is likely enough.

A wrong one harms nobody, for it is answered, or read back before anything moves; so the bounds are
loose. A sentence is longer than a phrase and less likely in any sound, so a phrase that is a little
likelier is no rival; other commands with a number are. Of the numbers of one command the likeliest
counts.
"""

from collections.abc import Callable, Sequence

import numpy as np

from caller.calling.listening.grammar import Grammar, Sentence
from caller.calling.ports import NOTHING, Verdict
from caller.calling.words.numbers import sound_alike
from caller.devices.recognisers.english.sentence_tree import Scored

LEAST = -26.0
IN_QUIET, IN_NOISE = -15.5, -17.5
LEAST_AHEAD = 1.5
SHORTER = 3.0
CLOSE, CLOSE_ALIKE = 1.5, 3.0
"""Natural logarithms: of a sentence's likelihood; of it against that of the free writing, in a
quiet place and in a noisy one; of it against that of the best of another command; how much likelier
a phrase may be; and how near another number must be to be asked for too, any one, and thirty beside
thirteen. Chosen on the voices that choose and check in tests/bench/spoken_numbers.py."""


def verdict(
    sentences: Grammar,
    found: Sequence[Scored],
    noisy: float,
    written_freely: Callable[[], float],
) -> Verdict:
    """The verdict on the sentences among `found`, which has the likeliest first.

    Where another command is as likely, one of the two was meant: a near miss. `noisy` is 0 in a
    quiet place and 1 in a noisy one; `written_freely` gives the score of the free writing.
    """
    scored = [(sentences[one.sentence], one.score) for one in found if one.sentence in sentences]
    if not scored:
        return NOTHING
    best, score = scored[0]
    against_free = IN_QUIET + (IN_NOISE - IN_QUIET) * noisy
    if found[0].score - score > SHORTER:
        return NOTHING
    if score <= LEAST or score - written_freely() <= against_free:
        return NOTHING
    others = (likely for one, likely in scored if one.command is not best.command)
    if score - next(others, -np.inf) <= LEAST_AHEAD:
        return Verdict(None, near_miss=True)
    same = [(one, likely) for one, likely in scored[1:] if one.command is best.command]
    if not same:
        return Verdict(best.words)
    rival, likely = same[0]
    close = CLOSE_ALIKE if _alike(best, rival) else CLOSE
    return Verdict(best.words, rival=rival.words, close=score - likely < close)


def _alike(one: Sentence, other: Sentence) -> bool:
    """Whether they differ as thirteen and thirty do, on one side of the bed."""
    sides = (one.number.rstrip("0123456789"), other.number.rstrip("0123456789"))
    numbers = (int(text.lstrip("LR")) for text in (one.number, other.number))
    return sides[0] == sides[1] and sound_alike(*numbers)

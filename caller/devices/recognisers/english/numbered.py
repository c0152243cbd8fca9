"""Which sentence with a number was said, once one is the likeliest of all that is listened for.

It is longer than a phrase, so less likely, and its bounds are looser: a wrong one harms nobody, for
it is answered or read back before anything moves. Its rivals are the other commands; of the numbers
of the same command the likeliest counts, however close another is.
"""

from collections.abc import Callable, Sequence

from caller.calling.listening.grammar import Grammar
from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.english.sentence_tree import Scored

LEAST = -18.0
LEAST_AGAINST_FREE = -11.0
LEAST_AHEAD = 1.5
CLOSE = 1.5
"""Natural logarithms: of a sentence's likelihood, of it against that of the free writing, and
against that of the best that is another command; and how near another number must be to be asked
for too. Chosen on the voices that choose in tests/bench/spoken_numbers.py."""


def verdict(
    sentences: Grammar, found: Sequence[Scored], written_freely: Callable[[], float]
) -> Verdict:
    """The verdict where the first of `found` is one of the sentences.

    Where another command is as likely, one of the two was meant: a near miss. `found` has the
    likeliest first; `written_freely` gives the score of the free writing.
    """
    best = found[0]
    command = sentences[best.sentence].command
    rival, alone, close = None, True, False
    for other in found[1:]:
        sentence = sentences.get(other.sentence)
        if sentence is None or sentence.command is not command:
            alone = best.score - other.score > LEAST_AHEAD
            break
        if rival is None:
            rival, close = other.sentence, best.score - other.score < CLOSE
    if best.score <= LEAST or best.score - written_freely() <= LEAST_AGAINST_FREE:
        return NOTHING
    if not alone:
        return Verdict(None, near_miss=True)
    return Verdict(best.sentence, rival=rival, close=close)
